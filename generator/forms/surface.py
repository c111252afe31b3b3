"""The one face that every form shows to the rest: surface coordinates in, points and normals out."""

from __future__ import annotations

from typing import Protocol

import numpy as np


class Surface(Protocol):
    """A smooth closed surface without thickness, lengths in mm.

    Coordinates are (u, v): u runs 0 to 1 from one end to the other, v goes once around in 0 to 1 and is
    periodic: any real v is allowed, so that a panel across v = 0 keeps continuous coordinates.
    Right-handed with the normal outwards: dS/du x dS/dv points out of the form.
    """

    poles: tuple[bool, bool]  # is u = 0, u = 1 a single point?

    def point(self, coords: np.ndarray) -> np.ndarray:
        """(N, 2) coordinates to (N, 3) points."""
        ...

    def normal(self, coords: np.ndarray) -> np.ndarray:
        """(N, 2) coordinates to (N, 3) outward unit normals, well defined at the poles too."""
        ...

    def offset(self, coords: np.ndarray, distance: float | np.ndarray) -> np.ndarray:
        """Points at `distance` along the normal: `point + distance * normal`. (N, 3)."""
        ...
