"""Frames of flat parts and the places of copies."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.surface import Surface
from foamwright.parts.records import Frame, Placement

_MET = 0.01  # mm
_ALIKE = 1e-6  # mm between two places of a copy that are one
_ABOUT = 100.0 * np.vstack(
    [np.zeros(3), np.eye(3)]
)  # mm from an origin: points by which two places of a copy are compared
_STEEPEST = (
    0.2  # sine of half the angle of a ridge, that what lies at a distance from both of its faces is from its crease
)


def frame_at(at: Mapping[str, Any], surface_of: Callable[[str], Surface]) -> Frame:
    """The frame of an `at` of the design: z along `normal`, y along `up` made square to it, x = up x normal.

    With `onto` the origin is moved along the normal to the outermost point where it meets that form, and with
    `turned` the normal is then that of the form.
    """
    normal = direction(at["normal"])
    origin = np.asarray(at["origin"], float)
    if at.get("onto"):
        surface = surface_of(at["onto"]["form"])
        origin = _onto(surface, origin, normal, at["onto"]["offset"])
        if at["onto"]["turned"]:
            normal = surface.normal(NearestPoint(surface).coords(origin[None]))[0]
    up = direction(at["up"]) if at.get("up") is not None else default_up(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    return Frame(origin, np.column_stack([np.cross(up, normal), up, normal]))


def each_onto(
    at: Mapping[str, Any], copies: Sequence[np.ndarray], surface_of: Callable[[str], Surface]
) -> tuple[np.ndarray, ...]:
    """The (4, 4) matrices of copies whose first stands at an `at` with `onto`, each put onto the form as that is, from where
    `copies` moves its origin and turns its normal; with `turned` each leans the shortest way until it lies flat there. Where the
    form is alike they stand as `copies` has them.

    Raises BuildError, with the number of the copy, where there is no form to be put onto.
    """
    first = frame_at(at, surface_of)
    origin, normal = np.asarray(at["origin"], float), direction(at["normal"])
    put = []
    for number, copy in enumerate(copies, 1):
        turn, told = copy[:3, :3], {**at, "origin": move(origin[None], copy)[0]}
        try:
            there = frame_at({**told, "normal": turn @ normal, "up": None}, surface_of)
        except BuildError as error:
            raise BuildError(f"its copy {number}: {error}") from None
        matrix = np.eye(4)
        matrix[:3, :3] = _shortest(turn @ first.axes[:, 2], there.axes[:, 2]) @ turn
        matrix[:3, 3] = there.origin - matrix[:3, :3] @ first.origin
        put.append(copy if np.abs(move(first.origin + _ABOUT, matrix - copy)).max() < _ALIKE else matrix)
    return tuple(put)


def _shortest(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(3, 3) the least turn that takes a unit vector to another that does not look the other way (Rodrigues' formula)."""
    x, y, z = np.cross(one, other)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + cross + cross @ cross / max(1.0 + float(one @ other), 1e-9))


def _onto(surface: Surface, origin: np.ndarray, direction: np.ndarray, offset: float) -> np.ndarray:
    """The outermost point of origin + s way that is `offset` outside the surface."""
    nearest = NearestPoint(surface)
    low, high = nearest.samples.min(axis=0), nearest.samples.max(axis=0)
    reach = float(np.linalg.norm(high - low)) + abs(offset)  # all of the form, wherever the origin is told
    s = ((low + high) / 2 - origin) @ direction + np.linspace(reach, -reach, 2001)
    inside = nearest.signed_distance(origin + s[:, None] * direction) < offset
    for i in np.flatnonzero(inside[1:] & ~inside[:-1]):
        far, near = s[i], s[i + 1]
        for _ in range(60):
            middle = (far + near) / 2
            if nearest.signed_distance((origin + middle * direction)[None])[0] < offset:
                near = middle
            else:
                far = middle
        found = origin + near * direction
        away = float(np.linalg.norm(found - surface.point(nearest.coords(found[None]))[0]))
        if away < abs(offset) / _STEEPEST + _MET:  # else beyond an open end, level with the surface carried on
            return np.asarray(found)
    reach_of = ", ".join(f"{axis} {a:.0f} to {b:.0f}" for axis, a, b in zip("xyz", low, high))
    way = ", ".join(f"{c:.3g}" for c in direction)
    raise BuildError(
        f"the line along its normal ({way}) through its origin ({', '.join(f'{c:.0f}' for c in origin)}) does not meet the "
        f"form that it is placed onto ({reach_of}); move its origin or turn its normal"
    )


def default_up(normal: np.ndarray) -> np.ndarray:
    """z, or x where the normal is along z."""
    return np.array([1.0, 0.0, 0.0]) if abs(normal[2]) > 0.99 else np.array([0.0, 0.0, 1.0])


def placements(copies: Sequence[np.ndarray], mirror: str | None) -> tuple[Placement, ...]:
    """Places of all copies by their (4, 4) matrices, then each of them mirrored if `mirror` names an axis."""
    places = [Placement(matrix, False) for matrix in copies]
    if mirror:
        reflection = np.eye(4)
        axis = "xyz".index(mirror)
        reflection[axis, axis] = -1.0
        places += [Placement(reflection @ p.matrix, True) for p in places]
    return tuple(places)


def move(points: np.ndarray, matrix: np.ndarray) -> np.ndarray:
    """(N, 3) through a (4, 4) matrix."""
    return points @ matrix[:3, :3].T + matrix[:3, 3]
