"""When a figure is shut in: the stage of the work after which it has no way out of the prop any more."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import product

import numpy as np

from foamwright.assembly.setting_down import held_together
from foamwright.assembly.taking_apart import Stage
from foamwright.assembly.ways_in import Ways

_DIRECTIONS = [np.array(way, float) / np.linalg.norm(way) for way in product((-1, 0, 1), repeat=3) if any(way)]


def shuts_in(
    stages: Sequence[Stage], ways: Ways, mesh: tuple[np.ndarray, np.ndarray] | None, at_home: Collection[int]
) -> int | None:
    """The number (from 0) of the stage that closes the last straight way out of a figure with this `mesh`; None where it keeps
    one, or there is none. What it runs into in its place, the copies `at_home`, bars no way."""
    bodies = ways.bodies
    if mesh is None or not len(bodies):
        return None
    points, triangles = np.ascontiguousarray(mesh[0], float), np.ascontiguousarray(mesh[1], np.int64)
    skip = bodies.mask(at_home)
    barring = []
    for way in _DIRECTIONS:
        x, y, z = way.tolist()
        barring.append(ways.met_by(points, triangles, (x, y, z)) & ~skip)
        if not barring[-1]:
            return None
    there: list[int] = []
    for number, stage in enumerate(stages):
        there += [copy for move in stage.moves for copy in move.copies]
        if any(all(bars & group for bars in barring) for group in held_together(bodies, there)):
            return number
    return None
