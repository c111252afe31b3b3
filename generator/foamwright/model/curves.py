"""Smooth curves through dense points, with few knots. Lengths in mm."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline, make_interp_spline

CORNER = np.radians(12.0)  # points that turn more than this are a corner, less are samples of one curve
LONG, LONG_LEG = 4.0, 2.0  # times the leg beside it, and mm: a leg longer than both is a straight stretch
CURVE_TOLERANCE = 0.01  # mm, of a fitted curve from the points it stands for


@dataclass(frozen=True, eq=False)
class Run:
    """One smooth stretch as a B-spline over `columns`: several points that move along together, side by side.

    `spline(t)` gives (N, columns) for t from 0 to `length`.
    """

    spline: BSpline
    length: float

    def columns(self, start: int, stop: int) -> np.ndarray:
        """Control points (n, stop - start) of some columns."""
        return self.spline.c[:, start:stop]


def turning(points: np.ndarray) -> np.ndarray:
    """Angle (N - 2,) by which a polyline (N, D) turns at each inner point, in radians."""
    legs = np.diff(points, axis=0)
    legs = legs / np.maximum(np.linalg.norm(legs, axis=1, keepdims=True), 1e-12)
    chord = np.linalg.norm(legs[1:] - legs[:-1], axis=1)
    return 2.0 * np.arcsin(np.clip(chord / 2.0, 0.0, 1.0))


def corners(points: np.ndarray) -> np.ndarray:
    """Indices of the corners of a closed polyline (N, D) whose first point is not repeated."""
    around = np.vstack([points[-2:], points, points[:2]])
    return np.flatnonzero(breaks(around)[2:-2])


def breaks(points: np.ndarray) -> np.ndarray:
    """Where (N,) a polyline (N, D) is to be cut: at its corners, and at both ends of a straight stretch.

    A leg much longer than one beside it was never one of the samples of a curve, and a curve through its two
    ends alone would swing out.
    """
    legs = np.linalg.norm(np.diff(points, axis=0), axis=1)
    beside = np.minimum(np.r_[np.inf, legs[:-1]], np.r_[legs[1:], np.inf])
    long = (legs > LONG * beside) & (legs > LONG_LEG)
    marks = np.zeros(len(points), bool)
    marks[1:-1] = turning(points) > CORNER
    marks[1:] |= long
    marks[:-1] |= long
    return marks


def distinct(*sides: np.ndarray) -> tuple[np.ndarray, ...]:
    """The same points of every array (N, D) in `sides`, less those where none of them has moved."""
    step = np.linalg.norm(np.diff(np.hstack(sides), axis=0), axis=1)
    keep = np.concatenate([[True], step > 1e-6])
    if not keep.all():  # the last point is a corner that neighbours share, so it is never the one to go
        last = np.flatnonzero(keep)[-1]
        keep[last] = last == 0
        keep[-1] = True
    return tuple(side[keep] for side in sides)


def split_at_corners(*sides: np.ndarray) -> list[tuple[np.ndarray, ...]]:
    """Cut an open polyline at the corners of any of its `sides` (N, 3); neighbours share the corner."""
    sides = distinct(*sides)
    marks = np.any([breaks(side) for side in sides], axis=0)
    marks[[0, -1]] = False
    cuts = [0, *np.flatnonzero(marks), len(marks) - 1]
    return [tuple(side[a : b + 1] for side in sides) for a, b in itertools.pairwise(cuts)]


def fit(points: np.ndarray, measured: int) -> Run:
    """The interpolating spline through the fewest of `points` (N, C) that stays within the tolerance of all.

    The first `measured` columns, in mm, decide its length, all of them how far it may be off: a line that is straight in
    space need not be so in the parameters of a face. Two points give a straight line, more a cubic.
    """
    steps = np.linalg.norm(np.diff(points[:, :measured], axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    count = 2
    while True:
        wanted = np.linspace(0.0, along[-1], count)
        chosen = np.unique(np.abs(along[None, :] - wanted[:, None]).argmin(axis=1))
        if count >= len(points):
            chosen = np.arange(len(points))
        spline = make_interp_spline(along[chosen], points[chosen], k=min(3, len(chosen) - 1))
        off = np.abs(spline(along) - points).max()
        if off <= CURVE_TOLERANCE or len(chosen) == len(points):
            return Run(spline, float(along[-1]))
        count = 1 + count * 3 // 2


def through(points: np.ndarray, measured: int) -> Run:
    """The interpolating spline of `fit` through all `points` (N, C), each of which is a knot."""
    steps = np.linalg.norm(np.diff(points[:, :measured], axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    spline = make_interp_spline(along, points, k=min(3, len(points) - 1))
    for place in np.setdiff1d(along, spline.t).tolist():
        spline = spline.insert_knot(place)
    return Run(spline, float(along[-1]))
