"""The flagship laid flat once for all tests that look at it."""

import pytest
from panel_designs import DESIGNS

from foamwright.design import load
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten


@pytest.fixture(scope="session")
def flagship():
    return section_and_flatten(build_model(build_prop(load(DESIGNS / "pocket-submarine.yaml"))))
