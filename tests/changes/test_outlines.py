"""The distance between cut lines, against figures worked out by hand."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from foamwright.changes.outlines import distance, extent


def rectangle(width, height, at=(0.0, 0.0)):
    x, y = width / 2.0, height / 2.0
    return np.array([[-x, -y], [x, -y], [x, y], [-x, y]]) + at


def circle(radius, number=200, at=(0.0, 0.0)):
    angle = np.arange(number) * 2.0 * math.pi / number
    return radius * np.column_stack([np.cos(angle), np.sin(angle)]) + at


L = np.array([[0, 0], [120, 0], [120, 30], [40, 30], [40, 90], [0, 90]], float)  # no turn or mirror maps it onto itself


def turned(line, degrees, shift=(0.0, 0.0)):
    matrix = Rotation.from_euler("z", degrees, degrees=True).as_matrix()[:2, :2]  # scipy, the turn from outside
    return np.asarray(line) @ matrix.T + shift


@pytest.mark.parametrize("degrees", [0.0, 17.0, 90.0, 180.0, -133.0])
@pytest.mark.parametrize("start", [0, 2])
def test_a_line_that_is_only_moved_turned_and_begun_elsewhere_is_the_same(degrees, start):
    apart, (laid, *_) = distance([L], [turned(np.roll(L, start, axis=0), degrees, (300.0, -40.0))])
    assert apart < 0.02
    assert laid.mean(axis=0) == pytest.approx(turned(L, degrees, (300.0, -40.0)).mean(axis=0), abs=0.05)


def test_a_mirrored_part_is_another_part():
    assert distance([L], [L * [-1.0, 1.0]])[0] > 10.0


def test_a_wider_rectangle_moves_by_half_on_each_side():
    apart, _ = distance([rectangle(249.0, 206.0)], [rectangle(249.0, 210.0)])
    assert apart == pytest.approx(2.0, abs=0.01)


def test_a_larger_circle_moves_by_the_difference_of_radii():
    apart, _ = distance([circle(100.0)], [circle(103.0, 310, (50.0, 7.0))])
    assert apart == pytest.approx(3.0, abs=0.02)


def test_sampling_alone_is_no_change():
    # the sagitta of a chord: r (1 - cos(pi / n))
    apart, _ = distance([circle(100.0, 720)], [circle(100.0, 500)])
    assert apart <= 100.0 * (1.0 - math.cos(math.pi / 500)) + 0.003


def test_a_hole_that_moves_is_seen_and_one_that_is_added_has_no_distance():
    plate = rectangle(200.0, 100.0)
    holes = [circle(5.0, 64, (-60.0, 0.0)), circle(5.0, 64, (60.0, 0.0))]
    swapped = [holes[1], holes[0] + [0.0, 1.5]]
    assert distance([plate, *holes], [plate, *holes[::-1]])[0] < 1e-6
    assert distance([plate, *holes], [plate, *swapped])[0] == pytest.approx(1.5, abs=0.01)
    assert math.isnan(distance([plate], [plate, *holes])[0])


def test_a_round_part_is_turned_by_its_holes_and_not_by_its_rim():
    holes = [circle(6.0, 48, (30.0, 0.0))]
    assert distance([circle(50.0), *holes], [circle(50.0), *holes])[0] < 1e-6


def test_length_and_width_do_not_depend_on_how_a_part_lies():
    assert extent(turned(rectangle(300.0, 40.0), 33.0)) == pytest.approx((300.0, 40.0), abs=1e-6)


@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e4])
def test_very_small_and_very_large(scale):
    apart, _ = distance([L * scale], [turned(L * scale, 60.0)])
    assert apart < max(0.02, 2e-3 * scale)
