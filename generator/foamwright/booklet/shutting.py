"""When a figure is shut in: the stage of the work after which it has no way out of the prop any more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from scipy.cluster.hierarchy import DisjointSet

from foamwright.booklet.bodies import Bodies
from foamwright.booklet.taking_apart import Stage
from foamwright.geometry import Mesh
from foamwright.model.figure import Figure
from foamwright.model.placed import Placed
from foamwright.model.way_out import shut_in


def shuts_in(stages: Sequence[Stage], bodies: Bodies, figure: Figure | None) -> int | None:
    """The number (from 0) of the stage that closes the last way out of a figure; None where it keeps one, or where the design
    says how it gets in."""
    if figure is None or figure.way_in is not None or not len(bodies):
        return None
    copies = _placed(bodies)
    upto = [0]
    for stage in stages:
        upto.append(upto[-1] | bodies.mask(copy for move in stage.moves for copy in move.copies))

    def barred(number: int) -> bool:
        there = [i for i in range(len(bodies)) if upto[number] >> i & 1]
        groups = DisjointSet(there)
        for a, b in bodies.touches:
            if bodies.touches[a, b].glued and a in groups and b in groups:
                groups.merge(a, b)
        named = [{(copies[i].part, copies[i].number) for i in group} for group in groups.subsets()]
        return bool(there) and shut_in(named, [copies[i] for i in there], figure)

    low, high = 0, len(stages)
    if not barred(high):
        return None
    while high - low > 1:  # what bars a way once bars it for good
        middle = (low + high) // 2
        low, high = (low, middle) if barred(middle) else (middle, high)
    return high - 1


def _placed(bodies: Bodies) -> list[Placed]:
    number: Counter[str] = Counter()
    copies = []
    for copy, piece in enumerate(bodies.pieces):
        number[piece.id] += 1
        copies.append(Placed(piece.id, number[piece.id], Mesh(*bodies.mesh((copy,))), 0.0))
    return copies
