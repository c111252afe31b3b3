"""Small drawings in the booklet: views of the prop, silhouettes of parts, the sign beside a caution."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from foamwright.booklet.records import Picture
from foamwright.booklet.typeset import Block
from foamwright.drawing.primitives import Path
from foamwright.flatten.records import Pattern

_FINEST = 0.03  # mm on the page; detail below it is not printed


def picture_block(picture: Picture, width: float, height: float) -> Block:
    """`picture` as large as fits into `width` x `height`, centred across; the block is no higher than it."""
    x0, y0, x1, y1 = picture.bounds
    scale = min(width / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    left = (width - scale * (x1 - x0)) / 2.0
    shift = np.array([left - scale * x0, -scale * y1])
    items = [
        Path(scale * np.asarray(line, float) + shift, layer)
        for lines, layer in (
            (picture.hidden, "view-hidden"),
            (picture.old, "view"),
            (picture.new, "view-new"),
            (picture.figure, "view-figure"),
        )
        for line in lines
    ]
    return Block(scale * (y1 - y0), tuple(items))


def silhouette(pattern: Pattern, width: float, height: float) -> Block:
    """The part's flat shape in the colour of its foam, its long side lying, within `width` x `height`."""
    low, high = pattern.outline.min(axis=0), pattern.outline.max(axis=0)
    upright = high[1] - low[1] > high[0] - low[0]
    spans = (high - low)[::-1] if upright else high - low
    scale = min(width / spans[0], height / spans[1])

    def on_page(loop: np.ndarray) -> np.ndarray:
        points = loop - low
        if upright:  # turned clockwise, not reflected
            points = np.column_stack([points[:, 1], (high - low)[0] - points[:, 0]])
        points = scale * points - (0.0, scale * spans[1])
        ring = Polygon(points).simplify(_FINEST).exterior
        return np.array(ring.coords)[:-1]

    items = [Path(on_page(pattern.outline), "view", True, pattern.piece.stock.colour)]
    items += [Path(on_page(hole), "view", True, "#ffffff") for hole in pattern.holes]
    return Block(scale * spans[1], tuple(items))


def warning_sign(size: float) -> Block:
    """A triangle with an exclamation mark, after the general warning sign of ISO 7010 (W001)."""
    high = size * np.sqrt(3.0) / 2.0
    triangle = np.array([[0.0, -high], [size, -high], [size / 2.0, 0.0]])
    middle, thick = size / 2.0, 0.07 * size
    stem = np.array(
        [
            [middle - thick, -0.36 * high],
            [middle + thick, -0.36 * high],
            [middle + thick / 2, -0.70 * high],
            [middle - thick / 2, -0.70 * high],
        ]
    )
    turn = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    dot = np.column_stack([middle + thick * np.cos(turn), -0.83 * high + thick * np.sin(turn)])
    black = "#000000"
    return Block(
        high,
        (
            Path(triangle, "note", True, "#f6c915"),
            Path(stem, "shade", True, black),
            Path(dot, "shade", True, black),
        ),
    )
