"""The boundary of a named face of a solid, edge by edge. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import cadquery as cq
import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Wire

from foamwright.errors import BuildError
from foamwright.model.brep import parts
from foamwright.parts.curves import SAGITTA, arc_steps

_SAME = 1e-5  # mm: ends of neighbouring edges that are one corner


@dataclass(frozen=True, eq=False)
class Side:
    """One edge of a face: the name of the wall that stands on it, and its points (N, 3) along the loop."""

    wall: str
    points: np.ndarray


Loop = tuple[Side, ...]  # closed: each side begins where the one before ends


def boundary(faces: Mapping[str, tuple[cq.Face, ...]], name: str) -> tuple[Loop, ...]:
    """The loops around the one face of that name, in the kernel's order; each side names its wall.

    A straight edge gives its ends, a full circle points as `parts.outlines.circle` has them, an arc points at even
    angles, a spline its knots, and any other curve points within the same sagitta. Raises BuildError if the solid
    has not one such face.
    """
    found = faces.get(name, ())
    if len(found) != 1:
        raise BuildError(f"its solid has {len(found)} faces {name!r}; expected one")
    walls = _walls(faces, name)
    wires = [TopoDS.Wire_s(w) for w in parts(found[0].wrapped, TopAbs_ShapeEnum.TopAbs_WIRE)]
    return tuple(_loop(wire, found[0].wrapped, walls) for wire in wires)


class _EdgeNames:
    """Names of edges, whichever way they are walked."""

    def __init__(self) -> None:
        self._found: dict[int, list[tuple[TopoDS_Shape, str]]] = {}

    def put(self, edge: TopoDS_Shape, name: str) -> None:
        edge = edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
        self._found.setdefault(hash(edge), []).append((edge, name))

    def of(self, edge: TopoDS_Shape) -> str:
        edge = edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
        for known, name in self._found.get(hash(edge), ()):
            if known.IsSame(edge):
                return name
        raise BuildError("an edge of its solid belongs to no face with a name")


def _walls(faces: Mapping[str, tuple[cq.Face, ...]], name: str) -> _EdgeNames:
    names = _EdgeNames()
    for wall, found in faces.items():
        if wall != name:
            for face in found:
                for edge in parts(face.wrapped, TopAbs_ShapeEnum.TopAbs_EDGE):
                    names.put(edge, wall)
    return names


def _loop(wire: TopoDS_Wire, face: TopoDS_Face, walls: _EdgeNames) -> Loop:
    sides = []
    explorer = BRepTools_WireExplorer(wire, face)
    while explorer.More():
        edge = explorer.Current()
        sides.append(Side(walls.of(edge), edge_points(edge)))
        explorer.Next()
    if len(sides) > 1:
        sides = _chained(sides)
    return tuple(sides)


def _chained(sides: list[Side]) -> list[Side]:
    """The sides turned so that each begins where the one before ends."""
    first, second = sides[0].points, sides[1].points
    if min(np.abs(second[[0, -1]] - first[0]).max(axis=1)) < min(np.abs(second[[0, -1]] - first[-1]).max(axis=1)):
        first = first[::-1]
    made = [Side(sides[0].wall, first)]
    for side in sides[1:]:
        end, points = made[-1].points[-1], side.points
        if np.abs(points[-1] - end).max() < np.abs(points[0] - end).max():
            points = points[::-1]
        if np.abs(points[0] - end).max() > _SAME:
            raise BuildError("the boundary of a face of its solid is broken")
        made.append(Side(side.wall, points))
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
        at = np.concatenate([[first], knots[(knots > first + 1e-9) & (knots < last - 1e-9)], [last]])
    else:
        spread = GCPnts_QuasiUniformDeflection(curve, SAGITTA)
        at = np.array([spread.Parameter(i) for i in range(1, spread.NbPoints() + 1)])
    points = [curve.Value(float(t)) for t in at]
    return np.array([(p.X(), p.Y(), p.Z()) for p in points])


def _circle_steps(radius: float, angle: float) -> int:
    if abs(angle - 2 * math.pi) < 1e-9:
        return 4 * max(4, math.ceil(arc_steps(radius, angle) / 4))
    return arc_steps(radius, angle)
