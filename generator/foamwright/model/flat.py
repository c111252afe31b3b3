"""Plates, rings and discs as solids. Lengths in mm, angles in degrees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.Geom import Geom_Plane, Geom_Surface
from OCP.gp import gp_Ax2, gp_Ax3, gp_Circ, gp_Dir, gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Wire

from foamwright.model import brep
from foamwright.model.curves import corners, through
from foamwright.model.loops import Stretch, solid_between
from foamwright.model.records import INSIDE, OUTSIDE, NamedSolid
from foamwright.parts.records import EdgeRun, FlatBody, Frame

RIM = "rim"  # the edge of an outline without corners


@dataclass(frozen=True, eq=False)
class PlaneFace:
    frame: Frame
    height: float
    geometry: Geom_Surface

    def at(self, plane: np.ndarray) -> np.ndarray:
        return self.frame.to_space(np.column_stack([plane, np.full(len(plane), self.height)]))


def flat_solid(body: FlatBody, thickness: float) -> NamedSolid:
    """The part between z = 0 and z = `thickness` of its frame; round where it is said to be round.

    `outline` is the larger of the two faces: a bevel undercuts the inside face where it is positive and the
    outside face where it is negative. Its faces are `inside`, `outside`, one or several for the id of each run of
    the outline, and `hole_1` and so on. The curves of its edges have all points of the outline as knots.
    Raises ShapeFailure.
    """
    if body.radius is not None and not any(any(run.bevel) for run in body.runs):
        return _round_solid(body, thickness)
    bottom, top = (plane_face(body.frame, height) for height in (0.0, thickness))
    loops = [_outline_stretches(body, *body.faces(thickness), bottom, top)]
    loops += [_hole_stretches(name, hole, bottom, top) for name, hole in zip(hole_names(body), body.holes)]
    return solid_between(loops, bottom, top, through)


def hole_names(body: FlatBody) -> tuple[str, ...]:
    """The names of the walls of the holes, in their order."""
    return tuple(f"hole_{number}" for number in range(1, len(body.holes) + 1))


def plane_face(frame: Frame, height: float) -> PlaneFace:
    """The plane at a height over that of `frame`."""
    origin = gp_Pnt(*(frame.origin + height * frame.axes[:, 2]).tolist())
    axes = gp_Ax3(origin, gp_Dir(*frame.axes[:, 2].tolist()), gp_Dir(*frame.axes[:, 0].tolist()))
    return PlaneFace(frame, height, Geom_Plane(axes))


def _outline_stretches(
    body: FlatBody, inner: np.ndarray, outer: np.ndarray, bottom: PlaneFace, top: PlaneFace
) -> list[Stretch]:
    """The outline run by run; one without corners starts where its only run does."""
    count = len(inner)
    stretches = []
    for run in body.runs or (EdgeRun(RIM, 0, count, (0.0,), ()),):
        around = np.arange(run.start, run.stop + 1) % count
        a, b = inner[around], outer[around]
        stretches.append(Stretch(run.id, bottom.at(a), top.at(b), a, b))
    return stretches


def _hole_stretches(name: str, hole: np.ndarray, bottom: PlaneFace, top: PlaneFace) -> list[Stretch]:
    marks = corners(hole)
    start = int(marks[0]) if len(marks) else 0
    ring = hole[np.r_[start : len(hole), 0 : start + 1]]
    return [Stretch(name, bottom.at(ring), top.at(ring), ring, ring)]


def _round_solid(body: FlatBody, thickness: float) -> NamedSolid:
    """A disc or a ring: its circles are circles; holes beside the round one are polygons."""
    assert body.radius is not None
    normal = body.frame.axes[:, 2]
    centre = body.frame.to_space(np.array([body.centre]))[0]
    axis = gp_Ax2(gp_Pnt(*centre.tolist()), gp_Dir(*normal.tolist()), gp_Dir(*body.frame.axes[:, 0].tolist()))
    rim = _circle(axis, body.radius)
    face = BRepBuilderAPI_MakeFace(rim, True)
    wires = [(body.runs[0].id if body.runs else RIM, rim)]
    for name, hole in zip(hole_names(body), body.holes):
        if body.inner_radius is not None and is_inner(hole, body):
            wire = TopoDS.Wire_s(_circle(axis, body.inner_radius).Reversed())
        else:
            x, y = hole.T
            clockwise = x @ np.roll(y, -1) - y @ np.roll(x, -1) < 0.0
            wire = _polygon(body.frame.to_space(hole if clockwise else hole[::-1]))
        face.Add(wire)
        wires.append((name, wire))
    prism = BRepPrimAPI_MakePrism(face.Face(), gp_Vec(*(thickness * normal).tolist()), False)
    faces = {INSIDE: (TopoDS.Face_s(prism.FirstShape()),), OUTSIDE: (TopoDS.Face_s(prism.LastShape()),)}
    for name, wire in wires:
        walls = [prism.Generated(edge).First() for edge in brep.parts(wire, TopAbs_ShapeEnum.TopAbs_EDGE)]
        faces[name] = tuple(map(TopoDS.Face_s, walls))
    return NamedSolid(prism.Shape(), faces)


def _circle(axis: gp_Ax2, radius: float) -> TopoDS_Wire:
    return BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(axis, radius)).Edge()).Wire()


def _polygon(points: np.ndarray) -> TopoDS_Wire:
    wire = BRepBuilderAPI_MakeWire()
    for a, b in zip(points, np.roll(points, -1, axis=0)):
        wire.Add(BRepBuilderAPI_MakeEdge(gp_Pnt(*a.tolist()), gp_Pnt(*b.tolist())).Edge())
    return wire.Wire()


def is_inner(hole: np.ndarray, body: FlatBody) -> bool:
    """Is this hole the round one in the middle of a ring?"""
    if body.inner_radius is None:
        return False
    away = np.linalg.norm(hole - np.array(body.centre), axis=1)
    return bool(np.abs(away - body.inner_radius).max() < 0.05)
