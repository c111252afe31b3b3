"""Cuts by curves drawn in a view and by lines on a form."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.parametric import Superellipsoid
from foamwright.parts.lines import curve_level, line_level

SIDE = (0, 2)  # x and z, as seen along y


def random_points(count=300, size=80):
    return np.random.default_rng(11).uniform(-size, size, (count, 3))


def test_a_straight_curve_is_a_plane_with_its_left_beyond():
    level = curve_level([(-10, 5), (10, 15)], True, False, SIDE)
    p = random_points()
    expected = (p[:, [0, 2]] - (-10, 5)) @ (np.array([-1, 2]) / np.sqrt(5))
    assert np.abs(level(p) - expected).max() < 1e-9


def test_past_its_ends_a_curve_goes_straight_on():
    # a half circle about the origin, upper half, clockwise from (-50, 0) to (50, 0): its ends go on downwards
    angle = np.linspace(np.pi, 0, 33)
    level = curve_level(50 * np.column_stack([np.cos(angle), np.sin(angle)]), True, False, SIDE)
    p = random_points()
    x, z = p[:, 0], p[:, 2]
    expected = np.where(z > 0, np.hypot(x, z), np.abs(x)) - 50
    above = np.hypot(x, z) > 5
    assert np.abs(level(p) - expected)[above].max() < 0.05


@pytest.mark.parametrize("way", [1, -1])
def test_a_closed_curve_has_its_inside_on_its_left_or_right(way):
    angle = way * np.linspace(0, 2 * np.pi, 24, endpoint=False)
    level = curve_level(40 * np.column_stack([np.cos(angle), np.sin(angle)]), True, True, SIDE)
    p = random_points()
    expected = way * (40 - np.hypot(p[:, 0], p[:, 2]))
    assert np.abs(level(p) - expected).max() < 0.05


def test_corners_stay_where_a_curve_is_not_smooth():
    square = [(-30, -30), (30, -30), (30, 30), (-30, 30)]
    level = curve_level(square, False, True, SIDE)
    p = random_points()
    inside = np.maximum(np.abs(p[:, 0]), np.abs(p[:, 2])) < 30
    assert ((level(p) > 0) == inside).all()
    assert level(np.array([[0.0, 7, 10]]))[0] == pytest.approx(20)
    assert Polygon(square).area == 3600


def test_a_curve_that_crosses_itself_is_refused():
    with pytest.raises(BuildError, match="crosses itself"):
        curve_level([(0, 0), (10, 10), (10, 0), (0, 10)], False, True, SIDE)
    with pytest.raises(BuildError, match="past its ends it goes straight on"):
        curve_level([(0, 0), (50, 0), (50, 40), (20, 40), (20, 20)], False, False, SIDE)


SPHERE = NearestPoint(Superellipsoid((0, 0, 0), (100, 100, 100)))


def test_a_line_along_a_great_circle_is_the_plane_of_it():
    a = np.radians([10, 40, 75])
    level = line_level(100 * np.column_stack([np.cos(a), np.sin(a), 0 * a]), False, SPHERE)
    p = random_points(size=120)
    # seen from outside with the line running towards +y at +x, its left is +z
    near = p[:, :2] @ (0.5, 0.5) > 20
    assert np.abs(level(p)[near] - p[near, 2]).max() < 1e-3
    assert (np.sign(level(p)) == np.sign(p[:, 2]))[np.abs(p[:, 2]) > 1].all()


def test_a_line_passes_through_the_nearest_places_of_its_points():
    through = np.array([[80.0, 10, 30], [40, 60, 70], [-20, 90, 60]])
    level = line_level(through, False, SPHERE)
    on_form = 100 * through / np.linalg.norm(through, axis=1, keepdims=True)
    assert np.abs(level(on_form)).max() < 0.05
    # the cut is square to the form: it runs along the normals
    assert np.abs(level(1.1 * on_form)).max() < 0.06


@pytest.mark.parametrize("way", [1, -1])
def test_a_closed_line_around_a_cap(way):
    a = way * np.linspace(0, 2 * np.pi, 12, endpoint=False)
    level = line_level(np.column_stack([60 * np.cos(a), 60 * np.sin(a), np.full(12, 80.0)]), True, SPHERE)
    d = np.random.default_rng(4).normal(size=(300, 3))
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    clear = np.abs(d[:, 2] - 0.8) > 0.02
    assert (np.sign(level(100 * d)) == way * np.sign(d[:, 2] - 0.8))[clear].all()
