"""Numbered match ticks: at equal distances along a seam, the same number on both of its edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.flatten.records import PatternEdge
from foamwright.flatten.seams import groups, met_both_ways
from foamwright.geometry import arc_length, chord_length
from foamwright.parts.records import EdgeRun, PanelEdge, Piece, SeamSpec

SPACING = 40.0  # mm, about; common practice, no source
_TO_ONE_SIDE = 1e-3  # of it: the lengths of both edges differ in their last digits, and 100 mm are 2.5 times as much


def edge_marks(
    piece: Piece,
    edge: PanelEdge | EdgeRun,
    stretches: Sequence[np.ndarray],
    mouths: Sequence[int],
    seams: Sequence[SeamSpec],
    compared: tuple[float, Sequence[np.ndarray]] | None = None,
) -> PatternEdge:
    """The edge of a pattern with its ticks.

    `stretches` are the edge's smooth pieces in pattern order, which is against the panel edge's own order
    (patterns are seen from the inside face). `compared` gives the edge's length as it is compared along a seam, and at
    each point of the pieces how much of it is reached there; left out, that is the length of the pieces themselves.
    Both edges of a seam have one such length up to any point of it, so equal distances along both lead to the same
    points. Where copies of a seam meet both ways the ticks are numbered from both ends to the middle.
    """
    key = (piece.id, edge.id)
    against = False
    for group in groups(seams):
        if key in group:
            against = group[key]
    seam = next((s.id for s in seams if key in ((s.a.part, s.a.edge), (s.b.part, s.b.edge))), None)
    length, reached = compared or _own_length(stretches)
    ticks, middle = np.zeros(0), None
    numbers: tuple[int, ...] = ()
    if seam is not None:
        count = max(1, round(length / SPACING - _TO_ONE_SIDE))
        ticks = np.array([_place(stretches, reached, length * i / count) for i in range(1, count)])
        numbers = tuple(range(count - 1, 0, -1) if against else range(1, count))
        if key in met_both_ways(seams):
            numbers = tuple(min(number, count - number) for number in numbers)
        middle = _place(stretches, reached, length / 2)
    return PatternEdge(
        id=edge.id,
        points=np.vstack(list(stretches)),
        length=length,
        bevel=tuple(reversed(edge.bevel)),
        joins=edge.joins,
        seam=seam,
        ticks=ticks,
        tick_numbers=numbers,
        middle=middle,
        mouths=tuple(mouths),
    )


def _own_length(stretches: Sequence[np.ndarray]) -> tuple[float, list[np.ndarray]]:
    """The length of the pieces, and how much of it is reached at each of their points; their mouths left out."""
    length = float(sum(arc_length(points)[-1] for points in stretches))
    chords = [chord_length(points) for points in stretches]
    total, behind, places = sum(c[-1] for c in chords), 0.0, []
    for chord in chords:
        places.append((behind + chord) * length / total)
        behind += chord[-1]
    return length, places


def _place(stretches: Sequence[np.ndarray], reached: Sequence[np.ndarray], target: float) -> float:
    """Distance along the pattern edge, dart mouths included, to where `target` of its length is reached."""
    behind = 0.0
    for k, (points, at) in enumerate(zip(stretches, reached)):
        chord = chord_length(points)
        if target <= at[-1] or k == len(stretches) - 1:
            return float(behind + np.interp(target, at, chord))
        behind += chord[-1] + float(np.linalg.norm(stretches[k + 1][0] - points[-1]))
    return float(behind)
