"""Parts that share space. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from foamwright.errors import BuildError
from foamwright.model.meshes import closed_mesh
from foamwright.model.records import Model


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


def interferences(model: Model, tolerance: float = 0.3) -> tuple[Interference, ...]:
    """Every pair of copies whose common space is thicker than `tolerance`.

    Thickness is twice volume over surface, that of a thin plate: the triangles of two curved faces that only
    touch overlap in slivers, which are wide but far thinner than any true fault.
    """
    bodies = _bodies(model)
    boxes = np.array([body.bounding_box() for body in bodies]).reshape(-1, 6)
    found = []
    for i, a in enumerate(model.copies):
        meet = (boxes[i, :3] < boxes[i + 1 :, 3:] - tolerance).all(axis=1)
        meet &= (boxes[i + 1 :, :3] < boxes[i, 3:] - tolerance).all(axis=1)
        for j in (np.flatnonzero(meet) + i + 1).tolist():
            b = model.copies[j]
            overlap = _overlap(bodies[i], bodies[j], tolerance)
            if overlap:
                found.append(Interference(a.piece.id, a.number, b.piece.id, b.number, *overlap))
    return tuple(found)


def refuse_undeclared(found: Sequence[Interference], declared: Iterable[tuple[str, str]]) -> None:
    """BuildError for the worst pair of parts that shares space and is not among the `declared` pairs."""
    meant = {frozenset(pair) for pair in declared}
    surprising = [i for i in found if frozenset((i.part_a, i.part_b)) not in meant]
    if surprising:
        worst = max(surprising, key=lambda i: i.volume)
        at = ", ".join(f"{x:.0f}" for x in worst.at)
        more = f" (and {len(surprising) - 1} more)" if len(surprising) > 1 else ""
        raise BuildError(
            f"{worst.part_a} and {worst.part_b} occupy the same space: {worst.volume:.0f} mm3, about "
            f"{worst.depth:.1f} mm deep, near ({at}){more}; move one, add a clearance, or declare it under overlaps"
        )


def _bodies(model: Model) -> tuple[manifold3d.Manifold, ...]:
    """All copies in place; each part is turned into triangles once for each hand."""
    found: dict[str, manifold3d.Manifold] = {}
    for copy in model.copies:
        if copy.prototype.key not in found:
            points, triangles = closed_mesh(copy.prototype.shape.wrapped)
            body = manifold3d.Manifold(manifold3d.Mesh64(points, triangles.astype(np.uint64)))
            if body.status() != manifold3d.Error.NoError:
                raise BuildError(f"part {copy.piece.id}: its solid is not closed ({body.status().name})")
            found[copy.prototype.key] = body
    return tuple(found[copy.prototype.key].transform(copy.matrix[:3]) for copy in model.copies)


def _overlap(a: manifold3d.Manifold, b: manifold3d.Manifold, tolerance: float):
    """(volume, depth, at) of what two bodies share, less the pieces thinner than `tolerance`; or None."""
    volume, depth, at = 0.0, 0.0, None
    for part in (a ^ b).decompose():
        thick = 2.0 * part.volume() / max(part.surface_area(), 1e-9)
        if thick > tolerance:
            volume += part.volume()
            if thick > depth:
                box = np.array(part.bounding_box()).reshape(2, 3)
                depth, at = thick, tuple(box.mean(axis=0).tolist())
    return (volume, depth, at) if at else None
