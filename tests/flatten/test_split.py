"""Parts larger than the sheet: their segments make up the whole, fit the sheet, and meet along one line."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import Polygon
from shapely.affinity import translate

from foamwright.design.load import load
from foamwright.errors import BuildError
from foamwright.flatten.records import Pattern, PatternEdge, Segment, Split
from foamwright.flatten.segments import pieces_of_foam, segment_label
from foamwright.flatten.split import fits
from foamwright.layout.records import PackInfo
from foamwright.layout.sheet_drawing import draw_sheet
from foamwright.layout.sheets import lay_on_sheets, piece_on_sheet
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.records import Piece
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw, outlines_only

pytestmark = pytest.mark.usefixtures("little_search")

HEAD = """
format: 1
name: Large parts
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  mat: {name: Mat, thickness: 10 mm, sheet: [300 mm, 600 mm]}
  grain: {name: Grained, thickness: 10 mm, sheet: [300 mm, 600 mm], turn: half}
  rigid: {name: Rigid, thickness: 3 mm, sheet: [300 mm, 600 mm], material_type: acrylic, kerf: 0.2 mm}
forms:
  pipe:
    kind: revolution
    axis: x
    smooth: false
    profile: [[0, 150 * scale], [400 * scale, 150 * scale]]
    cuts: {half: {plane: {normal: z, at: 0}}}
parts:
"""
ROUND = "{kind: disc, stock: mat, radius: 200, at: {normal: z}}"
RING = "{kind: ring, stock: mat, outer_radius: 260, inner_radius: 200, layers: 2, at: {normal: z}}"
BOARD = """{kind: plate, stock: mat, at: {normal: z},
    outline: {rectangle: {width: 500, height: 700}, minus: [{circle: {radius: 90}}]}}"""
HOOP = """{kind: band, stock: mat, width: 40, trim: {end: 10},
    along: {outline: {circle: {radius: 250}}, at: {normal: z}}}"""
HOOK = """{kind: plate, stock: mat, at: {normal: z}, outline: {polygon: {points:
    [[0, 0], [500, 0], [500, 400], [400, 400], [400, 120], [0, 120]]}}}"""


def patterns(tmp_path, *parts):
    path = tmp_path / "large.yaml"
    path.write_text(HEAD + "".join(f"  part_{k}: {part}\n" for k, part in enumerate(parts)), "utf-8")
    return section_and_flatten(build_model(build_prop(load(path))))


def pattern(tmp_path, part):
    return patterns(tmp_path, part).patterns[0]


def foam(split):
    return [Polygon(s.outline, s.holes) for s in split.segments]


@pytest.mark.parametrize("part", [ROUND, RING, BOARD, HOOK])
def test_segments_of_a_plate_make_up_the_whole(tmp_path, part):
    found = pattern(tmp_path, part)
    whole, pieces = Polygon(found.outline, found.holes), foam(found.split)
    assert found.split.joint == "puzzle"
    assert all(piece.is_valid and fits(piece, found.piece.stock) for piece in pieces)
    assert sum(s.area for s in found.split.segments) == pytest.approx(whole.area, rel=1e-9)
    assert shapely.union_all(pieces).symmetric_difference(whole).area < 1e-6 * whole.area


@pytest.mark.parametrize("part", [ROUND, RING, BOARD])
def test_both_sides_of_a_joint_run_along_one_line(tmp_path, part):
    split = pattern(tmp_path, part).split
    pieces = foam(split)
    shared = sum((a.boundary & b.boundary).length for k, a in enumerate(pieces) for b in pieces[k + 1 :])
    drawn = sum(shapely.LineString(line).length for line in split.lines)
    assert shared == pytest.approx(drawn, rel=1e-6)


def test_dovetails_hold_and_straight_edges_do_not(tmp_path):
    """Drawn straight apart by a hair, dovetails run into each other; a butt joint opens."""
    for joint, held in (("puzzle", True), ("butt", False)):
        part = ROUND.replace("stock: mat", f"stock: mat, split: {{joint: {joint}, across: x, at: [0.5]}}")
        left, right = foam(pattern(tmp_path, part).split)
        assert ((left & translate(right, 2.0)).area > 1.0) is held


def test_a_hoop_is_lengthened_by_its_scarfs(tmp_path):
    found = pattern(tmp_path, HOOP)
    pieces = foam(found.split)
    overlap = 30.0  # a scarf of 3 to 1 in 10 mm foam; common practice, no source
    length = 2 * np.pi * 255 + 10  # the neutral circle and what is trimmed
    lengths = [p.bounds[2] - p.bounds[0] for p in pieces]
    assert found.split.joint == "scarf" and len(pieces) == 3
    assert sum(lengths) == pytest.approx(length + 2 * overlap, abs=0.05)
    assert max(lengths) - min(lengths) < 1e-6 and max(lengths) < 594
    for a, b in pairwise(pieces):
        assert (a & b).area == pytest.approx(40 * overlap)


def test_shares_are_told_in_the_axes_of_the_part(tmp_path):
    """A pattern is seen from inside, with x turned: what is cut off at the low end of x lies to its right."""
    part = """{kind: plate, stock: mat, at: {normal: z}, split: {joint: butt, across: x, at: [0.25]},
        outline: {rectangle: {width: 400, height: 200}}}"""
    small, large = sorted(foam(pattern(tmp_path, part).split), key=lambda p: p.area)
    assert small.area == pytest.approx(100 * 200) and large.area == pytest.approx(300 * 200)
    assert small.centroid.x > large.centroid.x


def test_what_fits_is_left_whole_and_a_stated_split_is_made_all_the_same(tmp_path):
    assert pattern(tmp_path, "{kind: disc, stock: mat, radius: 146, at: {normal: z}}").split is None
    slim = "{kind: plate, stock: %s, outline: {rectangle: {width: 580, height: 200}}, at: {normal: z}}"
    assert pattern(tmp_path, slim % "mat").split is None  # it may be turned
    assert pattern(tmp_path, slim % "grain").split is not None
    stated = "{kind: disc, stock: mat, radius: 100, split: {at: [0.3, 0.7]}, at: {normal: z}}"
    assert len(pattern(tmp_path, stated).split.segments) == 3


def test_panels_and_rigid_parts_are_not_split(tmp_path):
    assert pattern(tmp_path, "{kind: disc, stock: rigid, radius: 200, at: {normal: z}}").split is None
    barrel = "{kind: panel, stock: mat, form: pipe, where: {half: beyond}}"
    found = pattern(tmp_path, barrel)
    assert not fits(Polygon(found.outline), found.piece.stock) and found.split is None


def test_a_joint_without_room_is_named(tmp_path):
    narrow = "{kind: ring, stock: mat, outer_radius: 200, inner_radius: 185, at: {normal: z}}"
    with pytest.raises(BuildError, match="part_0: it is too narrow for the dovetails"):
        pattern(tmp_path, narrow)
    wide = """{kind: plate, stock: mat, outline: {rectangle: {width: 700, height: 700}}, at: {normal: z},
        split: {at: [0.5]}}"""
    with pytest.raises(BuildError, match=r"part_0: a segment of .* fits no sheet"):
        pattern(tmp_path, wide)


def test_every_segment_of_every_copy_lies_on_a_sheet(tmp_path):
    slim = """{kind: plate, stock: mat, outline: {rectangle: {width: 500, height: 100}}, at: {normal: z},
        split: {joint: puzzle, at: [0.5]}, layers: 2, mirror: x}"""
    found = patterns(tmp_path, slim)
    sheets = lay_on_sheets(found)
    placed = [(p.copy, p.segment) for sheet in sheets for p in sheet.placed]
    assert sorted(placed) == [(copy, segment) for copy in range(4) for segment in range(2)]
    for sheet in sheets:
        pieces = [piece_on_sheet(found.patterns[0], p) for p in sheet.placed]
        room = shapely.box(0, 0, *sheet.size)
        assert all(room.contains(piece) for piece in pieces)
        assert all((a & b).area < 1e-9 for k, a in enumerate(pieces) for b in pieces[k + 1 :])


@pytest.mark.parametrize("part", [ROUND, RING, BOARD, HOOK, HOOP])
def test_segments_share_out_the_edges_of_the_whole(tmp_path, part):
    found = pattern(tmp_path, part)
    own = pieces_of_foam(found)
    assert [p.piece.label for p in own] == [f"{found.piece.label}{k + 1}" for k in range(len(own))]
    for edge in found.edges:
        stretches = [e for p in own for e in p.edges if e.id == edge.id]
        met = shapely.union_all([shapely.LineString(e.points).buffer(0.01) for e in stretches])
        assert met.covers(shapely.LineString(edge.points))
        ends = 0.0 if found.split.joint != "scarf" else 30.0 * (len(own) - 1)
        lying = edge.id in ("low", "high")  # along a hoop, of which neighbours overlap
        assert sum(e.length for e in stretches) == pytest.approx(edge.length + ends * lying, rel=1e-4)
    for p in own:
        foam = Polygon(p.outline, p.holes)
        assert all(foam.boundary.buffer(0.01).covers(shapely.LineString(e.points)) for e in p.edges)


@pytest.mark.parametrize("drawn", ["inside", "outside"])
def test_ticks_of_a_mitred_wall_are_on_its_own_foam(tmp_path, drawn):
    """A post longer than its sheet: joints run over the wider one of both faces, so that they end beyond the edge of the other."""
    post = (
        "{kind: prism, stock: mat, sides: 4, width: 120, height: 900, floor: open, at: {origin: [0, 0, 0], normal: z}}"
    )
    found = patterns(tmp_path, post).patterns[0]
    if drawn == "outside":
        split = replace(
            found.split,
            segments=tuple(replace(s, outline=s.other_outline, other_outline=s.outline) for s in found.split.segments),
        )
        wide = [replace(e, points=e.points * (1.2, 1.0)) for e in found.edges if e.seam]  # 100 wide inside, 120 outside
        found = replace(found, outline=found.other_outline, split=split, edges=tuple(wide))
    own = pieces_of_foam(found)
    assert len(own) == 2 and found.split.joint == "scarf"
    for p in own:
        sewn = [e for e in p.edges if e.seam]
        assert [e.length for e in sewn] == pytest.approx([465.0, 465.0])  # half of it, and half of a slope of 30 mm
        for edge in sewn:
            assert len(edge.ticks) == len(edge.tick_numbers) > 5 and edge.ticks.max() <= 465.0
        assert all(Polygon(p.outline).boundary.buffer(0.01).covers(shapely.LineString(e.points)) for e in sewn)
    for side in ("left", "right"):
        numbers = [n for p in own for e in p.edges if e.id == side for n in e.tick_numbers]
        assert {*numbers} == {*next(e.tick_numbers for e in found.edges if e.id == side)}


def test_ticks_bevels_and_the_middle_stay_where_they_are_on_a_closed_edge():
    """A square cut apart in the middle; the edge begins in the middle of its right half and goes around."""
    ring = np.array([[50, 0], [50, 50], [-50, 50], [-50, -50], [50, -50], [50, 0]], float)
    edge = PatternEdge(
        "rim",
        ring,
        400.0,
        (0.0, 10.0, 20.0, 30.0, 40.0),
        (),
        "s",
        np.array([25.0, 200.0, 390.0]),
        (1, 2, 3),
        110.0,
    )
    cut = np.array([[0.0, -50.0], [0.0, 50.0]])
    foam = [shapely.box(-50, -50, 0, 50), shapely.box(0, -50, 50, 50)]
    square = pattern_of(edge, Split("butt", tuple(segment(f) for f in foam), (cut,)))
    (left,), (right,) = [p.edges for p in pieces_of_foam(square)]
    assert (left.length, right.length) == pytest.approx((200.0, 200.0))
    assert left.tick_numbers == (2,) and left.ticks == pytest.approx([100.0])
    assert right.tick_numbers == (3, 1) and right.ticks == pytest.approx([90.0, 125.0])
    assert left.middle == pytest.approx(10.0) and right.middle is None
    assert left.bevel == pytest.approx((10.0, 15.0, 20.0, 25.0, 30.0))
    assert right.bevel[0] == pytest.approx(30.0) and right.bevel[-1] == pytest.approx(10.0)


def test_each_segment_has_a_template_with_its_label_and_its_joints(tmp_path):
    found = patterns(tmp_path, ROUND, HOOP)
    for whole, joint in zip(found.patterns, ("puzzle joint", "scarf joint")):
        templates = [t for t in draw(found) if t.pattern.piece.id == whole.piece.id]
        labels = [segment_label(whole, k) for k in range(len(whole.split.segments))]
        assert [t.pattern.piece.label for t in templates] == labels
        for own, template in enumerate(templates):
            foam = Polygon(template.footprint).buffer(0.01)
            paths = [i for i in template.drawing.flat if hasattr(i, "points")]
            (cut,) = [i.points for i in paths if i.layer == "cut"]
            assert cut is whole.split.segments[own].outline
            drawn = [shapely.LineString(i.points) for i in paths if i.layer in ("mark", "mark-other", "trim")]
            assert all(map(foam.covers, drawn))
            texts = [i for i in template.drawing.flat if hasattr(i, "value")]
            (name,) = [t for t in texts if t.value == labels[own] and t.bold]
            assert foam.contains(shapely.Point(name.at))
            assert any(t.value.endswith(f"segment {own + 1} of {len(labels)}") for t in texts)
            said = " ".join(t.value for t in texts)
            for other in (own - 1, own + 1):
                if 0 <= other < len(labels):
                    assert f"{joint} to {labels[other]}" in said


def test_what_is_drawn_on_the_whole_is_on_its_segments(tmp_path):
    """Marks of a glued-on plate, an engraving, pins, slots and the trimmed end of a hoop."""
    board = """{kind: plate, stock: mat, at: {normal: z}, outline: {rectangle: {width: 500, height: 700}},
        engrave: [{circle: {radius: 60}}], layers: 2, pins: [[0, 200], [0, -200]]}"""
    plate = """{kind: plate, stock: mat, at: {normal: z, origin: [0, 0, 20]}, lies_on: [part_0],
        outline: {circle: {radius: 120}}}"""
    found = patterns(tmp_path, board, plate, HOOP)
    templates = draw(found)
    for part, layer, length in (
        ("part_0", "mark-other", 2 * np.pi * 120),
        ("part_0", "engrave", 2 * np.pi * 60),
        ("part_2", "trim", 40.0),
    ):
        own = [t for t in templates if t.pattern.piece.id == part]
        assert len(own) > 1
        drawn = [i for t in own for i in t.drawing.flat if i.layer == layer and hasattr(i, "points")]
        lines = [np.vstack([i.points, i.points[:1]]) if i.closed else i.points for i in drawn]
        assert sum(shapely.LineString(line).length for line in lines) == pytest.approx(length, rel=2e-3)


def test_a_sheet_shows_each_segment_with_its_label(tmp_path):
    """Of a plate, and of a plain strip, which is only listed."""
    strip = "{kind: strip, stock: mat, length: 900, width: 25}"
    found = patterns(tmp_path, ROUND, strip)
    templates = {"part_0": draw(found), "part_1": outlines_only(found.patterns[1])}
    info = PackInfo("Large parts", "1.0.0", "one")
    for sheet in lay_on_sheets(found):
        drawing = draw_sheet(sheet, 1, 1, templates, info)
        cuts = [Polygon(i.points) for i in drawing.flat if i.layer == "cut"]
        pieces = [piece_on_sheet(found.pattern(p.part), p) for p in sheet.placed]
        assert len(cuts) == len(pieces)
        assert all((cut ^ piece).area < 1e-6 for cut, piece in zip(cuts, pieces))
        said = {i.value for i in drawing.flat if hasattr(i, "value") and i.bold}
        assert {segment_label(found.pattern(p.part), p.segment) for p in sheet.placed} <= said


def segment(foam):
    ring = np.array(foam.exterior.coords)[:-1]
    return Segment(ring, (), foam.area, ring, ())


def pattern_of(edge, split):
    piece = Piece("square", "A", "Square", "plate", None, None, (), 1, (), (), "contact", ())
    nothing = (None, None, None, None)
    ring, square = edge.points[:-1], {"other_outline": edge.points[:-1], "other_holes": ()}
    return Pattern(piece, ring, (), (edge,), (), 1e4, None, 0.0, *nothing, (), split, **square)
