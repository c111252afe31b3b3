"""Strips with sharp corners, scored or mitred: plates in a row, which lie on the model to a tenth of a millimetre."""

import json
import math

import numpy as np
import pytest

from foamwright.proof.bench.assembly import set_up, sewn_bodies
from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import Copy, read_foam
from foamwright.proof.bench.folded import folded
from foamwright.proof.bench.measure import Model, measured, registered
from foamwright.proof.bench.records import FOLDED
from tests.classes.props import HEAD
from tests.proof.test_virtual_build import built

RECTANGLE = [(-60, -40), (60, -40), (60, 40), (-60, 40)]
ELL = [(0, 40), (120, 40), (120, 90), (50, 90), (50, 150), (0, 150)]  # one corner of it turns the other way
CROWN = [(60 * math.cos(2 * math.pi * k / 14), 60 * math.sin(2 * math.pi * k / 14)) for k in range(14)]


def prop(points, corners, copies=""):
    outline = ", ".join(f"[{x:.4f} * s, {y:.4f} * s]" for x, y in points)
    course = f"{{outline: {{polygon: {{points: [{outline}]}}}}, at: {{origin: [0, 0, 0], normal: z}}}}"
    return f"""
forms: {{}}
parts:
  tray: {{kind: plate, stock: thick, outline: {{polygon: {{points: [{outline}]}}}},
    at: {{origin: [0, 0, 0], normal: z}}{copies}}}
  belt: {{kind: band, stock: foam, along: {course}, from: -4, to: 20 * s, corners: {corners}{copies}}}
"""


def bezel(corners):
    opening = "{rectangle: {width: 100 * s, height: 70 * s}}"
    course = f"{{outline: {opening}, at: {{origin: [0, 0, 0], normal: -y, up: z}}}}"
    return f"""
forms: {{}}
parts:
  front: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 160 * s, height: 120 * s}}}}, minus: [{opening}],
    at: {{origin: [0, 0, 0], normal: -y, up: z}}}}
  belt: {{kind: band, stock: foam, along: {course}, from: -2, to: 14 * s, laid: inside, corners: {corners}}}
"""


def pack_of(folder, parts, scale=1.0):
    return built(folder, HEAD.replace("scale: {value: 1}", f"scale: {{value: {scale}}}"), parts)


@pytest.mark.parametrize("corners", ["scored", "mitred"])
@pytest.mark.parametrize("scale", [0.5, 1, 3])
@pytest.mark.parametrize("name", ["rectangle", "ell", "mirrored ell", "crown", "bezel"])
def test_a_strip_folded_by_its_own_lines_is_that_of_the_model(tmp_path, corners, scale, name):
    shapes = {
        "rectangle": prop(RECTANGLE, corners),
        "ell": prop(ELL, corners),
        "mirrored ell": prop(ELL, corners, ", mirror: x"),
        "crown": prop(CROWN, corners),
        "bezel": bezel(corners),
    }
    pack = pack_of(tmp_path, shapes[name], scale)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    for copy in (copy for copy in foam.copies if copy.part == "belt"):
        piece = folded(foam, copy)
        assert piece is not None
        (one,) = measured({copy: piece}, registered({copy: piece}, model, [copy]), model)
        assert (
            one.away.max() < 0.15 and one.edges.max() < 0.15
        )  # a crown fits each turn, which nearest points tell slowly
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == ()
    assert proof.proven + proof.fitted == proof.copies


def spoilt(pack, change):
    record = json.loads(json.dumps(pack.record))
    change(next(part for part in record["parts"] if part["id"] == "belt"))
    return record


@pytest.mark.parametrize("turn", [70.0, -90.0])
def test_a_groove_that_is_told_otherwise_does_not_come_out(tmp_path, turn):
    pack = pack_of(tmp_path, prop(RECTANGLE, "scored"))

    def change(belt):
        belt["folds"][1]["turn"] = turn

    proof = virtual_build({}, spoilt(pack, change), pack.solids)
    assert proof.faults or ("belt", FOLDED) in proof.reasons


def test_grooves_at_other_places_do_not_bring_the_ends_together(tmp_path):
    """The strip is as long as before, so that its length alone does not tell."""
    pack = pack_of(tmp_path, prop(RECTANGLE, "scored"))

    def change(belt):
        belt["folds"][0]["at"] += 5.0

    record = spoilt(pack, change)
    assert folded(read_foam({}, record), Copy("belt", 1)) is None
    assert ("belt", FOLDED) in virtual_build({}, record, pack.solids).reasons


def test_what_may_be_bent_between_its_corners_is_left_open(tmp_path):
    """Of a half circle on a straight line the two corners make half a turn."""
    arc = "{path: {from: [-60 * s, 0], steps: [{to: [60 * s, 0]}, {to: [-60 * s, 0], through: [0, 60 * s]}]}}"
    at = "at: {origin: [0, 0, 0], normal: z}"
    parts = f"""
forms: {{}}
parts:
  tray: {{kind: plate, stock: thick, outline: {arc}, {at}}}
  belt: {{kind: band, stock: foam, along: {{outline: {arc}, {at}}}, from: 0, to: 10, corners: scored}}
"""
    pack = pack_of(tmp_path, parts)
    assert folded(read_foam(pack.files, pack.record), Copy("belt", 1)) is None
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == (("belt", FOLDED),)


def test_faces_of_a_folded_strip_keep_the_normals_of_their_pieces(tmp_path):
    pack = pack_of(tmp_path, prop(RECTANGLE, "scored"))
    piece = folded(read_foam(pack.files, pack.record), Copy("belt", 1))
    ways = np.unique(np.round(piece.normals, 6) + 0.0, axis=0)
    assert len(ways) == 4 and np.allclose(np.abs(ways).max(axis=1), 1.0)


@pytest.mark.parametrize("sides", [4, 8])
@pytest.mark.parametrize("scale", [0.5, 3])
def test_a_strip_folded_to_a_tube_stands_on_its_line(tmp_path, sides, scale):
    """The end of a tube of sheet is no disc, and its edge is straight on the paper alone."""
    parts = f"""
forms: {{}}
parts:
  ground: {{kind: plate, stock: thick, outline: {{rectangle: {{width: 120 * s, height: 90 * s}}}}, at: {{origin: [0, 0, 0], normal: z}}}}
  mast: {{kind: rod, stock: thin, made: wrapped, sides: {sides}, diameter: 36 * s, from: [20 * s, 10 * s, 10],
    to: [20 * s, 10 * s, 100 * s]}}
"""
    pack = pack_of(tmp_path, parts, scale)
    foam = read_foam(pack.files, pack.record)
    (standing,) = set_up(foam, sewn_bodies(foam)).sets
    assert max(standing.fit.by_mark) < 0.1
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and (sides == 8 or "mast" not in dict(proof.reasons))
    assert ("mast", FOLDED) not in proof.reasons
