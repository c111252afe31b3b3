"""Parts that share space. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import manifold3d

from foamwright.errors import BuildError
from foamwright.model.hints import hint
from foamwright.model.overlap import TOLERANCE, shared, solid
from foamwright.model.records import Model

MOST_PAIRS = 500  # that share space, whether the design says so or not


@dataclass(frozen=True)
class Interference:
    """Two copies that share space: how much (mm3), how deep (mm), and where it is deepest."""

    part_a: str
    copy_a: int
    part_b: str
    copy_b: int
    volume: float
    depth: float
    at: tuple[float, float, float]


def interferences(model: Model, tolerance: float = TOLERANCE) -> tuple[Interference, ...]:
    """Every pair of copies whose common space is thicker than `tolerance`, as `shared` says.

    BuildError: there are more such pairs than any prop is meant to have, and looking for all of them would not end.
    """
    copies = model.copies
    overlaps = tuple(
        Interference(
            copies[s.a].piece.id,
            copies[s.a].number,
            copies[s.b].piece.id,
            copies[s.b].number,
            s.volume,
            s.depth,
            s.at,
        )
        for s in islice(shared(_bodies(model), tolerance), MOST_PAIRS + 1)
    )
    if len(overlaps) > MOST_PAIRS:
        names = Counter(name for i in overlaps for name in (i.part_a, i.part_b))
        raise BuildError(
            f"more than {MOST_PAIRS} pairs of pieces occupy the same space, most of them of "
            f"{names.most_common(1)[0][0]}; move its copies apart, or make them fewer"
        )
    return overlaps


def refuse_undeclared(overlaps: Sequence[Interference], model: Model) -> None:
    """BuildError for the worst pair of parts that shares space and of which the design does not say so."""
    design = model.prop.design
    meant = {frozenset(pair) for pair in design.expected_overlaps}
    surprising = [i for i in overlaps if frozenset((i.part_a, i.part_b)) not in meant]
    if surprising:
        worst = max(surprising, key=lambda i: i.volume)
        at = ", ".join(f"{x:.0f}" for x in worst.at)
        placed = {  # a mirrored copy's own matrix is that of a solid of its own hand
            (c.piece.id, c.number): (c.piece, c.piece.placements[c.number - 1].matrix) for c in model.copies
        }
        meaning = hint(design, placed[worst.part_a, worst.copy_a], placed[worst.part_b, worst.copy_b], worst.at)
        more = f" (and {len(surprising) - 1} more)" if len(surprising) > 1 else ""
        raise BuildError(
            f"{worst.part_a} and {worst.part_b} occupy the same space: {worst.volume:.0f} mm3, about "
            f"{worst.depth:.1f} mm deep, near ({at}){more}; move one, add a clearance, or, where another joint holds "
            f"each of them, declare it under overlaps{meaning}"
        )


def _bodies(model: Model) -> tuple[manifold3d.Manifold, ...]:
    """All copies in place; each part is turned into triangles once for each hand."""
    bodies: dict[str, manifold3d.Manifold] = {}
    for copy in model.copies:
        if copy.prototype.key not in bodies:
            body = solid(*copy.prototype.closed_mesh)
            if body.status() != manifold3d.Error.NoError:
                raise BuildError(f"part {copy.piece.id}: its solid is not closed ({body.status().name})")
            bodies[copy.prototype.key] = body
    return tuple(bodies[copy.prototype.key].transform(copy.matrix[:3]) for copy in model.copies)
