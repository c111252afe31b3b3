"""Loose segments of a drawing as few long polylines. Lengths in mm."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

SAME_POINT = 0.02  # mm: ends nearer than this are one point
# An interruption as short as GAP, or as FLICKER beside a line as short as that, is no hidden edge but one in
# the contact of two faces, whose triangles pass through each other.
GAP, FLICKER = 2.5, 8.0  # mm
STRAIGHT_ON = np.cos(np.radians(12.0))


def chained(segments: np.ndarray) -> list[np.ndarray]:
    """Segments (N, 2, 2) joined end to end into polylines (n, 2); short interruptions are closed."""
    lengths = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1)
    segments = segments[lengths > 1e-6]
    if not len(segments):
        return []
    index, points = _points(segments)
    pairs = np.unique(np.sort(index, axis=1), axis=0)
    lines = _walk(pairs[pairs[:, 0] != pairs[:, 1]])
    return _closed_gaps([points[line] for line in lines]) if lines else []  # none: all of it is one point


def _points(segments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Point numbers (N, 2) of the segments' ends and the points they stand for."""
    ends = segments.reshape(-1, 2)
    owner = np.arange(len(ends))
    for i, j in sorted(cKDTree(ends).query_pairs(SAME_POINT)):
        owner[j] = min(owner[j], owner[i])
    while (owner[owner] != owner).any():
        owner = owner[owner]
    kept, index = np.unique(owner, return_inverse=True)
    return index.reshape(-1, 2), ends[kept]


def _walk(pairs: np.ndarray) -> list[list[int]]:
    """Paths that use every pair of points once and pass only through points where two pairs meet."""
    neighbours: dict[int, list[int]] = {}
    for a, b in pairs.tolist():
        neighbours.setdefault(a, []).append(b)
        neighbours.setdefault(b, []).append(a)
    left = {tuple(p) for p in pairs.tolist()}
    ends = [p for p in sorted(neighbours) if len(neighbours[p]) != 2]
    lines = []
    for start in ends + sorted(neighbours):  # loops without an end come last
        for step in neighbours[start]:
            if (min(start, step), max(start, step)) not in left:
                continue
            line = [start]
            while (min(line[-1], step), max(line[-1], step)) in left:
                left.discard((min(line[-1], step), max(line[-1], step)))
                line.append(step)
                if len(neighbours[step]) != 2:
                    break
                step = next(n for n in neighbours[step] if n != line[-2])
            lines.append(line)
    return lines


def _closed_gaps(lines: list[np.ndarray]) -> list[np.ndarray]:
    """Join lines whose ends face each other across a short gap, nearest first."""
    ends = np.array([line[k] for line in lines for k in (0, -1)])
    heading = np.array([_unit(line[k] - line[n]) for line in lines for k, n in ((0, 1), (-1, -2))])
    lengths = np.array([np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in lines])
    pairs = cKDTree(ends).query_pairs(FLICKER, output_type="ndarray")
    gap = np.linalg.norm(ends[pairs[:, 0]] - ends[pairs[:, 1]], axis=1)
    partner: dict[int, int] = {}
    for i, j in pairs[np.lexsort((pairs[:, 1], pairs[:, 0], gap.round(6)))].tolist():
        across = _unit(ends[j] - ends[i])
        facing = min(heading[i] @ across, -(heading[j] @ across)) > STRAIGHT_ON
        short = min(lengths[i // 2], lengths[j // 2]) < FLICKER or np.linalg.norm(ends[j] - ends[i]) < GAP
        if facing and short and i // 2 != j // 2 and i not in partner and j not in partner:
            partner[i], partner[j] = j, i
    joined, used = [], set()
    order = [e for e in range(len(ends)) if e not in partner] + list(range(len(ends)))
    for end in order:
        chain = []
        while end // 2 not in used:
            used.add(end // 2)
            line = lines[end // 2]
            chain.append(line if end % 2 == 0 else line[::-1])
            far = end ^ 1
            if far not in partner:
                break
            end = partner[far]
        if chain:
            joined.append(np.vstack(chain))
    return joined


def _unit(vector: np.ndarray) -> np.ndarray:
    return vector / max(float(np.linalg.norm(vector)), 1e-12)
