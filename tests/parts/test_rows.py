"""Rows of copies along a curve: gaps, pitches and tapers against closed formulas. Lengths in mm."""

import math
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.parts.legs import with_corners
from foamwright.parts.outlines import circle
from foamwright.parts.records import Frame
from foamwright.parts.rows import course, foot, row

FLOOR = Frame(np.array([10.0, -5.0, 30.0]), np.eye(3))


def ring(points, offset=0.0, span=(0.0, 1.0), frame=FLOOR):
    points = np.asarray(points, float)
    closed = np.vstack([points, points[:1]])
    return course(frame.to_space(closed), frame, offset, span)


SQUARE = [[-100, -50], [100, -50], [100, 50], [-100, 50]]


def plate(low, high, wide=6.0):
    return foot(np.array([[-wide / 2, low], [wide / 2, low], [wide / 2, high], [-wide / 2, high]]))


def gaps(found, low, high):
    """Straight distance from each copy's far side to the near side of the next."""
    far = [m[:3] @ (0.0, high, 0.0, 1.0) for m in found.matrices]
    near = [m[:3] @ (0.0, low, 0.0, 1.0) for m in found.matrices]
    return np.linalg.norm(np.array(near[1:] + near[:1]) - np.array(far), axis=1)


def test_even_gaps_around_a_circle():
    found = row({"count": 20}, ring(circle(150.0)), plate(-17.5, 17.5))
    assert len(found.matrices) == 20
    # the chord between two sides that stand square to the radii through the middles of the copies
    turn = math.radians(18.0)
    expected = 2 * 150 * math.sin(turn / 2) - 35 * math.cos(turn / 2)
    assert gaps(found, -17.5, 17.5) == pytest.approx(np.full(20, expected), abs=0.05)
    assert gaps(found, -17.5, 17.5) == pytest.approx(np.full(20, found.gap), abs=1e-4)


@pytest.mark.parametrize("along", [{"count": 12}, {"gap": 45.0}, {"pitch": 61.7}])
def test_round_copies_are_as_far_apart_as_a_gauge_between_them(along):
    """Distance of the middles less the diameter: 2 R sin(pi / 12) - 2 r, where the chord between the points on the curve is longer."""
    round_ones = foot(np.array(circle(8.0)))
    found = row(along, ring(circle(118.0)), round_ones)
    middles = np.array([m[:3, 3] for m in found.matrices])
    apart = np.linalg.norm(np.roll(middles, -1, axis=0) - middles, axis=1)
    assert len(middles) == 12
    assert apart == pytest.approx(np.full(12, 2 * 118 * math.sin(math.pi / 12)), abs=0.03)
    assert found.gap == pytest.approx(apart[0] - 16.0, abs=0.03)


@pytest.mark.parametrize("points", [circle(8.0), [[0, -8], [8, 0], [0, 8], [-8, 0]]], ids=["round", "on a corner"])
def test_a_stated_gap_along_an_open_curve_is_that_between_round_and_pointed_copies(points):
    found = row({"gap": 10.0, "count": 4}, ring(circle(60.0), span=(0.0, 0.5)), foot(np.array(points)))
    placed = [Polygon((m[:2, :2] @ np.array(points).T).T + m[:2, 3]) for m in found.matrices]
    assert [a.distance(b) for a, b in pairwise(placed)] == pytest.approx([10.0] * 3, abs=0.02) and found.gap == 10.0


@pytest.mark.parametrize("made", [foot(np.array(circle(8.0))), plate(-8.0, 8.0)], ids=["round", "plate"])
def test_a_gauge_for_a_stated_pitch_on_a_bend_is_as_wide_as_what_is_between_two(made):
    """Chords of the circle on which they stand: c = 2 R sin(pitch / 2 R) from middle to middle, and between plates, each
    square to its own radius, c - 16 cos(pitch / 2 R)."""
    found = row({"pitch": 30.0}, ring(circle(60.0), span=(0.0, 0.5)), made)
    half = 30.0 / 60.0 / 2.0
    between = 2 * 60 * math.sin(half) - 16.0 * (math.cos(half) if made.straight else 1.0)
    assert found.gap == pytest.approx(between, abs=0.02)


def test_copies_face_outwards_and_start_at_the_side_of_up():
    found = row({"count": 4}, ring(circle(80.0)), plate(-5, 5))
    for matrix, angle in zip(found.matrices, (90, 180, 270, 360)):
        way = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle)), 0])
        assert matrix[:3, 0] == pytest.approx(way, abs=2e-3)
        assert matrix[:3, 3] == pytest.approx(FLOOR.origin + 80 * way, abs=0.05)
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0)


def test_offset_grows_the_circle():
    found = row({"count": 6}, ring(circle(80.0), offset=12.0), plate(-5, 5))
    away = [np.hypot(*(m[:2, 3] - FLOOR.origin[:2])) for m in found.matrices]
    assert away == pytest.approx([92.0] * 6, abs=0.02)


def test_a_stated_gap_on_a_closed_curve_takes_the_nearest_number():
    found = row({"gap": 12.0}, ring(circle(150.0)), plate(-17.5, 17.5))
    assert len(found.matrices) == round(2 * math.pi * 150 / 47)
    assert found.gap == pytest.approx(12.0, abs=47 / 20)


def test_the_gaps_taper_at_one_end():
    """About twenty uniform blocks round a floor set with a spacer (common practice, no source)."""
    taper = {"to": 4.0, "over": 5}
    found = row({"count": 20, "taper": taper}, ring(circle(150.0)), plate(-17.5, 17.5))
    measured = gaps(found, -17.5, 17.5)
    assert measured[:15] == pytest.approx(np.full(15, found.gap), abs=1e-4)
    assert measured[15:] == pytest.approx(found.gap + (4.0 - found.gap) * np.arange(1, 6) / 5, abs=1e-4)


def test_an_open_row_with_a_count_ends_with_its_curve():
    # half the way round from the middle of the upper side: 100 + 100 + 100 mm, round two corners
    found = row({"count": 2}, ring(SQUARE, span=(0.0, 1 / 6)), plate(-10, 10))
    assert found.matrices[0][:3, 3] - FLOOR.origin == pytest.approx((-10, 50, 0))
    assert found.matrices[1][:3, 3] - FLOOR.origin == pytest.approx((-90, 50, 0))
    assert found.gap == pytest.approx(60.0)


def test_an_open_row_takes_as_many_as_fit():
    straight = ring(SQUARE, span=(0.0, 1 / 6))  # 100 mm
    by_gap = row({"gap": 10.0}, straight, plate(0.0, 20.0))
    assert len(by_gap.matrices) == 3 and by_gap.gap == 10.0  # 3 x 20 + 2 x 10 = 80; a fourth would end at 110
    by_pitch = row({"pitch": 40.0}, straight, plate(0.0, 20.0))
    assert [m[0, 3] - FLOOR.origin[0] for m in by_pitch.matrices] == pytest.approx([0, -40, -80])
    with pytest.raises(BuildError, match="3 fit"):
        row({"gap": 10.0, "count": 4}, straight, plate(0.0, 20.0))


def test_heights_of_the_curve_are_kept():
    points = circle(60.0)
    tilted = np.column_stack([points, 0.2 * points[:, 0]])
    curve = FLOOR.to_space(np.vstack([tilted, tilted[:1]]))
    found = row({"count": 8}, course(curve, FLOOR, 0.0, (0.0, 1.0)), plate(-5, 5))
    for matrix in found.matrices:
        x, _, z = matrix[:3, 3] - FLOOR.origin
        assert z == pytest.approx(0.2 * x, abs=0.5)


@pytest.mark.parametrize(
    "along, words",
    [({"count": 40}, "40 copies of 35.00 mm do not fit"), ({"pitch": 30.0}, "a pitch of 30 mm")],
)
def test_what_does_not_fit_is_refused(along, words):
    with pytest.raises(BuildError, match=words):
        row(along, ring(circle(150.0)), plate(-17.5, 17.5))


# Corners on the course.


def test_a_closed_row_around_a_square_keeps_its_corners():
    # 600 mm around, twelve copies 50 mm apart: one in the middle of the upper side, the corners half way between two
    found = row({"count": 12}, ring(SQUARE), plate(0.0, 0.0 + 1e-9))
    at = np.array([m[:3, 3] - FLOOR.origin for m in found.matrices])[:, :2]
    assert at == pytest.approx(
        np.array([[0, 50], [-50, 50], [-100, 50], [-100, 0], [-100, -50], [-50, -50], [0, -50], [50, -50],
                  [100, -50], [100, 0], [100, 50], [50, 50]]), abs=1e-6
    )  # fmt: skip
    ways = np.array([m[:3, 0] for m in found.matrices])[:, :2]
    assert ways[[0, 3, 6, 9]] == pytest.approx(np.array([[0, 1], [-1, 0], [0, -1], [1, 0]]), abs=1e-9)
    assert ways[2] == pytest.approx([-math.sqrt(0.5), math.sqrt(0.5)], abs=1e-6)  # in a corner, at half the turn


def test_an_offset_rounds_outer_corners_and_keeps_inner_ones():
    outside = ring(SQUARE, offset=10.0)
    assert outside.length == pytest.approx(600 + 2 * math.pi * 10, abs=0.05)
    inside = ring(SQUARE, offset=-10.0)
    assert inside.length == pytest.approx(600 - 8 * 10, abs=1e-6)


def test_heights_are_those_of_the_curve_between_its_points():
    ramp = np.array([[-50, -50, 0], [50, -50, 100], [50, 50, 100], [-50, 50, 0], [-50, -50, 0]], float)
    curve = course(FLOOR.to_space(ramp), FLOOR, 0.0, (0.0, 1.0))
    assert curve.heights == pytest.approx(curve.points[:, 0] + 50, abs=1e-9)


def test_sampling_past_a_corner_is_made_good():
    side = np.arange(0.37, 200, 1.0)
    sides = [[(x, 0.0) for x in side], [(200.0, y) for y in side], [(200 - x, 200.0) for x in side],
             [(0.0, 200 - y) for y in side]]  # fmt: skip
    sampled = np.array([p for points in sides for p in points])
    found = with_corners(np.column_stack([sampled, sampled[:, 0]]))
    assert ring(found[:, :2]).length == pytest.approx(800, abs=1e-9)
    assert {(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0)} <= set(map(tuple, found[:, :2].round(9).tolist()))
    circle_ = circle(40.0)
    assert np.array_equal(with_corners(circle_), circle_)
