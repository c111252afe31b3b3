"""Edges of solids as points. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.TopoDS import TopoDS_Edge

from foamwright.errors import BuildError
from foamwright.parts.curves import SAGITTA, arc_steps, refined

_SAME = 1e-5  # mm: ends of neighbouring edges that are one corner


def chained(lines: Sequence[np.ndarray]) -> list[np.ndarray]:
    """The lines (N, D) of a closed loop, given in order, turned so that each begins where the one before ends.

    Raises BuildError if they do not meet.
    """
    if len(lines) == 1:
        return list(lines)
    first, second = lines[0], lines[1]
    if np.abs(second[[0, -1]] - first[0]).max(axis=1).min() < np.abs(second[[0, -1]] - first[-1]).max(axis=1).min():
        first = first[::-1]
    made = [first]
    for line in lines[1:]:
        end = made[-1][-1]
        if np.abs(line[-1] - end).max() < np.abs(line[0] - end).max():
            line = line[::-1]
        if np.abs(line[0] - end).max() > _SAME:
            raise BuildError("the boundary of a face of its solid is broken")
        made.append(line)
    return made


def edge_points(edge: TopoDS_Edge) -> np.ndarray:
    """The points (N, 3) that stand for an edge, from its start to its end."""
    curve = BRepAdaptor_Curve(edge)
    first, last = curve.FirstParameter(), curve.LastParameter()
    kind = curve.GetType()
    if kind == GeomAbs_CurveType.GeomAbs_Line:
        at = np.array([first, last])
    elif kind == GeomAbs_CurveType.GeomAbs_Circle:
        at = np.linspace(first, last, _circle_steps(curve.Circle().Radius(), last - first) + 1)
    elif kind == GeomAbs_CurveType.GeomAbs_BSplineCurve:
        spline = curve.BSpline()
        knots = np.array([spline.Knot(i) for i in range(1, spline.NbKnots() + 1)])
        at = _of_spline(curve, np.concatenate([[first], knots[(knots > first + 1e-9) & (knots < last - 1e-9)], [last]]))
    else:
        spread = GCPnts_QuasiUniformDeflection(curve, SAGITTA)
        at = np.array([spread.Parameter(i) for i in range(1, spread.NbPoints() + 1)])
    return _at(curve, at)


def _at(curve: BRepAdaptor_Curve, at: np.ndarray) -> np.ndarray:
    points = [curve.Value(float(t)) for t in at]
    return np.array([(p.X(), p.Y(), p.Z()) for p in points])


def _of_spline(curve: BRepAdaptor_Curve, knots: np.ndarray) -> np.ndarray:
    """The parameters of a spline at its `knots` (N,), with more between those that a chord does not do for; those of its
    ends alone where it is a straight line, as modellers write the edges of a loft."""
    points, rise = _at(curve, knots), _rise(curve, knots)
    if max(rise.max(), _beside(points, points[:1], points[-1:] - points[:1]).max()) < _SAME:
        return knots[[0, -1]]
    far = rise > SAGITTA
    middle = (knots[:-1] + knots[1:]) / 2
    return refined(lambda at: _at(curve, at), np.sort(np.concatenate([knots, middle[far]])))


def _rise(curve: BRepAdaptor_Curve, at: np.ndarray) -> np.ndarray:
    """(N - 1,) how far off its chords the curve is at their quarters: in the middle alone an S is on its chord."""
    points, step = _at(curve, at), np.diff(at)
    quarters = [_at(curve, at[:-1] + share * step) for share in (0.25, 0.5, 0.75)]
    off: np.ndarray = np.max([_beside(places, points[:-1], np.diff(points, axis=0)) for places in quarters], axis=0)
    return off


def _beside(places: np.ndarray, starts: np.ndarray, chords: np.ndarray) -> np.ndarray:
    """(N,) how far places are beside the lines from `starts` along `chords`."""
    away = places - starts
    along = (away * chords).sum(axis=1) / np.maximum((chords * chords).sum(axis=1), _SAME**2)
    off: np.ndarray = np.linalg.norm(away - along[:, None] * chords, axis=1)
    return off


def _circle_steps(radius: float, angle: float) -> int:
    if abs(angle - 2 * math.pi) < 1e-9:
        return 4 * max(4, math.ceil(arc_steps(radius, angle) / 4))
    return arc_steps(radius, angle)
