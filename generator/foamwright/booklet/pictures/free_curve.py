"""The curve of a strip that stands free, to scale, to bend it by. Lengths in mm on paper."""

from __future__ import annotations

import math

import numpy as np

from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.strokes import WORDS, figure, pointed
from foamwright.booklet.words.free_bands import FreeBand
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.language import length, say

_TALL = 34.0  # mm that the drawing may be high
_BELOW = 4.0  # mm below the line between its ends, for a figure


def curve(band: FreeBand) -> Inset:
    """The strip seen on its edge, with how far apart the ends of its inside are and how far that stands off the line between
    them."""
    foam = np.vstack([band.inside, band.outside[::-1]])
    low, high = np.minimum(foam.min(axis=0), 0.0), foam.max(axis=0)
    ratio = math.ceil(max((high[0] - low[0]) / INSET[0], (high[1] - low[1]) / (_TALL - _BELOW), 1.0))
    shift = np.array([INSET[0] / 2.0 - (low[0] + high[0]) / 2.0 / ratio, -high[1] / ratio])
    inside = band.inside / ratio + shift
    items: list[Primitive] = [Path(foam / ratio + shift, "view", True, band.piece.stock.colour)]
    items.append(Path(inside[[0, -1]], "fold"))
    ends = inside[[0, -1]].mean(axis=0)
    items.append(figure((float(ends[0]), float(ends[1]) - 3.4), length(band.apart)))
    top = inside[int(band.inside[:, 1].argmax())]
    foot = np.array([top[0], ends[1]])
    items += pointed((top + foot) / 2.0, top) + pointed((top + foot) / 2.0, foot)
    middle = (top + foot) / 2.0
    items.append(Text((float(middle[0]) + 1.2, float(middle[1]) - 1.0), length(band.rise), WORDS, "note"))
    tall = (high[1] - low[1]) / ratio + _BELOW
    said = say("{part} bent, seen on its edge, drawn 1:{n}.", part=band.piece.label, n=ratio)
    return Inset(tuple(items), float(tall), said)
