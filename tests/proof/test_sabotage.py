"""Every pack is sound as it is, and each way of spoiling one is caught."""

import pytest

from foamwright.proof.bench.build import virtual_build
from tests.proof.sabotage import PACKS, SABOTAGES
from tests.proof.test_virtual_build import built


@pytest.fixture(scope="module")
def packs(tmp_path_factory):
    return {name: built(tmp_path_factory.mktemp("pack"), *text) for name, text in PACKS.items()}


def test_sound_packs_are_not_refused_and_all_is_proven(packs):
    for name, pack in packs.items():
        proof = virtual_build(pack.files, pack.record, pack.solids)
        assert (name, proof.faults, proof.left) == (name, (), ())
    assert proof.proven == proof.copies


@pytest.mark.parametrize("one", SABOTAGES, ids=lambda one: one.name)
def test_each_is_caught(packs, one):
    pack = packs[one.pack]
    found = [str(fault) for fault in virtual_build({}, one.of(pack.record), pack.solids).faults]
    assert any(one.told in fault for fault in found), found
