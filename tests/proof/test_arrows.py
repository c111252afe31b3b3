"""Which way round a lid goes in, by the arrows on it and on what stands: a stud on it lies elsewhere if it is turned."""

import copy

import numpy as np
import pytest

from foamwright.proof.bench import assembly
from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import read_foam
from tests.parts.flat_designs import HEAD
from tests.proof.test_virtual_build import FORM, built, part

TURRET = (
    "  base: {kind: plate, stock: thick, outline: {rectangle: {width: 260, height: 240}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
    "  wall: {kind: panel, stock: foam, form: tube, where: {start: beyond, end: before, c: beyond}, mirror: y}\n"
    "  lid: {kind: disc, stock: thick, radius: 80, at: {origin: [0, 0, 88], normal: z}}\n"
    "  stud: {kind: disc, stock: foam, radius: 6, at: {origin: [50, 25, 98], normal: z}, lies_on: [lid]}\n"
)


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    return built(tmp_path_factory.mktemp("pack"), HEAD.replace("forms:\n", FORM, 1), TURRET)


def without_arrows(record, name):
    bare = copy.deepcopy(record)
    for key in ("up", "forward", "arrows"):
        part(bare, name).pop(key, None)
    return bare


@pytest.mark.parametrize("bare", [None, "wall"])
def test_a_lid_is_turned_as_the_arrows_say(pack, bare):
    record = pack.record if bare is None else without_arrows(pack.record, bare)
    proof = virtual_build(pack.files, record, pack.solids)
    assert [str(fault) for fault in proof.faults] == []
    assert (proof.proven, proof.reasons) == (5, ())


def test_a_tube_without_arrows_tells_nothing_before_it_stands(pack, monkeypatch):
    monkeypatch.setattr(assembly, "_turn_frames", lambda *told: None)
    proof = virtual_build(pack.files, without_arrows(pack.record, "wall"), pack.solids)
    assert ("stud", "place") in proof.reasons


def test_arrows_of_each_copy_are_read_where_they_are_told(pack):
    record = copy.deepcopy(pack.record)
    part(record, "wall")["arrows"] = [{"copy": 2, "forward": [0.0, -1.0]}]
    arrows = read_foam({}, record).parts["wall"].arrows
    assert arrows[0] == {} and list(arrows[1]) == ["forward"]
    np.testing.assert_array_equal(arrows[1]["forward"], [0.0, -1.0])
