"""Repeats that need no curve: in a line, at places of their own, around a point or an axis, and in a grid. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from foamwright.forms.axes import direction


def repeated(shape: shapely.Geometry, repeat: Mapping[str, Any]) -> shapely.Geometry:
    """All copies of a plane shape together, as a `repeat` of an outline says."""
    if "around" in repeat:
        around = repeat["around"]
        return shapely.union_all([affinity.rotate(shape, a, origin=around["centre"]) for a in _angles(around)])
    return shapely.union_all([affinity.translate(shape, *move) for move in _moves(repeat)])


def matrices(repeat: Mapping[str, Any]) -> list[np.ndarray]:
    """The (4, 4) matrix of each copy, as a `repeat` of a part says; the first leaves the part where it is."""
    if "around" in repeat:
        around = repeat["around"]
        axis, centre = direction(around["axis"]), np.asarray(around["centre"], float)
        return [_turn(axis, centre, math.radians(a)) for a in _angles(around)]
    return [_shift(move) for move in _moves(repeat)]


def _angles(around: Mapping[str, Any]) -> list[float]:
    """Angle of each copy; a full turn is shared by as many gaps as copies, less than that by one gap fewer."""
    count, total = around["count"], around["angle"]
    gaps = count if abs(abs(total) - 360.0) < 1e-9 else count - 1
    return [total * i / max(gaps, 1) for i in range(count)]


def _moves(repeat: Mapping[str, Any]) -> list[np.ndarray]:
    """How far each copy is moved: along one step, as told for each, or along the rows and columns of a grid."""
    if "grid" in repeat:
        (across, up), (step, row) = repeat["grid"]["counts"], np.asarray(repeat["grid"]["steps"], float)
        return [i * step + j * row for j in range(up) for i in range(across)]
    if "moves" in repeat:
        moves = np.asarray(repeat["moves"], float)
        return [np.zeros(moves.shape[1]), *moves]
    step = np.asarray(repeat["step"], float)
    return [i * step for i in range(repeat["count"])]


def _shift(step: np.ndarray) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, 3] = step
    return matrix


def _turn(axis: np.ndarray, centre: np.ndarray, angle: float) -> np.ndarray:
    """Turn about an axis through `centre` (Rodrigues' formula)."""
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    turned = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    matrix = np.eye(4)
    matrix[:3, :3] = turned
    matrix[:3, 3] = centre - turned @ centre
    return matrix
