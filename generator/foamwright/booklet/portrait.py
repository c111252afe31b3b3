"""The picture of a prop that goes with a release: its first finished view on a white ground."""

from __future__ import annotations

import numpy as np

from foamwright.booklet.records import Picture
from foamwright.drawing.primitives import Drawing, Path
from foamwright.drawing.svg import svg_bytes

WIDTH, MARGIN = 160.0, 6.0  # mm


def portrait_svg(picture: Picture, title: str) -> bytes:
    """The view scaled to `WIDTH`, as SVG."""
    x0, y0, x1, y1 = picture.bounds
    scale = (WIDTH - 2 * MARGIN) / max(x1 - x0, y1 - y0)
    lines = (*picture.old, *picture.new)
    items = tuple(Path((np.asarray(line) - (x0, y0)) * scale + MARGIN, "view") for line in lines)
    width, height = (x1 - x0) * scale + 2 * MARGIN, (y1 - y0) * scale + 2 * MARGIN
    return svg_bytes(Drawing(items), width, height, title=title)
