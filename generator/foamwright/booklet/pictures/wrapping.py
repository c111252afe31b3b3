"""A closed band as it is put on: laid on for a part of its length, the rest still standing off, so that a picture shows that it
is wrapped, which way, and what it goes on. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render
from foamwright.parts.records import BandBody

_OFF = 0.35  # of the band's length that is not yet laid on
_STRAIGHTER = 0.3  # of its bend that foam keeps where it is not held
_LIFT = 0.5  # of the length that stands off: how far its end is lifted out of a hole
_LIFTED = 0.3  # of the most that a band stands off: less, and no arrow shows it
_BEFORE = 0.15  # of the way from the middle of a band to its place nearest to the eye
_FINE = 400  # places along the band


@dataclass(frozen=True, eq=False)
class Wrapped:
    """Points (n, 3) of a band's copy half laid on, the way (3,) from its middle to the stretch that is loose, the numbers of its
    triangles at the joint of both ends, which is open, the arrow that its loose end goes as it is seen, and whether places
    (m, 3) of it are laid on already."""

    points: np.ndarray
    side: np.ndarray
    joint: np.ndarray
    _loose: np.ndarray  # (k, 3) along the loose stretch, and
    _home: np.ndarray  # (k, 3) where it will lie
    _middle: np.ndarray
    _lines_hole: bool
    _tree: cKDTree
    _is_laid: np.ndarray

    def arrow(self, eye: np.ndarray) -> np.ndarray:
        """From a place on the loose end (2, 3) to where it is laid: the last one that is not behind what the band goes round, for
        an eye that looks along `eye` (3,)."""
        last = len(self._loose) - 2
        if not self._lines_hole:
            across = (self._home - self._middle) @ eye
            lifted = np.linalg.norm(self._loose - self._home, axis=1)
            off = np.flatnonzero(lifted[: last + 1] >= _LIFTED * lifted.max())
            before = off[across[off] < _BEFORE * min(float(across.min()), 0.0)]
            last = int(before[-1] if len(before) else off[across[off].argmin()])
        return np.vstack([self._loose[last], self._home[-1 if self._lines_hole else last]])

    def laid(self, places: np.ndarray) -> np.ndarray:
        return self._is_laid[self._tree.query(places)[1]]


def opened(bodies: Bodies, bands: Iterable[Wrapped]) -> Bodies:
    """The bodies with bands that are open at their joint: the triangles there have no area."""
    triangles = np.array(bodies.triangles)
    for band in bands:
        triangles[band.joint] = triangles[band.joint][:, :1]
    return replace(bodies, triangles=triangles)


def half_wrapped(bodies: Bodies, copy: int, eye: np.ndarray, inside: np.ndarray | None) -> Wrapped:
    """The band of a copy, half laid on: its loose end is the one that has been trimmed to fit or, where both have or none, that
    at the side that looks towards the eye, which looks along `eye` (3,). `inside` (3,) is the way out of the hole that it lines,
    None for a band around something."""
    piece, matrix = bodies.pieces[copy], bodies.matrices[copy]
    body = piece.body
    assert isinstance(body, BandBody)
    across = matrix[:3, :3] @ body.across
    curve = body.curve @ matrix[:3, :3].T + matrix[:3, 3]
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))]
    fine = np.linspace(0.0, along[-1], _FINE + 1)
    curve = np.column_stack([np.interp(fine, along, curve[:, k]) for k in range(3)])
    facing = (curve - curve.mean(axis=0)) @ eye
    count = int(_OFF * _FINE)
    first_is_loose = facing[:count].mean() < facing[-count:].mean()  # the nearer one
    if bool(body.trim_start) != bool(body.trim_end):
        first_is_loose = bool(body.trim_start)  # what is trimmed goes on last, wherever that is seen
    if first_is_loose:
        curve = curve[::-1]
    cut = _FINE - count
    steps = np.diff(curve, axis=0)
    flat = steps - np.outer(steps @ across, across)
    turn = np.zeros(_FINE)
    turn[1:] = np.arctan2(np.cross(flat[:-1], flat[1:]) @ across, (flat[:-1] * flat[1:]).sum(axis=1))
    back = -np.cumsum(np.where(np.arange(_FINE) > cut, turn, 0.0)) * ((1.0 - _STRAIGHTER) if inside is None else 0.0)
    turns = np.array([_about(across, angle) for angle in back])
    loose = np.vstack([curve[:1], curve[0] + np.cumsum(np.einsum("nij,nj->ni", turns, steps), axis=0)])
    if inside is not None:
        share = np.clip((np.arange(_FINE + 1) - cut) / count, 0.0, 1.0)
        length = count * float(np.linalg.norm(steps, axis=1).mean())
        loose = loose + np.outer(_LIFT * length * share**2, inside)
    own = bodies.points[slice(*render.points_of(bodies)[copy])]
    level = np.eye(3) - np.outer(across, across)
    tree = cKDTree(curve[:-1] @ level)
    at = tree.query(own @ level)[1]
    points = loose[at] + np.einsum("nij,nj->ni", turns[at], own - curve[at])
    first, last = bodies.spans[copy].tolist()
    corners = at[bodies.triangles[first:last] - render.points_of(bodies)[copy][0]]
    joint = first + np.flatnonzero(np.ptp(corners, axis=1) > _FINE // 2)
    middle = curve.mean(axis=0)
    side = curve[cut:].mean(axis=0) - middle
    is_laid = np.arange(_FINE) < cut
    return Wrapped(
        points, side, joint, loose[cut:], curve[cut:], middle, inside is not None, cKDTree(curve[:-1]), is_laid
    )


def _about(axis: np.ndarray, angle: float) -> np.ndarray:
    """The turn (3, 3) by `angle` (radians) about a unit axis, after O. Rodrigues (1840)."""
    x, y, z = axis
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + np.sin(angle) * skew + (1.0 - np.cos(angle)) * (skew @ skew)
