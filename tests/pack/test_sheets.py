"""The pieces of a prop on their sheets: complete, on the right side, in the record and in every file."""

import json
from collections import Counter
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import ezdxf
import jsonschema
import pytest
import shapely
from known_records import SCHEMA, known
from sample_prop import INFO, SHELL, sample
from shapely import Polygon, box

from foamwright.assembly.bodies import bodies
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.pages.materials import shopping, total_cost
from foamwright.booklet.words.order import order
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Text
from foamwright.drawing.primitives import Path as Line
from foamwright.errors import BuildError
from foamwright.flatten.records import Patterns
from foamwright.layout.paper import paper
from foamwright.layout.sheet_drawing import draw_sheet, sheet_bounds
from foamwright.layout.sheet_plans import sheet_plans
from foamwright.layout.sheets import _rounded, lay_on_sheets, numbered, piece_on_sheet
from foamwright.outputs.sheets import sheet_files
from foamwright.pack.plain import record_bytes
from foamwright.pack.record import pack_record
from foamwright.templates.records import Template

pytestmark = pytest.mark.usefixtures("little_search")


def stocked(**changes):
    """The sample prop with another shell stock."""
    prop, patterns = sample()
    shell = replace(SHELL, **changes)
    pieces = tuple(replace(p, stock=shell) if p.stock.id == "shell" else p for p in prop.pieces)
    prop = replace(prop, pieces=pieces)
    return Patterns(prop, tuple(replace(p, piece=prop.piece(p.piece.id)) for p in patterns.patterns), patterns.seams)


@pytest.fixture(scope="module")
def patterns():
    return sample()[1]


@pytest.fixture(scope="module")
def sheets(patterns, little_search):
    return lay_on_sheets(patterns)


def bare_templates(patterns):
    """Templates that say nothing but their outline."""
    found = []
    for p in patterns.patterns:
        lines = [Line(p.outline, "cut", True), *(Line(h, "cut-inner", True) for h in p.holes)]
        bounds = (*p.outline.min(axis=0), *p.outline.max(axis=0))
        found.append(Template(p, Drawing(tuple(lines)), bounds, p.outline))
    return found


def test_every_copy_is_laid_once_and_on_its_side(patterns, sheets):
    for pattern in patterns.patterns:
        placed = [p for s in sheets for p in s.placed if p.part == pattern.piece.id]
        assert sorted(p.copy for p in placed) == list(range(pattern.piece.quantity))
        assert sum(p.flipped for p in placed) == pattern.piece.mirrored
        layers = pattern.piece.layers
        for p in placed:
            assert p.flipped == pattern.piece.placements[p.copy // layers].mirrored


def test_pieces_are_apart_and_on_their_material(patterns, sheets):
    for sheet in sheets:
        foam = [piece_on_sheet(patterns.pattern(p.part), p) for p in sheet.placed]
        assert all(a.distance(b) >= 3.0 for a, b in combinations(foam, 2))
        assert all(box(3, 3, sheet.size[0] - 3, sheet.size[1] - 3).contains(f) for f in foam)
        assert {patterns.prop.piece(p.part).stock.id for p in sheet.placed} == {sheet.material}
        assert sheet.used == pytest.approx(sum(f.area for f in foam) / (sheet.size[0] * sheet.size[1]), abs=1e-6)


def test_the_record_says_where_each_piece_lies(patterns, sheets):
    steps = order(patterns.prop, patterns, Ways(bodies((), (), ())))
    record = json.loads(record_bytes(pack_record(known(patterns.prop, patterns, steps=steps, sheets=sheets))))
    jsonschema.Draft202012Validator(SCHEMA).validate(record)
    outlines = {p["id"]: p for p in record["parts"]}
    for sheet, own in zip(record["sheets"], sheets, strict=True):
        area = 0.0
        for placed, piece in zip(sheet["placed"], own.placed, strict=True):
            part = outlines[placed["part"]]
            foam = Polygon(part["outline"], part["holes"])
            if placed["flipped"]:
                foam = shapely.affinity.scale(foam, -1.0, 1.0, origin=(0, 0))
            foam = shapely.affinity.rotate(foam, placed["angle"], origin=(0, 0))
            foam = shapely.affinity.translate(foam, placed["x"], placed["y"])
            assert foam.symmetric_difference(piece_on_sheet(patterns.pattern(piece.part), piece)).area < 0.5
            area += foam.area
        assert sheet["used"] == pytest.approx(area / (sheet["size"][0] * sheet["size"][1]), abs=1e-4)


def test_files_are_true_to_size(patterns, sheets):
    files = sheet_files(sheets, bare_templates(patterns), INFO)
    assert len(files) == 2 * len(sheets)
    for sheet, number, _ in numbered(sheets):
        stem = f"sheets/{sheet.material}-{number}"
        x0, y0, x1, y1 = sheet_bounds(sheet)
        root = ElementTree.fromstring(files[f"{stem}.svg"])
        assert float(root.get("width").removesuffix("mm")) == pytest.approx(x1 - x0)
        assert float(root.get("viewBox").split()[3]) == pytest.approx(y1 - y0)
        assert files[f"{stem}.dxf"].startswith(b"  0\n")


def test_a_sheet_has_every_outline_and_label(patterns, sheets):
    templates = {t.pattern.piece.id: [t] for t in bare_templates(patterns)}
    for sheet, number, total in numbered(sheets):
        drawing = draw_sheet(sheet, number, total, templates, INFO)
        cut = [Polygon(i.points) for i in drawing.flat if isinstance(i, Line) and i.layer == "cut"]
        assert len(cut) == len(sheet.placed)
        for placed, outline in zip(sheet.placed, cut):
            foam = piece_on_sheet(patterns.pattern(placed.part), placed)
            assert outline.symmetric_difference(Polygon(foam.exterior)).area < 1e-6
        labels = Counter(i.value for i in drawing.flat if isinstance(i, Text) and i.layer == "note")
        assert labels == Counter(patterns.prop.piece(p.part).label for p in sheet.placed)


def test_dxf_is_read_by_its_library_without_a_complaint(patterns, sheets, tmp_path):
    file = tmp_path / "sheet.dxf"
    file.write_bytes(sheet_files(sheets[:1], bare_templates(patterns), INFO)[f"sheets/{sheets[0].material}-1.dxf"])
    assert not ezdxf.readfile(file).audit().has_errors


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_plans_keep_their_texts_apart_and_on_the_page(patterns, sheets, name):
    document = sheet_plans(sheets, patterns, paper(name), INFO)
    told = "; ".join(page.title for page in document.pages)
    assert told.count(", sheet ") == len(sheets)
    for page in document.pages:
        boxes = [Polygon(text_box(i)) for i in page.drawing.items if isinstance(i, Text)]
        room = box(0, 0, page.width, page.height)
        assert all(room.contains(b) for b in boxes)
        assert all(a.intersection(b).area < 0.05 for a, b in combinations(boxes, 2))


def test_a_part_larger_than_any_sheet_is_named():
    with pytest.raises(BuildError, match=r"bow_upper: Bow, upper .*100 x 90 mm.*larger"):
        lay_on_sheets(stocked(sheet=(100.0, 90.0)))


def test_a_grain_and_alike_faces_are_respected():
    for sheet in lay_on_sheets(stocked(turn="half")):
        if sheet.material == "shell":
            assert {p.angle for p in sheet.placed} <= {0.0, 180.0}
    for sheet in lay_on_sheets(stocked(turn="none")):
        if sheet.material == "shell":
            assert {p.angle for p in sheet.placed} == {0.0}


def test_the_shelf_is_used_first_and_costs_nothing():
    patterns = stocked(price=8.5, currency="EUR")
    bought = shopping(patterns.prop, patterns, lay_on_sheets(patterns))
    shell = next(line for line in bought if line.cost is not None)
    assert shell.cost == 8.5 * shell.amount and total_cost(bought) == f"{shell.cost:.2f} EUR"
    sheets = lay_on_sheets(patterns, {"shell": [(600.0, 1200.0)] * 2})
    assert all(s.on_hand for s in sheets if s.material == "shell")
    free = shopping(patterns.prop, patterns, sheets)
    shell = next(line for line in free if line.cost is not None)
    assert shell.amount == shell.cost == 0.0 and "from the shelf" in shell.basis


def test_a_roll_is_bought_by_the_metre():
    patterns = stocked(roll=300.0, price=12.0, currency="EUR")
    sheets = [s for s in lay_on_sheets(patterns) if s.material == "shell"]
    assert len(sheets) == 1 and sheets[0].size[0] == 300.0
    line = next(p for p in shopping(patterns.prop, patterns, sheets) if "roll" in p.item)
    assert line.unit == "m" and 0.0 <= 1000.0 * line.amount - sheets[0].size[1] < 10.0
    assert line.cost == pytest.approx(12.0 * line.amount)


def test_a_corner_a_hairs_breadth_from_the_point_before_it_makes_no_spike():
    corner = [(89.44978542, -55.09834287), (89.45048419, -55.09854621), (89.45048436, -54.72760723), (89.4504848, 0)]
    foam = Polygon([(0, 0), (87.5, 0), *corner, (89.5, 30), (0, 30)])
    assert foam.is_valid
    assert not shapely.transform(foam, lambda points: points.round(3)).is_valid
    rounded = _rounded(foam)
    assert rounded.is_valid
    assert rounded.area == pytest.approx(foam.area, rel=1e-4)
    assert shapely.get_coordinates(rounded) == pytest.approx(shapely.get_coordinates(rounded).round(3))


def test_a_sheet_of_which_little_is_used_is_drawn_as_large_as_that_allows(patterns, sheets):
    """Drawn whole, small pieces at the foot of a long sheet are specks on an empty page."""
    sheet = replace(sheets[0], placed=sheets[0].placed[:1], length=120.0, size=(sheets[0].size[0], 1200.0))
    placed = replace(sheet.placed[0], x=70.0, y=60.0, angle=0.0, flipped=False)
    sheet = replace(sheet, placed=(placed,))
    foam = piece_on_sheet(patterns.pattern(placed.part), placed)

    def drawn(own):
        items = sheet_plans([own], patterns, paper("a4"), INFO).pages[0].drawing.flat
        return max(
            (Polygon(i.points) for i in items if isinstance(i, Line) and i.layer == "view"), key=lambda p: p.area
        )

    small, large = (drawn(replace(sheet, length=length)) for length in (1150.0, 120.0))
    assert large.area > 1.5**2 * small.area
    lying = shapely.affinity.rotate(foam, -90.0)  # turned, and not over
    scale = (large.area / Polygon(foam.exterior).area) ** 0.5
    lying = shapely.affinity.scale(lying, scale, scale)
    (x0, y0), (x1, y1) = lying.centroid.coords[0], large.centroid.coords[0]
    assert shapely.affinity.translate(lying, x1 - x0, y1 - y0).symmetric_difference(large).area < 0.02 * large.area


def test_a_plan_explains_only_what_is_drawn_on_it(patterns, sheets):
    for sheet in sheets:
        told = " ".join(
            i.value
            for i in sheet_plans([sheet], patterns, paper("a4"), INFO).pages[0].drawing.flat
            if isinstance(i, Text)
        )
        assert ("Hatched" in told) == any(
            p.flipped and not patterns.prop.piece(p.part).either_hand for p in sheet.placed
        )
        assert ("dashed" in told) == (sheet.size[1] - sheet.length > 20.0)


def test_sheets_that_are_alike_have_one_plan_and_small_ones_share_a_page(patterns, sheets):
    """Six panes on three sheets are cut three times the same, and four discs need no page of their own."""
    first = sheets[0]
    few = replace(first, placed=first.placed[:2])
    alike = [replace(few, placed=tuple(replace(p, copy=p.copy + 2 * k) for p in few.placed)) for k in range(3)]
    (page,) = sheet_plans(alike, patterns, paper("a4"), INFO).pages
    assert page.title.endswith("sheets 1 to 3 of 3, all alike")
    moved = replace(alike[1], placed=tuple(replace(p, x=p.x + 9.0) for p in few.placed))
    (page,) = sheet_plans([few, moved], patterns, paper("a4"), INFO).pages
    assert "sheet 1 of 2" in page.title and "sheet 2 of 2" in page.title
    other = replace(few, placed=few.placed[:1])
    (page,) = sheet_plans([*alike, other], patterns, paper("a4"), INFO).pages
    assert page.title.endswith("sheet 4 of 4") and "sheets 1 to 3 of 4" in page.title
    words = [i for i in page.drawing.flat if isinstance(i, Text)]
    assert not any(
        Polygon(text_box(a)).intersection(Polygon(text_box(b))).area > 0.05 for a, b in combinations(words, 2)
    )
    many = replace(few, placed=first.placed[:1] * 13)
    assert len(sheet_plans([few, many], patterns, paper("a4"), INFO).pages) == 2


def test_no_name_on_a_plan_is_cut_and_a_sheet_that_goes_on_ends_in_a_jagged_line(patterns, sheets):
    sheet = replace(sheets[0], placed=sheets[0].placed[:1], length=120.0, size=(sheets[0].size[0], 1200.0))
    piece = patterns.prop.piece(sheet.placed[0].part)
    long = "Lacing strip, outer, of the left arm and of the right one as well"
    prop = replace(
        patterns.prop, pieces=tuple(replace(p, name=long) if p is piece else p for p in patterns.prop.pieces)
    )
    items = sheet_plans([sheet], replace(patterns, prop=prop), paper("a4"), INFO).pages[0].drawing.flat
    assert long in " ".join(i.value for i in items if isinstance(i, Text))
    (ground,) = (i for i in items if isinstance(i, Line) and i.layer == "page" and i.closed)
    assert len(ground.points) > 8
    (whole,) = (
        i
        for i in sheet_plans([replace(sheet, length=1190.0)], patterns, paper("a4"), INFO).pages[0].drawing.flat
        if isinstance(i, Line) and i.layer == "page" and i.closed
    )
    assert len(whole.points) == 4
