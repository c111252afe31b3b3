"""The solids that a figure is made of: how far a point is from them, and their triangles. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import igl
import manifold3d
import numpy as np

from foamwright.forms.imported import imported_mesh
from foamwright.geometry import box_of

# Points (N, 3) to the signed distance (N,), negative inside, and its gradient (N, 3).
Distance = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]

_SIDES = 96  # of a round solid as triangles
_HALVINGS = 20  # of the way in, to find where on it a point is nearest: a millionth of it


@dataclass(frozen=True, eq=False)
class Solid:
    """What is known of a solid or of the space that it sweeps; `box` (2, 3) holds all of it.

    `convex` says that the distance is a convex function of place, so that it lies above its tangent planes.
    """

    distance: Distance
    convex: bool
    box: np.ndarray


@dataclass(frozen=True, eq=False)
class Body:
    """A solid of the figure with its triangles: points (n, 3), triangles (m, 3) counter-clockwise from outside."""

    solid: Solid
    points: np.ndarray
    triangles: np.ndarray


def body(kind: str, values: Mapping[str, Any], folder: str) -> Body:
    """One solid as the design states it; files are named from `folder`. Raises BuildError for a bad file."""
    if kind in ("mesh", "step"):
        mesh, _ = imported_mesh(kind, values, folder)
        points, triangles = mesh.points, mesh.triangles
        points, triangles = np.ascontiguousarray(points), np.ascontiguousarray(triangles)
        distance = _mesh(points, triangles, _within(points, triangles))
        return Body(Solid(distance, False, box_of(points)), points, triangles)
    distance, shape = {"ellipsoid": _ellipsoid, "cylinder": _cylinder, "box": _box}[kind](values)
    mesh = shape.to_mesh64()
    points = np.array(mesh.vert_properties[:, :3], order="C")
    return Body(Solid(distance, True, box_of(points)), points, np.array(mesh.tri_verts, np.int64, order="C"))


def swept(body: Body, direction: np.ndarray, start: float, stop: float) -> Solid:
    """The space of a body that moves from `start` to `stop` mm along the unit vector `direction`.

    Outside, the distance is the least that the body comes to. Inside, it is how deep a point gets into a convex
    body, and at most that for any other.
    """
    solid, ends = body.solid, np.array([start, stop])[:, None, None] * direction
    box = np.array([(solid.box + ends).min(axis=(0, 1)), (solid.box + ends).max(axis=(0, 1))])
    if solid.convex:
        return Solid(_swept_convex(solid.distance, direction, start, stop), True, box)
    return Solid(_swept_any(body, direction, start, stop), False, box)


def _swept_convex(distance: Distance, direction: np.ndarray, start: float, stop: float) -> Distance:
    """The distance is convex along the way as well, so its slope tells on which side the least lies.

    Where the slope jumps over 0, the mean of both sides' gradients that has slope 0 is a gradient at the least.
    """

    def least(points: np.ndarray):
        low, high = np.full(len(points), start), np.full(len(points), stop)

        def at(travel: np.ndarray):
            gap, gradient = distance(points - travel[:, None] * direction)
            return gap, gradient, -(gradient @ direction)

        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            rising = at(middle)[2] > 0.0
            low, high = np.where(rising, low, middle), np.where(rising, middle, high)
        (gap_a, gradient_a, slope_a), (gap_b, gradient_b, slope_b) = at(low), at(high)
        jump = (slope_a < 0.0) & (slope_b > 0.0)
        share = np.where(jump, slope_b / np.where(jump, slope_b - slope_a, 1.0), gap_a <= gap_b)[:, None]
        return np.minimum(gap_a, gap_b), share * gradient_a + (1.0 - share) * gradient_b

    return least


def _swept_any(body: Body, direction: np.ndarray, start: float, stop: float) -> Distance:
    """Of a closed mesh the faces that look back stay at the start and the others go to the end; the edges between
    the two kinds make walls along the way.

    All of these lie in the swept space and all its boundary is among them, though some may lie within. A point
    before the end is inside if a face that looks back is behind it.
    """
    points, triangles = body.points, body.triangles
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    ahead = normals @ direction > 0.0
    back, count = np.ascontiguousarray(triangles[~ahead]), len(points)
    sides = back[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    i, j = sides[~np.isin(sides @ [1, count], sides @ [count, 1])].T  # the face across looks ahead
    walls = np.vstack([np.column_stack([j, i, i + count]), np.column_stack([j, i + count, j + count])])
    at_start = points + start * direction
    entered = igl.AABB()
    entered.init(at_start, back)

    def inside(places: np.ndarray) -> np.ndarray:
        rays = np.tile(-direction, (len(places), 1))
        return np.asarray(entered.intersect_ray_first(at_start, back, places, rays)[0]).reshape(-1) >= 0

    faces = np.vstack([back, triangles[ahead] + count, walls])
    return _mesh(np.vstack([at_start, points + stop * direction]), faces, inside)


def _mesh(points: np.ndarray, triangles: np.ndarray, inside: Callable[[np.ndarray], np.ndarray]) -> Distance:
    """Distance to triangles; `inside` tells of places (N, 3) which count as negative (N,)."""
    tree = igl.AABB()
    tree.init(points, triangles)

    def distance(places: np.ndarray):
        if not len(places):
            return np.zeros(0), np.zeros((0, 3))
        places = np.ascontiguousarray(places)
        square, _, foot = tree.squared_distance(points, triangles, places)
        sign = np.where(inside(places), -1.0, 1.0)
        size = np.sqrt(square)
        return sign * size, sign[:, None] * (places - foot) / np.maximum(size, 1e-12)[:, None]

    return distance


def _within(points: np.ndarray, triangles: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """Whether places are inside a closed mesh, by its winding number around them."""
    winding = igl.FastWindingNumberBVH()
    winding.init(points, triangles)
    return lambda places: winding.winding_number(places) > 0.5


def _box(v: Mapping[str, Any]):
    centre, size = np.array(v["centre"], float), np.array(v["size"], float)

    def distance(points: np.ndarray):
        local = points - centre
        gap, steepest = _beyond(np.abs(local) - size / 2.0)
        return gap, steepest * np.sign(local)

    return distance, manifold3d.Manifold.cube(size, True).translate(centre)


def _cylinder(v: Mapping[str, Any]):
    start, end = np.array(v["from"], float), np.array(v["to"], float)
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length

    def distance(points: np.ndarray):
        local = points - (start + end) / 2.0
        along = local @ axis
        away = local - along[:, None] * axis
        radial = np.linalg.norm(away, axis=1)
        gap, steepest = _beyond(np.stack([radial - v["radius"], np.abs(along) - length / 2.0], axis=1))
        out = away / np.maximum(radial, 1e-12)[:, None]
        return gap, steepest[:, :1] * out + (steepest[:, 1] * np.sign(along))[:, None] * axis

    first = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    first /= np.linalg.norm(first)
    placed = np.column_stack([first, np.cross(axis, first), axis, start])
    return distance, manifold3d.Manifold.cylinder(length, v["radius"], v["radius"], _SIDES).transform(placed)


def _beyond(over: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance (N,) and its gradient (N, k), from how far a point is beyond each pair of sides (N, k)."""
    outside = np.maximum(over, 0.0)
    size = np.linalg.norm(outside, axis=1)
    inside = size == 0.0
    nearest_side = np.eye(over.shape[1])[over.argmax(axis=1)]
    steepest = np.where(inside[:, None], nearest_side, outside / np.where(inside, 1.0, size)[:, None])
    return np.where(inside, over.max(axis=1), size), steepest


def _ellipsoid(v: Mapping[str, Any]):
    """The foot x of p solves x_i = r_i^2 p_i / (t + r_i^2), with the sum of (x_i / r_i)^2 equal to 1.

    That sum falls and is convex in t, so Newton's steps from below climb to the root. Eberly, "Distance
    from a point to an ellipse, an ellipsoid, or a hyperellipsoid", Geometric Tools (from memory).
    """
    centre, radii = np.array(v["centre"], float), np.array(v["radii"], float)

    def distance(points: np.ndarray):
        local = points - centre
        p = np.maximum(np.abs(local), 1e-9 * radii)
        t = (radii * p - radii**2).max(axis=1, initial=-np.inf)
        for _ in range(60):
            below = t[:, None] + radii**2
            share = (radii * p / below) ** 2
            step = (share.sum(axis=1) - 1.0) / (2.0 * (share / below).sum(axis=1))
            t = t + step
            if np.abs(step).max(initial=0.0) <= 1e-9 * radii.max() ** 2:
                break
        foot = radii**2 * p / (t[:, None] + radii**2)
        normal = foot / radii**2
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return ((p - foot) * normal).sum(axis=1), normal * np.where(local < 0.0, -1.0, 1.0)

    return distance, manifold3d.Manifold.sphere(1.0, _SIDES).scale(radii).translate(centre)
