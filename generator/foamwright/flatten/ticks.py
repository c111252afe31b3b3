"""Numbered match ticks: at equal distances along a seam, the same number on both of its edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.flatten.records import PatternEdge
from foamwright.flatten.seams import groups
from foamwright.geometry import arc_length
from foamwright.parts.records import EdgeRun, PanelEdge, Piece, SeamSpec

SPACING = 40.0  # mm, about; common practice, no source


def edge_marks(
    piece: Piece,
    edge: PanelEdge | EdgeRun,
    stretches: Sequence[np.ndarray],
    mouths: Sequence[int],
    seams: Sequence[SeamSpec],
) -> PatternEdge:
    """The edge of a pattern with its ticks.

    `stretches` are the edge's smooth pieces in pattern order, which is against the panel edge's own order
    (patterns are seen from the inside face). Both edges of a seam have one length up to any point of it, so
    equal distances along both lead to the same points.
    """
    key = (piece.id, edge.id)
    against = False
    for group in groups(seams):
        if key in group:
            against = group[key]
    seam = next((s.id for s in seams if key in ((s.a.part, s.a.edge), (s.b.part, s.b.edge))), None)
    length = float(sum(arc_length(p)[-1] for p in stretches))
    ticks, middle = np.zeros(0), None
    numbers: tuple[int, ...] = ()
    if seam is not None:
        count = max(1, round(length / SPACING))
        ticks = np.array([_place(stretches, i / count) for i in range(1, count)])
        numbers = tuple(range(count - 1, 0, -1) if against else range(1, count))
        middle = _place(stretches, 0.5)
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


def _place(stretches: Sequence[np.ndarray], share: float) -> float:
    """Distance along the pattern edge, dart mouths included, to a share of its length without them."""
    chords = [np.linalg.norm(np.diff(points, axis=0), axis=1).sum() for points in stretches]
    left, behind = share * sum(chords), 0.0
    for points, following, chord in zip(stretches, stretches[1:], chords):
        if left <= chord:
            break
        left -= chord
        behind += chord + float(np.linalg.norm(following[0] - points[-1]))
    return float(behind + left)
