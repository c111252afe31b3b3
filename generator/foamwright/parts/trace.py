"""Exact points along the edges of a region: where a surface meets a cutting level."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from foamwright.forms.surface import Surface

CoordLevel = Callable[[np.ndarray], np.ndarray]

_DELTA = 1e-6


def _gradient(surface: Surface, level: CoordLevel, coords: np.ndarray) -> np.ndarray:
    """(N, 2) change of the level with a step along the surface, by central differences."""
    steps = _DELTA * np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
    count = len(coords)
    around = surface.moved(np.tile(coords, (4, 1)), np.repeat(steps, count, axis=0))
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


def onwards(points: np.ndarray) -> np.ndarray:
    """The numbers of those points (N, 3) of a chain that go on along it. Where a form's own triangles are narrow, as around
    the pole of a ball or at the corners of a tower from a file, clipping can leave two neighbours in the wrong order."""
    kept = np.arange(len(points))
    while len(kept) > 2:
        chords = np.diff(points[kept], axis=0)
        back = np.flatnonzero((chords[1:] * chords[:-1]).sum(axis=1) < 0)
        if not len(back):
            break
        kept = np.delete(kept, back[0] + 1)
    return kept
