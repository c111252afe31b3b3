"""What of each copy can be seen from where: the prop looked at along parallel lines, on a grid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.booklet import raster
from foamwright.booklet.bodies import Bodies

_COARSE = 160  # lines of sight along the longer side
_SIDES = tuple(
    np.array(side) / np.linalg.norm(side)
    for side in (
        *((float(x), float(y), float(z)) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z),
    )
    if np.count_nonzero(side) != 2
)


def basis(towards: Sequence[float], up: Sequence[float] = (0.0, 0.0, 1.0)) -> np.ndarray:
    """Rows across (to the right), up and along of a view whose eye looks along `towards`."""
    along = np.asarray(towards, float) / np.linalg.norm(towards)
    if abs(np.dot(along, up)) > 0.999 * float(np.linalg.norm(up)):
        up = (1.0, 0.0, 0.0)
    right = np.cross(along, up)
    right /= np.linalg.norm(right)
    return np.ascontiguousarray(np.vstack([right, np.cross(right, along), along]))


class Sight:
    """What shows of each copy while ever fewer of them stand.

    Along every line of sight the copies are listed from the nearest on, once for all; whichever stand, the first of
    them is what is seen.
    """

    def __init__(self, bodies: Bodies):
        self._count = len(bodies)
        self._sides = [_layers(bodies, basis(side)) for side in _SIDES] if len(bodies) else []

    def best(self, standing: int) -> np.ndarray:
        """For each copy (n,) the largest share of it that shows from one of fourteen sides, where the copies in
        `standing`, as bits, stand; 0 for the others."""
        here = np.array([standing >> i & 1 for i in range(self._count)], bool)
        best = np.zeros(self._count)
        for alone, starts, copies in self._sides:
            best = np.maximum(best, raster.firsts(starts, copies, here) / np.maximum(alone, 1))
        return best


def _layers(bodies: Bodies, frame: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How many lines of sight meet each copy (n,), where each line begins in a list (lines + 1,), and in that list
    the copies that it meets, the nearest first."""
    flat = bodies.points @ frame[:2].T
    low, span = flat.min(axis=0), np.maximum(np.ptp(flat, axis=0), 1e-6)
    size = float(span.max()) / _COARSE
    shape = tuple(np.maximum(np.ceil(span / size), 1).astype(int)[::-1].tolist())
    step = np.array([size, size])
    lines, depths = [], []
    for copy in range(len(bodies)):
        near, far = np.full(shape, np.inf), np.full(shape, -np.inf)
        triangles = bodies.triangles[slice(*bodies.spans[copy])]
        raster.reach(bodies.points, triangles, frame, low + step / 2.0, step, near, far)
        met = np.flatnonzero(np.isfinite(near))
        lines.append(met)
        depths.append(near.ravel()[met])
    alone = np.array([len(met) for met in lines])
    line = np.concatenate(lines)
    order = np.lexsort((np.concatenate(depths), line))  # stable: of two at one depth the first in the design
    starts = np.searchsorted(line[order], np.arange(shape[0] * shape[1] + 1))
    return alone, starts, np.repeat(np.arange(len(bodies)), alone)[order]
