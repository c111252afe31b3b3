"""A smooth form that leaves the sections or points between which it runs by more than a maker would expect is told.

Four points make one cubic of a spline that ends without a knot (de Boor, A Practical Guide to Splines); where they lie alike
from both ends it is a parabola, whose height between the middle two follows from theirs.
"""

import math
import re

import pytest

from foamwright.forms.loft import Loft
from foamwright.forms.parametric import Revolution

ENDS, MIDDLES, INNER = (0.0, 200.0), (30.0, 170.0), (20.0, 60.0)  # stations, and half widths at both of them


def swell(scale: float) -> float:
    """How far the parabola through the half widths, by length of chord, rises above the two in the middle, in mm."""
    step = math.hypot(MIDDLES[0] - ENDS[0], INNER[1] - INNER[0])
    beside = step / (2 * step + MIDDLES[1] - MIDDLES[0])
    return scale * (INNER[1] - INNER[0]) * (0.5 - beside) ** 2 / (0.25 - (0.5 - beside) ** 2)


def stations(scale: float) -> list[float]:
    return [at * scale for at in (ENDS[0], *MIDDLES, ENDS[1])]


def halves(scale: float, low: float = INNER[0], high: float = INNER[1]) -> list[float]:
    return [half * scale for half in (low, high, high, low)]


@pytest.mark.parametrize("scale", [0.3, 1.0, 3.0])
def test_a_loft_that_swells_between_its_sections_is_told(scale):
    sections = [(half, 50.0 * scale) for half in halves(scale)]
    (note,) = Loft("x", stations(scale), sections, [(0, 0)] * 4, [2] * 4).notes
    start, end, by = re.search(r"sections at (\d+) and (\d+) its width is ([\d.]+) mm more than at both", note).groups()
    assert (float(start), float(end)) == (30 * scale, 170 * scale)
    assert float(by) == pytest.approx(2 * swell(scale), abs=0.051)


def test_a_profile_that_swells_or_dips_between_its_points_is_told():
    (out,) = Revolution("z", (0, 0, 0), list(zip(stations(1), halves(1)))).notes
    assert f"{swell(1):.1f} mm further out than its points at 30 and 170" in out
    (dip,) = Revolution("z", (0, 0, 0), list(zip(stations(1), halves(1, 100.0, 60.0)))).notes
    assert f"{swell(1):.1f} mm further in than its points at 30 and 170" in dip


@pytest.mark.parametrize("smooth", [True, False])
def test_what_keeps_to_its_points_is_told_nothing(smooth):
    points = [(0.0, 40.0), (50.0, 55.0), (100.0, 60.0), (150.0, 52.0)]
    assert Revolution("z", (0, 0, 0), points, smooth).notes == ()
    assert Revolution("z", (0, 0, 0), list(zip(stations(1), halves(1))), False).notes == ()
    assert Loft("x", [0, 100], [(10, 50), (60, 5)], [(0, 0)] * 2, [2] * 2).notes == ()
