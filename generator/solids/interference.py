"""Parts that share space, and the room that a figure has. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import manifold3d
import numpy as np
from scipy.spatial import cKDTree

from generator.errors import BuildError
from generator.solids.assembly import Assembly, Copy
from generator.solids.meshes import closed_mesh

LINEAR, ANGULAR = 0.05, 0.25  # mm and radians: how far the triangles may lie off the solids
FIGURE_SEGMENTS = 128
FARTHEST = 1000.0  # mm: a figure farther away than this does not meet the prop


@dataclass(frozen=True)
class Interference:
    """Two copies that share space: how much (mm3), how thick (mm) and about where."""

    part_a: str
    copy_a: int
    part_b: str
    copy_b: int
    volume: float
    depth: float
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Contact:
    """A copy that a figure's solid runs into: how much (mm3), how thick (mm) and about where."""

    part: str
    copy: int
    volume: float
    depth: float
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Fit:
    """`clearance` is the least gap between the figure and the prop, 0 if they meet; `part`, `copy`, `at` say where."""

    figure: str
    clearance: float
    part: str
    copy: int
    at: tuple[float, float, float]
    contacts: tuple[Contact, ...]


def interferences(assembly: Assembly, tolerance: float = 0.3) -> tuple[Interference, ...]:
    """Every pair of copies whose common space is thicker than `tolerance`.

    Thickness is twice volume over surface, that of a thin plate: the triangles of two curved faces that only
    touch overlap in slivers, which are wide but far thinner than any true fault.
    """
    bodies = _bodies(assembly)
    boxes = np.array([body.bounding_box() for body in bodies]).reshape(-1, 6)
    found = []
    for i, a in enumerate(assembly.copies):
        meet = (boxes[i, :3] < boxes[i + 1 :, 3:] - tolerance).all(axis=1)
        meet &= (boxes[i + 1 :, :3] < boxes[i, 3:] - tolerance).all(axis=1)
        for j in (np.flatnonzero(meet) + i + 1).tolist():
            b = assembly.copies[j]
            overlap = _overlap(bodies[i], bodies[j], tolerance)
            if overlap:
                found.append(Interference(a.piece.id, a.number, b.piece.id, b.number, *overlap))
    return tuple(found)


def clearance(assembly: Assembly, figure: Mapping[str, Any], tolerance: float = 0.3) -> Fit:
    """How near the figure comes to the prop; `figure` is `Design.figure`."""
    solids = [_figure_solid(solid) for solid in figure["solids"]]
    contacts = []
    least = None
    for copy, body in zip(assembly.copies, _bodies(assembly)):
        for solid in solids:
            overlap = _overlap(body, solid, tolerance)
            if overlap:
                contacts.append(Contact(copy.piece.id, copy.number, *overlap))
            reach = FARTHEST if least is None else least[0]
            gap = body.min_gap(solid, reach)
            if least is None or gap < least[0]:
                least = (gap, copy, body, solid)
    if least is None:
        raise BuildError("there is no part that a figure could be measured against")
    gap, copy, body, solid = least
    at = contacts[0].at if contacts else _nearest(body, solid)
    return Fit(figure["name"], float(gap), copy.piece.id, copy.number, at, tuple(contacts))


@lru_cache(maxsize=1)
def _bodies(assembly: Assembly) -> tuple[manifold3d.Manifold, ...]:
    """All copies in place; each part is turned into triangles once for each hand."""
    hands: dict[int, manifold3d.Manifold] = {}
    for copy in assembly.copies:
        if id(copy.hand) not in hands:
            points, triangles = closed_mesh(copy.hand.wrapped, LINEAR, ANGULAR)
            body = manifold3d.Manifold(manifold3d.Mesh64(points, triangles.astype(np.uint64)))
            if body.status() != manifold3d.Error.NoError:
                raise BuildError(f"part {copy.piece.id}: its solid is not closed ({body.status().name})")
            hands[id(copy.hand)] = body
    return tuple(hands[id(copy.hand)].transform(copy.matrix[:3]) for copy in assembly.copies)


def _overlap(a: manifold3d.Manifold, b: manifold3d.Manifold, tolerance: float):
    """(volume, depth, at) of what two bodies share, less the pieces thinner than `tolerance`; or None."""
    volume, depth, at = 0.0, 0.0, (0.0, 0.0, 0.0)
    for part in (a ^ b).decompose():
        thick = 2.0 * part.volume() / max(part.surface_area(), 1e-9)
        if thick > tolerance:
            volume += part.volume()
            if thick > depth:
                box = np.array(part.bounding_box()).reshape(2, 3)
                depth, at = thick, tuple(box.mean(axis=0).tolist())
    return (volume, depth, at) if depth else None


def _figure_solid(solid: Mapping[str, Any]) -> manifold3d.Manifold:
    (kind, v), = solid.items()
    if kind == "ellipsoid":
        return manifold3d.Manifold.sphere(1.0, FIGURE_SEGMENTS).scale(v["radii"]).translate(v["centre"])
    if kind == "box":
        return manifold3d.Manifold.cube(v["size"], center=True).translate(v["centre"])
    start, end = np.array(v["from"], float), np.array(v["to"], float)
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    side = np.cross(along, np.eye(3)[np.abs(along).argmin()])
    side /= np.linalg.norm(side)
    matrix = np.column_stack([side, np.cross(along, side), along, start])
    return manifold3d.Manifold.cylinder(length, v["radius"], circular_segments=FIGURE_SEGMENTS).transform(matrix)


def _nearest(body: manifold3d.Manifold, solid: manifold3d.Manifold) -> tuple[float, float, float]:
    """The point of the part nearest to the figure, to within the spacing of the points compared."""
    spacing = 5.0
    points = np.array(body.refine_to_length(spacing).to_mesh().vert_properties)[:, :3]
    others = np.array(solid.refine_to_length(spacing).to_mesh().vert_properties)[:, :3]
    distance, _ = cKDTree(others).query(points)
    return tuple(float(x) for x in points[distance.argmin()])
