"""Hatching as single strokes, for writers and for clipping."""

from __future__ import annotations

import numpy as np

from foamwright.drawing.primitives import Hatch


def hatch_strokes(hatch: Hatch) -> np.ndarray:
    """(S, 2, 2) start and end of every stroke of `hatch`, by the even-odd rule.

    Strokes lie at whole multiples of the spacing from the origin, so that adjacent hatches line up.
    """
    a = np.radians(hatch.angle)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])  # rows @ turn: strokes become level
    start = np.asarray(hatch.boundary, float) @ turn
    stop = np.roll(start, -1, axis=0)
    first, last = np.ceil(start[:, 1].min() / hatch.spacing), np.floor(start[:, 1].max() / hatch.spacing)
    strokes = []
    for level in np.arange(first, last + 1) * hatch.spacing:
        crossed = (start[:, 1] <= level) != (stop[:, 1] <= level)
        p, q = start[crossed], stop[crossed]
        x = np.sort(p[:, 0] + (level - p[:, 1]) / (q[:, 1] - p[:, 1]) * (q[:, 0] - p[:, 0]))
        strokes += [((left, level), (right, level)) for left, right in zip(x[::2], x[1::2]) if right > left]
    return np.array(strokes).reshape(-1, 2, 2) @ turn.T
