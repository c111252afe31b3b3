"""Parts that somebody modelled as a solid: from a STEP file, from code beside the design, or from a package.

A solid that is a prism as thick as a whole number of sheets is cut from layers; one whose faces are all flat is built
from plates, mitred by half the turn at every edge. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import shapely
from OCP.BRep import BRep_Tool
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.GeomLib import GeomLib_IsPlanarSurface

from foamwright.design.files import MOST_INPUT, regular_bytes
from foamwright.errors import BuildError, nearest
from foamwright.forms.step_text import check_step_text
from foamwright.geometry import Frame, inset, signed_area
from foamwright.parts.records import EdgeRun, FlatBody
from foamwright.parts.sheets import SHARPEST
from foamwright.parts.solid_edges import chained, edge_points
from foamwright.parts.walls import facing
from foamwright.registry import SOLIDS

REMEDY = (
    "model it as a prism as thick as its sheets, or with flat faces only and state `faces`, or make it a form of kind "
    "step and cut panels from it"
)
_PLANE = 1e-4  # mm: how far off a plane a flat face may be
_FLAT = 0.02  # mm: how far a thickness may be from a whole number of sheets
_SAME_VOLUME = 1e-3  # share by which a prism may differ from its base times its height
_UPRIGHT = 1e-4  # of a unit normal along the axis of a prism


@dataclass(frozen=True, eq=False)
class OwnBody(FlatBody):
    """A flat part with the solid it is: `solid` stands in the frame's own coordinates, and `names` are its faces by
    their numbers in the kernel's order."""

    solid: cq.Shape = field(kw_only=True)
    names: Mapping[str, tuple[int, ...]] = field(kw_only=True)

    def placed(self) -> tuple[cq.Shape, Mapping[str, tuple[cq.Face, ...]]]:
        """The solid where the body stands, and its faces by name."""
        shape = self.solid.moved(_location(self.frame))
        faces = shape.Faces()
        return shape, {name: tuple(faces[i] for i in numbers) for name, numbers in self.names.items()}


def own_solid(values: Mapping[str, Any], folder: str, run_own_code: bool) -> cq.Shape:
    """The one solid that a part of kind `solid` states, in its own axes.

    Raises BuildError if there is none, if its code fails, or if the design's code may not be run.
    """
    if "step" in values:
        made = _from_step(Path(folder) / values["step"])
    elif "code" in values:
        made = _from_code(Path(folder), values["code"], values["function"], values["args"], run_own_code)
    else:
        made = _from_package(values["package"], values["args"])
    solids = [solid for shape in made for solid in shape.Solids()]
    if len(solids) != 1:
        raise BuildError(f"it is made of {len(solids)} solids; expected one, since each part is one piece of foam")
    solid = solids[0].scale(values["scale"]) if values["scale"] != 1.0 else solids[0]
    if not solid.isValid() or solid.Volume() <= 0.0:
        raise BuildError("its solid is not closed, or inside out; mend it where it was modelled")
    return solid.clean()


def _from_step(path: Path) -> list[cq.Shape]:
    try:
        check_step_text(path.name, regular_bytes(path, MOST_INPUT))
        shapes = cq.importers.importStep(str(path)).vals()
    except BuildError:
        raise
    except Exception as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BuildError(f"{path.name} cannot be read as STEP: {reason}") from None
    return [shape for shape in shapes if isinstance(shape, cq.Shape)]


def _from_code(folder: Path, file: str, function: str, args: Mapping[str, float], run_own_code: bool) -> list[cq.Shape]:
    if not run_own_code:
        raise BuildError(
            f"its solid is made by the design's own code, {file}, which is never run unasked; read that file, and if "
            "you trust it ask for it: foamwright build --run-own-code, in Python build(..., run_own_code=True)"
        )
    names: dict[str, Any] = {"__name__": Path(file).stem, "__file__": str(folder / file)}
    try:
        exec(compile((folder / file).read_bytes(), file, "exec"), names)
    except Exception as error:
        raise BuildError(f"{file} does not run: {_told(error)}") from error
    if not callable(names.get(function)):
        near = nearest(function, [name for name, value in names.items() if callable(value)])
        meant = f"; did you mean {near}?" if near else ""
        raise BuildError(f"{file} has no function {function!r}{meant}")
    return _called(f"{file}: {function}", names[function], args)


def _from_package(name: str, args: Mapping[str, float]) -> list[cq.Shape]:
    known = {point.name: point for point in metadata.entry_points(group=SOLIDS)}
    if name not in known:
        offered = ", ".join(sorted(known)) or "none"
        raise BuildError(f"no installed package gives the solid {name!r}; those that are given: {offered}")
    try:
        function = known[name].load()
    except Exception as error:
        raise BuildError(f"the package that gives the solid {name!r} cannot be loaded: {_told(error)}") from error
    return _called(f"solid {name}", function, args)


def _called(what: str, function: Callable[..., Any], args: Mapping[str, float]) -> list[cq.Shape]:
    try:
        made = function(**args)
    except Exception as error:
        raise BuildError(f"{what}: {_told(error)}") from error
    if isinstance(made, cq.Workplane):
        return [shape for shape in made.vals() if isinstance(shape, cq.Shape)]
    if isinstance(made, cq.Shape):
        return [made]
    raise BuildError(f"{what} gave a {type(made).__name__}; expected a CadQuery solid or a workplane with one")


def _told(error: Exception) -> str:
    text = " ".join(str(error).split())
    return f"{type(error).__name__}: {text}" if text else type(error).__name__


# layers


def layered_body(solid: cq.Shape, at: Frame, thickness: float, layers: int) -> OwnBody:
    """The solid as a flat part glued up from `layers` sheets, placed by the frame `at`.

    Raises BuildError if it is no prism, or not as thick as its sheets.
    """
    placed = solid.moved(_location(at))
    inside, outside, normal, height = _broad_faces(placed, at.axes[:, 2])
    _refuse_other_thickness(height, thickness, layers)
    x = at.axes[:, 0] if abs(at.axes[:, 0] @ normal) < 0.9 else at.axes[:, 1]
    x = x - (x @ normal) * normal
    x = x / np.linalg.norm(x)
    low = _array(inside.Center()) @ normal
    origin = at.origin + (low - at.origin @ normal) * normal
    frame = Frame(origin, np.column_stack([x, np.cross(normal, x), normal]))
    faces = placed.Faces()
    number = {face: i for i, face in enumerate(faces)}
    outer, *inner = _loops(inside, frame)
    names: dict[str, tuple[int, ...]] = {"inside": (number[inside],), "outside": (number[outside],)}
    runs, start = [], 0
    for k, (edge, points) in enumerate(outer, 1):
        name = "rim" if len(outer) == 1 else f"side_{k}"
        names[name] = (_wall(edge, faces, inside),)
        runs.append(EdgeRun(name, start, start + len(points) - 1, (0.0,), ()))
        start += len(points) - 1
    for k, loop in enumerate(inner, 1):
        names[f"hole_{k}"] = tuple(dict.fromkeys(_wall(edge, faces, inside) for edge, _ in loop))
    rings = [np.vstack([points[:-1] for _, points in loop]) for loop in (outer, *inner)]
    own = placed.moved(_location(frame).inverse)
    return OwnBody(rings[0], tuple(rings[1:]), frame, tuple(runs), solid=own, names=names)


def _broad_faces(placed: cq.Shape, up: np.ndarray) -> tuple[cq.Face, cq.Face, np.ndarray, float]:
    """Inside and outside face of a prism, the unit normal from one to the other, and its height."""
    flat = [face for face in placed.Faces() if _is_flat(face)]
    for face in sorted(flat, key=lambda f: -f.Area()):
        normal = -_array(face.normalAt())  # from this face into the foam
        across = [other for other in flat if _array(other.normalAt()) @ normal > 1.0 - 1e-9]
        for other in across:
            height = float((_array(other.Center()) - _array(face.Center())) @ normal)
            same = abs(face.Area() * height - placed.Volume()) < _SAME_VOLUME * placed.Volume()
            if height > 0.0 and same and _stands_square(placed, face, other, normal):
                turned = normal @ up < -1e-9 or (abs(normal @ up) <= 1e-9 and normal[np.abs(normal).argmax()] < 0)
                return (other, face, -normal, height) if turned else (face, other, normal, height)
    raise BuildError(f"its solid is no stack of sheets: no two faces of it bound a prism; {REMEDY}")


def _stands_square(placed: cq.Shape, low: cq.Face, high: cq.Face, normal: np.ndarray) -> bool:
    walls = [face for face in placed.Faces() if not face.isSame(low) and not face.isSame(high)]
    return all(abs(_array(wall.normalAt()) @ normal) < _UPRIGHT for wall in walls)


def _refuse_other_thickness(height: float, thickness: float, layers: int) -> None:
    if abs(height - layers * thickness) < _FLAT:
        return
    count = round(height / thickness)
    if count >= 1 and abs(height - count * thickness) < _FLAT:
        raise BuildError(f"its solid is {height:g} mm thick, {count} sheets of {thickness:g} mm; state layers: {count}")
    near = " or ".join(
        f"{n * thickness:g}" for n in (math.floor(height / thickness), math.ceil(height / thickness)) if n
    )
    raise BuildError(
        f"its solid is {height:.2f} mm thick, no whole number of sheets of {thickness:g} mm; make it {near} mm"
    )


def _loops(face: cq.Face, frame: Frame) -> list[list[tuple[cq.Edge, np.ndarray]]]:
    """The loops of a face, the outer one first and counter-clockwise in the frame, the others clockwise, as edges with
    their points (N, 2), each of which begins where the one before ends."""
    loops: list[list[tuple[cq.Edge, np.ndarray]]] = []
    for wire in face.Wires():
        edges = _in_order(wire, face)
        lines = chained([frame.to_frame(edge_points(edge.wrapped))[:, :2] for edge in edges])
        counter_clockwise = signed_area(np.vstack([points[:-1] for points in lines])) > 0.0
        if counter_clockwise == bool(loops):  # the first loop is the outer one
            edges, lines = edges[::-1], [points[::-1] for points in reversed(lines)]
        loops.append(list(zip(edges, lines)))
    return loops


def _in_order(wire: cq.Wire, face: cq.Face) -> list[cq.Edge]:
    explorer, edges = BRepTools_WireExplorer(wire.wrapped, face.wrapped), []
    while explorer.More():
        edges.append(cq.Edge(explorer.Current()))
        explorer.Next()
    return edges


def _wall(edge: cq.Edge, faces: Sequence[cq.Face], but: cq.Face) -> int:
    """The number of the other face that an edge bounds."""
    for i, face in enumerate(faces):
        if not face.isSame(but) and any(edge.isSame(other) for other in face.Edges()):
            return i
    raise BuildError("its solid has an edge with one face only; mend it where it was modelled")


# plates


def plate_of(solid: cq.Shape, at: Frame, thickness: float, number: int, count: int, whole: str) -> FlatBody:
    """The plate that stands for face `number` (from 1) of a solid with `count` flat faces, from the lowest up.

    Its outer face is that of the solid, and at every edge it is mitred by half the turn to the neighbour. Raises
    BuildError if a face is not flat or pierced, if their number is another, or if the walls are too thick.
    """
    placed = solid.moved(_location(at))
    faces = sorted(
        placed.Faces(), key=lambda face: tuple(np.round(at.to_frame(_array(face.Center())[None])[0], 3)[::-1])
    )
    for k, face in enumerate(faces, 1):
        if not _is_flat(face):
            raise BuildError(f"face {k} of its solid is curved, so that no plates make it; {REMEDY}")
        if len(face.Wires()) > 1:
            raise BuildError(f"face {k} of its solid is pierced; leave the hole out, or {REMEDY}")
    if len(faces) != count:
        raise BuildError(f"its solid has {len(faces)} flat faces; state faces: {len(faces)}")
    face = faces[number - 1]
    normal = _array(face.normalAt())
    up = at.axes[:, 2] if abs(at.axes[:, 2] @ normal) < 0.9 else at.axes[:, 1]
    frame = facing(_array(face.Center()), normal, up, thickness)
    (loop,) = _loops(face, frame)
    outline = np.vstack([points[:1] for _, points in loop])
    bevels, joins = [], []
    for k, (edge, points) in enumerate(loop):
        if len(points) != 2:
            raise BuildError(f"edge {k + 1} of face {number} of its solid is curved; {REMEDY}")
        beside = _wall(edge, faces, face)
        other = _array(faces[beside].normalAt())
        along = points[1] - points[0]
        inward = frame.axes[:, :2] @ np.array([-along[1], along[0]])
        turn = math.degrees(math.acos(float(np.clip(normal @ other, -1.0, 1.0))))
        if turn > SHARPEST:
            raise BuildError(f"faces {number} and {beside + 1} of its solid turn by {turn:.0f} degrees; {REMEDY}")
        bevels.append(math.copysign(turn / 2, -float(other @ inward)))
        joins.append(f"{whole}_face_{beside + 1}")
    draw = thickness * np.tan(np.radians(bevels))
    larger = inset(outline, np.minimum(draw, 0.0))
    inner = shapely.Polygon(inset(larger, np.maximum(draw, 0.0)))
    if not inner.is_valid or inner.area <= 0.0 or not _same_turns(larger, np.array(inner.exterior.coords)[:-1]):
        raise BuildError(f"its walls of {thickness:g} mm are too thick for face {number} of its solid; make it larger")
    runs = tuple(EdgeRun(f"side_{k + 1}", k, k + 1, (bevels[k],), (joins[k],)) for k in range(len(outline)))
    return FlatBody(larger, (), frame, runs)


def _is_flat(face: cq.Face) -> bool:
    """Is it plane, whatever it is written as? A loft's flat faces are splines."""
    return bool(GeomLib_IsPlanarSurface(BRep_Tool.Surface_s(face.wrapped), _PLANE).IsPlanar())


def _same_turns(a: np.ndarray, b: np.ndarray) -> bool:
    """Do the sides of two outlines run the same way, side by side?"""
    first, second = (np.roll(ring, -1, axis=0) - ring for ring in (a, b))
    return bool(((first * second).sum(axis=1) > 0.0).all())


def _array(vector: cq.Vector) -> np.ndarray:
    return np.array(vector.toTuple())


def _location(frame: Frame) -> cq.Location:
    x, z = (cq.Vector(*frame.axes[:, k].tolist()) for k in (0, 2))
    return cq.Location(cq.Plane(cq.Vector(*frame.origin.tolist()), x, z))
