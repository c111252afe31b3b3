"""A place and three directions in space."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Frame:
    """A right-handed frame in space; columns of `axes` (3, 3) are its x, y and z directions."""

    origin: np.ndarray  # (3,)
    axes: np.ndarray  # (3, 3)

    def to_space(self, points: np.ndarray) -> np.ndarray:
        """(N, 2) or (N, 3) in the frame to (N, 3) in space."""
        points = np.asarray(points, float)
        return self.origin + points @ self.axes[:, : points.shape[1]].T

    def to_frame(self, points: np.ndarray) -> np.ndarray:
        """(N, 3) in space to (N, 3) in the frame."""
        return (np.asarray(points, float) - self.origin) @ self.axes
