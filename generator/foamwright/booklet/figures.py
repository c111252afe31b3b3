"""Small drawings in the booklet: views of the prop, silhouettes of parts, the sign beside a caution."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from foamwright.booklet.records import Picture
from foamwright.booklet.typeset import SMALL, Block, moved, paragraph, stack
from foamwright.drawing.primitives import Path, Primitive, Shading, Text, Tick
from foamwright.flatten.records import Pattern

_BUBBLE, _MARGIN = 6.4, 8.5  # mm: a letter's bubble, and the room for it at each side
_FINEST = 0.03  # mm on the page; detail below it is not printed


def picture_block(picture: Picture, width: float, height: float) -> Block:
    """`picture` as large as fits into `width` x `height`, centred across; the block is no higher than it."""
    x0, y0, x1, y1 = picture.bounds
    scale = min(width / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    left = (width - scale * (x1 - x0)) / 2.0
    shift = np.array([left - scale * x0, -scale * y1])
    items: list[Primitive] = [
        Path(scale * np.asarray(line, float) + shift, layer)
        for lines, layer in (
            (picture.hidden, "view-hidden"),
            (picture.old, "view"),
            (picture.new, "view-new"),
            (picture.figure, "view-figure"),
        )
        for line in lines
    ]
    if picture.png:
        low, high = scale * np.reshape(picture.box, (2, 2)) + shift
        items.insert(0, Shading(_pair(low), float(high[0] - low[0]), float(high[1] - low[1]), picture.png))
    items += [item for line in picture.arrows for item in _arrow(scale * line + shift)]
    return Block(scale * (y1 - y0), tuple(items))


def lettered_block(picture: Picture, width: float, height: float) -> Block:
    """A picture with the letters of its new parts in bubbles at its sides, and below it what has changed in the
    view."""
    inner = picture_block(picture, width - 2.0 * _MARGIN, height)
    x0, y0, x1, y1 = picture.bounds
    scale = min((width - 2.0 * _MARGIN) / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    left = _MARGIN + (width - 2.0 * _MARGIN - scale * (x1 - x0)) / 2.0
    items: list[Primitive] = list(moved(inner, _MARGIN, 0.0))
    for side, x in (("left", _BUBBLE / 2.0), ("right", width - _BUBBLE / 2.0)):
        mine = sorted((b for b in picture.bubbles if b.side == side), key=lambda b: -b.at[1])
        level = 0.0
        for bubble in mine:
            at = np.array([left + scale * (bubble.at[0] - x0), scale * (bubble.at[1] - y1)])
            level = min(float(at[1]), level - _BUBBLE - 0.8) if level else min(float(at[1]), -_BUBBLE / 2.0)
            middle = np.array([x, max(level, -inner.height + _BUBBLE / 2.0) if len(mine) == 1 else level])
            towards = (at - middle) / max(float(np.linalg.norm(at - middle)), 1e-9)
            items.append(Tick(_pair(middle + towards * _BUBBLE / 2.0), _pair(at), "tick"))
            items.append(Path(at + 0.5 * _circle(), "shade", True, "#111111"))
            items.append(Path(middle + _BUBBLE / 2.0 * _circle(), "tick", True, "#ffffff"))
            size = 3.1 if len(bubble.label) < 3 else 2.3
            items.append(Text(_pair(middle - (0.0, 0.36 * size)), bubble.label, size, "note", "middle", bold=True))
    lowest = min((float(item.at[1]) - 3.0 for item in items if isinstance(item, Text)), default=0.0)
    drawn = Block(max(inner.height, -lowest), tuple(items))
    if not picture.note:
        return drawn
    return stack((drawn, paragraph(picture.note, width, SMALL, bold=True)), 1.2)


def _arrow(line: np.ndarray) -> list[Primitive]:
    """A dashed guide along a way in, and its head."""
    along = line[-1] - line[-2]
    size = float(np.linalg.norm(along))
    if size < 1e-6:
        return []
    unit = along / size
    across = np.array([-unit[1], unit[0]])
    head = np.array([line[-1], line[-1] - 3.2 * unit + 1.3 * across, line[-1] - 3.2 * unit - 1.3 * across])
    body = np.vstack([line[:-1], line[-1] - 2.8 * unit])
    return [Path(body, "view-new"), Path(head, "shade", True, "#101014")]


def _circle() -> np.ndarray:
    turn = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    return np.column_stack([np.cos(turn), np.sin(turn)])


def _pair(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


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
