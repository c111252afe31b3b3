"""How far two sets of cut lines lie apart once one is laid over the other as well as it goes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment

from foamwright.changes.records import UNCHANGED, Lines

_SAMPLES = 512  # points along an outline that the first fit looks at
_SIMPLIFY = 0.002  # mm that a line may move when points are left out
_ROUNDS, _SETTLED = 30, 1e-4  # of the second fit, which ends when nothing moves by that many mm


def distance(before: Sequence[np.ndarray], after: Sequence[np.ndarray]) -> tuple[float, Lines]:
    """The largest distance in mm between the lines of the two, and those before in their best place over those after.

    `before` and `after` are an outline and its holes, each (n, 2), closed. The fit turns and moves, and never mirrors.
    The distance is nan if the numbers of holes differ. Source: Hausdorff's distance, both ways.
    """
    stay = tuple(_sparse(line) for line in before)
    target = tuple(_sparse(line) for line in after)
    apart = _apart(stay, target)
    if apart <= UNCHANGED:
        return apart, stay
    turned, shift = _fit(stay[0], target[0])
    placed = tuple(_placed(line, turned, shift) for line in stay)
    fitted = _apart(placed, target)
    # a fit of the outline may turn a round part, whose holes show which way it lies
    return (apart, stay) if apart <= fitted else (fitted, placed)


def _sparse(line: np.ndarray) -> np.ndarray:
    """The line without the points that it does not need."""
    ring = shapely.simplify(shapely.linearrings(np.asarray(line, float)), _SIMPLIFY)
    return shapely.get_coordinates(ring)[:-1]


def _placed(line: np.ndarray, turned: complex, shift: complex) -> np.ndarray:
    moved = _complex(line) * turned + shift
    return np.column_stack([moved.real, moved.imag])


def _complex(line: np.ndarray) -> np.ndarray:
    return line[:, 0] + 1j * line[:, 1]


def _fit(before: np.ndarray, after: np.ndarray) -> tuple[complex, complex]:
    """Turn (a unit complex number) and shift that lay one closed line over another.

    First by the cyclic shift of points at equal steps that correlates best, found for all shifts at once by Fourier
    transforms; then by nearest points, again and again (iterative closest points, Besl and McKay 1992).
    """
    ring = shapely.linearrings(after)
    from_, to = _even(before), _even(after)
    a, b = from_ - from_.mean(), to - to.mean()
    correlation = np.fft.ifft(np.fft.fft(b) * np.conj(np.fft.fft(a)))
    best = correlation[int(np.argmax(np.abs(correlation)))]
    turned = complex(best / abs(best)) if abs(best) > 0.0 else 1.0 + 0.0j
    shift = complex(to.mean() - turned * from_.mean())
    size = float(np.abs(a).max())
    for _ in range(_ROUNDS):
        now = from_ * turned + shift
        along = shapely.line_locate_point(ring, shapely.points(now.real, now.imag))
        near = shapely.get_coordinates(shapely.line_interpolate_point(ring, along))
        nearest = near[:, 0] + 1j * near[:, 1]
        overlap = complex(np.sum((nearest - nearest.mean()) * np.conj(from_ - from_.mean())))
        if abs(overlap) == 0.0:
            break
        last, turned = turned, overlap / abs(overlap)
        last_shift, shift = shift, complex(nearest.mean() - turned * from_.mean())
        if abs(turned - last) * size + abs(shift - last_shift) < _SETTLED:
            break
    return turned, shift


def _even(line: np.ndarray) -> np.ndarray:
    """Points at equal steps along a closed line, as complex numbers (_SAMPLES,)."""
    ring = shapely.linearrings(line)
    steps = np.arange(_SAMPLES) * (ring.length / _SAMPLES)
    return _complex(shapely.get_coordinates(shapely.line_interpolate_point(ring, steps)))


def _apart(before: Lines, after: Lines) -> float:
    """Largest distance between the outlines, and between holes paired so that they lie together best."""
    outline = _hausdorff(before[0], after[0])
    if len(before) != len(after):
        return math.nan
    if len(before) == 1:
        return outline
    table = np.array([[_hausdorff(a, b) for b in after[1:]] for a in before[1:]])
    return max(outline, float(table[linear_sum_assignment(table)].max()))


def _hausdorff(a: np.ndarray, b: np.ndarray) -> float:
    """Hausdorff's distance of two closed lines, taken at their corners and at even steps along them."""
    return max(_farthest(a, b), _farthest(b, a))


def _farthest(line: np.ndarray, other: np.ndarray) -> float:
    even = _even(line)
    points = shapely.points(np.concatenate([line, np.column_stack([even.real, even.imag])]))
    return float(shapely.distance(points, shapely.linearrings(other)).max())


def extent(outline: np.ndarray) -> tuple[float, float]:
    """Length and width in mm of the smallest rectangle around an outline (n, 2)."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.polygons(outline)))
    sides = np.linalg.norm(np.diff(box[:3], axis=0), axis=1)
    return float(sides.max()), float(sides.min())
