"""How much room a text takes, from the metrics of the faces that are embedded. Lengths in mm."""

from __future__ import annotations

import numpy as np

from foamwright.drawing.fonts import face
from foamwright.drawing.primitives import Text

_LEADING = 0.15  # white between two lines, as a share of the font size


def text_width(value: str, height: float, bold: bool = False) -> float:
    """Advance width in mm of `value` at font size `height` mm."""
    return float(face(bold).stringWidth(value, height))


def text_extent(height: float, bold: bool = False) -> tuple[float, float]:
    """How far a line of font size `height` reaches above and below its baseline, both positive, in mm.

    The face's own ascent and descent; only the accents of capital letters reach higher (to 0.93 of the size).
    """
    metrics = face(bold).face
    return metrics.ascent / 1000.0 * height, -metrics.descent / 1000.0 * height


def line_step(above: Text, text: Text) -> float:
    """How far below the baseline of one line the next has its own, in mm: their extents and a little white."""
    below, over = text_extent(above.height, above.bold)[1], text_extent(text.height, text.bold)[0]
    return below + over + _LEADING * text.height


def text_box(text: Text) -> np.ndarray:
    """(4, 2) corners of the box that `text` stands in, counter-clockwise from the start of its lower edge."""
    width = text_width(text.value, text.height, text.bold)
    above, below = text_extent(text.height, text.bold)
    left = {"start": 0.0, "middle": -width / 2.0, "end": -width}[text.anchor]
    corners = np.array([[left, -below], [left + width, -below], [left + width, above], [left, above]])
    a = np.radians(text.angle)
    turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return np.asarray(text.at, float) + corners @ turn
