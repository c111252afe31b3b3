"""Where shapes are none. In mm."""

from __future__ import annotations

import re

import numpy as np
import shapely

_NUMBER = r"-?\d+(?:\.\d*)?(?:e[-+]?\d+)?"


def crossing_of(shape: shapely.Geometry) -> np.ndarray | None:
    """The place (2,) where an invalid shape crosses or touches itself, as GEOS tells it; None where it tells none."""
    found = re.search(rf"\[({_NUMBER}) ({_NUMBER})\]", shapely.is_valid_reason(shape))
    return np.array([float(number) for number in found.groups()]) if found else None
