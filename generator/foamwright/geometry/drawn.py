"""The reflection to the face that is drawn on: parts are drawn on their inside face and seen from there.

It is defined here and nowhere else. A plane that is given as one sees it from outside, with x to the right and y up,
has its x turned for one who looks at its inside.
"""

from __future__ import annotations

import numpy as np

from foamwright.geometry.frame import Frame


def seen_from_inside(points: np.ndarray) -> np.ndarray:
    """Points or directions (..., 2) of a plane seen from outside as they are seen from inside, or back again."""
    return np.asarray(points, float) * (-1.0, 1.0)


def drawing_frame(frame: Frame) -> Frame:
    """The frame whose z points at one who looks at the inside of `frame`'s plane (z = 0); x, y are the pattern's."""
    return Frame(frame.origin, frame.axes * (-1.0, 1.0, -1.0))
