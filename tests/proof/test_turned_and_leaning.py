"""Strips round a square, whose marks alone tell which side is which; what leans on its marks; and what slides along a curve."""

import copy

import numpy as np
import pytest

from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import Copy, read_foam
from foamwright.proof.bench.folded import folded
from foamwright.proof.bench.footings import footings
from foamwright.proof.bench.in_place import _off_lines, _turned_as_marked, laid_in_place
from foamwright.proof.bench.measure import Model
from foamwright.proof.bench.pieces import as_cut, plain_sheet
from foamwright.proof.bench.rigid import turned_about
from tests.classes.props import HEAD
from tests.proof.test_virtual_build import built

BELT = """
forms: {}
parts:
  tray: {kind: plate, stock: thick, outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {origin: [0, 0, 0], normal: z, up: y}}
  belt: {kind: band, stock: foam, from: -10, to: 20, corners: CORNERS,
    along: {outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {origin: [0, 0, 0], normal: z, up: y}}}
  rivet: {kind: disc, stock: foam, radius: 6, at: {origin: [80 * s + 6, 10 * s, 8], normal: x}, repeat: {count: 2, step: [0, -35 * s, 0]}}
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


@pytest.mark.parametrize("corners", ["mitred", "scored"])
def test_rivets_tell_which_side_of_a_belt_is_which(tmp_path, corners):
    pack = built(tmp_path, HEAD, BELT.replace("CORNERS", corners))
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == () and proof.proven + proof.fitted == proof.copies == 4
    assert "rivet" in dict(virtual_build({}, off(pack.record, "belt", 4.0), pack.solids).reasons)
    foam, model, belt = read_foam(pack.files, pack.record), Model.of(pack.solids), Copy("belt", 1)
    cut = {c: as_cut(foam.part(c), False, plain_sheet(foam.part(c))) for c in foam.copies if c.part == "rivet"}
    there = laid_in_place({belt: folded(foam, belt), **cut}, [belt, *cut], model)
    half = turned_about(np.array([0.0, 0.0, 1.0]), np.pi, np.zeros(3))
    for lying in (there[belt], there[belt].moved(half)):
        there[belt] = _turned_as_marked(belt, there | {belt: lying}, footings(foam), model)
        assert all(max(_off_lines(f, there)) < 0.5 for f in footings(foam) if f.upper.part == "rivet")


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
