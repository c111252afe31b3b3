"""The flagship laid flat once for all tests that look at it."""

import pytest
from panel_designs import DESIGNS

from generator.design import load
from generator.flatten.build import flatten
from generator.parts import build_prop


@pytest.fixture(scope="session")
def flagship():
    return flatten(build_prop(load(DESIGNS / "pocket-submarine.yaml")))
