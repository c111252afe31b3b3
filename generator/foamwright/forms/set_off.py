"""A closed mesh moved off itself by a distance, as clearance from a scan asks for."""

from __future__ import annotations

import math

import numpy as np

from foamwright.forms.mesh import corner_normals, face_turns, opposite
from foamwright.geometry import Mesh

_SAME_WAY = 1e-6  # of the largest eigenvalue: less, and the faces around a corner say nothing of that way


def set_off(mesh: Mesh, distance: float, crease: float) -> Mesh:
    """The mesh with each corner `distance` mm outside (inside, if negative) the surface around it.

    Where that is smooth a corner goes along its normal, which is exact on planes, cylinders and spheres; on a sharp edge,
    where triangles turn by more than `crease` degrees, it goes to where the faces beside it meet when each is moved, so that
    edges stay sharp as mitred foam has them. Corners keep their numbers.
    """
    across = opposite(mesh.triangles)
    normals = corner_normals(mesh.corners, across, face_turns(mesh, across) > math.radians(crease)).reshape(-1, 3)
    at = mesh.triangles.ravel()
    told, way = np.zeros((len(mesh.points), 3, 3)), np.zeros((len(mesh.points), 3))
    np.add.at(told, at, normals[:, :, None] * normals[:, None])
    np.add.at(way, at, normals)
    step = np.linalg.pinv(told, rcond=_SAME_WAY, hermitian=True) @ way[:, :, None]
    return Mesh(mesh.points + distance * step[:, :, 0], mesh.triangles)
