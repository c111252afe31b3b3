"""Curves given by rows of points, (N, 2) or (N, 3), in mm."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline


def chord_length(points: np.ndarray) -> np.ndarray:
    """Running length (N,) along straight chords."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def arc_length(points: np.ndarray) -> np.ndarray:
    """Running length (N,) of a smooth curve through points, better than by chords.

    Each chord is lengthened by the curvature at its ends, so that the error falls with the fourth power of
    the spacing.
    """
    s = chord_length(points)
    chords = np.diff(s)
    if len(points) < 4:
        return s
    curve = CubicSpline(s, points)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    at = s[:-1, None] + (nodes + 1) / 2 * chords[:, None]
    speed = np.linalg.norm(curve(at, 1), axis=-1)
    return np.concatenate([[0.0], np.cumsum((speed * weights).sum(1) * chords / 2)])


def resampled(points: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """`values` (N, k) given at `points` (N, 3) of a smooth curve, at `count` points at equal distances along it."""
    s = arc_length(points)
    at = np.linspace(0, s[-1], count)
    if len(points) < 4:
        return np.column_stack([np.interp(at, s, column) for column in values.T])
    return CubicSpline(s, values)(at)


def signed_area(ring: np.ndarray) -> float:
    """mm2 within a closed outline (N, 2), first point not repeated; positive where it runs counter-clockwise."""
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)
