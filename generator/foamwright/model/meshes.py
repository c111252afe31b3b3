"""Solids as triangles. Lengths in mm.

Every part is turned into triangles once, when it is modelled; the checks, the drawings and the model that is
looked at all read the same ones.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.gp import gp_Pnt, gp_Pnt2d
from OCP.IMeshTools import IMeshTools_MeshAlgoType, IMeshTools_Parameters
from OCP.Poly import Poly_Triangle, Poly_Triangulation
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape

from foamwright.parts.records import Body, FlatBody, PanelBody

LINEAR, ANGULAR = 0.1, 0.2  # mm and radians: how far the triangles may lie off the solids
_BULGE, _TRIES = 4.0, 2  # times LINEAR that a side may lie off before finer ones are made, so many times at most
_LONG = 10.0  # mm, a side shorter than this bulges less than that at any radius of foam that large
_MANY = 50_000  # triangles of a part, beyond which none finer are made
_EXACT = 1e-4  # mm, to which the place of a point on a surface is looked for
_LARGE = 150.0  # mm, half the diagonal of a part beyond which the kernel's triangles were seen up to 0.6 mm off

_OVER = [0, 2, 1]  # the corners of a triangle that is seen from its other side


@dataclass(frozen=True, eq=False)
class FaceMesh:
    """The triangles of one face: points (n, 3), triangles (m, 3) counter-clockwise from outside."""

    points: np.ndarray
    triangles: np.ndarray

    def mirrored(self, mirror: np.ndarray) -> FaceMesh:
        """Its image by the reflection `mirror` (4, 4)."""
        return FaceMesh(self.points @ mirror[:3, :3].T + mirror[:3, 3], self.triangles[:, _OVER])


@dataclass(frozen=True)
class Fineness:
    """How near triangles keep to a solid: `off` mm along its edges, and within its faces a turn of `within` radians, which the
    kernel is told `at_once` or where what it makes by itself lies too far off; None leaves that to the kernel."""

    off: float = LINEAR
    within: float | None = None
    at_once: bool = True


ROUGH = Fineness()


def fineness(body: Body, shape: TopoDS_Shape) -> Fineness:
    """How fine the triangles of a part must be to keep within about LINEAR of it everywhere: by itself the kernel looks
    at edges only.

    Within a panel chords of an arc of radius r keep to it at angles of sqrt(8 LINEAR / r); r is at most about half the
    diagonal of a part. A wall whose bevel varies is ruled between two edges whose points lie at different places along it.
    """
    if isinstance(body, PanelBody):
        radius = _half_diagonal(shape, BRepBndLib.Add_s)  # in a hundredth of the time, and never less
        if radius > _LARGE:
            radius = _half_diagonal(shape, lambda shape, box, _: BRepBndLib.AddOptimal_s(shape, box, False, False))
        return Fineness(within=math.sqrt(8.0 * LINEAR / radius), at_once=radius > _LARGE)
    if isinstance(body, FlatBody) and any(len(run.bevel) > 1 for run in body.runs):
        return Fineness(off=LINEAR / 4.0)
    return ROUGH


def _half_diagonal(shape: TopoDS_Shape, add: Callable[[TopoDS_Shape, Bnd_Box, bool], None]) -> float:
    """Of the box around a shape, in mm, as the kernel adds it to an empty one."""
    box = Bnd_Box()
    add(shape, box, False)
    return math.sqrt(box.SquareExtent()) / 2.0


def tessellate(shape: TopoDS_Shape, fine: Fineness = ROUGH) -> None:
    """Give a shape its triangles, for all who ask later.

    Where a fineness within faces is asked for, it is looked whether it came out: the kernel was seen to leave single
    triangles of a large tube six times as far off as it was told, and twelve times in half a tube of 80 mm. It is left at
    that where finer ones do not help, as at the tip of a cone, or are too many.
    """
    if fine.within is None or not fine.at_once:
        _mesh(shape, replace(fine, within=None))
        if fine.within is None or _furthest(shape) <= _BULGE * LINEAR:
            return
        BRepTools.Clean_s(shape)
        _refine(shape, fine)
        if not is_closed(face_meshes(shape)):  # finer ones of a warped plank left gaps
            BRepTools.Clean_s(shape)
            _mesh(shape, replace(fine, within=None))
        return
    _refine(shape, fine)


def _refine(shape: TopoDS_Shape, fine: Fineness) -> None:
    """Triangles as fine as asked for within faces, and finer as long as they come nearer to these."""
    assert fine.within is not None
    _mesh(shape, fine)
    within, before = fine.within, math.inf
    for _ in range(_TRIES):
        off = _furthest(shape)
        if off <= _BULGE * LINEAR or off >= before or _count(shape) > _MANY:
            return
        within, before = within / 2.0, off
        BRepTools.Clean_s(shape)
        _mesh(shape, replace(fine, within=within))


def _count(shape: TopoDS_Shape) -> int:
    return sum(mesh.NbTriangles() for _, mesh, _ in triangulations(shape))


def _furthest(shape: TopoDS_Shape) -> float:
    """How far in mm the middle of any side of the triangles lies off the surface that it stands for."""
    most = 0.0
    for face, mesh, location in triangulations(shape):
        if not mesh.HasUVNodes():
            continue
        surface, move = BRepAdaptor_Surface(face), location.Transformation()
        ends = np.array([triangle.Get() for triangle in mesh.Triangles()])
        sides = np.unique(np.sort(np.vstack([ends[:, [0, 1]], ends[:, [1, 2]], ends[:, [2, 0]]]), axis=1), axis=0)
        numbers = range(1, mesh.NbNodes() + 1)
        places = np.array([node.Transformed(move).Coord() for node in map(mesh.Node, numbers)])
        flat = np.array([node.Coord() for node in map(mesh.UVNode, numbers)])
        long = sides[np.linalg.norm(places[sides[:, 0] - 1] - places[sides[:, 1] - 1], axis=1) > _LONG]
        middles, points = (
            flat[long - 1].mean(axis=1).tolist(),
            [gp_Pnt(*p) for p in places[long - 1].mean(axis=1).tolist()],
        )
        off = np.array([surface.Value(*middle).Distance(point) for middle, point in zip(middles, points)])
        nearest = ShapeAnalysis_Surface(BRep_Tool.Surface_s(face))
        for k in np.argsort(-off, kind="stable").tolist():
            if off[k] <= most:
                break
            # no middle in coordinates where the surface is drawn together in a point, as at the tip of a cone
            far = off[k] > _BULGE * LINEAR
            most = max(most, _off(nearest, middles[k], points[k]) if far else float(off[k]))
    return most


def _off(surface: ShapeAnalysis_Surface, near: Sequence[float], point: gp_Pnt) -> float:
    """How far in mm a point lies off a surface; looked for from the coordinates that it is `near`."""
    return point.Distance(surface.Value(surface.NextValueOfUV(gp_Pnt2d(*near), point, _EXACT)))


def _mesh(shape: TopoDS_Shape, fine: Fineness) -> None:
    if fine.within is None:
        BRepMesh_IncrementalMesh(shape, fine.off, False, ANGULAR, False)
        return
    # within large faces this one is several times quicker; on sanded edges it was seen to make 30 times as many triangles
    parameters = IMeshTools_Parameters()
    parameters.MeshAlgo = IMeshTools_MeshAlgoType.IMeshTools_MeshAlgoType_Delabella
    parameters.Deflection, parameters.Angle = fine.off, ANGULAR
    parameters.DeflectionInterior, parameters.AngleInterior = fine.off, fine.within
    BRepMesh_IncrementalMesh(shape, parameters)


def face_meshes(shape: TopoDS_Shape) -> tuple[FaceMesh, ...]:
    """The triangles of every face of a tessellated shape."""
    meshes = []
    for face, mesh, location in triangulations(shape):
        move = location.Transformation()
        matrix = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
        points = np.array([node.Coord() for node in map(mesh.Node, range(1, mesh.NbNodes() + 1))])
        triangles = np.array([triangle.Get() for triangle in mesh.Triangles()]) - 1
        if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            triangles = triangles[:, ::-1]
        meshes.append(FaceMesh(points @ matrix[:, :3].T + matrix[:, 3], triangles))
    return tuple(meshes)


def turn_over(shape: TopoDS_Shape) -> None:
    """Turn the triangles of a shape to their other side: the kernel reflects their corners and leaves these in order."""
    for _, mesh, _ in triangulations(shape):
        for number, triangle in enumerate(mesh.Triangles(), 1):
            a, b, c = triangle.Get()
            mesh.SetTriangle(number, Poly_Triangle(a, c, b))


def triangulations(shape: TopoDS_Shape) -> Iterator[tuple[TopoDS_Face, Poly_Triangulation, TopLoc_Location]]:
    """Every face with the kernel's own triangles and where they are."""
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_FACE)
    while explorer.More():
        face, location = TopoDS.Face_s(explorer.Current()), TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, location)
        if mesh is not None:
            yield face, mesh, location
        explorer.Next()


def is_closed(meshes: Sequence[FaceMesh]) -> bool:
    """Do the triangles of all faces of a solid meet another at each of their sides?"""
    _, triangles = closed_mesh(meshes)
    sides = np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]).astype(np.int64)
    most = int(triangles.max(initial=0)) + 1
    there, back = np.sort(sides[:, 0] * most + sides[:, 1]), np.sort(sides[:, 1] * most + sides[:, 0])
    return len(sides) > 0 and np.array_equal(there, back)


def normals(face: FaceMesh) -> np.ndarray:
    """Unit normals (n, 3) at the points: the mean of the triangles around, weighted by area."""
    a, b, c = (face.points[face.triangles[:, k]] for k in range(3))
    each = np.cross(b - a, c - a)
    total = np.zeros_like(face.points)
    for k in range(3):
        np.add.at(total, face.triangles[:, k], each)
    size = np.linalg.norm(total, axis=1, keepdims=True)
    return np.where(size > 0.0, total / np.maximum(size, 1e-300), [0.0, 0.0, 1.0])


def closed_mesh(meshes: Sequence[FaceMesh]) -> tuple[np.ndarray, np.ndarray]:
    """All faces of a solid as one closed mesh: points (n, 3), triangles (m, 3)."""
    starts = np.cumsum([0] + [len(m.points) for m in meshes[:-1]])
    points = np.vstack([m.points for m in meshes])
    triangles = np.vstack([m.triangles + s for m, s in zip(meshes, starts)])
    # Faces share the points along their common edges to the last few bits only.
    _, first, number = np.unique(np.round(points, 5), axis=0, return_index=True, return_inverse=True)
    triangles = number.reshape(-1)[triangles]
    a, b, c = triangles.T
    return points[first], triangles[(a != b) & (b != c) & (c != a)]
