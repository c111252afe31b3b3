"""Edges of solids that are splines: as many points as a knife needs, and none of a corner lost."""

import numpy as np
import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.Geom import Geom_BSplineCurve
from OCP.gp import gp_Pnt
from OCP.TColgp import TColgp_Array1OfPnt
from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

from foamwright.parts.solid_edges import edge_points


def broken_line(corners, knots):
    """A spline of degree 1 through corners (N, 2) at `knots`."""
    count = len(corners)
    poles, at, times = TColgp_Array1OfPnt(1, count), TColStd_Array1OfReal(1, count), TColStd_Array1OfInteger(1, count)
    for i, ((x, y), knot) in enumerate(zip(corners, knots), 1):
        poles.SetValue(i, gp_Pnt(x, y, 0.0))
        at.SetValue(i, knot)
        times.SetValue(i, 2 if i in (1, count) else 1)
    return BRepBuilderAPI_MakeEdge(Geom_BSplineCurve(poles, at, times, 1)).Edge()


@pytest.mark.parametrize("rise", [8.0, -0.02])
def test_a_corner_between_the_quarters_of_a_straight_line_stays(rise):
    corners = [(0.0, 0.0), (30.0, 0.0), (35.0, rise), (40.0, 0.0), (100.0, 0.0)]
    assert edge_points(broken_line(corners, [0.0, 0.3, 0.35, 0.4, 1.0]))[:, :2] == pytest.approx(np.array(corners))


def test_a_straight_line_is_its_two_ends_wherever_its_knots_lie():
    ends = edge_points(broken_line([(0.0, 0.0), (30.0, 15.0), (100.0, 50.0)], [0.0, 0.7, 1.0]))
    assert ends[:, :2] == pytest.approx(np.array([(0.0, 0.0), (100.0, 50.0)]))
