"""Strips with sharp corners that stay flat between them, as a maker folds or joins them: plates in a row, each turned to the
one before it as the groove or both mitres there say.

A groove is cut down to the skin of the face across, which is where the strip turns; the pieces of a mitred strip meet in the
line of the face that is drawn on. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from foamwright.proof.bench.foam import Copy, Edge, Foam, Part
from foamwright.proof.bench.pieces import Placed, Sheet
from foamwright.proof.bench.rigid import STILL, turned_about

_ROUND = 0.5  # degrees by which all corners together may be off one whole turn
_CLOSES = 1.0  # mm between both ends of a strip that comes round on itself
_SPACING = 12.0  # between the points of a piece along the strip, and
_ACROSS = 3  # so many across it


@dataclass(frozen=True)
class _Corner:
    """Where a strip turns by `angle` radians, + towards the reader of the drawn face: at x = `at`, `depth` below that face. The
    foam ends `before` and `past` it on one face or the other."""

    at: float
    depth: float
    angle: float
    before: float
    past: float


def turns_sharply(part: Part) -> bool:
    return bool(part.folds or part.mitred)


def folded(foam: Foam, copy: Copy) -> Placed | None:
    """A copy folded by its own lines, its first piece lying on the bench; None of what has no sharp corners, or may be bent
    between them: a strip whose corners alone make one whole turn, and bring its ends together, is straight between them."""
    part = foam.part(copy)
    found = _corners(part)
    ends = [part.edge(name) for name in ("start", "end")]
    if not found or any(end is None for end in ends) or part.darts:
        return None
    total = sum(corner.angle for corner in found) + sum(np.radians(end.bevel[0]) for end in ends if end is not None)
    if abs(abs(total) - 2 * np.pi) > np.radians(_ROUND):
        return None
    piece = _in_a_row(part, found, foam.mirrored(copy))
    lines = [_both(piece, end) for end in ends if end is not None]
    if lines[0].shape != lines[1].shape or np.linalg.norm(lines[0] - lines[1], axis=1).max() > _CLOSES:
        return None
    return piece


def _corners(part: Part) -> list[_Corner]:
    """From left to right; those at its ends are told by the bevels of these."""
    thick = part.thickness
    if part.mitred:
        spans = sorted(
            ((own[:, 0].min(), own[:, 0].max(), other[:, 0].min(), other[:, 0].max()) for own, other in part.mitred),
            key=lambda span: span[0],
        )
        found = []
        for (_, here, _, beyond), (there, _, behind, _) in pairwise(spans):
            reach = beyond - here, there - behind  # of the other face past the drawn one, of both pieces
            angle = float(np.arctan(reach[0] / thick) + np.arctan(reach[1] / thick))
            found.append(_Corner(here, 0.0, angle, max(0.0, -reach[0]), max(0.0, -reach[1])))
        return found
    grooves = [(fold, thick * abs(np.tan(np.radians(fold.turn) / 2.0))) for fold in part.folds]
    return [
        _Corner(fold.at, thick if fold.turn > 0 else 0.0, float(np.radians(fold.turn)), half, half)
        for fold, half in grooves
    ]


def _in_a_row(part: Part, found: list[_Corner], mirrored: bool) -> Placed:
    """The pieces in space, each with points of its own, so that every face keeps the normal of its piece."""
    rings = np.vstack([part.rings[0], part.other_rings[0]])
    drawn, other = part.rings[0][:, 0], part.other_rings[0][:, 0]
    begins = [max(drawn.min(), other.min()), *(corner.at + corner.past for corner in found)]
    ends = [*(corner.at - corner.before for corner in found), min(drawn.max(), other.max())]
    low, high = float(rings[:, 1].min()), float(rings[:, 1].max())
    motion, flat, triangles, points, count = STILL, [], [], [], 0
    for number, (begin, end) in enumerate(zip(begins, ends)):
        if number:
            corner = found[number - 1]
            hinge = np.array([corner.at, 0.0, -corner.depth])
            motion = motion.after(turned_about(np.array([0.0, 1.0, 0.0]), -corner.angle, hinge))
        columns = max(2, int(abs(end - begin) / _SPACING) + 1)
        own = np.stack(
            np.meshgrid(np.linspace(begin, end, columns), np.linspace(low, high, _ACROSS), indexing="ij"), -1
        )
        at = np.arange(count, count + columns * _ACROSS).reshape(columns, _ACROSS)
        a, b, c, d = (each.ravel() for each in (at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]))
        flat.append(own.reshape(-1, 2))
        triangles += [np.column_stack([a, b, c]), np.column_stack([a, c, d])]
        points.append(motion(np.column_stack([flat[-1], np.full(len(flat[-1]), -part.neutral)])))
        count += at.size
    side = -1.0 if mirrored else 1.0
    return Placed(part, mirrored, Sheet(np.vstack(flat), np.vstack(triangles)), np.vstack(points) * (side, 1.0, 1.0))


def _both(piece: Placed, edge: Edge) -> np.ndarray:
    """The ends of an edge on both faces (4, 3), in an order that is the same for both ends of a strip."""
    line = edge.stretches[0][[0, -1]]
    line = line[np.argsort(line[:, 1])]
    lying = piece.part.across(line, edge)
    thick = piece.part.thickness
    return np.vstack([piece.place(line, np.zeros(2)), piece.place(lying, np.full(2, thick))])
