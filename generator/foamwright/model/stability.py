"""What the prop weighs, where its centre of mass is, and how far it can be tilted. mm, kg, degrees."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.model.figure import Figure
from foamwright.model.placed import Placed

GROUND = 0.2  # mm: what comes as near as this to the ground stands on it


@dataclass(frozen=True)
class Stability:
    """How the prop stands, with the figure in it if `figure_mass` (kg) is more than 0.

    `support` is the convex hull of everything that touches the ground; `tipping_angle` how far the ground may
    be tilted about its nearest edge, towards `towards`, before the centre of mass is beyond that edge. Negative:
    it is beyond it on level ground, and the prop falls over.
    """

    mass: float
    centre: tuple[float, float, float]
    figure_mass: float
    stands: bool
    tipping_angle: float
    towards: tuple[float, float, float]  # unit vector along the ground
    support: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Balance:
    """The foam of the prop alone, without glue and paint; `stability` is None where it need not stand."""

    mass: float
    centre: tuple[float, float, float]
    stability: Stability | None


def balance(copies: Sequence[Placed], stands: Mapping[str, Any] | None, figure: Figure | None) -> Balance | None:
    """Mass, centre of mass and, where the design says how the prop `stands`, its stability.

    None where no part has a place. Raises BuildError if such a prop should stand.
    """
    if not copies:
        if stands is not None:
            raise BuildError("the prop has no part in its place that could stand")
        return None
    mass, centre = _foam(copies)
    stability = None
    if stands is not None:
        extra, middle = 0.0, centre
        if figure and stands.get("figure_mass"):
            extra = stands["figure_mass"]
            middle = (mass * centre + extra * centroid(*figure.mesh)[1]) / (mass + extra)
        total = mass + extra
        down = direction(stands["down"])
        points = np.vstack([copy.mesh.points for copy in copies])
        stability = _stability(points, down, total, middle, extra)
    return Balance(mass, _tuple(centre), stability)


def centroid(points: np.ndarray, triangles: np.ndarray) -> tuple[float, np.ndarray]:
    """Volume and centre of a closed mesh, by the divergence theorem: the sum over its tetrahedra to one point."""
    origin = points.mean(axis=0)
    corners = points[triangles] - origin
    sixfold = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    volume = float(sixfold.sum()) / 6.0
    return volume, origin + sixfold @ corners.sum(axis=1) / (24.0 * volume)


def _foam(copies: Sequence[Placed]) -> tuple[float, np.ndarray]:
    """Mass in kg and centre of mass of all copies."""
    masses = np.array([copy.mass for copy in copies])
    centres = np.array([centroid(copy.mesh.points, copy.mesh.triangles)[1] for copy in copies])
    return float(masses.sum()), masses @ centres / masses.sum()


def _stability(points: np.ndarray, down: np.ndarray, mass: float, centre: np.ndarray, extra: float) -> Stability:
    first = np.cross(down, np.eye(3)[np.abs(down).argmin()])
    first /= np.linalg.norm(first)
    plane = np.column_stack([first, np.cross(down, first)])  # (3, 2) directions along the ground
    depth = points @ down
    feet = points[depth >= depth.max() - GROUND]
    height = float(depth.max() - centre @ down)
    corners = _hull(feet @ plane)
    beyond, outward = _nearest_edge(corners, centre @ plane)
    angle = math.degrees(math.atan2(-beyond, height)) + 0.0
    ground = depth.max() * down
    support = tuple(_tuple(corner) for corner in corners @ plane.T + ground)
    return Stability(mass, _tuple(centre), extra, angle > 0.0, angle, _tuple(plane @ outward), support)


def _hull(flat: np.ndarray) -> np.ndarray:
    """Corners (n, 2) in order around; two or one where everything lies in a line or a point."""
    try:
        return flat[ConvexHull(flat).vertices]
    except (QhullError, ValueError):
        along = np.linalg.svd(flat - flat.mean(axis=0))[2][0]
        share = flat @ along
        return np.unique(flat[[share.argmin(), share.argmax()]], axis=0)


def _nearest_edge(corners: np.ndarray, place: np.ndarray) -> tuple[float, np.ndarray]:
    """How far `place` is beyond the edge that it is most beyond (negative: inside), and that edge's normal."""
    if len(corners) < 3:
        return _beyond_line(corners, place)
    side = np.roll(corners, -1, axis=0) - corners
    turn = np.sign(np.sum(corners[:, 0] * np.roll(corners[:, 1], -1) - corners[:, 1] * np.roll(corners[:, 0], -1)))
    outward = turn * np.column_stack([side[:, 1], -side[:, 0]])
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    beyond = ((place - corners) * outward).sum(axis=1)
    worst = int(beyond.argmax())
    return float(beyond[worst]), outward[worst]


def _beyond_line(corners: np.ndarray, place: np.ndarray) -> tuple[float, np.ndarray]:
    """On a line or a point nothing can be inside: the way from the nearest place of it."""
    side = corners[-1] - corners[0]
    share = np.clip((place - corners[0]) @ side / max(side @ side, 1e-12), 0.0, 1.0)
    away = place - corners[0] - share * side
    size = float(np.linalg.norm(away))
    across = np.array([side[1], -side[0]]) if side.any() else np.array([1.0, 0.0])
    return size, away / size if size > 1e-9 else across / np.linalg.norm(across)


def _tuple(vector: Sequence[float] | np.ndarray) -> tuple[float, float, float]:
    x, y, z = map(float, vector)
    return x, y, z
