"""Lengths in a smooth surface from two points and the normals there."""

from __future__ import annotations

import numpy as np

_NO_TURN = 1e-9  # the sine of one


def arc_lengths(p: np.ndarray, q: np.ndarray, n_p: np.ndarray, n_q: np.ndarray) -> np.ndarray:
    """Length of the shortest line in the surface from `p` to `q`, points and unit normals of shape (..., 3).

    A line that turns by the angle f about an axis at radius r while it may also advance along that axis (an
    arc or a helix) has length^2 = chord^2 + r^2 (f^2 - 4 sin^2(f/2)), and its end normals differ by a vector
    of length 2 sin(f/2) whose product with the chord is 4 r sin^2(f/2). So the result is exact on spheres and
    cylinders; elsewhere its relative error is of the fourth order in the chord. Never less than the chord.
    """
    chord = q - p
    turn = n_q - n_p
    square = np.sum(chord**2, axis=-1)
    bend = np.sum(turn * chord, axis=-1)
    return np.sqrt(square + bend**2 / 12.0 * _arc_factor(np.sum(turn**2, axis=-1)))


def _arc_factor(x: np.ndarray) -> np.ndarray:
    """12 (f^2 - x) / x^2 for x = 4 sin^2(f/2) in 0 to 4; 1 at x = 0."""
    small = x < 0.02
    safe = np.where(small, 1.0, np.minimum(x, 4.0))
    angle = 2.0 * np.arcsin(np.minimum(np.sqrt(safe) / 2.0, 1.0))
    # the series of f^2 = 4 arcsin^2(sqrt(x)/2) = x + x^2/12 + x^3/90 + x^4/560 + x^5/3150 + x^6/16632 + ...
    series = 1.0 + x * (12 / 90 + x * (12 / 560 + x * (12 / 3150 + x * 12 / 16632)))
    return np.where(small, series, 12.0 * (angle**2 - safe) / safe**2)


def unfolded_lengths(
    points: np.ndarray, normals: np.ndarray, creases: np.ndarray, leaning: np.ndarray, distance: float
) -> np.ndarray:
    """(...) from the first to the last of `points` (..., K, 3) close together along a line on a surface, straight across
    what lies at `distance` from the surface when that is laid flat along the line.

    `normals` (..., K, 3) are the surface's unit normals; `creases` (..., K - 1) is True where it has a crease between two
    points and is flat beside it. What lies at the distance follows the unit normals `leaning` (..., K, 3), which turn evenly
    beside a crease: it is longer by the angle that they turn times the distance. That is bend allowance, as sheet-metal
    handbooks have it for a bend of no inside radius.
    Each step is laid into the plane of the one before, which is exact on surfaces that can be laid flat.
    """
    before = normals[..., :-1, :]
    axis, angle = _turns(before, normals[..., 1:, :])
    chord = np.diff(points, axis=-2)
    along = (chord * axis).sum(axis=-1, keepdims=True)
    middle = before + normals[..., 1:, :]
    across = (chord * np.cross(axis, middle / np.linalg.norm(middle, axis=-1, keepdims=True))).sum(-1, keepdims=True)
    half = np.where(angle > 0, angle / 2, 1.0)
    longer = np.where(creases[..., None], 1 / np.cos(half), half / np.sin(half))
    straight = chord - (chord * before).sum(axis=-1, keepdims=True) * before
    steps = np.where(angle > 0, along * axis + longer * across * np.cross(axis, before), straight)
    bend, bent = _turns(leaning[..., :-1, :], leaning[..., 1:, :])
    steps += distance * bent * np.cross(bend, before)
    reached = steps[..., -1, :]
    for k in range(steps.shape[-2] - 2, -1, -1):
        a, f = axis[..., k, :], angle[..., k, :]
        # turned back about the axis by the angle, as Rodrigues has it
        lengthwise = a * (reached * a).sum(axis=-1, keepdims=True)
        turned = reached * np.cos(f) + np.cross(reached, a) * np.sin(f) + lengthwise * (1 - np.cos(f))
        reached = steps[..., k, :] + turned
    return np.asarray(np.linalg.norm(reached, axis=-1))


def _turns(before: np.ndarray, after: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The axes (..., 3) and angles (..., 1) by which unit vectors (..., 3) turn into others; 0 both where they do not."""
    axis = np.cross(before, after)
    sine = np.linalg.norm(axis, axis=-1, keepdims=True)
    turns = sine > _NO_TURN
    angle = np.where(turns, np.arctan2(sine, (before * after).sum(axis=-1, keepdims=True)), 0.0)
    return np.where(turns, axis / np.where(turns, sine, 1.0), 0.0), angle
