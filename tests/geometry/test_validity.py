"""The place where a shape crosses itself, by hand."""

import pytest
from shapely import Polygon

from foamwright.geometry import crossing_of


@pytest.mark.parametrize("size", [1e-3, 1.0, 1e6])
def test_the_diagonals_of_a_bow_tie_cross_in_its_middle(size):
    tie = Polygon([(0, 0), (size, size), (size, 0), (0, size)])
    assert crossing_of(tie) == pytest.approx([size / 2, size / 2])
    assert crossing_of(Polygon([(0, 0), (size, 0), (0, size)])) is None
