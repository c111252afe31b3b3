"""Boundary solids put together face by face with their edges shared, without booleans and without sewing.

Every edge carries its curve in space and, for each face it bounds, its curve in that face's parameters, all
over one parameter range. Orientation is known beforehand, so nothing has to be repaired afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from OCP.BRep import BRep_Builder
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.Geom import Geom_BSplineCurve, Geom_BSplineSurface, Geom_Surface
from OCP.Geom2d import Geom2d_BSplineCurve
from OCP.gp import gp_Pnt, gp_Pnt2d
from OCP.GProp import GProp_GProps
from OCP.Message import Message, Message_Gravity
from OCP.TColgp import TColgp_Array1OfPnt, TColgp_Array1OfPnt2d, TColgp_Array2OfPnt
from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import (
    TopoDS,
    TopoDS_Edge,
    TopoDS_Face,
    TopoDS_Shape,
    TopoDS_Shell,
    TopoDS_Solid,
    TopoDS_Vertex,
    TopoDS_Wire,
)
from OCP.TopTools import TopTools_IndexedMapOfShape

from foamwright.model.failure import ShapeFailure
from foamwright.model.records import NamedSolid

# The kernel tells of its transfers on standard output, which is the user's: only its failures may be told there.
for _printer in Message.DefaultMessenger_s().Printers():
    _printer.SetTraceLevel(Message_Gravity.Message_Fail)

TOLERANCE = 1e-4  # mm, where curve and surface agree by construction
SMOOTH = 0.1  # radians: two faces that turn less than this at an edge are one smooth face
VOLUME_ACCURACY = 1e-3  # of the whole; the kernel refines its sums until they change by less
STRAIGHT = np.array([0.0, 0.0, 1.0, 1.0])  # knots of a straight edge

_builder = BRep_Builder()
_here = TopLoc_Location()
_forward, _reversed = TopAbs_Orientation.TopAbs_FORWARD, TopAbs_Orientation.TopAbs_REVERSED


@dataclass(frozen=True, eq=False)
class Edge:
    """An edge from `start` to `end` as a B-spline: full knot vector, control points (n, 3), degree."""

    shape: TopoDS_Edge
    start: TopoDS_Vertex
    end: TopoDS_Vertex
    knots: np.ndarray
    poles: np.ndarray
    degree: int


def vertex(point: np.ndarray, tolerance: float = TOLERANCE) -> TopoDS_Vertex:
    made = TopoDS_Vertex()
    _builder.MakeVertex(made, gp_Pnt(*map(float, point)), tolerance)
    return made


def edge(
    knots: np.ndarray,
    poles: np.ndarray,
    degree: int,
    start: TopoDS_Vertex,
    end: TopoDS_Vertex,
    tolerance: float = TOLERANCE,
) -> Edge:
    """An edge along a B-spline curve whose ends are the two vertices."""
    points = TColgp_Array1OfPnt(1, len(poles))
    for i, p in enumerate(poles.tolist(), 1):
        points.SetValue(i, gp_Pnt(*p))
    made = TopoDS_Edge()
    _builder.MakeEdge(made, Geom_BSplineCurve(points, *_knots(knots), degree), tolerance)
    _builder.Add(made, start.Oriented(_forward))
    _builder.Add(made, end.Oriented(_reversed))
    _builder.Range(made, float(knots[0]), float(knots[-1]))
    for corner in (start, end):
        _builder.UpdateVertex(corner, tolerance)
    return Edge(made, start, end, knots, poles, degree)


def straight(start: TopoDS_Vertex, a: np.ndarray, end: TopoDS_Vertex, b: np.ndarray) -> Edge:
    """A straight edge over the parameters 0 to 1."""
    return edge(STRAIGHT, np.stack([a, b]), 1, start, end)


def put_on(surface: Geom_Surface, on: Edge, poles: np.ndarray, tolerance: float = TOLERANCE) -> None:
    """Say where an edge lies on a surface: control points (n, 2) over the edge's own knots."""
    points = TColgp_Array1OfPnt2d(1, len(poles))
    for i, p in enumerate(poles.tolist(), 1):
        points.SetValue(i, gp_Pnt2d(*p))
    curve = Geom2d_BSplineCurve(points, *_knots(on.knots), on.degree)
    _builder.UpdateEdge(on.shape, curve, surface, _here, tolerance)
    _builder.Range(on.shape, surface, _here, float(on.knots[0]), float(on.knots[-1]))


def spline_surface(x_knots, y_knots, poles: np.ndarray, x_degree: int, y_degree: int) -> Geom_BSplineSurface:
    """A B-spline surface from full knot vectors and control points (n, m, 3)."""
    grid = TColgp_Array2OfPnt(1, poles.shape[0], 1, poles.shape[1])
    for i, row in enumerate(poles.tolist(), 1):
        for j, p in enumerate(row, 1):
            grid.SetValue(i, j, gp_Pnt(*p))
    (xk, xm), (yk, ym) = _knots(x_knots), _knots(y_knots)
    return Geom_BSplineSurface(grid, xk, yk, xm, ym, x_degree, y_degree)


def face(surface: Geom_Surface, loops: Sequence[Sequence[tuple[Edge, bool]]]) -> TopoDS_Face:
    """A face of `surface` within loops of (edge, walked forward?), material on the left; outer loop first."""
    made = TopoDS_Face()
    _builder.MakeFace(made, surface, TOLERANCE)
    for loop in loops:
        wire = TopoDS_Wire()
        _builder.MakeWire(wire)
        for item, forward in loop:
            _builder.Add(wire, item.shape.Oriented(_forward if forward else _reversed))
        wire.Closed(True)
        _builder.Add(made, wire)
    return made


def wall(a: Edge, b: Edge, first: Edge, last: Edge) -> TopoDS_Face:
    """The ruled face between two edges with one knot vector, `first` and `last` being straight from a to b.

    Its normal is the direction of the edges times the direction from a to b.
    """
    surface = spline_surface(a.knots, STRAIGHT, np.stack([a.poles, b.poles], axis=1), a.degree, 1)
    t = np.array([a.knots[i + 1 : i + 1 + a.degree].mean() for i in range(len(a.poles))])  # Greville abscissae
    put_on(surface, a, np.stack([t, np.zeros_like(t)], axis=1))
    put_on(surface, b, np.stack([t, np.ones_like(t)], axis=1))
    put_on(surface, first, np.array([[a.knots[0], 0.0], [a.knots[0], 1.0]]))
    put_on(surface, last, np.array([[a.knots[-1], 0.0], [a.knots[-1], 1.0]]))
    return face(surface, [[(a, True), (last, True), (b, False), (first, False)]])


def flipped(turned: TopoDS_Face) -> TopoDS_Face:
    return TopoDS.Face_s(turned.Reversed())


def solid(faces: Sequence[tuple[str, TopoDS_Face]]) -> NamedSolid:
    """The solid bounded by named faces that share their edges and have their normals outwards.

    Raises ShapeFailure if they do not make a valid solid.
    """
    shell, made = TopoDS_Shell(), TopoDS_Solid()
    _builder.MakeShell(shell)
    named: dict[str, tuple[TopoDS_Face, ...]] = {}
    for name, item in faces:
        _builder.Add(shell, item)
        named[name] = (*named.get(name, ()), item)
    shell.Closed(True)
    _builder.MakeSolid(made)
    _builder.Add(made, shell)
    BRepLib.EncodeRegularity_s(made, SMOOTH)  # marks edges that drawings leave out
    if not BRepCheck_Analyzer(made).IsValid():
        raise ShapeFailure("the faces do not make a valid solid")
    return NamedSolid(made, named)


def parts(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> tuple[TopoDS_Shape, ...]:
    """The faces, edges or vertices of a shape, each as often as it is met."""
    shapes, explorer = [], TopExp_Explorer(shape, kind)
    while explorer.More():
        shapes.append(explorer.Current())
        explorer.Next()
    return tuple(shapes)


def distinct(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> tuple[TopoDS_Shape, ...]:
    """The faces, edges or vertices of a shape, each once."""
    found = TopTools_IndexedMapOfShape()
    TopExp.MapShapes_s(shape, kind, found)
    return tuple(found.FindKey(number) for number in range(1, found.Extent() + 1))


def volume(shape: TopoDS_Shape) -> float:
    """Volume in mm3."""
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props, VOLUME_ACCURACY)
    return props.Mass()


def _knots(full: np.ndarray) -> tuple[TColStd_Array1OfReal, TColStd_Array1OfInteger]:
    values, counts = np.unique(full, return_counts=True)
    knots, repeats = TColStd_Array1OfReal(1, len(values)), TColStd_Array1OfInteger(1, len(values))
    for i, (value, count) in enumerate(zip(values.tolist(), counts.tolist()), 1):
        knots.SetValue(i, value)
        repeats.SetValue(i, count)
    return knots, repeats
