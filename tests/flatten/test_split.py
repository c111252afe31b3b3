"""Parts larger than the sheet: their segments make up the whole, fit the sheet, and meet along one line."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import Polygon
from shapely.affinity import translate

from generator.design.load import load
from generator.errors import BuildError
from generator.flatten.build import flatten
from generator.flatten.split import SCARF, fits
from generator.layout.sheets import lay_on_sheets, piece_on_sheet
from generator.parts import build_prop
from generator.templates.draw import draw

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
  rigid: {name: Rigid, thickness: 3 mm, sheet: [300 mm, 600 mm], sort: acrylic, kerf: 0.2 mm}
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
    return flatten(build_prop(load(path)))


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
    shared = sum(
        (a.boundary & b.boundary).length for k, a in enumerate(pieces) for b in pieces[k + 1 :]
    )
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
    overlap = SCARF * 10.0
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
    with pytest.raises(BuildError, match="part_0: a segment of .* fits no sheet"):
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


def test_the_template_shows_the_joint_and_labels_each_segment(tmp_path):
    found = patterns(tmp_path, ROUND, HOOP)
    for template, joint in zip(draw(found), ("puzzle joint", "scarf joint")):
        split, label = template.pattern.split, template.pattern.piece.label
        cuts = [i.points for i in template.drawing.items if i.layer == "cut" and not i.closed]
        assert len(cuts) == len(split.lines) and all(np.array_equal(a, b) for a, b in zip(cuts, split.lines))
        texts = [i for i in template.drawing.items if hasattr(i, "value")]
        for number, own in enumerate(foam(split), start=1):
            (name,) = [t for t in texts if t.value == f"{label}{number}"]
            assert own.contains(shapely.Point(name.at))
        assert any(t.value.startswith(joint) for t in texts)
