"""Bodies that stand on each other's marks settle together: what is set one after another carries on the small errors of those
before it, and what stands on several is shared out between them. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from foamwright.proof.bench.foam import Copy
from foamwright.proof.bench.footings import Footing
from foamwright.proof.bench.pairs import Pair
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import STILL, Motion, Motions, lengths, moves, small

_ROUNDS = 10
_AT_REST = 1e-4  # of the last step
_POWERS = 12
_TRIM, _NEVER_FAR = 2.5, 0.3  # times the middle distance, and mm: what is further off is no line of the foot
_OPEN = (
    1e-5  # of the firmest direction: marks leave one open that they hold less (its square, as of the normal equations)
)


def settled(
    placed: Mapping[Copy, Placed], bodies: Sequence[Sequence[Copy]], joints: Sequence[Footing]
) -> dict[Copy, Placed]:
    """The copies after small motions of all bodies but the first, by which every mark comes as near to its foot as they let
    it (Gauss and Newton)."""
    owner = {copy: number for number, body in enumerate(bodies) for copy in body}
    between = [f for f in joints if f.lower in owner and f.upper in owner and owner[f.lower] != owner[f.upper]]
    pairs = [
        (owner[f.lower], owner[f.upper], pair)
        for f in between
        if (pair := Pair.of(f, {f.lower: placed[f.lower]}, {f.upper: placed[f.upper]})) is not None
    ]
    if len(bodies) < 3 or not pairs:
        return dict(placed)
    spots = [np.vstack([placed[copy].points for copy in body]) for body in bodies]
    size = [max(float(np.abs(points - points.mean(axis=0)).max()), 1.0) for points in spots]
    chained = _chained(len(bodies), [(lower, upper) for lower, upper, _ in pairs])
    motions = [STILL] * len(bodies)
    for _ in range(_ROUNDS):
        middles = [motion(points).mean(axis=0) for motion, points in zip(motions, spots)]
        normal, right = np.zeros((6 * len(bodies),) * 2), np.zeros(6 * len(bodies))
        for lower, upper, pair in pairs:
            points, goals, ways = _rows(pair, motions[lower], motions[upper])
            off = goals - points
            off = off - (off * ways).sum(axis=1)[:, None] * ways
            rows = []
            for body, at, sign in ((upper, points, 1.0), (lower, goals, -1.0)):
                own = sign * moves((at - middles[body]) / size[body])
                rows.append((own - ways[:, :, None] * np.einsum("ki,kij->kj", ways, own)[:, None, :]).reshape(-1, 6))
            both = np.hstack(rows)
            at = np.concatenate([6 * upper + np.arange(6), 6 * lower + np.arange(6)])
            normal[np.ix_(at, at)] += both.T @ both
            right[at] += both.T @ off.ravel()
        steps = np.zeros((len(bodies), 6))
        firmest = max(1e-12, *(_firmest(normal[np.ix_(own, own)]) for own in chained))
        for own in chained:
            steps.reshape(-1)[own] = _held(normal[np.ix_(own, own)], right[own], _OPEN * firmest)
        far = 0.0
        for number, step in enumerate(steps):
            turn = small(np.append(step[:3] / size[number], step[3:]))
            about = Motion(turn.turn, turn.shift + middles[number] - turn.turn @ middles[number])
            far = max(far, float(np.abs(step).max()))
            motions[number] = about.after(motions[number])
        if far < _AT_REST:
            break
    return {
        **placed,
        **{copy: placed[copy].moved(motion) for body, motion in zip(bodies, motions) for copy in body},
    }


def _firmest(normal: np.ndarray) -> float:
    """About the largest eigenvalue of a matrix that is symmetric and not negative, by powers."""
    vector, size = np.ones(len(normal)), 0.0
    for _ in range(_POWERS):
        vector = normal @ vector
        size = float(np.linalg.norm(vector))
        vector = vector / max(size, 1e-300)
    return max(size, float(normal.diagonal().max()))


def _held(normal: np.ndarray, right: np.ndarray, least: float) -> np.ndarray:
    """The step (n,) in all directions that are held by more than `least`; to find which, where some are not, takes ten times
    as long as to see that all are."""
    try:
        np.linalg.cholesky(normal - least * np.eye(len(normal)))
    except np.linalg.LinAlgError:
        values, vectors = np.linalg.eigh(normal)
        firm = values > least
        part: np.ndarray = vectors[:, firm] @ ((vectors[:, firm].T @ right) / values[firm])
        return part
    step: np.ndarray = np.linalg.solve(normal, right)
    return step


def _chained(count: int, pairs: Sequence[tuple[int, int]]) -> list[np.ndarray]:
    """The numbers of the unknowns, six of each body, of all bodies that move each other; the first body stays, so what
    stands on it alone moves by itself."""
    ends = np.array([pair for pair in pairs if 0 not in pair], int).reshape(-1, 2)
    graph = coo_matrix((np.ones(len(ends)), ends.T), shape=(count, count))
    number = connected_components(graph, directed=False)[1]
    groups = (np.flatnonzero(number[1:] == n) + 1 for n in np.unique(number[1:]))
    return [(6 * group[:, None] + np.arange(6)).ravel() for group in groups]


def _rows(pair: Pair, lower: Motion, upper: Motion) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (K, 3) of the foot and where they should come, and along which way they may be off; where both now are."""
    between = lower.inverse().after(upper)
    one = Motions.of([between])
    feet, goals, ways = (each[0] for each in pair.slides(one))
    left = lengths(feet - goals)
    near = left <= max(_TRIM * float(np.median(left)), _NEVER_FAR)
    more, to = (each[0] for each in pair.stood(one, feet[None], goals[None]))
    points, goals = np.vstack([feet[near], more]), np.vstack([goals[near], to])
    return lower(points), lower(goals), np.vstack([ways[near], ways[: len(more)]]) @ lower.turn.T
