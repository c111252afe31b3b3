"""Numbered match ticks: at equal distances along a seam, the same number on both of its edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from generator.flatten.records import PatternEdge
from generator.flatten.seams import groups
from generator.parts.records import PanelEdge, Piece, SeamSpec
from generator.parts.trace import lengths_along

SPACING = 40.0  # mm, about; common practice, no source


def edge_marks(
    piece: Piece,
    edge: PanelEdge,
    stretches: Sequence[np.ndarray],
    mouths: Sequence[int],
    shares: Sequence[np.ndarray],
    seams: Sequence[SeamSpec],
) -> PatternEdge:
    """The edge of a pattern with its ticks.

    `stretches` are the edge's smooth pieces in pattern order, which is against the panel edge's own order
    (patterns are seen from the inside face); `shares` are those of the panel edge's chains.
    """
    key = (piece.id, edge.id)
    against = False
    for group in groups(seams):
        if key in group:
            against = group[key]
    seam = next((s.id for s in seams if key in ((s.a.part, s.a.edge), (s.b.part, s.b.edge))), None)
    length = float(sum(lengths_along(p)[-1] for p in stretches))
    ticks, numbers, middle = np.zeros(0), (), None
    if seam is not None:
        count = max(1, round(length / SPACING))
        share = np.arange(1, count) / count
        ticks = np.array([_place(stretches, shares, 1 - s) for s in share])
        number = np.arange(1, count) if not against else np.arange(count - 1, 0, -1)
        order = np.argsort(ticks)
        ticks, numbers = ticks[order], tuple(int(n) for n in number[order])
        middle = _place(stretches, shares, 0.5)
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


def _place(stretches, shares, share) -> float:
    """Distance along the pattern edge, dart mouths included, of a share of the panel edge."""
    reached = 0.0
    last = None
    for points, part in zip(stretches, reversed(shares)):
        if last is not None:
            reached += float(np.linalg.norm(points[0] - last))
        chords = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        if part[0] <= share <= part[-1]:
            # pattern order runs from the chain's last share down to its first
            return reached + chords[-1] * (part[-1] - share) / (part[-1] - part[0])
        reached += float(chords[-1])
        last = points[-1]
    return reached
