"""Length and width in the cut list are those of the blank that a part is cut from, however its outline lies."""

import numpy as np
import pytest

from foamwright.flatten.blank import blank, lying


@pytest.mark.parametrize("turn", [0.0, 12.0, 45.0, 90.0])
def test_the_blank_of_a_part_does_not_follow_from_how_it_lies(turn):
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    wall = np.array([[-27, 0], [27, 0], [20, 243], [-20, 243]]) @ np.array([[c, s], [-s, c]])
    assert blank(wall) == pytest.approx((243.0, 54.0), abs=0.3)


def test_a_circle_is_as_wide_as_it_is_long():
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    assert blank(40 * np.column_stack([np.cos(turn), np.sin(turn)])) == pytest.approx((80.0, 80.0))


def test_a_triangle_has_one_blank_in_the_picture_and_in_the_list():
    """By Euclid I.41 the rectangles on all three sides are as large: the upright one is told, base 51.7 and height 50."""
    flag = np.array([[-25.85, 0.0], [25.85, 0.0], [0.0, 50.0]])
    assert blank(flag) == pytest.approx((51.7, 50.0))
    upright = flag[:, ::-1] * (1, -1)
    assert np.ptp(upright @ lying(upright), axis=0) == pytest.approx((51.7, 50.0))  # on its long side
