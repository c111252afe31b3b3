import ctypes
import hashlib
import io
import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely
from sample_templates import INFO, oval, strip, template, templates
from shapely import LineString, Polygon
from shapely.affinity import translate

from foamwright.drawing.metrics import text_box
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Drawing, Path, Text, Tick
from foamwright.drawing.shapes import ink
from foamwright.layout.furniture import PRINT_MARGIN, Caption, area, joins, title_strip
from foamwright.layout.pages import lay_out
from foamwright.layout.paper import paper
from foamwright.layout.tiling import OVERLAP

PAPERS = ("a4", "letter", "a5", "a2")


@pytest.fixture(scope="module", params=PAPERS)
def laid_out(request):
    return lay_out(templates(), paper(request.param), INFO)


@pytest.fixture(scope="module")
def pdf(laid_out):
    return pdf_bytes(laid_out)


def texts(page):
    return [i for i in page.drawing.items if isinstance(i, Text)]


def cut_lines(page):
    lines = []
    for item in page.drawing.items:
        if isinstance(item, Path) and item.layer == "cut":
            points = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
            lines.append(LineString(points))
    return lines


def code_of(page):
    """The code in the title strip of a page of a split part."""
    return next(t.value for t in texts(page) if re.fullmatch(r"[A-Z+]+-r\d+c\d+", t.value))


def test_nothing_lies_outside_the_printable_area(laid_out):
    for page in laid_out.pages:
        for item in page.drawing.items:
            match item:
                case Path():
                    points = item.points
                case Tick():
                    points = np.array([item.start, item.end])
                case Text():
                    points = text_box(item)
            assert (points >= PRINT_MARGIN - 1e-6).all()
            assert (points <= np.array([page.width, page.height]) - PRINT_MARGIN + 1e-6).all()


def test_pages_are_numbered_and_of_the_paper(laid_out):
    size = paper(laid_out.paper)
    assert [p.number for p in laid_out.pages] == list(range(1, len(laid_out.pages) + 1))
    assert all(sorted((p.width, p.height)) == [size.width, size.height] for p in laid_out.pages)


def test_every_part_is_on_a_page_and_the_table_says_where(laid_out):
    for number, part in enumerate(templates()):
        assert any(part.pattern.piece.id in p.parts for p in laid_out.pages), number
    page_map = [t for p in laid_out.pages for t in texts(p) if t.value == "side panel"]
    row = page_map[0].at[1]
    front = next(p for p in laid_out.pages if page_map[0] in texts(p))
    cells = [t for t in texts(front) if t.at[1] == row and t.at[0] < 205.0]
    last_cell = max(cells, key=lambda t: t.at[0]).value
    listed = set()
    for run in last_cell.split(", "):
        first, _, last = run.partition("-")
        listed |= set(range(int(first), int(last or first) + 1))
    assert listed == {p.number for p in laid_out.pages if "part-0" in p.parts}


def test_whole_parts_keep_their_size_and_their_distance(laid_out):
    wanted = {round(Polygon(t.footprint).area, 3) for t in templates()}
    for page in laid_out.pages:
        closed = [i for i in page.drawing.items if isinstance(i, Path) and i.layer == "cut" and i.closed]
        outlines = [Polygon(i.points) for i in closed if len(i.points) > 2]
        assert {round(o.area, 3) for o in outlines} <= wanted
        for a, b in combinations(outlines, 2):
            assert a.distance(b) >= 6.0


def test_texts_do_not_overlap(laid_out):
    for page in laid_out.pages:
        boxes = [(t, Polygon(text_box(t)).buffer(-0.3)) for t in texts(page)]
        tree = shapely.STRtree([b for _, b in boxes])
        for k, (text, box) in enumerate(boxes):
            met = [boxes[j][0].value for j in tree.query(box, predicate="intersects") if j != k]
            assert not met, f"page {page.number}: {text.value!r} meets {met}"


def test_every_text_of_a_part_is_printed_once(laid_out):
    printed = Counter(t.value for p in laid_out.pages for t in texts(p))
    for part in templates():
        for text in part.drawing.flat:
            if isinstance(text, Text) and text.layer == "tick":
                assert printed[text.value] == 1, text.value


def shift_of(page):
    """From its place on the page to its place in the part, for what a page of a split part shows."""
    x0, y0, x1, y1 = page.window
    return (page.column - 1) * (x1 - x0 - OVERLAP) - x0, -(page.row - 1) * (y1 - y0 - OVERLAP) - y0


def reassembled(pages):
    """Cut lines of the pages of one split part, each page shifted by whole windows less the overlap."""
    lines = []
    for page in pages:
        dx, dy = shift_of(page)
        lines += [translate(line, dx, dy) for line in cut_lines(page)]
    return shapely.line_merge(shapely.union_all(lines, grid_size=1e-4))


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
@pytest.mark.parametrize(
    "part",
    [
        template(0, "panel", oval(200, 90, 2.3)),
        template(1, "floor", oval(330, 240)),
        template(2, "strip", strip(700, 30)),
    ],
    ids=["panel", "floor", "strip"],
)
def test_split_part_reassembles_from_its_pages(name, part):
    pages = [p for p in lay_out([part], paper(name), INFO).pages if p.row]
    outline = Polygon(part.footprint)
    whole = reassembled(pages)
    assert whole.geom_type == "LineString" and whole.is_closed
    assert whole.length == pytest.approx(outline.length, abs=0.1)
    assert Polygon(whole).area == pytest.approx(outline.area, rel=1e-4)
    for page in pages:  # no page without foam
        assert Polygon(whole).intersects(translate(shapely.box(*page.window), *shift_of(page)))
    assert len(pages) >= outline.area / shapely.box(*pages[0].window).area


def test_cut_line_runs_on_across_joins():
    """The points where the cut line crosses a join lie at one place on both pages, to 0.1 mm."""
    part = template(0, "floor", oval(330, 240))
    pages = {(p.row, p.column): p for p in lay_out([part], paper("a4"), INFO).pages if p.row}
    checked = 0
    for (row, column), page in pages.items():
        x0, y0, x1, y1 = page.window
        half = OVERLAP / 2
        beside, below = pages.get((row, column + 1)), pages.get((row + 1, column))
        if beside:
            here = LineString([(x1 - half, y0), (x1 - half, y1)])
            there = LineString([(x0 + half, y0), (x0 + half, y1)])
            checked += _same_crossings(page, here, beside, there, axis=1)
        if below:
            here = LineString([(x0, y0 + half), (x1, y0 + half)])
            there = LineString([(x0, y1 - half), (x1, y1 - half)])
            checked += _same_crossings(page, here, below, there, axis=0)
    assert checked >= 8


def _same_crossings(page, here, other, there, axis):
    found = []
    for lines, join in ((cut_lines(page), here), (cut_lines(other), there)):
        points = shapely.get_coordinates(shapely.union_all([line.intersection(join) for line in lines]))
        found.append(np.sort(points[:, axis]))
    assert found[0] == pytest.approx(found[1], abs=0.1)
    return len(found[0])


def test_joins_name_each_other(laid_out):
    split = {p.number: p for p in laid_out.pages if p.row}
    named = {}
    for number, page in split.items():
        for text in texts(page):
            found = re.fullmatch(r"(?:trim here, lay on|goes under) page (\d+)(?: \((.+)\))?", text.value)
            if found:
                other = split[int(found[1])]
                assert found[2] in (None, code_of(other))
                assert abs(other.row - page.row) + abs(other.column - page.column) == 1
                named.setdefault(number, set()).add(other.number)
    assert all(number in named[other] for number, others in named.items() for other in others)


def test_strips_share_a_run_of_pages():
    alone = [len([p for p in lay_out([s], paper("a4"), INFO).pages if p.row]) for s in templates()[4:6]]
    both = [p for p in lay_out(templates()[4:6], paper("a4"), INFO).pages if p.row]
    assert len(both) == max(alone) and all(set(p.parts) == {"part-4", "part-5"} for p in both)


def test_large_parts_lie_side_by_side_where_that_saves_pages():
    """Two discs of 330 mm take four pages each, and six together, of which neither runs over more than four."""
    discs = [template(k, "disc", oval(165, 165)) for k in range(2)]
    assert len([p for p in lay_out(discs[:1], paper("a4"), INFO).pages if p.row]) == 4
    pages = [p for p in lay_out(discs, paper("a4"), INFO).pages if p.row]
    assert len(pages) == 6
    for disc in discs:
        shown = [p for p in pages if disc.pattern.piece.id in p.parts]
        assert len(shown) == 4
        for page in shown:  # the list of parts is that of what is to be seen between the joins
            assert cut_lines(page)


def test_no_page_shows_a_sliver_where_it_can_be_helped():
    """15 mm too wide for a page, with words in the middle: parted through these rather than at its rim."""
    plate = template(0, "plate", strip(205, 230) - (102.5, 115.0))
    pages = [p for p in lay_out([plate], paper("a4"), INFO).pages if p.row]
    assert len(pages) == 2
    for page in pages:
        across = np.ptp(np.vstack([np.array(line.coords) for line in cut_lines(page)]), axis=0)
        assert across.min() > 25.0 + OVERLAP / 2


def test_diagonal_part_is_turned_to_fit_whole():
    turn = np.array([[0.8, 0.6], [-0.6, 0.8]])
    bar = template(0, "bar", (strip(240, 35) - (120, 17)) @ turn)
    pages = [p for p in lay_out([bar], paper("a4"), INFO).pages if "part-0" in p.parts]
    assert len(pages) == 1 and pages[0].row is None


def squares(pdf, number):
    """Sides of the square paths on a page, in mm, as an independent reader finds their corners."""
    raw = pypdfium2.raw
    page = pypdfium2.PdfDocument(pdf)[number]
    sides = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        points = []
        for k in range(raw.FPDFPath_CountSegments(item)):
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(item, k), x, y)
            points.append((x.value, y.value))
        width, height = np.ptp(np.array(points), axis=0) * 25.4 / 72.0
        if abs(width - height) < 1e-3:
            sides.append(width)
    return np.array(sides)


def test_measured_squares_in_the_file(laid_out, pdf):
    for page in laid_out.pages:
        assert np.abs(squares(pdf, page.number - 1) - 25.0).min() < 0.001
    first = squares(pdf, 0)
    assert np.abs(first - 50.0).min() < 0.001 and np.abs(first - 50.8).min() < 0.001


@pytest.mark.parametrize("count", [1, 2, 4, 9, 40])
def test_names_in_a_title_strip_are_there_all_or_none(count):
    names = tuple(f"A{k} Skin, fore hoop {k}" for k in range(count))
    strip = title_strip(210.0, INFO, 2, 18, Caption("A", names), (175.0, 10.0))
    small = [item for item in strip if isinstance(item, Text) and item.height == 2.2 and item.value != "100 mm"]
    assert " ".join(item.value for item in small) == (", ".join(names) if count < 40 else "")
    assert all(text_box(item)[:, 0].max() < 175.0 for item in small)


@pytest.mark.parametrize("name, wanted", [("a4", 100.0), ("letter", 100.0), ("roll-610", 100.0), ("a3", 100.0)])
def test_every_page_has_marks_of_100_mm_clear_of_its_templates(name, wanted):
    """Lines of the file itself, read by another library; what is drawn of a part stays above them."""
    made = lay_out([template(0, "disc", oval(40, 40)), template(1, "bar", oval(400, 60))], paper(name), INFO)
    pdf = pypdfium2.PdfDocument(pdf_bytes(made))
    for page in made.pages:
        marks = sorted(
            (tick.start[0], tick.start[1])
            for tick in page.drawing.items
            if isinstance(tick, Tick) and tick.end[1] - tick.start[1] == pytest.approx(1.6)
        )
        assert len(marks) == 2 and marks[0][1] == marks[1][1]
        assert marks[1][0] - marks[0][0] == pytest.approx(wanted, abs=1e-9)
        cut = [p.points for p in page.drawing.items if isinstance(p, Path) and p.layer == "cut"]
        assert all(points[:, 1].min() > marks[0][1] + 1.6 for points in cut)
        words = pdf[page.number - 1].get_textpage().get_text_range()
        assert "100 mm" in words


def test_measured_square_on_a_rendered_page():
    pdf = pdf_bytes(lay_out([template(0, "disc", oval(40, 40))], paper("a4"), INFO))
    dpi = 254.0  # 10 pixels to the millimetre
    image = np.asarray(pypdfium2.PdfDocument(pdf)[0].render(scale=dpi / 72.0, grayscale=True).to_numpy())
    image = image.reshape(image.shape[0], image.shape[1])
    square = image[-360:-90, -360:-90] < 160  # around the lower right corner, where the 25 mm square is
    columns, rows = np.flatnonzero(square.mean(axis=0) > 0.8), np.flatnonzero(square.mean(axis=1) > 0.8)
    for found in (columns, rows):
        edges = np.split(found, np.flatnonzero(np.diff(found) > 1) + 1)
        assert len(edges) == 2 and edges[1].mean() - edges[0].mean() == pytest.approx(250.0, abs=1.0)


def test_text_of_every_page_can_be_extracted(laid_out, pdf):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    total = len(laid_out.pages)
    for page in laid_out.pages:
        text = reader.pages[page.number - 1].extract_text()
        assert f"page {page.number} of {total}" in text and INFO.name in text
        assert f"size {INFO.size}, version {INFO.version}" in text


def test_bytes_are_the_same_in_another_process():
    here = os.path.dirname(__file__)
    code = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1])\n"
        "import test_layout_pages as t; print(hashlib.sha256(t.written()).hexdigest())"
    )
    environment = os.environ | {"PYTHONHASHSEED": "11", "PYTHONPATH": os.pathsep.join(sys.path)}
    command = [sys.executable, "-c", code, here]
    run = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == hashlib.sha256(written()).hexdigest()


def written():
    return pdf_bytes(lay_out(templates()[:6], paper("a4"), INFO))


def test_a_part_that_fits_beside_the_square_stays_whole():
    """190 x 262 mm but for one corner: the printable part of A4 is 190 x 277, less the strip of 12."""
    plate = np.array([[0, 0], [160, 0], [160, 30], [189, 30], [189, 262], [0, 262]])
    pages = [p for p in lay_out([template(0, "plate", plate)], paper("a4"), INFO).pages if "part-0" in p.parts]
    assert len(pages) == 1 and pages[0].row is None


def test_the_square_stands_on_foam_where_there_is_no_other_room():
    """A plate that fills the printable part: the square keeps clear of its lines and words."""
    plate = template(0, "plate", np.array([[0, 0], [188, 0], [188, 262], [0, 262]]))
    page = next(p for p in lay_out([plate], paper("a4"), INFO).pages if "part-0" in p.parts)
    assert page.row is None
    square = next(i for i in page.drawing.items if isinstance(i, Path) and len(i.points) == 4 and i.layer == "page")
    box = Polygon(square.points)
    assert box.area == pytest.approx(625.0)
    assert all(box.distance(line) > 0.5 for line in cut_lines(page))
    words = [t for t in texts(page) if t.value in ("25 mm", "check me")]
    assert all(box.distance(Polygon(text_box(t))) > 0.5 for t in texts(page) if t not in words)


def test_small_parts_stand_in_the_holes_of_large_ones():
    parts = [
        template(0, "frame", strip(185, 260), [strip(165, 118) + np.array([10, 137])]),
        template(1, "disc", oval(50, 50)),  # too large for what the front matter leaves of its page
    ]
    pages = [p for p in lay_out(parts, paper("a4"), INFO).pages if p.parts]
    assert [p.parts for p in pages] == [("part-0", "part-1")]
    hole = next(i for i in pages[0].drawing.items if isinstance(i, Path) and i.layer == "cut-inner")
    disc = next(i for i in pages[0].drawing.items if isinstance(i, Path) and i.layer == "cut" and len(i.points) == 120)
    assert Polygon(hole.points).contains(Polygon(disc.points))


@pytest.mark.parametrize("width", [610.0, 914.0])
def test_a_roll_is_one_page_as_long_as_its_content(width):
    document = lay_out(templates(), paper(f"roll-{width:g}"), INFO)
    (page,) = document.pages
    assert page.width == width and set(page.parts) == {t.pattern.piece.id for t in templates()}
    corners = np.vstack([i.points for i in page.drawing.items if isinstance(i, Path) and i.layer != "page"])
    assert (corners >= PRINT_MARGIN - 1e-6).all() and (
        corners <= np.array([width, page.height]) - PRINT_MARGIN + 1e-6
    ).all()
    assert corners[:, 1].min() < PRINT_MARGIN + 30.0  # nothing blank but the room of the square
    covered = sum(Polygon(t.footprint).area for t in templates())
    assert covered / (page.width * page.height) > 0.35


def test_many_parts_take_two_pages_of_front_matter():
    many = [template(k % 26, f"small plate {k}", oval(30, 20)) for k in range(60)]
    many = [replace(t, pattern=SimpleNamespace(**vars(t.pattern))) for t in many]
    for k, t in enumerate(many):
        t.pattern.piece.id = f"part-{k}"
    pages = lay_out(many, paper("a4"), INFO).pages
    assert [p.title.startswith(("How to", "Page map")) for p in pages[:3]] == [True, True, False]


def test_each_page_of_a_split_part_has_its_letter(laid_out):
    """Of each part that a page of a split part shows more than a scrap of: on it, or beside it off all foam."""
    parts = {t.pattern.piece.label: Polygon(t.footprint, t.pattern.holes) for t in templates()}
    for page in laid_out.pages:
        if not page.row:
            continue
        x0, y0, x1, y1 = page.window
        core = shapely.box(x0 + OVERLAP, y0 + OVERLAP, x1 - OVERLAP, y1 - OVERLAP)
        shown = [line for line in cut_lines(page) if not line.is_closed and line.intersects(core)]
        labels = [t for t in texts(page) if t.role == "label"]
        split = [p for p in code_of(page).split("-")[0].split("+") if p in parts]
        if shown:  # not only a scrap at its rim
            assert {t.value for t in labels} & set(split), f"page {page.number}"


def test_what_does_not_occur_is_not_explained():
    """A row of the legend and an example of a page's name are of what is in the pack."""
    plain = lay_out([template(0, "ring", oval(90, 90), [oval(70, 70)])], paper("a4"), INFO)
    told = " ".join(t.value for p in plain.pages for t in texts(p))
    assert "dart" not in told and "B-r1c2" not in told and "cut this hole out" in told
    split = lay_out([template(2, "floor", oval(330, 240))], paper("a4"), INFO)
    told = " ".join(t.value for p in split.pages for t in texts(p))
    codes = {code_of(p) for p in split.pages if p.row}
    assert any(f"{code} is row" in told for code in codes) and "side by side" not in told


@pytest.mark.parametrize("side", ["top", "bottom", "left", "right"])
def test_words_at_a_join_leave_a_line_that_runs_beside_it(side):
    view = area(210.0, 297.0)
    away = {"top": (0, view.y1), "bottom": (0, view.y0), "left": (view.x0, 0), "right": (view.x1, 0)}[side]
    half = OVERLAP / 2
    points = np.array([[view.x0, view.y0], [view.x1, view.y1]])
    axis = 1 if side in ("top", "bottom") else 0
    inward = 1.0 if side in ("bottom", "left") else -1.0
    points[:, axis] = away[axis] + inward * half / 2.0  # in the middle of the strip beyond the join
    cut = Path(points, "cut")
    for drawn in (Drawing(()), Drawing((cut,))):
        (words,) = [i for i in joins(view, {side: (3, "A-r1c1")}, drawn) if isinstance(i, Text)]
        beyond = inward * (float(np.mean(text_box(words)[:, axis])) - away[axis]) < half
        assert beyond == (not drawn.flat)
        assert not drawn.flat or not shapely.Polygon(text_box(words)).intersects(LineString(points))


def test_words_at_a_join_leave_crosses_and_lines_of_the_other_join():
    """Where those that name the page's code find no room between the crosses, the number of the page does."""
    view = area(210.0, 148.0)
    code = "U1+U2+G-r1c3"
    items = joins(view, dict.fromkeys(("left", "right", "top", "bottom"), (12, code)), Drawing(()))
    marks = shapely.union_all([ink(i) for i in items if not isinstance(i, Text)])
    words = [i for i in items if isinstance(i, Text)]
    assert len(words) == 4
    assert {code in text.value for text in words} == {True, False}
    for text in words:
        assert not shapely.Polygon(text_box(text)).intersects(marks)


def test_an_arrow_that_stands_on_the_next_page_leaves_no_scrap_on_this_one():
    """Lines run on beyond a join, so that pages can be laid on each other by them; arrows are seen whole or not at all."""
    places = np.arange(3.0, 560.0, 2.0)
    lines = [Path(np.array([[x, 4.0], [x, 9.0]]), layer) for x in places for layer in ("note", "mark")]
    document = lay_out([template(4, "strip", strip(560, 30), extra=lines)], paper("a4"), INFO)
    drawn = Counter(i.layer for p in document.pages if p.row for i in p.drawing.items if isinstance(i, Path))
    assert drawn["note"] == len(places) < drawn["mark"]
