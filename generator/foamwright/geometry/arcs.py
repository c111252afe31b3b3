"""Lengths in a smooth surface from two points and the normals there."""

from __future__ import annotations

import numpy as np


def arc_lengths(p: np.ndarray, q: np.ndarray, n_p: np.ndarray, n_q: np.ndarray) -> np.ndarray:
    """Length of the shortest line in the surface from `p` to `q`, points and unit normals of shape (..., 3).

    A line that turns by the angle f about an axis at radius r while it may also advance along that axis (an
    arc or a helix) has length^2 = chord^2 + r^2 (f^2 - 4 sin^2(f/2)), and its end normals differ by a vector
    of length 2 sin(f/2) whose product with the chord is 4 r sin^2(f/2). So the result is exact on spheres and
    cylinders; elsewhere its relative error is of the fourth order in the chord. Never less than the chord.
    """
    chord = q - p
    turn = n_q - n_p
    square = np.sum(chord**2, axis=-1)
    bend = np.sum(turn * chord, axis=-1)
    return np.sqrt(square + bend**2 / 12.0 * _arc_factor(np.sum(turn**2, axis=-1)))


def _arc_factor(x: np.ndarray) -> np.ndarray:
    """12 (f^2 - x) / x^2 for x = 4 sin^2(f/2) in 0 to 4; 1 at x = 0."""
    small = x < 0.02
    safe = np.where(small, 1.0, np.minimum(x, 4.0))
    angle = 2.0 * np.arcsin(np.minimum(np.sqrt(safe) / 2.0, 1.0))
    # the series of f^2 = 4 arcsin^2(sqrt(x)/2) = x + x^2/12 + x^3/90 + x^4/560 + x^5/3150 + x^6/16632 + ...
    series = 1.0 + x * (12 / 90 + x * (12 / 560 + x * (12 / 3150 + x * 12 / 16632)))
    return np.where(small, series, 12.0 * (angle**2 - safe) / safe**2)
