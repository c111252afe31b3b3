"""The web page: well formed, nothing from outside, a box to tick and a described picture for each step.

Read by the standard library's HTML parser, and by the rules of the WHATWG HTML standard for `alt` and `id`.
"""

import re
from dataclasses import replace
from html.parser import HTMLParser

from sample_prop import INFO, pictures, sample
from test_order import order

from foamwright.assembly.records import Inset
from foamwright.booklet.pages.web import web_page

VOID = {"meta", "img", "input", "br", "link"}


class Reader(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.tags = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def made():
    prop, patterns = sample()
    steps = order(prop, patterns)
    return steps, web_page(prop, patterns, steps, pictures(steps), INFO).decode()


def test_the_page_is_whole_and_asks_for_nothing():
    steps, page = made()
    reader = Reader()
    reader.feed(page)
    assert not reader.open
    links = [value for _, attrs in reader.tags for key, value in attrs.items() if key in ("src", "href")]
    assert links and all(link.startswith(("data:", "#")) for link in links)
    assert not re.search(r"https?://(?!www\.w3\.org)", re.sub(r"base64,[A-Za-z0-9+/=]+", "", page))
    ids = [attrs["id"] for _, attrs in reader.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert {link[1:] for link in links if link.startswith("#")} <= set(ids)
    assert all(attrs.get("alt") for tag, attrs in reader.tags if tag == "img")
    boxes = [attrs["data-step"] for tag, attrs in reader.tags if tag == "input"]
    assert boxes == [str(step.number) for step in steps]
    assert "localStorage" in page and 'name="viewport"' in page


def test_every_sentence_of_every_step_is_on_the_page():
    from html import unescape

    steps, page = made()
    text = unescape(page)
    assert all(line in text for step in steps for line in step.instructions)
    assert web_page.__doc__ and page == made()[1]
    assert all(
        f"<h4>{head}</h4>\n<ul><li>{steps[0].instructions[first]}" in text for first, head in steps[0].heads.items()
    )


def test_the_words_of_small_drawings_and_of_a_turned_picture_are_set_as_text():
    """Drawn, they would be as small as the drawing, and a phone is no wider than a hand."""
    prop, patterns = sample()
    steps = order(prop, patterns)
    first = pictures(steps)
    turned = {
        number: replace(picture, note="Turn it over: seen from below.") for number, picture in first.steps.items()
    }
    assert turned
    inset = Inset((), 20.0, "Cut through the joint of A & B.")
    shown = replace(first, steps=turned, insets={steps[0].number: (inset, inset)})
    page = web_page(prop, patterns, steps, shown, INFO).decode()
    assert page.count("<strong>Turn it over: seen from below.</strong>") == len(turned)
    assert page.count(">Cut through the joint of A &amp; B.</figcaption>") == 2
