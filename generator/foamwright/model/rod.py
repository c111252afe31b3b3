"""Rods as solids. Lengths in mm."""

from __future__ import annotations

from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.TopoDS import TopoDS_Shape

from foamwright.parts.records import RodBody


def rod_solid(body: RodBody, thickness: float) -> TopoDS_Shape:
    """The finished bar: round, whatever it is built from (`thickness`, of its layers, is sanded away to it)."""
    along = gp_Dir(*(body.end - body.start).tolist())
    axis = gp_Ax2(gp_Pnt(*body.start.tolist()), along)
    return BRepPrimAPI_MakeCylinder(axis, body.diameter / 2, body.length).Solid()
