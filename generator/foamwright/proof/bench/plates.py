"""Flat parts that are joined along seams: rigid bodies, set edge to edge by both lines of their bevels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.proof.bench.foam import Copy
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import best_motion, moves, small
from foamwright.proof.bench.seams import Glue

_ROUNDS = 12


def assembled(lying: Mapping[Copy, Placed], glues: Sequence[Glue], first: Copy) -> dict[Copy, Placed]:
    """All copies that seams lead to from `first`, which stays where it lies; then all settle together.

    Each is set to the one before it by the best motion of its glued lines onto theirs; what is left over a closed
    round is shared out by least squares.
    """
    placed = {first: lying[first]}
    order = [first]
    for copy in order:
        for glue in glues:
            for here, there in ((glue.sewn.a, glue.sewn.b), (glue.sewn.b, glue.sewn.a)):
                if here == copy and there not in placed and there in lying:
                    onto, _ = ends(placed, glue, here)
                    points, _ = ends(lying, glue, there)
                    placed[there] = lying[there].moved(best_motion(points, onto))
                    order.append(there)
    return settled(placed, [g for g in glues if g.sewn.a in placed and g.sewn.b in placed])


def ends(placed: Mapping[Copy, Placed], glue: Glue, copy: Copy) -> tuple[np.ndarray, Copy]:
    """The glued points (K, 3) of one of the two copies, and which copy is the other."""
    if glue.sewn.a == copy:
        return placed[copy].place(glue.a, glue.depth_a), glue.sewn.b
    return placed[copy].place(glue.b, glue.depth_b), glue.sewn.a


def seam_gap(placed: Mapping[Copy, Placed], glue: Glue) -> float:
    """The largest distance, in mm, between the points of a seam that should meet: on both sides of what touches where the
    foam is flat, in the middle of it where it was bent."""
    a = placed[glue.sewn.a].place(glue.a, glue.depth_a)
    b = placed[glue.sewn.b].place(glue.b, glue.depth_b)
    apart = a - b
    if placed[glue.sewn.a].part.bent or placed[glue.sewn.b].part.bent:
        half = len(apart) // 2
        apart = (apart[:half] + apart[half:]) / 2
    return float(np.linalg.norm(apart, axis=1).max())


def settled(placed: dict[Copy, Placed], glues: Sequence[Glue]) -> dict[Copy, Placed]:
    """Small motions of all copies until the glued points are as near as they come (Gauss and Newton)."""
    copies = list(placed)
    if len(copies) < 2 or not glues:
        return placed
    column = {copy: 6 * k for k, copy in enumerate(copies)}
    for _ in range(_ROUNDS):
        rows, residuals = [], []
        for glue in glues:
            a = placed[glue.sewn.a].place(glue.a, glue.depth_a)
            b = placed[glue.sewn.b].place(glue.b, glue.depth_b)
            jacobian = np.zeros((len(a), 3, 6 * len(copies)))
            for points, copy, sign in ((a, glue.sewn.a, 1.0), (b, glue.sewn.b, -1.0)):
                jacobian[:, :, column[copy] : column[copy] + 6] += sign * moves(points)
            rows.append(jacobian.reshape(-1, jacobian.shape[2]))
            residuals.append((b - a).ravel())
        step = np.linalg.lstsq(np.vstack(rows), np.concatenate(residuals), rcond=1e-10)[0]
        placed = {copy: placed[copy].moved(small(step[column[copy] : column[copy] + 6])) for copy in copies}
        if np.abs(step).max() < 1e-9:
            break
    return placed
