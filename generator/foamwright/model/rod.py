"""Rods as solids. Lengths in mm."""

from __future__ import annotations

from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

from foamwright.model.records import OUTSIDE, NamedSolid
from foamwright.parts.records import RodBody


def rod_solid(body: RodBody, thickness: float) -> NamedSolid:
    """The finished bar: round, whatever it is built from (`thickness`, of its layers, is sanded away to it).

    Its faces are `outside`, `start` and `end`.
    """
    along = gp_Dir(*(body.end - body.start).tolist())
    axis = gp_Ax2(gp_Pnt(*body.start.tolist()), along)
    made = BRepPrimAPI_MakeCylinder(axis, body.diameter / 2, body.length)
    shape, bar = made.Solid(), made.Cylinder()
    return NamedSolid(shape, {OUTSIDE: (bar.LateralFace(),), "start": (bar.BottomFace(),), "end": (bar.TopFace(),)})
