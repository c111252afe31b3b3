"""An open panel springs flat by itself. Bent over the model it is where its own lengths put it, and no other lengths do."""

import copy

import pytest

from foamwright.proof.bench.build import virtual_build
from tests.classes.props import HEAD
from tests.proof.test_virtual_build import built

PLATE = """
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[-20 * s, 92 * s], [120 * s, 50 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 100 * s}}, half: {plane: {normal: y, at: 10 * s}}}}
parts:
  plate: {kind: panel, stock: foam, form: cone, where: {foot: beyond, top: before, half: beyond}}
"""


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    return built(tmp_path_factory.mktemp("plate"), HEAD, PLATE)


def stretched(record, by):
    """The paper of every part, longer along x."""
    spoilt = copy.deepcopy(record)
    for part in spoilt["parts"]:
        lines = [part["outline"], part["other_outline"], *part["holes"], *part["other_holes"]]
        for edge in part["edges"]:
            lines += [edge["ends"], [tick["at"] for tick in edge["ticks"]]]
        for line in lines:
            line[:] = [[x * by, y] for x, y in line]
    return spoilt


def test_an_open_panel_comes_out_over_the_model(pack):
    proof = virtual_build({}, pack.record, pack.solids)
    assert proof.formed == proof.proven == proof.copies == 1
    assert not proof.faults and not any(body.judged for body in proof.bodies)
    (body,) = proof.bodies
    assert body.mean < 0.3 and body.worst < 1.0  # a cone is developable: nothing has to give


@pytest.mark.parametrize("by", [0.94, 1.06])
def test_one_that_is_longer_or_shorter_does_not(pack, by):
    proof = virtual_build({}, stretched(pack.record, by), pack.solids)
    assert proof.formed == proof.proven == 0
    assert [fault.what.split()[0] for fault in proof.faults] == ["edge"]  # 6 % of an edge is no strain of a cone


CAP = """
forms:
  dome: {kind: superellipsoid, radii: [160 * s, 150 * s, 150 * s],
    cuts: {rim: {prism: {outline: {superellipse: {width: 150 * s, height: 110 * s, exponent: 2.5}}, along: z, above: 0}}}}
parts:
  cap: {kind: panel, stock: foam, form: dome, where: {rim: inside}}
"""


def test_a_panel_without_corners_comes_out_over_the_model(tmp_path):
    """Nothing of its edge, which goes all round, tells how it lies there: the arrow on its paper does."""
    pack = built(tmp_path, HEAD, CAP)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.formed == proof.proven == proof.copies == 1
    assert proof.worst < 1.5
