"""Where a form stands, how it is turned and in which unit it is written makes no difference to its panels."""

from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from panel_designs import laid_flat, panel, plane, stock
from panel_refinement import rigid
from shapely.geometry import LinearRing

TURNS = {"z": "xyz", "x": "yzx", "y": "zxy"}  # axes of the form in the places of x, y and z
SAME = 0.02  # mm; meshes differ with the place, a knife follows a line to 0.2 mm at best


def gore(axis="z", centre=(0.0, 0.0, 0.0), unit=1.0):
    """A gore of a ball, with a dart; the same thing at any place, about any axis and in units of `unit` mm."""
    first, second, third = TURNS[axis]
    place = dict(zip("xyz", centre))

    def cut(way, at):
        return plane(way, (at + place[way]) / unit)

    radii = {first: 120.0, second: 120.0, third: 150.0}
    forms = {
        "ball": {
            "kind": "superellipsoid",
            "axis": axis,
            "centre": [c / unit for c in centre],
            "radii": [radii[a] / unit for a in "xyz"],
            "cuts": {
                "side": cut(second, 15.0),
                "low": cut(third, -40.0),
                "high": cut(third, 90.0),
                "back": cut(first, 10.0),
            },
        }
    }
    where = {"side": "beyond", "low": "beyond", "high": "before", "back": "beyond"}
    darts = [{"edge": "high", "at": 0.5, "depth": 40.0 / unit}]
    return forms, {"gore": panel("ball", where, darts=darts)}


def outline(forms, parts, units="mm", size=1.0):
    foam = stock(6.0 / size, 0.5, 0.2)
    foam["sheet"] = [s / size for s in foam["sheet"]]
    with TemporaryDirectory() as folder:
        return laid_flat(Path(folder), forms, parts, foam, units=units).pattern("gore")


@lru_cache
def reference():
    return outline(*gore())


def apart(pattern):
    """Hausdorff distance in mm from the reference, laid on it as well as it goes; corners tell how."""
    one, other = (np.vstack([p.edges[i].points[[0, -1]] for i in order(p)]) for p in (pattern, reference()))
    turn, shift = rigid(one, other)
    return LinearRing(pattern.outline @ turn.T + shift).hausdorff_distance(LinearRing(reference().outline))


def order(pattern):
    return sorted(range(len(pattern.edges)), key=lambda i: pattern.edges[i].id)


@settings(max_examples=6, deadline=None)
@given(
    axis=st.sampled_from("xyz"),
    centre=st.tuples(*[st.integers(-900, 900).map(float)] * 3),
)
def test_place_and_axis_make_no_difference(axis, centre):
    pattern = outline(*gore(axis, centre))
    assert apart(pattern) < SAME
    assert pattern.strain.max == pytest.approx(reference().strain.max, rel=0.02)


def test_a_form_written_in_inches_is_the_same():
    # 1 in is 25.4 mm exactly (ISO 31-1, Annex A; the international yard and pound agreement of 1959)
    forms, parts = gore(unit=25.4)
    for cut in forms["ball"]["cuts"].values():
        cut["plane"]["at"] = cut["plane"]["at"].replace(" * scale", " in * scale")
    pattern = outline(forms, parts, "in", 25.4)
    assert apart(pattern) < 1e-6


def test_another_form_is_not_the_same():
    forms, parts = gore()
    forms["ball"]["radii"][2] = 151.0
    assert apart(outline(forms, parts)) > SAME
