"""Line views of solids with hidden edges removed. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq
import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

DEFLECTION = 0.1  # mm, of a drawn polyline from the edge it stands for


@dataclass(frozen=True, eq=False)
class View:
    """`lines[i]` are the visible edges of the i-th shape, each a polyline (N, 2); bounds are (x0, y0, x1, y1)."""

    lines: tuple[tuple[np.ndarray, ...], ...]
    bounds: tuple[float, float, float, float]


def view(shapes: Sequence[cq.Shape], towards: Sequence[float], up: Sequence[float]) -> View:
    """Parallel projection seen along `towards` (from the eye into the scene), `up` up on the page.

    Each shape's own visible edges are kept apart, so that one of them can be drawn bolder than the rest.
    """
    towards, up = np.asarray(towards, float), np.asarray(up, float)
    right = np.cross(towards, up)
    plane = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*(-towards).tolist()), gp_Dir(*right.tolist()))
    algorithm = HLRBRep_Algo()
    for shape in shapes:
        algorithm.Add(shape.wrapped)
    algorithm.Projector(HLRAlgo_Projector(plane))
    algorithm.Update()
    algorithm.Hide()
    edges = HLRBRep_HLRToShape(algorithm)
    lines = []
    for shape in shapes:
        found = (edges.VCompound(shape.wrapped), edges.OutLineVCompound(shape.wrapped))
        lines.append(tuple(line for compound in found for line in _polylines(compound)))
    every = [line for group in lines for line in group]
    if not every:
        return View(tuple(lines), (0.0, 0.0, 0.0, 0.0))
    points = np.vstack(every)
    return View(tuple(lines), (*points.min(axis=0).tolist(), *points.max(axis=0).tolist()))


def _polylines(compound: TopoDS_Shape | None) -> list[np.ndarray]:
    if compound is None or compound.IsNull():
        return []
    BRepLib.BuildCurves3d_s(compound)
    lines = []
    explorer = TopExp_Explorer(compound, TopAbs_ShapeEnum.TopAbs_EDGE)
    while explorer.More():
        points = GCPnts_QuasiUniformDeflection(
            BRepAdaptor_Curve(TopoDS.Edge_s(explorer.Current())), DEFLECTION
        )
        if points.IsDone() and points.NbPoints() > 1:
            at = [points.Value(i) for i in range(1, points.NbPoints() + 1)]
            lines.append(np.array([(p.X(), p.Y()) for p in at]))
        explorer.Next()
    return lines
