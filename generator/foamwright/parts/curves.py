"""Smooth plane curves as polylines that stay within a stated distance of them, in mm."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from foamwright.errors import BuildError

SAGITTA = 0.01  # far under what a knife can follow
_MOST = 4096


def arc_steps(radius: float, angle: float) -> int:
    """In how many chords an arc of `angle` radians is drawn so that its sagitta stays below `SAGITTA`."""
    step = 2 * math.acos(max(0.0, 1 - SAGITTA / max(radius, SAGITTA)))
    return max(2, math.ceil(abs(angle) / step - 1e-9))


def arc_through(start: np.ndarray, middle: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Points (N, 2) of the arc from `start` by `middle` to `end`, both ends included.

    Raises BuildError where the three lie on one line, so that there is no arc.
    """
    a, b = middle - start, end - start
    cross = a[0] * b[1] - a[1] * b[0]
    if abs(cross) < 1e-9 * max(float(a @ a), float(b @ b), 1e-12):
        raise BuildError(f"an arc through {_shown(middle)} that lies on one line with its ends; move that point")
    centre = start + (np.array([b[1], -b[0]]) * (a @ a) - np.array([a[1], -a[0]]) * (b @ b)) / (2 * cross)
    first, last = (math.atan2(*(p - centre)[::-1]) for p in (start, end))
    sense = 1.0 if cross > 0 else -1.0  # counter-clockwise where the middle lies to the right of the chord
    turn = sense * ((sense * (last - first)) % (2 * math.pi))
    radius = float(np.hypot(*(start - centre)))
    return arc(centre, radius, first, turn, start, end)


def arc(centre, radius: float, first: float, turn: float, start, end) -> np.ndarray:
    """Points (N, 2) over `turn` radians from the angle `first`; its ends are exactly `start` and `end`."""
    angle = first + np.linspace(0.0, turn, arc_steps(radius, turn) + 1)
    points = np.asarray(centre, float) + radius * np.column_stack([np.cos(angle), np.sin(angle)])
    points[0], points[-1] = start, end
    return points


def flattened(curve: Callable[[np.ndarray], np.ndarray], tolerance: float = SAGITTA) -> np.ndarray:
    """Points (N, 2) of `curve` over 0 to 1, both ends included, so dense that no chord is `tolerance` off."""
    count = 4
    while True:
        points = curve(np.linspace(0.0, 1.0, 2 * count + 1))
        chord = (points[:-2:2] + points[2::2]) / 2
        if np.hypot(*(points[1::2] - chord).T).max() < tolerance or count >= _MOST:
            return points[::2]
        count *= 2


def refined(curve: Callable[[np.ndarray], np.ndarray], at: np.ndarray, tolerance: float = SAGITTA) -> np.ndarray:
    """The parameters `at` (N,) of `curve`, with more between those whose chord is `tolerance` off the curve."""
    for _ in range(12):
        middle = (at[:-1] + at[1:]) / 2
        points = curve(at)
        off = np.linalg.norm(curve(middle) - (points[:-1] + points[1:]) / 2, axis=1)
        far = off > tolerance
        if not far.any() or len(at) > _MOST:
            break
        at = np.sort(np.concatenate([at, middle[far]]))
    return at


def _shown(point: np.ndarray) -> str:
    return f"[{point[0]:g}, {point[1]:g}]"
