"""Lines moved by distances of their own, against what a moved curve is."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from foamwright.geometry import inset


def test_a_curve_is_moved_along_its_normals_though_its_distances_rise_and_fall():
    """A circle of 40 mm in sides of 1.5 mm, as a bulkhead's is drawn, moved in by 7 to 8 mm that turn back every 25 mm, as
    bevels do that are told at intervals: its points stay on their radii (the offset of a curve, to the first order)."""
    count = int(2 * np.pi * 40 / 1.5)
    angles = 2 * np.pi * np.arange(count) / count
    outline = 40.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    middles = np.arange(count) + 0.5
    distances = np.interp(middles * 1.5 % 25.0, [0.0, 12.5, 25.0], [7.0, 8.0, 7.0])
    moved = inset(outline, distances)
    assert Polygon(moved).is_valid
    radii = np.hypot(*moved.T)
    expected = 40.0 - (distances + np.roll(distances, 1)) / 2.0
    assert radii == pytest.approx(expected, abs=0.02)
    turned = np.angle(np.exp(1j * (np.arctan2(moved[:, 1], moved[:, 0]) - angles)))
    assert np.abs(40.0 * turned).max() < 0.05


def test_a_corner_stays_mitred():
    """A square of 100 whose sides move in by 10, 0, 5 and 0: a rectangle."""
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    moved = inset(square, np.array([10.0, 0.0, 5.0, 0.0]))
    assert moved == pytest.approx(np.array([[0.0, 10.0], [100.0, 10.0], [100.0, 95.0], [0.0, 95.0]]))


@pytest.mark.parametrize("turn", [6.0, 20.0, 60.0, 120.0])
def test_every_corner_is_where_its_two_sides_meet(turn):
    """A corner of so many degrees whose sides move in by 1 and 4: as far from each of them as they were moved."""
    angle = np.radians(turn)
    outline = np.array([[-100.0, 0.0], [0.0, 0.0], [100.0 * np.cos(angle), 100.0 * np.sin(angle)], [-100.0, 300.0]])
    corner = inset(outline, np.array([1.0, 4.0, 0.0, 0.0]))[1]
    assert corner[1] == pytest.approx(1.0)
    assert np.cos(angle) * corner[1] - np.sin(angle) * corner[0] == pytest.approx(4.0)
