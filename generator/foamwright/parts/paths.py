"""The `path` outline: straight legs, arcs and smooth curves from point to point, corners rounded. In mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from foamwright.errors import BuildError
from foamwright.parts.curves import arc, arc_through, flattened


def path_ring(path: Mapping[str, Any]) -> np.ndarray:
    """The closed ring (N, 2) of a `path` of the design, first point not repeated.

    A last step that does not come back to the start is closed by a straight leg. Raises BuildError for a
    corner that cannot be rounded and for an arc without curvature.
    """
    start = np.asarray(path["from"], float)
    legs, corners, at = [], [], start
    for step in path["steps"]:
        leg, corner = _leg(at, step)
        legs.append(leg)
        corners.append(corner)
        at = leg[-1]
    if np.hypot(*(at - start)) > 1e-9:
        legs.append(np.array([at, start]))
        corners.append(0.0)
    corners[-1] = corners[-1] or path["corner"]
    legs = _rounded(legs, corners)
    return _ring(legs)


def rounded_ring(points: np.ndarray, radius: float) -> np.ndarray:
    """The closed ring (M, 2) of a polygon (N, 2), first point not repeated, with every corner rounded to a radius.

    Two arcs may meet without a straight leg between. Raises BuildError for a side that is too short.
    """
    legs = [np.array([a, b]) for a, b in zip(points, np.roll(points, -1, axis=0))]
    return _ring(_rounded(legs, [radius] * len(legs)))


def _ring(legs: Sequence[np.ndarray]) -> np.ndarray:
    """The closed ring of legs that each begin where the one before ends, less legs of no length."""
    ring = np.concatenate([leg[:-1] for leg in legs])
    step = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    return ring[step > 1e-9]


def _leg(at: np.ndarray, step) -> tuple[np.ndarray, float]:
    """The points of one step, both ends included, and the radius of the corner at its end."""
    if not isinstance(step, Mapping):
        return np.array([at, step], float), 0.0
    to = np.asarray(step["to"], float)
    if "through" in step:
        return arc_through(at, np.asarray(step["through"], float), to), step["corner"]
    if "along" in step:
        return _smooth(np.vstack([at, *step["along"], to])), step["corner"]
    return np.array([at, to]), step["corner"]


def _smooth(points: np.ndarray) -> np.ndarray:
    """The open cubic spline by chord length through (N, 2) points, its ends without curvature."""
    knots = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    curve = CubicSpline(knots / knots[-1], points, bc_type="natural")
    pieces = [flattened(partial(_along, curve, a, b)) for a, b in pairwise(curve.x)]
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _along(curve: CubicSpline, a: float, b: float, t: np.ndarray) -> np.ndarray:
    return curve(a + t * (b - a))


def _rounded(legs: Sequence[np.ndarray], corners: Sequence[float]) -> list[np.ndarray]:
    """`legs` with an arc let in after each of them whose corner has a radius; both its neighbours are straight."""
    cut = [[0.0, 0.0] for _ in legs]  # how much each leg loses at its start and its end
    arcs: dict[int, np.ndarray] = {}
    for i, radius in enumerate(corners):
        if radius <= 0:
            continue
        after = (i + 1) % len(legs)
        here, there = legs[i], legs[after]
        if len(here) > 2 or len(there) > 2:
            raise BuildError(f"a corner of radius {radius:g} mm beside a curve; only straight legs are rounded")
        corner, fillet = _fillet(here[0], here[1], there[1], radius)
        if fillet is not None:
            cut[i][1] = cut[after][0] = corner
            arcs[i] = fillet
    result = []
    for i, (leg, (start, end)) in enumerate(zip(legs, cut)):
        if start or end:
            length = float(np.hypot(*(leg[1] - leg[0])))
            if start + end > length + 1e-9:
                raise BuildError(f"a leg of {length:.2f} mm between corners that take {start + end:.2f} mm of it")
            direction = (leg[1] - leg[0]) / length
            leg = np.array([leg[0] + start * direction, leg[1] - min(end, length - start) * direction])
        result.append(leg)
        if i in arcs:
            result.append(arcs[i])
    return result


def _fillet(a: np.ndarray, b: np.ndarray, c: np.ndarray, radius: float) -> tuple[float, np.ndarray | None]:
    """The arc that touches both legs of the corner at b, and how far from b it does so; None for no corner."""
    back, on = (b - a) / np.hypot(*(b - a)), (c - b) / np.hypot(*(c - b))
    turn = math.atan2(back[0] * on[1] - back[1] * on[0], float(back @ on))
    if abs(turn) < 1e-9:
        return 0.0, None
    if abs(turn) > math.pi - 1e-6:
        raise BuildError(f"a corner of radius {radius:g} mm where the path turns straight back")
    reach = radius * math.tan(abs(turn) / 2)
    first, last = b - reach * back, b + reach * on
    side = math.copysign(1.0, turn) * np.array([-back[1], back[0]])
    centre = first + radius * side
    angle = math.atan2(*(first - centre)[::-1])
    return reach, arc(centre, radius, angle, turn, first, last)
