"""The room that a figure has inside or beside the prop. Lengths in mm.

A figure is made of convex solids whose signed distance is known, so the distance is a convex function of
place: over a triangle it is nowhere less than its tangent plane at the middle. The nearest place on the
triangles of a part is found by quartering only those that could still hold it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from generator.errors import BuildError
from generator.solids.assembly import Assembly
from generator.solids.meshes import closed_mesh

RESOLUTION = 0.05  # mm, of the least distance over the triangles

# Points (N, 3) to the signed distance (N,), negative inside, and its gradient (N, 3).
Distance = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True)
class Contact:
    """A copy that reaches into the figure: how deep, and where it does so most."""

    part: str
    copy: int
    depth: float
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Fit:
    """`clearance` is the least gap between figure and prop, 0 if they meet; the rest says where."""

    figure: str
    clearance: float
    part: str
    copy: int
    at: tuple[float, float, float]
    contacts: tuple[Contact, ...]


def clearance(assembly: Assembly, figure: Mapping[str, Any], tolerance: float = 0.3) -> Fit:
    """How near the figure comes to the prop; `figure` is `Design.figure`.

    Reaching in by less than `tolerance` is a touch and no contact.
    """
    if not assembly.copies:
        raise BuildError(f"the figure {figure['name']} cannot be tried on: the prop has no parts")
    solids = figure_solids(figure)
    meshes: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    least, nearest = np.inf, []
    for copy in assembly.copies:
        if id(copy.hand) not in meshes:
            meshes[id(copy.hand)] = closed_mesh(copy.hand.wrapped)
        points, triangles = meshes[id(copy.hand)]
        points = points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3]
        # Only two things matter: is it the nearest so far, and does it reach in?
        wanted = max(least, -tolerance)
        found = [least_distance(points, triangles, solid, wanted) for solid in solids]
        nearest.append(min(found))
        least = min(least, nearest[-1][0])
    contacts = tuple(
        Contact(copy.piece.id, copy.number, -gap, at)
        for copy, (gap, at) in zip(assembly.copies, nearest)
        if gap < -tolerance
    )
    first = min(range(len(nearest)), key=lambda i: nearest[i][0])
    copy, (gap, at) = assembly.copies[first], nearest[first]
    return Fit(figure["name"], max(gap, 0.0), copy.piece.id, copy.number, at, contacts)


def least_distance(points: np.ndarray, triangles: np.ndarray, distance: Distance, wanted: float = np.inf):
    """(least distance, where) over a mesh: points (n, 3), triangles (m, 3).

    What does not come below `wanted` is not looked into further, and may be given too large.
    """
    corners = points[triangles]
    gap = distance(points)[0]
    best, at = float(gap.min()), points[gap.argmin()]
    while len(corners):
        middle = corners.mean(axis=1)
        gap, gradient = distance(middle)
        if gap.min() < best:
            best, at = float(gap.min()), middle[gap.argmin()]
        rise = np.einsum("nk,nik->ni", gradient, corners - middle[:, None]).min(axis=1)
        corners = corners[gap + rise < min(best, wanted) - RESOLUTION]
        a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
        ab, bc, ca = (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0
        quarters = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        corners = np.vstack([np.stack(q, axis=1) for q in quarters])
    return best, tuple(float(x) for x in at)


def figure_solids(figure: Mapping[str, Any]) -> list[Distance]:
    """The signed distance to each solid of the figure."""
    kinds = {"ellipsoid": _ellipsoid, "cylinder": _cylinder, "box": _box}
    return [kinds[kind](values) for solid in figure["solids"] for kind, values in solid.items()]


def _box(v: Mapping[str, Any]) -> Distance:
    centre, half = np.array(v["centre"], float), np.array(v["size"], float) / 2.0

    def distance(points: np.ndarray):
        local = points - centre
        gap, steepest = _beyond(np.abs(local) - half)
        return gap, steepest * np.sign(local)

    return distance


def _cylinder(v: Mapping[str, Any]) -> Distance:
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

    return distance


def _beyond(over: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance (N,) and its gradient (N, k), from how far a point is beyond each pair of sides (N, k)."""
    outside = np.maximum(over, 0.0)
    size = np.linalg.norm(outside, axis=1)
    inside = size == 0.0
    nearest_side = np.eye(over.shape[1])[over.argmax(axis=1)]
    steepest = np.where(inside[:, None], nearest_side, outside / np.where(inside, 1.0, size)[:, None])
    return np.where(inside, over.max(axis=1), size), steepest


def _ellipsoid(v: Mapping[str, Any]) -> Distance:
    """The foot x of p solves x_i = r_i^2 p_i / (t + r_i^2), with the sum of (x_i / r_i)^2 equal to 1.

    That sum falls and is convex in t, so Newton's steps from below climb to the root. Eberly, "Distance
    from a point to an ellipse, an ellipsoid, or a hyperellipsoid", Geometric Tools (from memory).
    """
    centre, radii = np.array(v["centre"], float), np.array(v["radii"], float)

    def distance(points: np.ndarray):
        local = points - centre
        p = np.maximum(np.abs(local), 1e-9 * radii)
        t = (radii * p - radii**2).max(axis=1)
        for _ in range(60):
            below = t[:, None] + radii**2
            share = (radii * p / below) ** 2
            step = (share.sum(axis=1) - 1.0) / (2.0 * (share / below).sum(axis=1))
            t = t + step
            if np.abs(step).max() <= 1e-9 * radii.max() ** 2:
                break
        foot = radii**2 * p / (t[:, None] + radii**2)
        normal = foot / radii**2
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return ((p - foot) * normal).sum(axis=1), normal * np.where(local < 0.0, -1.0, 1.0)

    return distance
