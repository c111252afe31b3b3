"""Odd small props of flat parts and bands: every written length, circle and bevel against its formula, at three scales."""

import pytest

from tests.classes.checks import ALL, wrong_rows
from tests.classes.props import PROPS


@pytest.mark.parametrize("name, scale", [(name, scale) for name, scale in ALL if not PROPS[name].curved])
def test_what_is_written_is_what_the_formula_gives(name, scale, tmp_path):
    assert wrong_rows(name, scale, tmp_path) == []
