"""No pattern leaves flattening that lies about its foam. Each case is a sound pattern, spoilt by hand."""

from dataclasses import replace

import numpy as np
import pytest
from space_designs import patterns

from foamwright.errors import BuildError
from foamwright.flatten.foam import check_foam
from foamwright.flatten.records import Segment, Split

SQUARE = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0]])
CROSSED = SQUARE[[0, 2, 1, 3]]


def sound():
    plate = "  p: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 40}}, at: {normal: z}}\n"
    return replace(patterns(plate).pattern("p"), outline=SQUARE, other_outline=SQUARE)


def segments(*outlines):
    return Split("butt", tuple(Segment(o, (), 0.0, o, ()) for o in outlines), ())


LEFT, RIGHT = SQUARE * (0.5, 1), SQUARE * (0.5, 1) + (30, 0)


def test_a_sound_pattern_passes():
    check_foam(sound())
    check_foam(replace(sound(), split=segments(LEFT, RIGHT)))


@pytest.mark.parametrize(
    "spoilt, wrong",
    [
        ({"outline": CROSSED}, r"its cut line crosses or touches itself at \[30\.00, 20\.00\]"),
        ({"other_outline": CROSSED}, "the cut line of its other face crosses"),
        ({"outline": SQUARE * (1, 0)}, "crosses or touches itself|encloses nothing"),
        ({"area": -2400.0}, "area is told as -2400"),
        ({"area": 1200.0}, "area is told as 1200"),
        ({"split": segments(LEFT)}, "segments have 1200"),
        ({"split": segments(LEFT, LEFT, RIGHT)}, "segments have 3600"),
    ],
)
def test_a_pattern_that_lies_is_refused(spoilt, wrong):
    with pytest.raises(BuildError, match=wrong):
        check_foam(replace(sound(), **spoilt))


def test_round_parts_of_a_few_millimetres_are_sound():
    """Their circles are drawn by few chords."""
    parts = "  d: {kind: disc, stock: foam, radius: 2, at: {normal: z}}\n"
    assert patterns(parts).pattern("d").area == pytest.approx(4 * np.pi)
