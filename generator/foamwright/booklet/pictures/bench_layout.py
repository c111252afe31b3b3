"""Parts laid out on the bench for a picture: with the face up that is painted where that is one alone, else flat ones with the
face up that takes glue, of two that do the one that takes less, as a face that takes glue all over needs no picture; in rows
below or beside what stands. Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly.bodies import Bodies, frame, outward
from foamwright.booklet.pictures import render
from foamwright.parts.records import FlatBody

_APART = 0.1  # of the longest part: between parts
_BOTH = 0.02  # of the glue on the one face: so much on the other counts
_FACES = 0.7  # cosine between the way that a face looks and up
_LEVEL = 0.1  # of the way across a part: less of it goes up, and it lies level in the prop
_WIDTHS = 12  # widths of the rows that are tried


@dataclass(frozen=True, eq=False)
class Laid:
    """Copies taken from their places: of each the rotation (3, 3) and then the shift (3,)."""

    bodies: Bodies
    ways: Mapping[int, tuple[np.ndarray, np.ndarray]]

    def points(self) -> np.ndarray:
        """All points (n, 3)."""
        points = np.array(self.bodies.points)
        for copy, (turn, shift) in self.ways.items():
            span = slice(*render.points_of(self.bodies)[copy])
            points[span] = points[span] @ turn.T + shift
        return points

    def corners(self, normals: np.ndarray) -> np.ndarray:
        """Normals (m, 3, 3) at the corners of all triangles."""
        normals = np.array(normals)
        for copy, (turn, _) in self.ways.items():
            span = slice(*self.bodies.spans[copy])
            normals[span] = normals[span] @ turn.T
        return normals

    def spots(self, copy: int, places: np.ndarray, along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Where places (k, 3) on a copy come to lie, and directions (k, 3) there."""
        if copy not in self.ways:
            return places, along
        turn, shift = self.ways[copy]
        return places @ turn.T + shift, along @ turn.T


def laid_out(
    bodies: Bodies,
    copies: Sequence[int],
    stood: Sequence[int],
    view: np.ndarray,
    room: tuple[float, float],
    one_face: Mapping[str, float],
) -> Laid:
    """`copies` on the bench, beside or below what `stood` at home as the eye sees it, whichever fills `room` (width, height)
    better; rows of `view` (3, 3) are across, up and along. Parts of `one_face` are painted on their outside (1) or inside (-1)
    alone, which is up."""
    if not copies:
        return Laid(bodies, {})
    turned = {copy: _lying(bodies, copy, view, one_face.get(bodies.pieces[copy].id, 0.0)) for copy in copies}
    ground = _ground(view)
    spans = [np.ptp(_points(bodies, copy) @ turned[copy].T @ ground.T, axis=0) for copy in copies]
    sizes = np.array(spans)  # across, away and up
    sizes[:, 1] += sizes[:, 2] * (view[1] @ ground[2]) / (view[1] @ ground[1])  # and what it hides behind it
    order = sorted(range(len(copies)), key=lambda i: (-round(float(sizes[i, 1]), 3), i))
    gap = _APART * float(sizes[:, 0].max())
    home = [_points(bodies, i) @ view[:2].T for i in stood]
    box = np.array([f(np.vstack(home), axis=0) for f in (np.min, np.max)]) if home else np.zeros((2, 2))
    best: tuple[float, dict[int, np.ndarray]] | None = None
    for width in np.linspace(sizes[:, 0].max(), float(sizes[:, 0].sum()) + gap * len(copies), _WIDTHS):
        spots = _rows(sizes[order], float(width), gap)
        there = {}
        for place, i in enumerate(order):
            points = _points(bodies, copies[i]) @ turned[copies[i]].T
            there[copies[i]] = ground.T @ (np.append(spots[place], 0.0) - (points @ ground.T).min(axis=0))
        flat = np.vstack([(_points(bodies, c) @ turned[c].T + there[c]) @ view[:2].T for c in copies])
        low, high = flat.min(axis=0), flat.max(axis=0)
        for below in (True, False) if home else (True,):
            whole = np.ptp(box, axis=0)
            more = high - low + (2.0 * gap if home else 0.0)
            both = np.array([max(whole[0], more[0]), whole[1] + more[1]]) if below else np.array(
                [whole[0] + more[0], max(whole[1], more[1])]
            )  # fmt: skip
            size = float((both / room).max())
            if best is None or size < best[0] - 1e-9:
                corner = np.array([box[0, 0], box[0, 1] - 2.0 * gap]) if below else np.array(
                    [box[1, 0] + 2.0 * gap, box[0, 1] + high[1] - low[1]]
                )  # fmt: skip
                moved = (corner - (low[0], high[1])) @ view[:2]
                best = size, {copy: shift + moved for copy, shift in there.items()}
    assert best is not None
    return Laid(bodies, {copy: (turned[copy], best[1][copy]) for copy in copies})


def _points(bodies: Bodies, copy: int) -> np.ndarray:
    return bodies.points[slice(*render.points_of(bodies)[copy])]


def _ground(view: np.ndarray) -> np.ndarray:
    """Rows across, away from the eye and up of the bench below a view."""
    away = np.cross((0.0, 0.0, 1.0), view[0])
    return np.vstack([view[0], away / np.linalg.norm(away), (0.0, 0.0, 1.0)])


def _lying(bodies: Bodies, copy: int, view: np.ndarray, side: float) -> np.ndarray:
    """The rotation (3, 3) that lays a part down, its long side across and what is up or at the front in the prop up or at the
    front: with its outside (1) or inside (-1) up, a curved one tilted to the eye; or (0) a flat one with the face up that takes
    glue, while any other stays as it stands in the prop."""
    piece, matrix = bodies.pieces[copy], bodies.matrices[copy]
    axes = frame(piece, matrix)
    if axes is None and not side:
        return np.eye(3)
    if axes is None:
        off = outward(piece, matrix)[1].mean(axis=0)
        up = side * off / max(float(np.linalg.norm(off)), 1e-9)
        points = _points(bodies, copy) - _points(bodies, copy).mean(axis=0)
        long = np.linalg.svd(points - np.outer(points @ up, up), full_matrices=False)[2][0]
        lain = np.vstack([view[0], view[1], -view[2]])
    else:
        spans = np.ptp(_points(bodies, copy) @ axes.T, axis=0)
        long = axes[int(spans[1] > spans[0])]
        up = _up(bodies, copy, axes[2], side)
        lain = _ground(view)
    away = np.cross(up, long)
    level = abs(away[2]) < _LEVEL
    if (long[0] * view[0, 0] if level else away[2]) < 0.0:
        long, away = -long, -away
    return np.asarray(lain.T @ np.vstack([long, away, up]))


def _up(bodies: Bodies, copy: int, off: np.ndarray, side: float) -> np.ndarray:
    """The way (3,), along `off` a flat part or a bar or against it, that comes up."""
    piece = bodies.pieces[copy]
    if side and isinstance(piece.body, FlatBody):
        return side * piece.off_face(bodies.matrices[copy])
    above, below = glued_on(bodies, copy, off)
    both = min(above, below) > _BOTH * max(above, below)
    return off if (above >= below) != both else -off


def glued_on(bodies: Bodies, copy: int, up: np.ndarray) -> tuple[float, float]:
    """The mm2 of a copy that take glue on what faces `up` (3,), and on what faces the other way."""
    sides = [0.0, 0.0]
    for (a, _), touch in bodies.touches.items():
        if a == copy and touch.glued:
            along = -(touch.normals @ up)
            sides[0] += float(touch.areas[along > _FACES].sum())
            sides[1] += float(touch.areas[along < -_FACES].sum())
    return sides[0], sides[1]


def hidden_glue(bodies: Bodies, copy: int) -> bool:
    """Does a flat part that lies on the bench take glue on the face below as well?"""
    axes = frame(bodies.pieces[copy], bodies.matrices[copy])
    if axes is None:
        return False
    above, below = glued_on(bodies, copy, axes[2])
    return min(above, below) > _BOTH * max(above, below)


def _rows(sizes: np.ndarray, width: float, gap: float) -> list[np.ndarray]:
    """Lower left corners of things (n, 3) one after the other in rows as wide as `width`, the first row nearest."""
    spots, x, y, deep = [], 0.0, 0.0, 0.0
    for across, away, _ in sizes:
        if x > 0.0 and x + across > width + 1e-6:
            x, y, deep = 0.0, y + deep + gap, 0.0
        spots.append(np.array([x, y]))
        x, deep = x + across + gap, max(deep, away)
    return spots
