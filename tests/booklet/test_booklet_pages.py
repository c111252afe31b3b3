"""Pages of the booklet: nothing overlaps, nothing is clipped, everything is said."""

import re
from dataclasses import replace
from io import BytesIO
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_prop import INFO, SKIN, pictures, sample
from shapely import STRtree, box
from test_order import many_parts, order

from foamwright.assembly.records import Bubble, Picture, Pictures
from foamwright.booklet.pages import lists
from foamwright.booklet.pages.cautions import CAUTIONS
from foamwright.booklet.pages.chapters import Chapter, Views
from foamwright.booklet.pages.cover import facts
from foamwright.booklet.pages.flowing import Section, flow
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.pages.pages import booklet
from foamwright.booklet.pages.setting import section
from foamwright.booklet.pages.web import web_page
from foamwright.booklet.pictures.figures import picture_block, silhouette
from foamwright.booklet.words.typeset import ColumnItem, wrap
from foamwright.drawing.metrics import text_box, text_width
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Path, Text
from foamwright.flatten.records import Patterns
from foamwright.language import duration, roughly
from foamwright.layout.records import FoamSheet, Paper
from foamwright.model.build import build_model
from foamwright.model.figure import Contact, Fit
from foamwright.model.placed import placed_copies
from foamwright.model.stability import Balance, Stability, balance
from foamwright.parts.build import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.wording import stock_title
from tests.parts.flat_designs import design

NUMBERED = "Number what is cut more than once"
A4 = Paper("A4", 210.0, 297.0, "")
LETTER = Paper("Letter", 215.9, 279.4, "")
FIT = SimpleNamespace(
    fits=True,
    figure="seated plush",
    clearance=4.23,
    beside=None,
    part="lip",
    copy=1,
    at=(0.0, 0.0, 0.0),
    contacts=(),
    entry=None,
    size=(120.0, 90.0, 250.0),
)
SHARED = SimpleNamespace(part_a="cleat", copy_a=1, part_b="lip", copy_b=1, depth=0.8, volume=321.0, at=(0.0, 0.0, 0.0))


def made(paper=A4, steps_from=None, fit=FIT, shared=(SHARED,)):
    prop, patterns = steps_from or sample()
    steps = order(prop, patterns)
    return booklet(prop, patterns, steps, pictures(steps), paper, INFO, fit, shared)


def long_booklet():
    """Forty kinds, and one step whose text is longer than a page."""
    maker = many_parts()
    essay = "Press every joint for a minute before you go on to the next one. " * 90
    notes = ({"title": "A very long step " * 12, "parts": ["fin"], "note": essay},)
    prop = maker.prop(notes)
    prop = replace(prop, design=replace(prop.design, summary=essay))
    return prop, Patterns(prop, tuple(maker.patterns), tuple(maker.seams))


def texts(page):
    return [item for item in page.drawing.items if isinstance(item, Text)]


def words(document):
    return " ".join(text.value for page in document.pages for text in texts(page))


def reach(item):
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Path):
        return np.asarray(item.points)
    return np.array([item.start, item.end])


@pytest.mark.parametrize("source", [sample, long_booklet])
@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_no_text_overlaps_another_and_nothing_leaves_the_paper(paper, source):
    document = made(paper, source())
    for number, page in enumerate(document.pages, start=1):
        assert (page.number, page.width, page.height) == (number, paper.width, paper.height)
        boxes = [box(*text_box(t).min(axis=0), *text_box(t).max(axis=0)).buffer(-0.15) for t in texts(page)]
        left, right = STRtree(boxes).query(boxes, predicate="intersects")
        clashes = [(texts(page)[i].value, texts(page)[j].value) for i, j in zip(left, right, strict=True) if i < j]
        assert not clashes
        ends = np.vstack([reach(item) for item in page.drawing.items])
        assert (ends.min(axis=0) >= 10.0).all()
        assert (ends.max(axis=0) <= (paper.width - 10.0, paper.height - 10.0)).all()


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_no_line_of_a_picture_or_frame_crosses_a_text(paper):
    for page in made(paper).pages:
        lines = [item for item in page.drawing.items if isinstance(item, Path) and not item.fill]
        for text in texts(page):
            corners = text_box(text)
            x0, y0 = corners.min(axis=0) + 0.2
            x1, y1 = corners.max(axis=0) - 0.2
            for line in lines:
                points = np.asarray(line.points)
                inside = (points > (x0, y0)).all(axis=1) & (points < (x1, y1)).all(axis=1)
                assert not inside.any(), text.value


@pytest.mark.parametrize("source", [sample, long_booklet])
def test_no_page_is_nearly_empty(source):
    for page in made(A4, source()).pages[:-1]:
        filled = [text for text in texts(page) if text.layer == "note"]
        assert max(t.at[1] for t in filled) - min(t.at[1] for t in filled) > 90.0


def test_everything_is_said():
    prop, patterns = sample()
    steps = order(prop, patterns)
    document = made()
    said = words(document)
    for fact in (
        "Pocket submarine",
        "1.2.0",
        "CC-BY-4.0",
        "A. Maker",
        "for a seated plush 250 mm tall",
        "520 mm long, 190 mm wide, 184 mm high",
        "Shopping list",
    ):
        assert fact in said
    for piece in prop.pieces:
        assert piece.name in said
    for step in steps:
        assert step.title in said
        assert f"about {roughly(step.minutes)}" in said
    for key in {key for step in steps for key in step.cautions}:
        assert CAUTIONS[key].title in said
        assert CAUTIONS[key].brief.split(",")[0] in said
    told = [
        row[3:] for row in lists.seams(prop, patterns).items[1].rows
    ]  # as a rule finds them, and as steps tell them
    assert told and all(f"{first} {second}" in said for first, second in told)
    assert "2.1 %" not in said  # how far foam is stretched stands in strain.pdf
    assert {part for page in document.pages for part in page.parts} == {piece.id for piece in prop.pieces}


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_a_small_heading_stands_right_above_its_first_sentence(paper):
    prop, patterns = sample()
    step = order(prop, patterns)[0]
    assert list(step.heads.values()) == ["Print", "Draw", "Mark", NUMBERED, "Cut", "Check"] and 0 in step.heads
    assert set(step.heads) <= set(range(len(step.instructions)))
    told = dict.fromkeys(step.heads.values())
    for page in made(paper).pages:
        for head in (t for t in texts(page) if t.value in told and t.bold):
            below = [t for t in texts(page) if 0 < head.at[1] - t.at[1] < 8 and 1.5 < t.at[0] - head.at[0] < 8]
            told[head.value] = max(below, key=lambda t: t.at[1]).value if below else None
    for first, head in step.heads.items():
        assert told[head] and step.instructions[first].startswith(told[head])


def test_steps_refer_to_the_page_that_holds_the_cautions():
    document = made()
    assert "Safety" in document.pages[1].title
    safety = " ".join(text.value for text in texts(document.pages[1]))
    assert "safety data sheet" in safety
    assert "In full on page 2." in words(document)


def test_the_contents_name_the_right_pages():
    document = made()
    front = texts(document.pages[0])
    for title in ("Safety", "Shopping list", "Parts", "How it is done", "Assembly", "Use and care", "Fit and balance"):
        entry = next(text for text in front if text.value == title and text.at[0] > 90.0)
        number = next(t for t in front if t.value.isdigit() and abs(t.at[1] - entry.at[1]) < 0.1)
        page = document.pages[int(number.value) - 1]
        assert any(text.value == title and text.bold for text in texts(page))


def test_the_cautions_leave_the_last_word_to_the_maker_of_the_product():
    assert "safety data sheet and your local rules come first." in words(made())


def test_every_page_carries_a_square_of_ten_millimetres():
    for page in made().pages:
        squares = [i for i in page.drawing.items if isinstance(i, Path) and i.closed and len(i.points) == 4]
        sides = [np.ptp(item.points, axis=0) for item in squares]
        assert any(np.allclose(side, 10.0) for side in sides)
        assert any("10 mm square" in text.value for text in texts(page))


def test_a_prop_without_pictures_or_figure():
    prop, patterns = sample()
    steps = order(prop, patterns)
    document = booklet(prop, patterns, steps, Pictures((), {}, None), LETTER, INFO)
    assert "Fit and balance" not in words(document) and "Use and care" in words(document)


def test_same_input_same_pages():
    first, second = made(), made()
    for a, b in zip(first.pages, second.pages, strict=True):
        assert [repr(item) for item in a.drawing.items] == [repr(item) for item in b.drawing.items]


@given(
    st.text(
        st.characters(min_codepoint=32, max_codepoint=255, exclude_categories=["Cc", "Zs"]) | st.just(" "),
        max_size=200,
    ),
    st.floats(8.0, 120.0),
    st.floats(2.0, 6.0),
)
def test_wrapped_lines_fit_and_lose_nothing(value, width, size):
    lines = wrap(value, width, size)
    assert all(text_width(line, size) <= width or len(line) == 1 for line in lines)
    assert "".join("".join(lines).split()) == "".join(value.split())


@given(st.lists(st.floats(5.0, 80.0), min_size=1, max_size=30), st.floats(110.0, 260.0))
def test_blocks_flow_without_overlap(heights, height):
    section = Section("Title", tuple(ColumnItem(h, ()) for h in heights), ColumnItem(6.0, ()), gap=3.0)
    pages = flow([section], 150.0, height)
    for page in pages:
        spans = [(placed.top, placed.top + placed.block.height) for placed in page]
        assert all(a[1] <= b[0] + 1e-9 for a, b in pairwise(spans))
        assert spans[-1][1] <= height + 1e-6
    total = sum(placed.block.height for page in pages for placed in page)
    heading = pages[0][0].block.height
    assert total == pytest.approx(sum(heights) + heading + 6.0 * len(pages))


def test_views_are_a_little_smaller_where_they_save_a_page():
    """The last chapters of a booklet: 160 mm of them, views of 80 x 80 mm, a line below them and 250 mm of page."""
    square = np.array([[0, 0], [100, 0], [100, 100], [0, 100]], float)
    views = Chapter("Fit", (Views((Picture((square,), (), (0.0, 0.0, 100.0, 100.0)),), "As it stands."),))
    before = Section("Care", (ColumnItem(144.0, ()),))
    assert len(flow([before, section(views, 178.0)], 178.0, 250.0)) == 1
    (alone,) = flow([section(views, 178.0)], 178.0, 250.0)
    assert max(placed.block.height for placed in alone) > 80.0


def test_a_block_higher_than_a_page_is_refused():
    with pytest.raises(ValueError, match="more than a page"):
        flow([Section("Title", (ColumnItem(300.0, ()),))], 150.0, 200.0)


def test_pictures_keep_their_shape():
    square = np.array([[0, 0], [100, 0], [100, 100], [0, 100]], float)
    block = picture_block(Picture((square,), (), (0.0, 0.0, 100.0, 100.0)), 72.0, 54.0)
    points = block.items[0].points
    assert np.ptp(points, axis=0) == pytest.approx((54.0, 54.0))
    assert points.mean(axis=0) == pytest.approx((36.0, -27.0))


def test_a_silhouette_is_turned_but_never_reflected():
    _, patterns = sample()
    pattern = patterns.pattern("fin")
    upright = replace(pattern, outline=pattern.outline[:, ::-1] * (-1.0, 1.0))  # a quarter turn
    for one in (pattern, upright):
        points = silhouette(one, 30.0, 10.0).items[0].points
        x, y = points.T
        assert np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) > 0.0
        assert (np.ptp(points, axis=0) <= (30.0 + 1e-9, 10.0 + 1e-9)).all()


def test_the_shopping_list_can_be_worked_out_by_hand():
    prop, patterns = sample()
    brow, hoop, glass = 180.0 * 60.0 * 2, 448.0 * 25.0, np.pi * 25.0**2 * 2
    used = (brow + hoop + glass) / (500.0 * 700.0)
    sheet = FoamSheet(SKIN.id, (500.0, 700.0), (), used, 300.0)
    bought = {line.item: line for line in shopping(prop, patterns, [sheet])}
    skin = bought[f"{SKIN.name}, 2 mm, sheet 500 x 700 mm"]
    assert skin.amount == 1.0 and skin.basis.startswith(
        "an offcut of 500 x 310 mm is enough"
    )  # 300 mm and the sheet's edge
    two = [sheet, FoamSheet(SKIN.id, (500.0, 700.0), (), used, 300.0)]
    (whole,) = [line for line in shopping(prop, patterns, two) if line.item == skin.item]
    assert whole.amount == 2.0 and whole.basis.startswith(f"{2 * (brow + hoop + glass) / 1e6:.2f} m² of pieces")
    first, second = order(prop, patterns)[:2]
    glued = [replace(first, glued={"instant": 1440.0}), replace(second, glued={"instant": 560.0, "contact": 30000.0})]
    bought = {line.item: line for line in shopping(prop, patterns, [sheet], glued)}
    assert bought["Instant glue, medium or gel"].basis.startswith("20 cm² of joints")
    assert bought["Contact cement for foam"].basis.startswith("0.030 m² of joints")


def test_one_mass_is_told_of_one_prop(tmp_path):
    """A box and what only strengthens it; the mass is volume times density: 100 kg/m3 where a design states none."""
    prop = build_prop(
        design(
            tmp_path,
            "  slab: {kind: disc, stock: thick, radius: 100, at: {origin: [0, 0, 0], normal: z}}\n"
            "  foot: {kind: disc, stock: foam, radius: 20, at: {origin: [0, 0, 10], normal: z}}\n"
            "  trim: {kind: strip, stock: foam, name: Edge trim, length: 400, width: 50, count: 3}\n",
        )
    )
    model = build_model(prop)
    patterns = section_and_flatten(model)
    steps = order(prop, patterns)
    found = balance(placed_copies(model), model.prop.design.stands, None)
    grams = np.pi * (100.0**2 * 10.0 + 20.0**2 * 6.0) * 100e-6
    assert 1000.0 * found.mass == pytest.approx(grams, rel=1e-3)
    page = web_page(prop, patterns, steps, Pictures((), {}, None), INFO, balance=found).decode()
    document = booklet(prop, patterns, steps, Pictures((), {}, None), A4, INFO, balance=found)
    for told in (re.sub(r"<[^>]*>", " ", page), words(document)):
        # the lists of what is bought, of what is done and of how it stands: no other mass anywhere
        masses = re.findall(r"(?<![\d.])(\d+(?:\.\d+)?) k?g\b(?!/)", told)
        assert masses == [f"{grams:.0f}"] * 2
        assert "has no place of its own there: Edge trim." in told


@pytest.mark.parametrize("stands", [True, False])
def test_what_does_not_stand_says_so_on_its_cover(stands):
    prop, patterns = sample()
    stability = Stability(1.0, (0, 0, 50), 0.0, stands, 10.0 if stands else -4.0, (1, 0, 0), ((0, 0, 0),))
    told = dict(facts(prop, patterns, [], Pictures((), {}, None), Balance(1.0, (0, 0, 50), stability), None))
    assert ("Stands" in told) is not stands


@pytest.mark.parametrize("gauges", [True, False])
def test_the_cover_tells_what_is_needed_on_paper(gauges):
    prop, patterns = sample()
    steps = order(prop, patterns)
    assert not any("bend-gauges" in step.uses for step in steps)
    if gauges:
        steps = [replace(steps[0], uses=(*steps[0].uses, "bend-gauges")), *steps[1:]]
    front, *pages = booklet(prop, patterns, steps, pictures(steps), A4, INFO).pages
    with_steps = [page.number for page in pages if "Assembly" in page.title]
    told = " ".join(i.value for i in front.drawing.items if isinstance(i, Text))
    assert f"of this booklet pages {with_steps[0]}-{with_steps[-1]}, the steps" in told
    assert ("gauges.pdf" in told) is gauges and "templates.pdf" in told


@pytest.mark.parametrize("fits", [True, False])
def test_the_cover_names_whom_it_fits_only_if_it_does(fits):
    prop, patterns = sample()
    deep = () if fits else (Contact("deck", 1, 12.4, (0, 0, 0)),)
    tried_on = Fit("toy dog", 3.0 if fits else 0.0, "deck", 1, (0, 0, 0), deep)
    told = dict(facts(prop, patterns, [], Pictures((), {}, None), None, tried_on))
    assert told.get("Fits") == ("toy dog" if fits else None)
    assert fits or "does not fit" in told["Made for"]


def test_a_thickness_is_named_once():
    assert stock_title(SKIN) == "EVA foam, thin, 2 mm"
    assert stock_title(replace(SKIN, name="EVA foam 2 mm")) == "EVA foam 2 mm"


@pytest.mark.parametrize(("minutes", "said"), [(5, "5 min"), (60, "1 h"), (135, "2 h 15 min")])
def test_durations(minutes, said):
    assert duration(minutes) == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(2, "5 min"), (58, "1 h"), (70, "1 h 15 min"), (205, "3 h 30 min"), (325, "5 h"), (1862, "31 h"), (0, "5 min")],
)
def test_estimates_are_told_no_finer_than_a_maker_plans(minutes, said):
    assert roughly(minutes) == said


def test_bookmarks_and_links_lead_to_what_they_name():
    """Read by pypdf: the outline of the file (ISO 32000-1, 12.3.3) and its link annotations (12.5.6.5)."""
    reader = pypdf.PdfReader(BytesIO(pdf_bytes(made())))
    assert reader.trailer["/Root"]["/Lang"] == "en"
    steps = order(*sample())
    outline = reader.outline
    chapters = [entry for entry in outline if not isinstance(entry, list)]
    assert [entry.title for entry in chapters][:2] == ["Cover", "Safety"]
    nested = next(entry for entry in outline if isinstance(entry, list))
    assert [entry.title for entry in nested] == [f"{step.number}  {step.title}" for step in steps]
    for entry in (*chapters[1:], *nested):
        page = reader.pages[reader.get_destination_page_number(entry)]
        assert entry.title.split("  ")[-1].split()[0] in page.extract_text()
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages, start=1)}
    links = [a.get_object() for a in reader.pages[0]["/Annots"]]
    numbers = [text.value for text in texts(made().pages[0]) if text.link]
    assert len(links) == len(chapters) - 1  # all but the cover itself
    assert [str(pages[link["/Dest"][0].idnum]) for link in links] == numbers


def test_a_letter_in_a_picture_leads_to_the_list_of_parts():
    """Its rectangle is in the picture, its target the page that has the part's row."""
    prop, patterns = sample()
    steps = order(prop, patterns)
    drawn = pictures(steps)
    piece = prop.pieces[0]
    lettered = replace(next(iter(drawn.steps.values())), bubbles=(Bubble(piece.label, (0.0, 0.0), (1.0, 1.0), 3.0),))
    shown = replace(drawn, steps={**drawn.steps, steps[3].number: lettered})
    document = booklet(prop, patterns, steps, shown, A4, INFO, FIT)
    target = next(page for page in document.pages if any(p.name == f"part {piece.label}" for p in page.places))
    reader = pypdf.PdfReader(BytesIO(pdf_bytes(document)))
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages, start=1)}
    links = [a.get_object() for page in reader.pages[1:] for a in page.get("/Annots", ())]
    assert [pages[link["/Dest"][0].idnum] for link in links] == [target.number]
    assert any(text.value == piece.name for text in texts(target))
