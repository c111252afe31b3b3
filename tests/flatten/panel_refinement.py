"""How far the cut lines of panels move when they are laid flat with a finer mesh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LinearRing

from foamwright.flatten.darts import chooser
from foamwright.flatten.panels import TRIANGLES, flatten_panels, panel_pattern
from foamwright.flatten.records import Pattern
from foamwright.parts.records import Piece, SeamSpec


@dataclass(frozen=True, eq=False)
class Refined:
    """One panel at the usual fineness and at a finer one, with the same darts."""

    usual: Pattern
    fine: Pattern

    @property
    def gap(self) -> float:
        """Hausdorff distance in mm of the two cut lines, the finer laid on the other as well as it goes."""
        marks, finer = _marks(self.usual), _marks(self.fine)
        turn, shift = rigid(finer, marks)
        return float(LinearRing(self.fine.outline @ turn.T + shift).hausdorff_distance(LinearRing(self.usual.outline)))


def refine(pieces: Sequence[Piece], seams: Sequence[SeamSpec], factor: float = 4.0) -> dict[str, Refined]:
    """Lay panels flat with `TRIANGLES` and with `factor` times as many; darts are searched for once."""
    chosen, search = {}, chooser(pieces)

    def first(piece, mesher, share):
        chosen[piece.id] = search(piece, mesher, share)
        return chosen[piece.id]

    def again(piece, mesher, share):
        return chosen[piece.id]

    usual = flatten_panels(pieces, seams, first)
    fine = flatten_panels(pieces, seams, again, int(factor * TRIANGLES))
    return {i: Refined(panel_pattern(usual[i], seams), panel_pattern(fine[i], seams)) for i in usual}


def rigid(points: np.ndarray, onto: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The turn (2, 2) and shift (2,) that bring points closest to others, in the least-squares sense.

    W. Kabsch, A solution for the best rotation to relate two sets of vectors, Acta Cryst. A 32, 1976.
    """
    a, b = points.mean(axis=0), onto.mean(axis=0)
    u, _, v = np.linalg.svd((points - a).T @ (onto - b))
    turn = v.T @ np.diag([1.0, np.sign(np.linalg.det(v.T @ u.T))]) @ u.T
    return turn, b - turn @ a


def _marks(pattern: Pattern) -> np.ndarray:
    """The same points of a panel whatever its mesh: 40 along every edge and every leg."""
    lines = [e.points for e in pattern.edges] + [leg for d in pattern.darts for leg in (d.leg_a, d.leg_b)]
    marks = []
    for line in lines:
        s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        at = np.linspace(0.0, s[-1], 40)
        marks.append(np.column_stack([np.interp(at, s, c) for c in line.T]))
    return np.vstack(marks)
