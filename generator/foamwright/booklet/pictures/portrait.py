"""The picture of a prop, or of one of its parts, that stands alone: on a white ground."""

from __future__ import annotations

import numpy as np

from foamwright.assembly.records import Picture
from foamwright.booklet.pictures.figures import picture_block
from foamwright.booklet.words.typeset import moved
from foamwright.drawing.primitives import Drawing
from foamwright.drawing.svg import svg_bytes

WIDTH, MARGIN = 160.0, 6.0  # mm


def portrait_svg(picture: Picture, title: str) -> bytes:
    """The view scaled to `WIDTH` at its longer side, as SVG."""
    room = WIDTH - 2 * MARGIN
    x0, y0, x1, y1 = picture.bounds
    width, height = np.array([x1 - x0, y1 - y0]) * room / max(x1 - x0, y1 - y0)
    block = picture_block(picture, float(width), float(height))
    items = moved(block, MARGIN, MARGIN + block.height)
    return svg_bytes(Drawing(items), float(width) + 2 * MARGIN, block.height + 2 * MARGIN, title=title)
