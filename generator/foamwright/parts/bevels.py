"""The bevel of an edge as it is written down: one value, or several at equal distances."""

from __future__ import annotations

import numpy as np

_EVEN = 0.5  # degrees: a bevel that varies less is given as one value
_TRUE = 0.2  # degrees that a bevel may be off between two places at which it is given, from side to side of an outline
_SQUARE_BELOW = 0.5  # degrees: less is cut square


def bevels(slope: np.ndarray) -> tuple[float, ...]:
    """The bevel of an edge at equal distances, from that at each of its points (N,): as many values as it takes to
    find all of them within `_EVEN` by straight lines between; one where it hardly varies, 0 where it is square."""
    if np.ptp(slope) < _EVEN:
        mean = float(slope.mean())
        return (0.0,) if abs(mean) < _SQUARE_BELOW else (mean,)
    return _at_stops(np.linspace(0.0, 1.0, len(slope)), slope, _EVEN)


def bevels_of_sides(angle: np.ndarray) -> tuple[float, ...]:
    """The bevel of an edge at equal distances, from that of each of its sides (N,), all of one length: as few values as find
    all of them within `_TRUE` by straight lines between."""
    mean = float(angle.mean())
    if np.abs(angle - mean).max() < _TRUE:
        return (mean,)
    return _at_stops((np.arange(len(angle)) + 0.5) / len(angle), angle, _TRUE)


def _at_stops(at: np.ndarray, angle: np.ndarray, within: float) -> tuple[float, ...]:
    """Values at equal distances that give the angles `at` shares of an edge (N,) back `within` some degrees, or the most."""
    for count in (9, 17, 33, 65):
        stops = np.linspace(0.0, 1.0, count)
        values = np.interp(stops, at, angle)
        if np.abs(np.interp(at, stops, values) - angle).max() < within:
            break
    return tuple(float(v) for v in values)
