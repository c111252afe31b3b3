"""What is ruled out before it is looked at closely, and figures that are worked out one coordinate at a time."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from foamwright.drawing.typesetting import Line, label_block
from foamwright.templates.landing import _nearest
from foamwright.templates.place import CLEARANCE, Field, Ground, rectangles

LONG = label_block([Line("m" * 30, 3.0)])


def ground(*lines: shapely.Geometry) -> Ground:
    return Ground(shapely.box(0, 0, 200, 60), lines)


@pytest.mark.parametrize("angle", [0.0, 90.0, 30.0])
@pytest.mark.parametrize("pitch", [7.0, 20.0, 45.0])
def test_no_place_that_is_free_is_ruled_out(angle, pitch):
    bars = [shapely.LineString([(x, 0), (x, 40)]) for x in np.arange(5.0, 200.0, pitch)]
    field = Field(own := ground(*bars), 0.0)
    boxes = rectangles(
        own.points, np.full(len(own.points), angle), LONG.width + 2 * CLEARANCE, LONG.height + 2 * CLEARANCE
    )
    free = np.flatnonzero(field.free(boxes))
    assert set(free) <= set(field._roomy(own.points, own.depth, angle, LONG).tolist())


def test_a_line_between_the_ends_of_long_words_is_seen():
    """Where lines cross the foam closer together than words are long, fewer places are looked at closely."""
    words = label_block([Line("m" * 12, 3.0)])
    half = (words.width - words.height) / 2
    bars = [shapely.LineString([(x, 0), (x, 12)]) for x in np.arange(0.0, 100.0, half / 4)[2::4]]
    own = Ground(shapely.box(0, 0, 100, 12), bars)
    left = Field(own, 0.0)._roomy(own.points, own.depth, 0.0, words)
    assert len(own.points) > 1000 and len(left) < len(own.points) / 3


def test_nearest_on_a_line_in_space():
    """Against GEOS (shapely) in two dimensions, and turned into space."""
    at = np.linspace(0.0, 5.0, 40)
    flat = np.column_stack([10 * at, 8 * np.sin(at), np.zeros(40)])
    points = np.random.default_rng(7).uniform((-5, -12, 0), (55, 12, 0), (200, 3))
    turn = np.linalg.qr(np.random.default_rng(8).normal(size=(3, 3)))[0]
    line = shapely.LineString(flat[:, :2])
    for given, points_there in ((flat, points), (flat @ turn, points @ turn)):
        best, share, gap = _nearest(points_there, given, np.diff(given, axis=0))
        lengths = np.linalg.norm(np.diff(flat, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(lengths)])[best] + share * lengths[best]
        assert gap == pytest.approx(shapely.distance(line, shapely.points(points[:, :2])), abs=1e-9)
        foot = shapely.line_interpolate_point(line, along)
        assert shapely.distance(foot, shapely.points(points[:, :2])) == pytest.approx(gap, abs=1e-9)
