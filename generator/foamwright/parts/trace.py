"""Exact points along the edges of a region: where a surface meets a cutting level."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.interpolate import CubicSpline

from foamwright.forms.surface import Surface

CoordLevel = Callable[[np.ndarray], np.ndarray]

_DELTA = 1e-6


def _gradient(surface: Surface, level: CoordLevel, coords: np.ndarray) -> np.ndarray:
    """(N, 2) change of the level with a step along the surface, by central differences."""
    ways = _DELTA * np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
    count = len(coords)
    around = surface.moved(np.tile(coords, (4, 1)), np.repeat(ways, count, axis=0))
    a, b, c, d = level(around).reshape(4, count)
    return np.column_stack([a - b, c - d]) / (2 * _DELTA)


def slide_onto(surface: Surface, coords: np.ndarray, level: CoordLevel, steps: int = 8) -> np.ndarray:
    """Move coordinates (N, k) to level 0 along the steepest way in the surface."""
    coords = coords.copy()
    for _ in range(steps):
        f = level(coords)
        if np.max(np.abs(f), initial=0.0) < 1e-11:
            break
        du, dv = surface.tangents(coords)
        e, m, g = (du * du).sum(1), (du * dv).sum(1), (dv * dv).sum(1)  # first fundamental form
        a, b = _gradient(surface, level, coords).T
        det = np.maximum(e * g - m * m, 1e-300)
        su, sv = (g * a - m * b) / det, (e * b - m * a) / det
        slope = np.maximum(a * su + b * sv, 1e-300)
        coords = surface.moved(coords, -np.column_stack([f * su, f * sv]) / slope[:, None])
    return coords


def slide_to_corner(surface: Surface, coords: np.ndarray, first: CoordLevel, second: CoordLevel) -> np.ndarray:
    """The coordinates (k,) near `coords` where both levels are 0, by Newton's method."""
    c = np.array(coords, float).reshape(1, -1)
    for _ in range(12):
        f = np.array([first(c)[0], second(c)[0]])
        if np.max(np.abs(f)) < 1e-11:
            break
        jacobian = np.vstack([_gradient(surface, first, c), _gradient(surface, second, c)])
        if abs(np.linalg.det(jacobian)) < 1e-12 * np.linalg.norm(jacobian) ** 2:
            break  # the cuts touch instead of crossing; the rough corner is as good as any
        c = surface.moved(c, -np.linalg.solve(jacobian, f))
    return c[0]


def lengths_along(points: np.ndarray) -> np.ndarray:
    """Running length (N,) of a smooth curve through (N, 3) or (N, 2) points, better than by chords.

    Each chord is lengthened by the curvature at its ends, so that the error falls with the fourth power of
    the spacing.
    """
    chords = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if len(points) < 4:
        return np.concatenate([[0.0], np.cumsum(chords)])
    s = np.concatenate([[0.0], np.cumsum(chords)])
    curve = CubicSpline(s, points)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    at = s[:-1, None] + (nodes + 1) / 2 * chords[:, None]
    speed = np.linalg.norm(curve(at, 1), axis=-1)
    return np.concatenate([[0.0], np.cumsum((speed * weights).sum(1) * chords / 2)])


def respace(points: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """`values` (N, k) given at `points` (N, 3), taken at `count` points at equal distances along them."""
    s = lengths_along(points)
    at = np.linspace(0, s[-1], count)
    if len(points) < 4:
        return np.column_stack([np.interp(at, s, column) for column in values.T])
    return CubicSpline(s, values)(at)
