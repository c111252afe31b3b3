"""Strips round a square, whose marks alone tell which side is which; what leans on its marks; and what slides along a curve."""

import copy

import pytest

from foamwright.proof.bench.build import virtual_build
from tests.classes.props import HEAD
from tests.proof.test_virtual_build import built

BELT = """
forms: {}
parts:
  tray: {kind: plate, stock: thick, outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {origin: [0, 0, 0], normal: z, up: y}}
  belt: {kind: band, stock: foam, from: -10, to: 20, corners: CORNERS,
    along: {outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {origin: [0, 0, 0], normal: z, up: y}}}
  rivet: {kind: disc, stock: foam, radius: 6, at: {origin: [SIDE(80 * s + 6), 10 * s, 8], normal: SIDEx}, repeat: {count: 2, step: [0, -35 * s, 0]}}
"""
LEG = """
forms: {}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  leg: {kind: plate, stock: thick, outline: {rectangle: {width: 30, height: 90, centre: [0, 45]}},
    at: {origin: [20, 10, 0], normal: [0.9397, 0, 0.3420], up: z}}
"""
ARCH = """
forms:
  drum: {kind: revolution, axis: y, smooth: false, profile: [[-90 * s, 70 * s], [90 * s, 70 * s]], cuts: {
    rim: {plane: {normal: z}}, left: {plane: {normal: y, at: 60 * s}}, right: {plane: {normal: -y, at: 60 * s}}}}
parts:
  arch: {kind: panel, stock: foam, form: drum, where: {rim: beyond, left: before, right: before}, flush: [rim, left, right]}
  strap: {kind: band, stock: foam, along: {hoop: {form: drum, plane: {normal: y, at: 10 * s}}}, over: [arch], width: 20, span: {angles: [0, 180]}}
  stud: {kind: disc, stock: foam, radius: 5, at: {origin: [0, 10 * s, 70 * s + 12], normal: z}}
"""


def off(record, part, by):
    """The marks on a part that many mm further along x."""
    spoilt = copy.deepcopy(record)
    for mark in (mark for mark in spoilt["marks"] if mark["on"] == part):
        mark["lines"] = [[[x + by, y] for x, y in line] for line in mark["lines"]]
    return spoilt


@pytest.mark.parametrize("side", ["", "-"])
@pytest.mark.parametrize("corners", ["mitred", "scored"])
def test_rivets_tell_which_side_of_a_belt_is_which(tmp_path, corners, side):
    pack = built(tmp_path, HEAD, BELT.replace("CORNERS", corners).replace("SIDE", side))
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == () and proof.proven + proof.fitted == proof.copies == 4
    assert "rivet" in dict(virtual_build({}, off(pack.record, "belt", 4.0), pack.solids).reasons)


def test_a_leg_that_leans_agrees_with_its_line(tmp_path):
    pack = built(tmp_path, HEAD, LEG)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == () and proof.proven + proof.fitted == 2
    spoilt = virtual_build({}, off(pack.record, "base", 1.5), pack.solids)
    assert "leg" in dict(spoilt.reasons) or spoilt.faults


def test_what_slides_along_a_curve_comes_to_its_edges(tmp_path):
    """Nothing holds an arch or a strap along its curve but its ends: its lines are where these say."""
    pack = built(tmp_path, HEAD, ARCH)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == () and proof.proven + proof.fitted == 3
