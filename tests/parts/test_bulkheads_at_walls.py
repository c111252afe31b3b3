"""The edge of a bulkhead at a wall that slopes: both faces against plane sections of pyramids and of leaning prisms."""

import math

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from foamwright.errors import BuildError
from foamwright.geometry import inset
from foamwright.parts.flat import _Wall, flat_body
from foamwright.parts.records import Frame

THICKNESS = 10.0


def faces(inside: Polygon, outside: Polygon):
    """The corners of both faces that the bevels make of the outline."""
    wall = _Wall(inside, outside, THICKNESS)
    body = flat_body(wall.shape, Frame(np.zeros(3), np.eye(3)))
    bevels = np.zeros(len(body.outline))
    for run in body.runs:
        assert run.stop - run.start == 1  # a straight leg stays one
        (bevels[run.start % len(bevels)],) = wall.bevel(body.outline, run)
    draw = THICKNESS * np.tan(np.radians(bevels))
    return (Polygon(inset(body.outline, np.maximum(sign * draw, 0.0))) for sign in (1.0, -1.0)), bevels


@pytest.mark.parametrize("turned", [False, True])
def test_in_a_pyramid_one_face_is_smaller_all_round_and_corners_stay(turned):
    """A wall that leans 4 mm over 10: at any corner both walls draw as much, not by the way from corner to corner."""
    pair = (box(-64, -44, 64, 44), box(-60, -40, 60, 40))
    made, bevels = faces(*(pair[::-1] if turned else pair))
    for face, true in zip(made, pair[::-1] if turned else pair):
        assert face.symmetric_difference(true).area < 1e-6
    assert bevels == pytest.approx(np.full(4, math.degrees(math.atan(0.4)) * (1 if turned else -1)))


def test_across_a_leaning_shaft_the_faces_are_cut_on_opposite_sides():
    """Through a square shaft at 30 degrees both faces have one size, one further along by the thickness times tan 30."""
    along = THICKNESS * math.tan(math.radians(30.0))
    pair = (box(0, 0, 90, 60), box(along, 0, 90 + along, 60))
    made, bevels = faces(*pair)
    for face, true in zip(made, pair):
        assert face.symmetric_difference(true).area < 1e-6
    assert sorted(bevels) == pytest.approx([-30.0, 0.0, 0.0, 30.0], abs=1e-9)


def test_sections_that_lie_beside_each_other_make_no_bulkhead():
    with pytest.raises(BuildError, match="beside each other"):
        _Wall(box(0, 0, 5, 5), box(9, 0, 14, 5), THICKNESS)
