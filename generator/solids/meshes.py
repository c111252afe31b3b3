"""Solids as triangles, with corners shared between faces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Shape


@dataclass(frozen=True, eq=False)
class FaceMesh:
    """The triangles of one face: points (n, 3), triangles (m, 3) counter-clockwise from outside."""

    points: np.ndarray
    triangles: np.ndarray


def face_meshes(shape: TopoDS_Shape, linear: float, angular: float) -> tuple[FaceMesh, ...]:
    """Every face as triangles within `linear` mm and `angular` radians of it."""
    BRepTools.Clean_s(shape)  # a coarser or finer mesh of an earlier caller must not decide this one
    BRepMesh_IncrementalMesh(shape, linear, False, angular, False)
    meshes = []
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        location = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, location)
        if mesh is not None:
            move = location.Transformation()
            matrix = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
            nodes = [mesh.Node(i) for i in range(1, mesh.NbNodes() + 1)]
            points = np.array([(p.X(), p.Y(), p.Z()) for p in nodes])
            triangles = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]) - 1
            if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
                triangles = triangles[:, ::-1]
            meshes.append(FaceMesh(points @ matrix[:, :3].T + matrix[:, 3], triangles))
        explorer.Next()
    return tuple(meshes)


def closed_mesh(shape: TopoDS_Shape, linear: float, angular: float) -> tuple[np.ndarray, np.ndarray]:
    """The whole solid as one closed mesh: points (n, 3), triangles (m, 3)."""
    meshes = face_meshes(shape, linear, angular)
    starts = np.cumsum([0] + [len(m.points) for m in meshes[:-1]])
    points = np.vstack([m.points for m in meshes])
    triangles = np.vstack([m.triangles + s for m, s in zip(meshes, starts)])
    # Faces share the points along their common edges to the last few bits only.
    _, first, inverse = np.unique(np.round(points, 5), axis=0, return_index=True, return_inverse=True)
    triangles = inverse.reshape(-1)[triangles]
    a, b, c = triangles.T
    return points[first], triangles[(a != b) & (b != c) & (c != a)]
