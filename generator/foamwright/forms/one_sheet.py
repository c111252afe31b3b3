"""What a form without creases says of its sheets."""

from __future__ import annotations

from typing import cast

import numpy as np

from foamwright.forms.nearest import NearestPoint
from foamwright.forms.surface import SAMPLES, Crease, Surface
from foamwright.geometry import Mesh


class OneSheet:
    """What a form without creases says of its sheets."""

    sheet_count = 1

    def sheet(self, numbers: tuple[int, ...], reach: float) -> Surface:
        return cast(Surface, self)

    def creases(self) -> tuple[Crease, ...]:
        return ()

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        whole = cast(Surface, self)
        return whole.point(coords), whole.normal(coords), np.zeros(len(coords), int)

    def samples(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        whole = cast(Surface, self)
        made = whole.triangulation(SAMPLES)
        mesh = Mesh(whole.point(made.coords), made.faces)
        return mesh.corners.mean(axis=1), mesh.areas, np.zeros(len(made.faces), int)

    def height(self, points: np.ndarray) -> np.ndarray:
        return NearestPoint(cast(Surface, self)).signed_distance(points)
