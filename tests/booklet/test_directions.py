"""Words for places of the prop: x leads forward, y to the left."""

import numpy as np
import pytest

from foamwright.assembly.directions import around_from_middle


@pytest.mark.parametrize(
    ("off", "words"),
    [
        ((-90.0, -20.0, 5.0), "at the back, 20 mm to the right of the middle"),
        ((-90.0, 20.0, 5.0), "at the back, 20 mm to the left of the middle"),
        ((90.0, 1.0, 5.0), "at the front"),
        ((12.0, 80.0, 0.0), "on the left, 12 mm in front of the middle"),
        ((-12.0, -80.0, 0.0), "on the right, 12 mm behind the middle"),
        ((70.0, 60.0, 0.0), "at the front on the left"),
    ],
)
def test_where_to_start_is_told_from_the_middle(off, words):
    assert around_from_middle(np.array(off), 2.0) == words
