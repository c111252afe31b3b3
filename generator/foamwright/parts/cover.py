"""Seam covers: narrow panels that follow a cut over a form, to the same distance on both sides of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.surface import Surface
from foamwright.parts import region as regions
from foamwright.parts.levels import Level
from foamwright.parts.trace import slide_onto

_FINER = 2  # the form's triangles along the line are divided so often, then slid onto it
_PER_SIDE = 8  # points between two of them
_BESIDE = 1e-3  # mm beside the line, where it lies in a crease: there the sheets are each by themselves
_STRAIGHT = 1e-6  # radians: a lesser turn is none


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
        chord, half = _chords(away, self.normals[near])
        return np.sign(self.level(points)) * (_arcs(chord, half) + self.depth * 2 * half) - self.offset


class BesideLineOverCreases:
    """As `BesideLine`, over the coordinates of a surface with creases. There the arc above is longer by the depth times
    the angle by which the normal that foam follows turns, and the arc itself is bent at the crease."""

    def __init__(self, line: BesideLine, surface: Surface):
        self.line, self.surface = line, surface
        coords = NearestPoint(surface).coords(line.points)
        self._leaning = surface.normal(coords)
        # of the sheets on the near side of the line and on its far side
        aside = [self._slid(coords, by) for by in (-_BESIDE, _BESIDE)]
        _, normals, sheets = zip(*(surface.unbent(beside) for beside in aside))
        self._normals, self._sheets = np.stack(normals), np.stack(sheets)

    def _slid(self, coords: np.ndarray, by: float) -> np.ndarray:
        """Places of the line moved `by` so much of its level off it."""
        surface, level = self.surface, self.line.level

        def beyond(places: np.ndarray) -> np.ndarray:
            return np.asarray(level(surface.point(places)) - by)

        return slide_onto(surface, coords, beyond)

    def __call__(self, coords: np.ndarray) -> np.ndarray:
        line = self.line
        points, normals, sheet = self.surface.unbent(coords)
        near = line.tree.query(points)[1]
        side = np.sign(line.level(points))
        far = (side > 0).astype(int)
        start = self._normals[far, near]
        ahead = line.ahead[near]
        away = points - line.points[near]
        away = away - (away * ahead).sum(1)[:, None] * ahead
        chord, half = _chords(away, start)
        arc = np.where(
            sheet == self._sheets[far, near], _arcs(chord, half), _bent(chord, half, _turn(start, normals, away))
        )
        turn = _turn(self._leaning[near], self.surface.normal(coords), away)
        return side * (arc + line.depth * turn) - line.offset


def _chords(away: np.ndarray, normals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(N,) the lengths of `away` (N, 3), and by how much each falls below the tangent: of an arc, half its turn."""
    chord = np.linalg.norm(away, axis=1)
    fall = -(away * normals).sum(1)
    return chord, np.arcsin(np.clip(fall / np.maximum(chord, 1e-12), -1.0, 1.0))


def _arcs(chord: np.ndarray, half: np.ndarray) -> np.ndarray:
    turned = np.abs(half) > _STRAIGHT
    return np.asarray(chord * np.where(turned, half / np.sin(np.where(turned, half, 1.0)), 1.0))


def _bent(chord: np.ndarray, fall: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """(N,) how long two straight lines are that turn by `turn` where they meet, of one `chord` over both, which falls below
    the first by `fall`."""
    turned = np.abs(np.sin(turn)) > _STRAIGHT
    second = chord * np.sin(fall) / np.where(turned, np.sin(turn), 1.0)
    return np.asarray(np.where(turned, chord * np.cos(fall) + second * (1 - np.cos(turn)), chord))


def _turn(before: np.ndarray, after: np.ndarray, away: np.ndarray) -> np.ndarray:
    """(N,) radians by which normals turn towards `away`, in the plane of the normal before and of that."""
    tangent = away - (away * before).sum(1)[:, None] * before
    tangent /= np.maximum(np.linalg.norm(tangent, axis=1, keepdims=True), 1e-12)
    return np.arctan2((after * tangent).sum(1), (after * before).sum(1))


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
