"""Where an edge stands on a face as a whole, with what leans off it: what a placement line is drawn around. Lengths in mm.

A square edge on a wall that leans touches along one of its corners only, and glue reaches a few millimetres further. The
foam is as thick as it is all the same: it stands over a strip of its thickness times the cosine of the lean.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from foamwright.contacts.curved import Field, Target, border, patch_where
from foamwright.contacts.patch import Patch
from foamwright.contacts.records import Face

_SAME = 1e-4  # mm between points that an edge and a broad face have in common
_ALIKE = 1e-9  # mm2: of sides that are as near as this to each other the first is taken, on every machine
_AT_ONCE = 500_000  # pairs of points and sides compared at a time


def rims(edge: Face, faces: Iterable[Face]) -> tuple[np.ndarray, ...]:
    """The lines in which an edge meets the broad ones of the `faces` of its own part, as sides (s, 2, 3): two of most
    edges, none of what is round."""
    sides = edge.points[border(edge.triangles)]
    found = []
    for face in faces:
        if face.broad:
            shared = cKDTree(face.points).query(sides.reshape(-1, 3))[0].reshape(-1, 2) < _SAME
            if shared.all(axis=1).any():
                found.append(sides[shared.all(axis=1)])
    return tuple(found)


def footing(
    edge: Face, own_rims: Sequence[np.ndarray], on: Target, back: np.ndarray, reach: float, depth: float, whole: bool
) -> Patch | None:
    """Where `edge` stands on the face `on`, from one of its rims to the other wherever it touches with a place between
    them; its outlines lie on that face. With `whole`, all of the edge that looks at it. None of an edge without two rims.

    `back` (4, 4) takes places as the edge is modelled to those as the other face is.
    """
    if len(own_rims) != 2:
        return None
    low, high = (rim @ back[:3, :3].T + back[:3, 3] for rim in own_rims)
    wide = float(np.linalg.norm(nearest_on(high, low[:, 0]) - low[:, 0], axis=1).max())
    far = float(np.linalg.norm(np.ptp(edge.points, axis=0))) if whole else wide
    field = _Standing(on, reach, depth, far, None if whole else (low, high))
    found = patch_where(edge, field, back)
    if found is None:
        return None
    feet = field.nearest(found.points)[2]
    p, q, r = (feet[found.triangles[:, k]] for k in range(3))
    area = float(np.linalg.norm(np.cross(q - p, r - p), axis=1).sum()) / 2.0
    return replace(found, area=area, points=feet, outlines=tuple(field.nearest(loop)[2] for loop in found.outlines))


class _Standing(Field):
    """Which points of an edge stand over a face, however far off: those across which, from rim to rim, a place touches;
    all that look at it where no rims are given."""

    def __init__(
        self, on: Target, reach: float, depth: float, far: float, own_rims: tuple[np.ndarray, np.ndarray] | None
    ):
        super().__init__(on, reach + far, depth)
        self.touching = Field(on, reach, depth)
        self.rims = own_rims

    def __call__(self, points: np.ndarray, normals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        stands, gap = super().__call__(points, normals)
        if self.rims and stands.any():
            over, out = points[stands], normals[stands]
            low, high = (nearest_on(rim, over) for rim in self.rims)
            is_touching = np.zeros(len(over), bool)
            for places in (over, low, high, (low + high) / 2.0):
                open_ = np.flatnonzero(~is_touching)
                is_touching[open_] = self.touching(places[open_], out[open_])[0]
            stands[stands] = is_touching
        return stands, gap

    def deep(self, lean: np.ndarray) -> np.ndarray:
        """An edge that leans may have sunk its corner into the face as far as any part may: it stands there all the same."""
        return np.full_like(lean, self.depth)


def nearest_on(sides: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Of the straight sides (s, 2, 3) the places (n, 3) that are nearest to points (n, 3)."""
    found = np.empty_like(points)
    some = max(1, _AT_ONCE // len(sides))
    middle = sides.mean(axis=(0, 1))  # near it products lose the fewest digits
    starts, step = sides[:, 0] - middle, sides[:, 1] - sides[:, 0]
    squares = np.maximum((step**2).sum(axis=1), 1e-300)
    for first in range(0, len(points), some):
        places = points[first : first + some] - middle
        along = places @ step.T - (starts * step).sum(axis=1)
        share = np.clip(along / squares, 0.0, 1.0)
        # the squared distance, without that of the place from the middle
        off = (starts**2).sum(axis=1) - 2.0 * (places @ starts.T) + share * (share * squares - 2.0 * along)
        best = np.argmax(off <= off.min(axis=1, keepdims=True) + _ALIKE, axis=1)
        near = share[np.arange(len(best)), best]
        found[first : first + some] = sides[best, 0] + near[:, None] * step[best]
    return found
