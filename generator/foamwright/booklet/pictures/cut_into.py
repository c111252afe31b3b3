"""Whether copies that are drawn off their places would stand in what stands already: there they look as if they had cut-outs.
Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render
from foamwright.model.overlap import between, solid

_DEEP = 1.0  # mm by which they may: no more is seen


def cut_into(bodies: Bodies, copies: Sequence[int], shifts: Mapping[int, np.ndarray], standing: Sequence[int]) -> bool:
    """Does one of the copies at its shift (3,) share space with one of those standing, which are where they belong?"""
    for copy in copies:
        low, high = _box(bodies, copy, shifts)
        met = [
            other
            for other in standing
            if (low < _box(bodies, other, {})[1] - _DEEP).all() and (_box(bodies, other, {})[0] < high - _DEEP).all()
        ]
        own = _solid(bodies, copy, shifts) if met else None
        if own and any(between(copy, other, own, _solid(bodies, other, {}), _DEEP) for other in met):
            return True
    return False


def _points(bodies: Bodies, copy: int, shifts: Mapping[int, np.ndarray]) -> np.ndarray:
    return bodies.points[slice(*render.points_of(bodies)[copy])] + shifts.get(copy, 0.0)


def _box(bodies: Bodies, copy: int, shifts: Mapping[int, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    points = _points(bodies, copy, shifts)
    return points.min(axis=0), points.max(axis=0)


def _solid(bodies: Bodies, copy: int, shifts: Mapping[int, np.ndarray]):
    first, _ = render.points_of(bodies)[copy]
    return solid(_points(bodies, copy, shifts), bodies.triangles[slice(*bodies.spans[copy])] - first)
