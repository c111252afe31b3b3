"""Forms read from files: STEP solids and triangle meshes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import igl
import numpy as np
from scipy.sparse.linalg import splu

from foamwright.errors import BuildError
from foamwright.forms.mesh import MeshSurface
from foamwright.forms.repair import repaired
from foamwright.geometry import Mesh

_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
_SAGITTA = 1e-4  # of a STEP solid's diagonal: how far its triangles may lie from it
_TURN = 0.1  # radians, between neighbouring triangles of a STEP solid


def imported_surface(kind: str, values: Mapping[str, Any], folder: str) -> MeshSurface:
    """The surface of a form of kind "mesh" or "step", in place. Raises BuildError as `imported_mesh` does."""
    mesh, notes = imported_mesh(kind, values, folder)
    return MeshSurface(mesh, notes)


def imported_mesh(kind: str, values: Mapping[str, Any], folder: str) -> tuple[Mesh, tuple[str, ...]]:
    """The closed mesh, and notes on repairs, of a "mesh" or "step"; its file is named from `folder`.

    Enlarged about the file's origin first, then turned about x, y and z in this order, then moved.
    Raises BuildError for a file that cannot be read or made into one closed skin.
    """
    path = Path(folder) / values["file"]
    mesh = _step(path) if kind == "step" else _triangles(path)
    scale = values["scale"] * (1.0 if kind == "step" else _UNITS[values["unit"]])
    points = scale * mesh.points @ turning(values["turn"]).T + np.asarray(values["at"], float)
    try:
        mesh, notes = repaired(Mesh(points, mesh.triangles))
    except BuildError as error:
        raise BuildError(f"{path.name}: {error}") from None
    if values.get("smoothing"):
        mesh = smoothed(mesh, values["smoothing"])
    return mesh, notes


def smoothed(mesh: Mesh, width: float) -> Mesh:
    """The mesh after one implicit step of diffusion over `width` mm: Desbrun, Meyer, Schroeder, Barr, "Implicit
    fairing of irregular meshes using diffusion and curvature flow", SIGGRAPH 1999. A wave of length w in a flat
    sheet keeps 1 / (1 + (width / w)^2) of its height."""
    vertices, faces = np.array(mesh.points), np.array(mesh.triangles)
    mass = igl.massmatrix(vertices, faces)
    # (2 pi / w)^2 t = (width / w)^2
    time = (width / (2 * np.pi)) ** 2
    return Mesh(splu((mass - time * igl.cotmatrix(vertices, faces)).tocsc()).solve(mass @ vertices), faces)


def turning(degrees) -> np.ndarray:
    """(3, 3) rotation by three angles about the fixed axes x, then y, then z."""
    matrix = np.eye(3)
    for axis, angle in enumerate(np.radians(np.asarray(degrees, float))):
        c, s = np.cos(angle), np.sin(angle)
        i, j = (axis + 1) % 3, (axis + 2) % 3
        turn = np.eye(3)
        turn[[i, j], [i, j]] = c
        turn[j, i], turn[i, j] = s, -s
        matrix = turn @ matrix
    return matrix


def _triangles(path: Path) -> Mesh:
    import trimesh

    try:
        mesh = trimesh.load_mesh(path, process=False)
    except Exception as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BuildError(f"{path.name} cannot be read as a mesh: {reason}; expected STL, OBJ or PLY") from None
    faces = getattr(mesh, "faces", None)
    if faces is None or not len(faces):
        raise BuildError(f"{path.name}: no triangles in the file; a cloud of points has to be meshed first")
    return Mesh(mesh.vertices, faces)


def _step(path: Path) -> Mesh:
    """Triangles of all faces of a STEP file, in mm whatever its unit."""
    from cadquery import Compound, Shape, importers

    try:
        shape = Compound.makeCompound([s for s in importers.importStep(str(path)).vals() if isinstance(s, Shape)])
        size = shape.BoundingBox().DiagonalLength
        points, triangles = shape.tessellate(_SAGITTA * size, _TURN)
    except Exception as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BuildError(f"{path.name} cannot be read as STEP: {reason}") from None
    return Mesh(np.array([p.toTuple() for p in points]), np.array(triangles))
