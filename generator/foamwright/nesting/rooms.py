"""The room that each piece needs in each of the poses in which it may lie. Lengths in mm.

A form is a piece in one of its poses, its room a few convex polygons. The search asks for them many thousand
times, so they are held in flat arrays, and few of those, as each costs time in every call.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
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
    sides: np.ndarray  # (C, 2) outward unit normal
    reach: np.ndarray  # (P * C,) how deep every polygon lies behind the sides of every form, where they are

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
    side = _first([len(p) for p in polygons])
    corners = np.concatenate(polygons)
    normals = np.concatenate([_normals(p) for p in polygons])
    return Rooms(
        _first([len(own) for own in poses]),
        first,
        side,
        np.hstack([np.minimum.reduceat(low, first[:-1]), np.maximum.reduceat(high, first[:-1])]),
        np.hstack([low, high]),
        corners,
        normals,
        _reach(corners, normals, side, side[first]),
    )


def _normals(polygon: np.ndarray) -> np.ndarray:
    along = np.roll(polygon, -1, axis=0) - polygon
    return np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]


def _reach(corners: np.ndarray, normals: np.ndarray, side: np.ndarray, form: np.ndarray) -> np.ndarray:
    """What takes longest in a search, worked out once for all places in which two polygons may lie: for each form a
    matrix, one row for each polygon, of the depths behind each side of the form. `form` (F + 1,) are their first sides."""
    found = np.empty((len(normals), len(side) - 1))
    # products and sums one by one: those of matrices differ in their last digits from machine to machine
    outermost = (normals * corners).sum(axis=1)
    for k, normal in enumerate(normals):
        along = corners[:, 0] * normal[0] + corners[:, 1] * normal[1]
        found[k] = outermost[k] - np.minimum.reduceat(along, side[:-1])
    return np.concatenate([found[a:b].T.ravel() for a, b in pairwise(form)])


def laid(polygon: np.ndarray, pose: Pose) -> np.ndarray:
    """`polygon` (K, 2) reflected (x to -x) if flipped, then turned by the angle in degrees; counter-clockwise."""
    angle, flipped = pose
    a = np.radians(angle)
    turn = np.round(np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]), 15)
    points = (polygon[::-1] * (-1.0, 1.0) if flipped else polygon) @ turn
    return points[np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1) > 1e-9]


def _first(counts: Sequence[int]) -> np.ndarray:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
