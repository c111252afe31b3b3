"""How much room a text takes, from the metrics of the faces that are embedded. Lengths in mm."""

from __future__ import annotations

from functools import cache, lru_cache

import numpy as np
from reportlab.pdfbase.ttfonts import TTFontFace

from foamwright.drawing.fonts import face
from foamwright.drawing.primitives import Text

_LEADING = 0.15  # white between two lines, as a share of the font size


def text_width(value: str, height: float, bold: bool = False) -> float:
    """Advance width in mm of `value` at font size `height` mm."""
    return 0.001 * height * advance(value, bold)


@lru_cache(maxsize=65536)  # the same words are tried in many places
def advance(value: str, bold: bool = False) -> float:
    """Advance width of `value` in thousandths of the font size. Those of its parts add up to it without rounding, as the
    faces count in 2048ths."""
    return sum(map(_advances(bold).__getitem__, value), 0.0)


@cache
def _advances(bold: bool) -> _Advances:
    return _Advances(face(bold).face)


class _Advances(dict[str, float]):
    """The advance width of each character that was asked for."""

    def __init__(self, metrics: TTFontFace) -> None:
        super().__init__()
        self._metrics = metrics

    def __missing__(self, character: str) -> float:
        self[character] = width = float(self._metrics.getCharWidth(ord(character)))
        return width


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
