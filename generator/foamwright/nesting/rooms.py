"""The room that each piece needs in each of the poses in which it may lie. Lengths in mm.

A form is a piece in one of its poses, its room a few convex polygons. The search asks for them many thousand
times, so they are held in flat arrays, and few of those, as each costs time in every call.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

Pose = tuple[float, bool]


class Rooms(NamedTuple):
    """The forms of all S shapes: F forms of P convex polygons with C sides in all.

    A box is left, lower, right, upper.
    """

    form: np.ndarray  # (S + 1,) first form of each shape; those of shape s are form[s] to form[s + 1]
    polygon: np.ndarray  # (F + 1,) first polygon of each form
    side: np.ndarray  # (P + 1,) first side of each polygon
    form_box: np.ndarray  # (F, 4)
    polygon_box: np.ndarray  # (P, 4)
    corners: np.ndarray  # (C, 2) at which each side begins, counter-clockwise
    sides: np.ndarray  # (C, 3) outward unit normal, and how far the polygon reaches along it

    @property
    def size(self) -> np.ndarray:
        """(F, 2) of the box around each form."""
        return self.form_box[:, 2:] - self.form_box[:, :2]

    @property
    def middle(self) -> np.ndarray:
        """(F, 2) of the box around each form."""
        return 0.5 * (self.form_box[:, 2:] + self.form_box[:, :2])


def rooms(shapes: Sequence[Sequence[np.ndarray]], poses: Sequence[Sequence[Pose]]) -> Rooms:
    """The forms of `shapes`, each some convex polygons (K, 2), in each of its `poses` (angle, flipped)."""
    forms = [[laid(polygon, pose) for polygon in s] for s, own in zip(shapes, poses) for pose in own]
    polygons = [polygon for form in forms for polygon in form]
    low = np.array([p.min(axis=0) for p in polygons])
    high = np.array([p.max(axis=0) for p in polygons])
    first = _first([len(form) for form in forms])
    return Rooms(
        _first([len(own) for own in poses]),
        first,
        _first([len(p) for p in polygons]),
        np.hstack([np.minimum.reduceat(low, first[:-1]), np.maximum.reduceat(high, first[:-1])]),
        np.hstack([low, high]),
        np.concatenate(polygons),
        np.concatenate([_sides(p) for p in polygons]),
    )


def _sides(polygon: np.ndarray) -> np.ndarray:
    along = np.roll(polygon, -1, axis=0) - polygon
    normals = np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
    return np.column_stack([normals, (polygon @ normals.T).max(axis=0)])


def laid(polygon: np.ndarray, pose: Pose) -> np.ndarray:
    """`polygon` (K, 2) reflected (x to -x) if flipped, then turned by the angle in degrees; counter-clockwise."""
    angle, flipped = pose
    a = np.radians(angle)
    turn = np.round(np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]), 15)
    points = (polygon[::-1] * (-1.0, 1.0) if flipped else polygon) @ turn
    return points[np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1) > 1e-9]


def _first(counts: Sequence[int]) -> np.ndarray:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
