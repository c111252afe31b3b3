"""Each way of spoiling a pack that the virtual build can tell from its lines is caught; `tests.benchmarks.sabotage` prints all."""

import pytest

from foamwright.proof.bench.build import virtual_build
from tests.proof.sabotage import PACKS, SABOTAGES
from tests.proof.test_virtual_build import built


@pytest.fixture(scope="module")
def packs(tmp_path_factory):
    return {name: built(tmp_path_factory.mktemp("pack"), *text) for name, text in PACKS.items()}


@pytest.mark.parametrize("one", [s for s in SABOTAGES if s.told], ids=lambda one: one.name)
def test_each_is_caught(packs, one):
    pack = packs[one.pack]
    found = [str(fault) for fault in virtual_build({}, one.of(pack.record), pack.solids).faults]
    assert any(one.told in fault for fault in found), found
