"""What is measured of one contact. Lengths in mm, areas in mm2."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Patch:
    """`points` (n, 3) and `triangles` (m, 3) are what touches, `outlines` its closed borders; the triangles run
    counter-clockwise as seen from outside the face that was asked about. `opens`, `footing` and `footing_area` as of a
    contact."""

    area: float
    length: float
    gap: float
    mean_gap: float
    outlines: tuple[np.ndarray, ...]
    points: np.ndarray
    triangles: np.ndarray
    opens: float = 0.0
    footing: tuple[np.ndarray, ...] = ()
    footing_area: float = 0.0


def strip_length(area: float, perimeter: float, closed: bool) -> float:
    """Length of a strip from its area and perimeter: of a rectangle L x W that is the longer root of
    x^2 - (L + W) x + L W. A strip that closes on itself has no ends: half its perimeter. What is rounder than any
    rectangle, as a disc, is taken as a square of its perimeter."""
    half = perimeter / 2.0
    if closed:
        return half
    return (half + max(half * half - 4.0 * area, 0.0) ** 0.5) / 2.0
