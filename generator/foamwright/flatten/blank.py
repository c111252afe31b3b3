"""The blank that a part is cut from: the least rectangle that holds it, told alike wherever a part is measured."""

from __future__ import annotations

import numpy as np
import shapely

_SAVES = 0.99  # of the upright rectangle: a turned one that saves less is no easier to measure


def lying(outline: np.ndarray) -> np.ndarray:
    """The turn (2, 2), for rows, that lays the blank of an outline (n, 2) down on its long side: that is what a maker measures of
    a part that lies aslant on its template. The upright rectangle, if a turned one saves nothing."""
    corners = np.array(shapely.oriented_envelope(shapely.Polygon(outline)).exterior.coords)
    turned = np.abs(np.linalg.norm(np.diff(corners[:3], axis=0), axis=1)).prod()
    width, height = np.ptp(outline, axis=0).tolist()
    sides = np.diff(corners, axis=0) if turned < _SAVES * width * height else np.array([[width, 0.0], [0.0, height]])
    x, y = max(sides, key=lambda side: (round(float(np.hypot(*side)), 3), round(float(side[0]), 3)))
    x, y = (x, y) if x > 1e-6 or (abs(x) <= 1e-6 and y > 0.0) else (-x, -y)
    return np.array([[x, -y], [y, x]]) / np.hypot(x, y)


def blank(outline: np.ndarray) -> tuple[float, float]:
    """Length and width in mm of the blank of an outline (n, 2)."""
    long, wide = np.ptp(outline @ lying(outline), axis=0).tolist()
    return long, wide
