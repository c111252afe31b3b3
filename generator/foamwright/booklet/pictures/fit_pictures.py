"""The figure in the prop as line drawings. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Sequence

import igl
import numpy as np

from foamwright.assembly.records import Picture
from foamwright.booklet.pictures.looks import FRONT, UP
from foamwright.geometry import Mesh
from foamwright.model.placed import placed_copies
from foamwright.model.polylines import chained
from foamwright.model.records import Model
from foamwright.model.views import view

SIDE = (0.0, -1.0, 0.0)  # the eye looks along this: level, from the left

_CREASE = np.radians(40.0)  # an edge that turns by more is drawn
_PIECE = 4.0  # mm, of a line that is seen or hidden as a whole
_LIFT = 0.5  # mm towards the eye, so that a line is not hidden by the very faces that it lies on
_ARROW, _BARB, _APART = (
    60.0,
    12.0,
    15.0,
)  # mm: the arrow's length, its barbs, and how far from the figure it ends


def fit_pictures(
    model: Model, copies: Sequence[int], figure: tuple[np.ndarray, np.ndarray], way_in: np.ndarray | None
) -> tuple[Picture, ...]:
    """The figure, points (n, 3) and triangles (m, 3), in its place among `copies` (indices into `model.copies`), from the front
    left above and from the side, with the arrow of its way in, a unit vector (3,)."""
    return tuple(_picture(model, copies, figure, way_in, np.array(view)) for view in (FRONT, SIDE))


def _picture(
    model: Model,
    copies: Sequence[int],
    figure: tuple[np.ndarray, np.ndarray],
    way_in: np.ndarray | None,
    towards: np.ndarray,
) -> Picture:
    towards = towards / np.linalg.norm(towards)
    right = np.cross(towards, UP)
    right /= np.linalg.norm(right)
    plane = np.column_stack([right, np.cross(right, towards)])
    prop = view(model, copies, towards, UP)
    pieces = _divided(_outline(*figure, towards))
    seen = _seen(pieces.mean(axis=1), model, figure, -towards)
    lines = chained(pieces[seen] @ plane)
    if way_in is not None:
        lines += _arrow(figure[0], way_in, plane)
    hidden = chained(pieces[~seen] @ plane)
    points = np.vstack([*lines, *hidden, np.reshape(prop.bounds, (2, 2))])
    bounds = (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())
    return Picture(tuple(line for group in prop.lines for line in group), (), bounds, tuple(lines), tuple(hidden))


def _outline(points: np.ndarray, triangles: np.ndarray, towards: np.ndarray) -> np.ndarray:
    """Edges (N, 2, 3) where a closed mesh turns away from the eye, or turns sharply."""
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    directed = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    sides, number = np.unique(np.sort(directed, axis=1), axis=0, return_inverse=True)
    order = np.argsort(number.reshape(-1), kind="stable").reshape(len(sides), 2) // 3  # a closed mesh: two each
    a, b = normals[order[:, 0]], normals[order[:, 1]]
    turns_away = (a @ towards < 0.0) != (b @ towards < 0.0)
    sharp = (a * b).sum(axis=1) < np.cos(_CREASE)
    return points[sides[turns_away | sharp]]


def _divided(edges: np.ndarray) -> np.ndarray:
    """Edges (N, 2, 3) cut into pieces no longer than `_PIECE`."""
    pieces = [np.zeros((0, 2, 3))]
    for start, end in edges:
        count = int(np.ceil(np.linalg.norm(end - start) / _PIECE)) or 1
        ends = start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)
        pieces.append(np.stack([ends[:-1], ends[1:]], axis=1))
    return np.concatenate(pieces)


def _seen(places: np.ndarray, model: Model, figure: tuple[np.ndarray, np.ndarray], to_eye: np.ndarray) -> np.ndarray:
    """(N,) whether nothing lies between each place and the eye."""
    whole = Mesh.joined([*(copy.mesh for copy in placed_copies(model)), Mesh(*figure)])
    points, triangles = whole.points, whole.triangles
    tree = igl.AABB()
    tree.init(points, triangles)
    rays = np.tile(to_eye, (len(places), 1))
    hit, _, _ = tree.intersect_ray_first(points, triangles, np.ascontiguousarray(places + _LIFT * to_eye), rays)
    return np.asarray(hit).reshape(-1) < 0


def _arrow(points: np.ndarray, way_in: np.ndarray, plane: np.ndarray) -> Sequence[np.ndarray]:
    """Ends before the figure of these points (n, 3), on the line through its middle; nothing where the eye looks along it."""
    entering = way_in @ plane
    if np.linalg.norm(entering) < 0.2:
        return []
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    back = float(((points - middle) @ way_in).min()) - _APART
    tip = (middle + back * way_in) @ plane
    unit = entering / np.linalg.norm(entering)
    across = np.array([-unit[1], unit[0]])
    barbs = [tip - _BARB * unit + side * 0.4 * _BARB * across for side in (1.0, -1.0)]
    return [np.array([tip - _ARROW * unit, tip]), np.array([barbs[0], tip, barbs[1]])]
