"""Cut lines that cross are told with their place, whatever the area that the bench would make of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.proof.bench.foam import Foam
from foamwright.proof.bench.lengths import crossing_faults
from tests.proof.test_both_faces import part_of

SHEET = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0]])
BOW = SHEET[[0, 1, 3, 2]]  # its sides cross in the middle
LOOPED = np.array(
    [[0.0, 0.0], [60.0, 0.0], [60.0, 30.0], [40.0, 30.0], [40.0, -10.0], [100.0, -10.0], [100.0, 60.0], [0.0, 60.0]]
)
SLIT = np.array(
    [[0.0, 0.0], [50.0, 0.0], [50.0, 40.0], [50.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0]]
)  # a dart that closes


def told(*parts):
    return [(fault.where, fault.what) for fault in crossing_faults(Foam({part.id: part for part in parts}, (), (), ()))]


@pytest.mark.parametrize("bent", [True, False])
@pytest.mark.parametrize(
    ("ring", "other", "place"), [(BOW, BOW, (50, 30)), (SHEET, BOW, (50, 30)), (LOOPED, LOOPED, (40, 0))]
)
def test_a_line_that_crosses_itself_on_either_face(ring, other, place, bent):
    says = f"its cut lines cross or lie outside each other near ({place[0]}, {place[1]}) on its paper"
    assert told(part_of(ring, other, 6.0, bent)) == [("A P", says)]


def test_a_hole_that_reaches_over_the_outline():
    part = part_of(SHEET, SHEET, 6.0, True)
    hole = np.array([[90.0, 20.0], [110.0, 20.0], [110.0, 40.0], [90.0, 40.0]])
    ((_, says),) = told(replace(part, rings=(SHEET, hole), other_rings=(SHEET, hole)))
    assert "(100, 20)" in says or "(100, 40)" in says
    inner = hole - (50.0, 0.0)
    assert told(replace(part, rings=(SHEET, inner), other_rings=(SHEET, inner))) == []


def test_lines_that_only_touch_are_none_that_cross():
    wobbling = SLIT + 0.001 * np.array([[0, 0], [1, 0], [0, 1], [-1, 0], [0, 0], [0, 0], [0, 0]])
    assert told(part_of(SHEET, SLIT, 6.0, True), replace(part_of(SHEET, wobbling, 6.0, True), id="q")) == []
