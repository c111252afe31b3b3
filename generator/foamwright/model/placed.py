"""Every copy of the assembly as triangles in its place. Lengths in mm."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from foamwright.model.meshes import closed_mesh
from foamwright.model.records import Model


@lru_cache(maxsize=1)
def placed_meshes(model: Model) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Points (n, 3) and triangles (m, 3) of each copy, in the order of the copies.

    The triangles run counter-clockwise from outside: `Copy.matrix` is a rigid motion.
    """
    meshes: dict[str, tuple[np.ndarray, np.ndarray]] = {}
    found = []
    for copy in model.copies:
        if copy.prototype.key not in meshes:
            meshes[copy.prototype.key] = closed_mesh(copy.prototype.shape.wrapped)
        points, triangles = meshes[copy.prototype.key]
        found.append((points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3], triangles))
    return tuple(found)
