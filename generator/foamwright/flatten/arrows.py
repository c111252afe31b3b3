"""Directions of space as directions on a pattern."""

from __future__ import annotations

import numpy as np

from foamwright.flatten.records import Pattern
from foamwright.geometry import Mesh
from foamwright.geometry.frame import Frame
from foamwright.parts.records import BandBody

_SHOWN = 0.35  # share of a direction that lies in the foam, from which it is drawn as an arrow
_STEADY = (
    0.6  # mean cosine, weighed by how much of the direction lies in the foam, between an arrow and where it points
)

Arrow = tuple[float, float]


def direction_on(pattern: Pattern, direction: np.ndarray) -> Arrow | None:
    """A direction (3,) at the place of the part as modelled as a unit direction on its pattern; None where the foam mostly
    faces that way, and for bars."""
    if pattern.frame is not None:
        return on_plane(pattern.frame, direction)
    if pattern.mesh is not None:
        return on_mesh(pattern.mesh.flat, pattern.mesh.surface, direction)
    body = pattern.piece.body
    return on_band(body, direction) if isinstance(body, BandBody) else None


def on_plane(frame: Frame, direction: np.ndarray) -> Arrow | None:
    return _unit((direction @ frame.axes)[:2], _SHOWN)


def on_band(body: BandBody, direction: np.ndarray) -> Arrow | None:
    """Across the band only: along it, it turns."""
    across = float(body.across @ direction)
    return (0.0, float(np.sign(across))) if abs(across) > _SHOWN else None


def on_mesh(flat: np.ndarray, surface: Mesh, direction: np.ndarray) -> Arrow | None:
    """Of a panel whose points are `flat` (n, 2) and on a surface; none where the direction lies another way on the paper at one
    place than at another, as up does on a tube that lies."""
    ways = laid_flat(flat[surface.triangles], surface.corners, direction) * surface.areas[:, None]
    whole, most = ways.sum(axis=0), float(np.linalg.norm(ways, axis=1).sum())
    return _unit(whole, max(_STEADY * most, _SHOWN * float(surface.areas.sum())))


def laid_flat(flat: np.ndarray, space: np.ndarray, way: np.ndarray) -> np.ndarray:
    """A way in space (3,) as it lies on the paper of each of some triangles (n, 3, 2), which are (n, 3, 3) in space: (n, 2)."""
    on_paper, in_space = ((t[:, 1:] - t[:, :1]).transpose(0, 2, 1) for t in (flat, space))  # sides in columns
    ways: np.ndarray = on_paper @ (np.linalg.pinv(in_space) @ way)[:, :, None]
    return ways[:, :, 0]


def _unit(way: np.ndarray, least: float) -> Arrow | None:
    size = float(np.hypot(*way))
    return None if size < least else (float(way[0] / size), float(way[1] / size))
