"""Every copy of the assembly as triangles in its place. Lengths in mm."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from foamwright.model.assembly import Assembly
from foamwright.model.meshes import closed_mesh


@lru_cache(maxsize=1)
def placed_meshes(assembly: Assembly) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Points (n, 3) and triangles (m, 3) of each copy, in the order of the copies.

    The triangles run counter-clockwise from outside: `Copy.matrix` is a rigid motion.
    """
    hands: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    found = []
    for copy in assembly.copies:
        if id(copy.hand) not in hands:
            hands[id(copy.hand)] = closed_mesh(copy.hand.wrapped)
        points, triangles = hands[id(copy.hand)]
        found.append((points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3], triangles))
    return tuple(found)
