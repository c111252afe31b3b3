"""Surfaces given by formulas, against numerical derivatives and closed formulas."""

import numpy as np
import pytest

from foamwright.forms.axes import direction
from foamwright.forms.loft import Loft
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.parametric import Revolution, Superellipsoid

EGG = Revolution("x", (10, 0, 5), [(-100, 0), (-60, 55), (0, 80), (50, 60), (90, 0)])
HULL = Loft(
    "x",
    (-200, -100, 0, 120, 210),
    [(0, 0), (70, 55), (90, 80), (60, 60), (0, 0)],
    [(0, 0), (0, 5), (0, 10), (0, 5), (0, 0)],
    (2, 2.2, 2.6, 2.2, 2),
)
CONE = Revolution("z", (0, 0, 0), [(0, 90), (150, 40)], smooth=False)
SQUARE = Superellipsoid((0, 0, 0), (80, 60, 40), (3.0, 2.5))
ALL = {"egg": EGG, "hull": HULL, "cone": CONE, "square": SQUARE}


def places(count=400, margin=0.02):
    u, v = np.random.default_rng(7).uniform(0, 1, (2, count))
    return np.column_stack([margin + (1 - 2 * margin) * u, v])


@pytest.mark.parametrize("name", ALL)
def test_normals_are_square_to_numerical_tangents_and_point_out(name):
    surface, coords, h = ALL[name], places(), 1e-6
    du, dv = (
        (surface.point(coords + step) - surface.point(coords - step)) / (2 * h)
        for step in (np.array([h, 0.0]), np.array([0.0, h]))
    )
    numerical = np.cross(du, dv)
    numerical /= np.linalg.norm(numerical, axis=1, keepdims=True)
    assert np.abs(surface.normal(coords) - numerical).max() < 2e-5
    inside = surface.point(places()).mean(0)
    assert (((surface.point(coords) - inside) * surface.normal(coords)).sum(1) > 0).mean() > 0.99


@pytest.mark.parametrize("name", ["egg", "hull", "square"])
def test_at_a_pole_v_means_nothing(name):
    surface = ALL[name]
    for u, other in ((0.0, 1e-4), (1.0, 1 - 1e-4)):
        ring = np.column_stack([np.full(8, u), np.arange(8) / 8])
        assert np.ptp(surface.point(ring), axis=0).max() < 1e-9
        assert np.ptp(surface.normal(ring), axis=0).max() < 1e-3
        beside = np.column_stack([np.full(8, other), np.arange(8) / 8])
        assert np.abs(surface.normal(beside) - surface.normal(ring)).max() < 0.05
        assert surface.at_pole(ring).all() and not surface.at_pole(beside).any()


def test_blending_goes_the_short_way_and_leaves_a_pole_out():
    pairs = np.array([[[0.5, 0.95], [0.5, 0.05]], [[0.0, 0.7], [0.4, 0.2]]])
    found = EGG.blend(pairs, np.full((2, 2), 0.5))
    assert np.allclose(found[:, 0], [0.5, 0.2])
    assert np.allclose((found[:, 1] + 1e-12) % 1.0, [0.0, 0.2])


def test_coordinates_are_written_near_the_reference():
    found = EGG.near(np.array([[0.5, 0.1], [0.0, 0.4]]), np.array([[0.5, 2.9], [0.3, 1.25]]))
    assert np.allclose(found, [[0.5, 3.1], [0.0, 1.25]])


def test_signed_distance_to_a_sphere():
    nearest = NearestPoint(Superellipsoid((5, -3, 2), (70, 70, 70)))
    points = np.random.default_rng(3).normal(0, 80, (300, 3))
    expected = np.linalg.norm(points - (5, -3, 2), axis=1) - 70
    away = expected > -60  # about the centre every point of the sphere is the nearest
    assert np.abs(nearest.signed_distance(points) - expected)[away].max() < 1e-8


def test_an_ellipsoid_obeys_its_equation():
    surface = Superellipsoid((1, 2, 3), (80, 60, 40))
    points = (surface.point(places(margin=0.0)) - (1, 2, 3)) / (80, 60, 40)
    assert np.abs((points**2).sum(1) - 1).max() < 1e-12


@pytest.mark.parametrize("size", [1e-300, 1e-160, 1.0, 1e200, 1e300])
def test_a_direction_is_one_whatever_the_size_of_its_numbers(size):
    assert np.allclose(direction([3 * size, 0.0, -4 * size]), [0.6, 0.0, -0.8], atol=1e-15)
