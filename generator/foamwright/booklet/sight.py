"""What of each copy can be seen from where: the prop looked at along parallel lines, on a grid."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

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


def best_sight(bodies: Bodies, standing: Sequence[int]) -> np.ndarray:
    """For each copy the largest share of it that shows from one of fourteen sides, others of `standing` in front."""
    best = np.zeros(len(bodies))
    if not len(standing):
        return best
    for side in range(len(_SIDES)):
        alone, low, step, shape = _alone(bodies, side)
        owner = owners_seen(bodies, standing, basis(_SIDES[side]), low, step, shape)[1]
        count = np.bincount(owner[owner >= 0], minlength=len(bodies))
        best = np.maximum(best, count / np.maximum(alone, 1))
    return best


@lru_cache(maxsize=64)
def _alone(bodies: Bodies, side: int):
    """How many lines of sight meet each copy by itself, and the grid: first line, distances, (rows, columns)."""
    frame = basis(_SIDES[side])
    flat = bodies.points @ frame[:2].T
    low, span = flat.min(axis=0), np.maximum(np.ptp(flat, axis=0), 1e-6)
    size = float(span.max()) / _COARSE
    shape = tuple(np.maximum(np.ceil(span / size), 1).astype(int)[::-1].tolist())
    step = np.array([size, size])
    counts = []
    for copy in range(len(bodies)):
        near, far = np.full(shape, np.inf), np.full(shape, -np.inf)
        triangles = bodies.triangles[slice(*bodies.spans[copy])]
        raster.reach(bodies.points, triangles, frame, low + step / 2.0, step, near, far)
        counts.append(int(np.isfinite(near).sum()))
    return np.array(counts), low + step / 2.0, step, shape


def owners_seen(bodies: Bodies, standing: Sequence[int], frame: np.ndarray, low, step, shape):
    """Distance (rows, columns), copy and triangle that each line of sight meets first; -1 where it meets none."""
    spans = [bodies.triangles[slice(*bodies.spans[i])] for i in standing]
    triangles = np.ascontiguousarray(np.vstack(spans))
    owners = np.repeat(np.array(standing, np.int64), [len(span) for span in spans])
    depth = np.full(shape, np.inf)
    owner, face = np.full(shape, -1, np.int64), np.full(shape, -1, np.int64)
    raster.picture(bodies.points, triangles, owners, frame, np.asarray(low), np.asarray(step), depth, owner, face)
    return depth, owner, face
