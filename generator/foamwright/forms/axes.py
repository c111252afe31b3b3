"""The axis words of a design file as directions."""

from __future__ import annotations

import numpy as np

# Right-handed (along, first, second) for each axis word; first and second are the axes of an outline
# drawn in the plane square to it, except for y, whose outlines are (x, z) as in a side view.
_FRAMES = {
    "x": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "y": ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "z": ((0, 0, 1), (1, 0, 0), (0, 1, 0)),
}

# The two coordinates that an outline's x and y stand for, seen along each axis.
OUTLINE_COLUMNS = {"x": (1, 2), "y": (0, 2), "z": (0, 1)}


def turning_frame(axis: str) -> np.ndarray:
    """(3, 3): columns are the axis and two directions square to it, right-handed."""
    return np.array(_FRAMES[axis], float).T


def direction(word) -> np.ndarray:
    """ "x", "-z" or [nx, ny, nz] as a unit vector (3,)."""
    if isinstance(word, str):
        sign = -1.0 if word.startswith("-") else 1.0
        return sign * turning_frame(word.lstrip("+-"))[:, 0]
    vector = np.asarray(word, float)
    vector = vector / np.abs(vector).max()  # else the squares of very small or large numbers are 0 or infinite
    return vector / np.linalg.norm(vector)
