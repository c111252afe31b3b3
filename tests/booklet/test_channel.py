"""Where the maker can be found: in the shopping list and one chapter, and nowhere where the design says nothing."""

import csv
import io
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from sample_prop import INFO, pictures, sample
from test_order import order

from foamwright.booklet.pages.chapters import Bullets, Lead, Words
from foamwright.booklet.pages.lists import maker, materials
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.pages.web import web_page
from foamwright.design import load
from foamwright.errors import DesignError
from foamwright.outputs.shopping_list import shopping_list

DESIGNS = Path(__file__).parents[2] / "designs"
CHANNEL = {
    "video": "https://example.org/film",
    "credit": "Built by a design of Nobody",
    "feedback": "mailto:nobody@example.org",
}


def with_channel(**more):
    prop, patterns = sample()
    first = prop.pieces[0]
    told = {**CHANNEL, "times": {first.id: "3:10"}, **more}
    return replace(prop, design=replace(prop.design, channel=told)), patterns, first


def test_the_chapter_leads_to_film_and_feedback():
    prop, _, first = with_channel()
    items = maker(prop).items
    assert [item.address for item in items if isinstance(item, Lead)] == [CHANNEL["video"], CHANNEL["feedback"]]
    words = [item.text for item in items if isinstance(item, Words)]
    assert f"In the film go in: {first.label} at 3:10." in words and CHANNEL["credit"] in words


def test_a_design_that_says_nothing_has_no_chapter():
    assert not maker(sample()[0]).items
    assert b"sellers" in shopping_list(()) and not any(line.sellers for line in shopping(*sample(), ()))


@pytest.mark.parametrize("paid", [True, False])
def test_who_sells_a_stock_stands_in_the_shopping_list(paid):
    seller = {"name": "Shop & <Co>", "address": "https://example.org/foam", "paid": paid}
    _, _, first = with_channel()
    prop, patterns, _ = with_channel(suppliers={first.stock.id: [seller]})
    (told,) = [
        i for i in materials(prop, patterns, (), None, ()).items if isinstance(i, Bullets) and "buy" in i.heading
    ]
    assert "Shop & <Co>, https://example.org/foam" in told.lines[0]
    assert ("paid link" in told.lines[0]) is paid
    steps = order(prop, patterns)
    page = web_page(prop, patterns, steps, pictures(steps), INFO).decode()
    assert "Shop &amp; &lt;Co&gt;" in page and 'href="https://example.org/film"' in page


def test_sellers_are_a_column_of_the_list():
    from foamwright.assembly.records import Purchase

    bought = [Purchase("Foam", 1.0, "sheet", "", None, "", ("A, https://a.org", "B, https://b.org"))]
    (row,) = csv.DictReader(io.StringIO(shopping_list(bought).decode()))
    assert row["sellers"] == "A, https://a.org; B, https://b.org"


@pytest.mark.parametrize(
    ("channel", "words"),
    [
        ("{times: {nobody: '1:00'}}", "unknown part 'nobody'"),
        ("{suppliers: {nobody: [{name: S, address: 'https://s.org', paid: true}]}}", "unknown stock 'nobody'"),
        ("{video: 'javascript:alert(1)'}", "video"),
        ("{video: 'http://plain.example.org'}", "video"),
        ("{feedback: 'ftp://x'}", "feedback"),
        ("{suppliers: {foam: [{name: S, address: 'https://s.org'}]}}", "paid"),
    ],
)
def test_what_leads_nowhere_is_refused(tmp_path, channel, words):
    from foamwright.design import starter

    file = tmp_path / "lamp.yaml"
    file.write_text(starter("Lamp") + f"\nchannel: {channel}\n", "utf-8")
    with pytest.raises(DesignError, match=words):
        load(file)


def test_times_are_told_for_the_members_of_a_part(tmp_path):
    for folder in ("stock", "art"):
        shutil.copytree(DESIGNS / folder, tmp_path / folder)
    text = (DESIGNS / "harbour-lantern.yaml").read_text("utf-8")
    assert "channel:" not in text
    (tmp_path / "lantern.yaml").write_text(text + "\nchannel: {times: {walls: '4:00'}}\n", "utf-8")
    assert dict(load(tmp_path / "lantern.yaml").channel["times"]) == {"walls_side": "4:00"}
