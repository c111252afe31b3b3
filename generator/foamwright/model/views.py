"""Line views of the prop with hidden edges removed. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from foamwright.model.meshes import LINEAR, face_meshes, normals, triangulations
from foamwright.model.polylines import chained
from foamwright.model.records import Model, location

SHRINK = 1.5 * LINEAR  # mm


@dataclass(frozen=True, eq=False)
class View:
    """Visible edges: `lines[i]` are those of the i-th copy shown, each a polyline (N, 2).

    `bounds` are (x0, y0, x1, y1) of all of them, x to the right and y up on the page.
    """

    lines: tuple[tuple[np.ndarray, ...], ...]
    bounds: tuple[float, float, float, float]


def view(model: Model, shown: Sequence[int], towards: Sequence[float] | np.ndarray, up: Sequence[float]) -> View:
    """Parallel projection of some copies (indices into `model.copies`).

    The eye looks along `towards`, with `up` up on the page. Sharp edges and outlines are drawn; every copy's
    own are kept apart, so that one of them can be drawn bolder than the rest.
    """
    shapes = [_drawn(model)[i] for i in shown]
    ahead = np.asarray(towards, float)
    right = np.cross(ahead, np.asarray(up, float))
    plane = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*(-ahead).tolist()), gp_Dir(*right.tolist()))
    algorithm = HLRBRep_PolyAlgo()
    for shape in shapes:
        algorithm.Load(shape)
    algorithm.Projector(HLRAlgo_Projector(plane))
    algorithm.Update()
    edges = HLRBRep_PolyHLRToShape()
    edges.Update(algorithm)
    lines = tuple(
        tuple(chained(np.concatenate([_segments(edges.VCompound(s)), _segments(edges.OutLineVCompound(s))])))
        for s in shapes
    )
    every = [line for group in lines for line in group]
    points = np.vstack(every) if every else np.zeros((1, 2))
    return View(lines, (*points.min(axis=0).tolist(), *points.max(axis=0).tolist()))


@lru_cache(maxsize=1)
def _drawn(model: Model) -> tuple[TopoDS_Shape, ...]:
    """The copies in place as they are drawn."""
    shapes: dict[str, TopoDS_Shape] = {}
    for copy in model.copies:
        if copy.prototype.key not in shapes:
            shapes[copy.prototype.key] = _shrunk(copy.prototype.solid)
    return tuple(shapes[copy.prototype.key].Moved(location(copy.matrix)) for copy in model.copies)


def _shrunk(shape: TopoDS_Shape) -> TopoDS_Shape:
    """A copy whose faces sag inwards by `SHRINK` between their edges.

    The triangles of two curved faces that touch pass through each other, and an edge in such a contact would
    be seen and hidden by turns.
    """
    copy = BRepBuilderAPI_Copy(shape, True, True).Shape()
    for (_, mesh, _), face in zip(triangulations(copy), face_meshes(copy)):
        sides = np.sort(face.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        sides, count = np.unique(sides, axis=0, return_counts=True)
        inside = np.setdiff1d(np.arange(len(face.points)), sides[count == 1])
        moved = face.points - SHRINK * normals(face)
        for i in inside.tolist():
            mesh.SetNode(i + 1, gp_Pnt(*moved[i].tolist()))
    return copy


def _segments(compound: TopoDS_Shape | None) -> np.ndarray:
    """The straight edges of a drawing, (N, 2, 2)."""
    segments = []
    if compound is not None and not compound.IsNull():
        explorer = TopExp_Explorer(compound, TopAbs_ShapeEnum.TopAbs_EDGE)
        while explorer.More():
            edge = TopoDS.Edge_s(explorer.Current())
            ends = (BRep_Tool.Pnt_s(TopExp.FirstVertex_s(edge)), BRep_Tool.Pnt_s(TopExp.LastVertex_s(edge)))
            segments.append([(p.X(), p.Y()) for p in ends])
            explorer.Next()
    return np.array(segments, float).reshape(-1, 2, 2)
