"""What holds of the steps of every design at every size that it names."""

import pytest
from order_checks import heated_after_glue

import foamwright
from foamwright.design.load import sizes
from tests.conftest import DESIGNS, SHIPPED

EVERY = [(name, size) for name in SHIPPED for size in sizes(DESIGNS / f"{name}.yaml")]


@pytest.fixture(scope="module", params=EVERY, ids="-".join)
def steps(request):
    name, size = request.param
    return foamwright.Stages(foamwright.Request(foamwright.load(DESIGNS / f"{name}.yaml", size))).record("steps")


def test_heat_comes_before_glue_and_paint(steps):
    assert heated_after_glue(steps) == []
    assert any("heat" in step.uses for step in steps)
