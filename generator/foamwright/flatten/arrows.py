"""Directions of space as directions on a pattern."""

from __future__ import annotations

import numpy as np

from foamwright.flatten.records import Pattern
from foamwright.geometry.frame import Frame
from foamwright.parts.records import BandBody

_SHOWN = 0.35  # share of a direction that lies in the foam, from which it is drawn as an arrow

Arrow = tuple[float, float]


def direction_on(pattern: Pattern, direction: np.ndarray) -> Arrow | None:
    """A direction (3,) at the place of the part as modelled as a unit direction on its pattern; None where the foam mostly
    faces that way, and for bars."""
    if pattern.frame is not None:
        return on_plane(pattern.frame, direction)
    if pattern.mesh is not None:
        surface = pattern.mesh.surface
        return on_mesh(pattern.mesh.flat, surface.points, surface.face_normals.mean(0), direction)
    body = pattern.piece.body
    return on_band(body, direction) if isinstance(body, BandBody) else None


def on_plane(frame: Frame, direction: np.ndarray) -> Arrow | None:
    return _unit((direction @ frame.axes)[:2], _SHOWN)


def on_band(body: BandBody, direction: np.ndarray) -> Arrow | None:
    """Across the band only: along it, it turns."""
    across = float(body.across @ direction)
    return (0.0, float(np.sign(across))) if abs(across) > _SHOWN else None


def on_mesh(flat: np.ndarray, points: np.ndarray, normal: np.ndarray, direction: np.ndarray) -> Arrow | None:
    """Of a panel whose points are `flat` (n, 2) and in space (n, 3), and which faces along `normal` (3,), on the mean."""
    normal = normal / max(float(np.linalg.norm(normal)), 1e-9)
    tangent = direction - (direction @ normal) * normal
    if np.linalg.norm(tangent) < _SHOWN:
        return None
    space = points - points.mean(0)
    gradient = np.linalg.lstsq(space, flat - flat.mean(0), rcond=None)[0].T
    return _unit(gradient @ tangent, 1e-6)


def _unit(way: np.ndarray, least: float) -> Arrow | None:
    size = float(np.hypot(*way))
    return None if size < least else (float(way[0] / size), float(way[1] / size))
