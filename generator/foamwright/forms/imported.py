"""Forms read from files: STEP solids and triangle meshes."""

from __future__ import annotations

import re
import warnings
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import igl
import numpy as np
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree

from foamwright.design.fields.quantities import FARTHEST
from foamwright.design.files import MOST_INPUT, regular_bytes
from foamwright.errors import BuildError
from foamwright.forms.mesh import CREASE, MeshSurface
from foamwright.forms.repair import overlap, repaired, without_caps
from foamwright.forms.set_off import set_off
from foamwright.forms.step_text import check_step_text
from foamwright.geometry import Mesh

_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
_SUFFIXES = ("stl", "obj", "ply")
MOST_TRIANGLES = 500_000
_SAGITTA = 1e-4  # of a STEP solid's diagonal: how far its triangles may lie from it
_BESIDE = 1e-3  # of the way from a pole to the middle of a triangle
_TURN = 0.1  # radians, between neighbouring triangles of a STEP solid


def imported_surface(kind: str, values: Mapping[str, Any], folder: str) -> MeshSurface:
    """The surface of a form of kind "mesh" or "step", in place. Raises BuildError as `imported_mesh` does."""
    mesh, notes, normals = _imported(kind, values, folder)
    return MeshSurface(mesh, notes, values.get("crease", CREASE), normals)


def imported_mesh(kind: str, values: Mapping[str, Any], folder: str) -> tuple[Mesh, tuple[str, ...]]:
    """The closed mesh, and notes on repairs, of a "mesh" or "step"; its file is named from `folder`.

    Enlarged about the file's origin first, then turned about x, y and z in this order, then moved; then smoothed, and set off.
    Raises BuildError for a file that cannot be read or made into one closed skin.
    """
    mesh, notes, _ = _imported(kind, values, folder)
    return mesh, notes


def _imported(kind: str, values: Mapping[str, Any], folder: str) -> tuple[Mesh, tuple[str, ...], np.ndarray | None]:
    """As `imported_mesh`, with the normals (m, 3, 3) at the corners of each triangle where the file states them."""
    path = Path(folder) / values["file"]
    given, normals = _step(path) if kind == "step" else (_triangles(path), None)
    scale = values["scale"] * (1.0 if kind == "step" else _UNITS[values["unit"]])
    _refuse_far(path, given, scale)
    turn = turning(values["turn"])
    placed = Mesh(scale * given.points @ turn.T + np.asarray(values["at"], float), given.triangles)
    try:
        mesh, notes = repaired(placed)
    except BuildError as error:
        raise BuildError(f"{path.name}: {error}") from None
    if values.get("smoothing"):
        mesh, normals = smoothed(mesh, values["smoothing"]), None
    if values.get("offset"):
        mesh = set_off(mesh, values["offset"], values.get("crease", CREASE))
        if (place := overlap(mesh)) is not None:
            raise BuildError(
                f"{path.name}: set off by {values['offset']:g} mm it passes through itself near {place}: it is too narrow there; "
                "set it off by less, or even it out by more smoothing"
            )
    return mesh, notes, None if normals is None else _carried_over(placed, normals @ turn.T, mesh)


def _refuse_far(path: Path, given: Mesh, scale: float) -> None:
    """BuildError for corners that are nowhere, or further off than any length of a design may be."""
    if not np.isfinite(given.points).all():
        raise BuildError(f"{path.name}: corners without a place (not a number)")
    reach = float(np.abs(given.points).max(initial=0.0))
    if reach > FARTHEST / scale:
        wrong = f"{path.name}: it reaches {reach:.3g} times {scale:g} mm from its origin"
        raise BuildError(f"{wrong}; expected at most {FARTHEST:g} mm: look at its unit and its scale")


def _carried_over(before: Mesh, normals: np.ndarray, after: Mesh) -> np.ndarray:
    """The normals (m, 3, 3) at the corners of `before` for those of `after`, whose triangles are among its own."""
    triangle = cKDTree(before.corners.mean(axis=1)).query(after.corners.mean(axis=1))[1]
    gap = np.linalg.norm(after.corners[:, :, None] - before.corners[triangle][:, None], axis=3)
    carried = normals[triangle[:, None], np.argmin(gap, axis=2)]
    # a face of the file that was inside out
    facing = (carried * after.face_normals[:, None]).sum(2, keepdims=True)
    return np.where(facing < 0, -carried, carried)


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
    """The triangles of an STL, OBJ or PLY file; its ending says which. Nothing but its own bytes is read.

    Raises BuildError for a file of another sort, one that is not what its ending says, or one too large.
    """
    import trimesh

    suffix = path.suffix.lower().removeprefix(".")
    if suffix not in _SUFFIXES:
        raise BuildError(f"{path.name} cannot be read as a mesh: it ends in {path.suffix!r}; expected STL, OBJ or PLY")
    try:
        content = regular_bytes(path, MOST_INPUT)
        _refuse_untrue_head(suffix, content)
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            mesh = trimesh.load_mesh(
                BytesIO(content), file_type=suffix, process=False, resolver=None, skip_materials=True
            )
    except Exception as error:  # the readers fail in many ways on what is no mesh
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BuildError(f"{path.name} cannot be read as a mesh: {reason}; expected STL, OBJ or PLY") from None
    faces, points = getattr(mesh, "faces", None), getattr(mesh, "vertices", None)
    if faces is None or points is None or not len(faces):
        raise BuildError(f"{path.name}: no triangles in the file; a cloud of points has to be meshed first")
    if np.shape(points)[1:] != (3,) or np.shape(faces)[1:] != (3,):
        raise BuildError(f"{path.name}: corners that are no points in space; expected three numbers for each")
    if len(faces) > MOST_TRIANGLES:
        raise BuildError(f"{path.name}: {len(faces)} triangles; expected at most {MOST_TRIANGLES}: make it coarser")
    if faces.min() < 0 or faces.max() >= len(points):
        raise BuildError(f"{path.name}: a triangle names a corner that is not there")
    used, corners = np.unique(faces, return_inverse=True)  # a corner of no triangle may be anywhere
    return Mesh(points[used], corners.reshape(-1, 3))


def _refuse_untrue_head(suffix: str, content: bytes) -> None:
    """A head that promises more than the file holds is refused before anything is made for it."""
    if not content:
        raise ValueError("it is empty")
    text = suffix == "stl" and content[:5] == b"solid" and b"facet" in content[:1000]
    if suffix == "stl" and not text:
        count = int.from_bytes(content[80:84], "little") if len(content) >= 84 else -1
        if len(content) != 84 + 50 * count:
            raise ValueError(f"its head tells of {max(count, 0)} triangles and its length does not")
    if suffix == "ply":
        if not content.startswith(b"ply"):
            raise ValueError("it does not begin as one")
        for stated in re.findall(rb"^element\s+\w+\s+(\S+)", content[:10_000], re.MULTILINE):
            if not stated.isdigit() or len(stated) > 9 or int(stated) > len(content):
                raise ValueError("its head tells of more than the file can hold")


def _step(path: Path) -> tuple[Mesh, np.ndarray]:
    """Triangles of all faces of a STEP file, in mm whatever its unit, and the faces' own normals (m, 3, 3) at their
    corners."""
    try:
        check_step_text(path.name, regular_bytes(path, MOST_INPUT))
        faces = _faces(path, mended=True)
        if any(not len(mesh.triangles) for mesh, _ in faces):
            # mending loses faces that come to a point in which their seam ends, as the nose of a rocket
            as_written = _faces(path, mended=False)
            if len(as_written) == len(faces):
                faces = [face if len(face[0].triangles) else other for face, other in zip(faces, as_written)]
    except BuildError:
        raise
    except Exception as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BuildError(f"{path.name} cannot be read as STEP: {reason}") from None
    if not faces:
        raise BuildError(f"{path.name} cannot be read as STEP: it has no faces")
    return Mesh.joined([mesh for mesh, _ in faces]), np.vstack([normals for _, normals in faces])


def _faces(path: Path, mended: bool) -> list[tuple[Mesh, np.ndarray]]:
    """As `_face`, of all faces of a STEP file. `mended`: with gaps between the edges of a face closed, and the like."""
    from cadquery import Shape
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.Resource import Resource_DataMapOfAsciiStringAsciiString
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TCollection import TCollection_AsciiString

    reader = STEPControl_Reader()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    if reader.ReadFile(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise ValueError("it is not written as one")
    if not mended:
        asked = Resource_DataMapOfAsciiStringAsciiString()
        asked.Bind(TCollection_AsciiString("FixShape.FixWireMode"), TCollection_AsciiString("0"))
        reader.SetShapeFixParameters(asked)
    if not reader.TransferRoots():
        return []
    shape = Shape.cast(reader.OneShape())
    shape.mesh(_SAGITTA * shape.BoundingBox().DiagonalLength, _TURN)
    return [_face(face) for face in shape.Faces()]


def _face(face) -> tuple[Mesh, np.ndarray]:
    """The triangles of one face of a meshed solid, and its normals (m, 3, 3) at their corners."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.gp import gp_Pnt, gp_Vec
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    location = TopLoc_Location()
    made = BRep_Tool.Triangulation_s(face.wrapped, location)
    if made is None:
        return Mesh.joined([]), np.zeros((0, 3, 3))
    move = location.Transformation()
    matrix = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
    surface, point, along_u, along_v = BRepAdaptor_Surface(face.wrapped), gp_Pnt(), gp_Vec(), gp_Vec()

    def across(uv: np.ndarray) -> np.ndarray:
        """(n, 3) square to the face, at parameters (n, 2)."""
        found = np.zeros((len(uv), 3))
        for number, (u, v) in enumerate(uv.tolist()):
            surface.D1(u, v, point, along_u, along_v)
            found[number] = along_u.Crossed(along_v).Coord()
        return found

    count = range(1, made.NbNodes() + 1)
    points = np.array([(p.X(), p.Y(), p.Z()) for p in (made.Node(i) for i in count)])
    places = np.array([(p.X(), p.Y()) for p in (made.UVNode(i) for i in count)])
    triangles = np.array([made.Triangle(i).Get() for i in range(1, made.NbTriangles() + 1)], int) - 1
    triangles = without_caps(points, triangles.reshape(-1, 3))
    at_corners = across(places)[triangles]
    length = np.linalg.norm(at_corners, axis=2)
    # at a pole or the tip of a cone the face has none, and each triangle takes that hard by it
    none = length <= 1e-9 * length.max()
    middle = np.broadcast_to(places[triangles].mean(axis=1)[:, None], (*none.shape, 2))[none]
    at_corners[none] = across((1 - _BESIDE) * places[triangles][none] + _BESIDE * middle)
    at_corners /= np.maximum(np.linalg.norm(at_corners, axis=2, keepdims=True), 1e-300)
    if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        triangles, at_corners = triangles[:, ::-1], -at_corners[:, ::-1]
    return Mesh(points @ matrix[:, :3].T + matrix[:, 3], triangles), at_corners
