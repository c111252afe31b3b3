"""Seam covers: narrow panels that follow a cut over a form, to the same distance on both sides of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.surface import Surface
from foamwright.parts import region as regions
from foamwright.parts.levels import Level
from foamwright.parts.trace import slide_onto

_FINER = 2  # the form's triangles along the line are divided so often, then slid onto it
_PER_SIDE = 8  # points between two of them


@dataclass(frozen=True, eq=False)
class BesideLine:
    """How far a point of the form lies beyond a line on it, less `offset`; measured in the surface at `depth` from it.

    The chord to the nearest point of the line is lengthened to an arc by the turn of the normal, and that to the arc
    above it by the depth times the turn, which is exact on planes, spheres and cylinders.
    """

    level: Level
    tree: cKDTree
    points: np.ndarray  # (n, 3) close together along the line
    ahead: np.ndarray  # (n, 3) unit, along it
    normals: np.ndarray  # (n, 3) of the form
    offset: float
    depth: float

    def __call__(self, points: np.ndarray) -> np.ndarray:
        near = self.tree.query(points)[1]
        away = points - self.points[near]
        ahead = self.ahead[near]
        away = away - (away * ahead).sum(1)[:, None] * ahead  # to the line itself, not to a point of it
        chord = np.linalg.norm(away, axis=1)
        fall = -(away * self.normals[near]).sum(1)
        half = np.arcsin(np.clip(fall / np.maximum(chord, 1e-12), -1.0, 1.0))  # tangent to chord: half the turn
        arc = chord * np.where(np.abs(half) > 1e-6, half / np.sin(np.where(np.abs(half) > 1e-6, half, 1.0)), 1.0)
        arc = arc + self.depth * 2 * half
        return np.sign(self.level(points)) * arc - self.offset


def beside_line(surface: Surface, level: Level, width: float, depth: float) -> tuple[BesideLine, BesideLine]:
    """The two edges of a cover along the line where `level` meets the form: far, then near side.

    The cover is `width` wide where it is laid flat: on its neutral surface, at `depth` from the form.
    Raises BuildError if the cut misses the form.
    """

    def on_coords(coords):
        return level(surface.offset(coords, 0.0))

    part = regions.clip(regions.whole_form(surface, _FINER), on_coords, 0, 1)
    loops = regions.boundary_loops(part.faces) if len(part.faces) else []
    sides = [np.column_stack([loop, np.roll(loop, -1)]) for loop in loops]
    pairs = np.vstack([np.zeros((0, 2), int), *sides])
    pairs = pairs[(part.tags[pairs] & 1).all(axis=1)]
    if not len(pairs):
        raise BuildError("its seam misses the form")
    share = (np.arange(_PER_SIDE) / _PER_SIDE)[:, None, None]
    a, b = part.coords[pairs[:, 0]], part.coords[pairs[:, 1]]
    weights = np.broadcast_to(np.concatenate([1 - share, share], axis=2), (_PER_SIDE, len(pairs), 2)).reshape(-1, 2)
    corners = np.tile(np.stack([a, b], axis=1), (_PER_SIDE, 1, 1))
    coords = slide_onto(surface, surface.blend(corners, weights), on_coords)
    points, normals = surface.point(coords), surface.normal(coords)
    away = _gradient(level, points)
    ahead = np.cross(normals, away)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-12)
    tree = cKDTree(points)
    far, near = (BesideLine(level, tree, points, ahead, normals, offset, depth) for offset in (width / 2, -width / 2))
    return far, near


def _gradient(level: Level, points: np.ndarray) -> np.ndarray:
    """(n, 3) change of the level in space, by central differences."""
    step = 1e-4
    return np.column_stack([(level(points + step * e) - level(points - step * e)) / (2 * step) for e in np.eye(3)])
