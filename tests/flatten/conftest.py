"""The flagship laid flat once for all tests that look at it."""

import pytest
from panel_designs import DESIGNS

from foamwright.design import load
from foamwright.flatten.build import flatten
from foamwright.parts import build_prop


@pytest.fixture(scope="session")
def flagship():
    return flatten(build_prop(load(DESIGNS / "pocket-submarine.yaml")))
