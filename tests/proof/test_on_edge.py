"""Curved walls that stand with an edge along a line of a flat part: the line bends them, and nothing else need hold them."""

import json

import pytest

from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import Copy, read_foam
from foamwright.proof.bench.footings import footings
from foamwright.proof.bench.on_edge import stood_on_edge
from tests.proof.test_folded import pack_of

OVAL = "{rectangle: {width: 160 * s, height: 100 * s, corner: 40 * s}}"


def case(outline, laid, front, copies=""):
    """A flat back, a wall along its outline, and a front on that."""
    back = "{rectangle: {width: 260 * s, height: 200 * s}}" if laid == "outside" else outline
    lid = f"front: {{kind: plate, stock: foam, outline: {outline}, at: {{origin: [0, 150 * s, 6 + 40 * s], normal: z}}{copies}}}"
    return f"""
forms: {{}}
parts:
  back: {{kind: plate, stock: foam, outline: {back}, at: {{origin: [0, 150 * s, 0], normal: z}}{copies}}}
  wall: {{kind: band, stock: foam, along: {{outline: {outline}, at: {{origin: [0, 150 * s, 6], normal: z}}}}, laid: {laid},
    from: 0, to: 40 * s{copies}}}
  {lid if front else ""}
"""


@pytest.mark.parametrize("scale", [0.6, 3])
@pytest.mark.parametrize(
    "outline, laid, front, copies",
    [(OVAL, "inside", True, ""), (OVAL, "outside", False, ", mirror: y")],
    ids=["box", "pair on boards"],
)
def test_a_wall_on_edge_comes_out(tmp_path, scale, outline, laid, front, copies):
    pack = pack_of(tmp_path, case(outline, laid, front, copies), scale)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == () and proof.proven == proof.copies
    assert proof.formed == 0 and proof.mean < 0.2


@pytest.mark.parametrize("by", [0.97, 1.03])
def test_a_wall_of_another_length_is_not_bent_along_the_line(tmp_path, by):
    pack = pack_of(tmp_path, case(OVAL, "inside", True))
    record = json.loads(json.dumps(pack.record))
    wall = next(part for part in record["parts"] if part["id"] == "wall")
    for key in ("outline", "other_outline"):
        wall[key] = [[by * x, y] for x, y in wall[key]]
    for edge in wall["edges"]:
        edge["ends"] = [[by * x, y] for x, y in edge["ends"]]
    foam = read_foam({}, record)
    assert stood_on_edge(foam, Copy("wall", 1), footings(foam)) is None
    proof = virtual_build({}, record, pack.solids)
    assert proof.faults or "wall" in dict(proof.reasons)
