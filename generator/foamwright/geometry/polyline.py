"""Curves given by rows of points, (N, 2) or (N, 3), in mm."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

_CORNER = np.sin(np.radians(5.0))  # of the least turn that is a corner between two sides


def chord_length(points: np.ndarray) -> np.ndarray:
    """Running length (N,) along straight chords."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def points_at(points: np.ndarray, distances: np.ndarray) -> np.ndarray:
    """Points (K, k) at distances (K,) along straight chords from the first of `points` (N, k)."""
    s = chord_length(points)
    return np.column_stack([np.interp(distances, s, column) for column in points.T])


def divided(points: np.ndarray, step: float) -> np.ndarray:
    """Places (K, k) of a line (N, k) less than `step` apart, evenly along each chord, its own points among them."""
    counts = (np.linalg.norm(np.diff(points, axis=0), axis=1) / step).astype(int) + 1
    shares = np.concatenate(
        [k + np.arange(count) / count for k, count in enumerate(counts)] + [np.array([len(counts)])]
    )
    return np.column_stack([np.interp(shares, np.arange(len(points)), column) for column in points.T])


def arc_length(points: np.ndarray) -> np.ndarray:
    """Running length (N,) of a smooth curve through points, better than by chords.

    Each chord is lengthened by the curvature at its ends, so that the error falls with the fourth power of
    the spacing.
    """
    s = chord_length(points)
    chords = np.diff(s)
    if len(points) < 4:
        return s
    curve = CubicSpline(s, points)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    at = s[:-1, None] + (nodes + 1) / 2 * chords[:, None]
    speed = np.linalg.norm(curve(at, 1), axis=-1)
    return np.concatenate([[0.0], np.cumsum((speed * weights).sum(1) * chords / 2)])


def tangents(points: np.ndarray) -> np.ndarray:
    """(N, k) unit, along a line at each of its points: between its neighbours. A closed line repeats its first point."""
    if np.allclose(points[0], points[-1]):
        around = np.vstack([points[-2], points[:-1], points[:2]])
        along = around[2:] - around[:-2]
    else:
        along = np.gradient(points, axis=0)
    return np.asarray(along / np.linalg.norm(along, axis=1, keepdims=True))


def resampled(points: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """`values` (N, k) given at `points` (N, 3) of a smooth curve, at `count` points at equal distances along it."""
    s = arc_length(points)
    at = np.linspace(0, s[-1], count)
    if len(points) < 4:
        return np.column_stack([np.interp(at, s, column) for column in values.T])
    return CubicSpline(s, values)(at)


def signed_area(ring: np.ndarray) -> float:
    """mm2 within a closed outline (N, 2), first point not repeated; positive where it runs counter-clockwise."""
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def inset(outline: np.ndarray, distances: np.ndarray) -> np.ndarray:
    """Move each side of a counter-clockwise outline (N, 2) inwards by its own distance (N,); mitred corners.

    Side i runs from point i to point i + 1.
    """
    if not distances.any():
        return outline
    legs = np.roll(outline, -1, axis=0) - outline
    legs = legs / np.linalg.norm(legs, axis=1, keepdims=True)
    inward = np.stack([-legs[:, 1], legs[:, 0]], axis=1)
    before, here = np.roll(inward, 1, axis=0), inward
    far, near = np.roll(distances, 1), distances
    det = before[:, 0] * here[:, 1] - before[:, 1] * here[:, 0]
    # below that the sides are one curve: where their distances differ a little, the mitre of two nearly straight sides
    # runs off along them, past its neighbours
    turned = np.abs(det) > _CORNER
    safe = np.where(turned, det, 1.0)
    mitre = np.stack([far * here[:, 1] - near * before[:, 1], near * before[:, 0] - far * here[:, 0]], axis=1)
    mean = (before + here) * ((far + near) / 2.0 / (1.0 + (before * here).sum(axis=1)))[:, None]
    return outline + np.where(turned[:, None], mitre / safe[:, None], mean)
