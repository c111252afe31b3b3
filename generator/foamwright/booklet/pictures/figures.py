"""Small drawings in the booklet: views of the prop, silhouettes of parts, the sign beside a caution."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from shapely import Polygon

from foamwright.assembly.records import Bubble, Inset, Picture
from foamwright.booklet.words.typeset import SMALL, ColumnItem, moved, paragraph, stack
from foamwright.drawing.primitives import Path, Primitive, Shading, Text, Tick
from foamwright.flatten.records import Pattern
from foamwright.language import say

INSET = (42.0, 27.0)  # mm on the page that the drawing of an inset may take
_BESIDE = 3.3  # four of them stand in a row over the width of A4
_ARROW = "#101014"
_BUBBLE = (3.4, 3.9)  # mm on the page, the radius of a bubble at most: of a letter, and of one with a number
_TYPE = (1.05, 0.9, 0.74, 0.6)  # of its radius, the height of a label of so many signs in it
_FINEST = 0.03  # mm on the page; detail below it is not printed


def picture_block(picture: Picture, width: float, height: float) -> ColumnItem:
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
    return ColumnItem(scale * (y1 - y0), tuple(items))


def lettered_block(picture: Picture, width: float, height: float) -> ColumnItem:
    """A picture with the letters of its parts in bubbles, and below it what has changed in the view."""
    x0, y0, x1, y1 = picture.bounds
    scale = min(width / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    shift = np.array([(width - scale * (x1 - x0)) / 2.0 - scale * x0, -scale * y1])
    inner = picture_block(picture, width, height)
    front = _front(picture, scale, shift)
    letters = [item for bubble in picture.bubbles for item in _bubble(bubble, scale, shift)]
    leaders = [item for item in letters if isinstance(item, Tick)]
    drawn = ColumnItem(
        inner.height, (*inner.items, *front, *leaders, *(item for item in letters if not isinstance(item, Tick)))
    )
    if not picture.note:
        return drawn
    return stack((drawn, paragraph(picture.note, width, SMALL, bold=True)), 1.2)


def inset_rows(insets: Sequence[Inset], width: float) -> ColumnItem:
    """Insets side by side in rows, each with its words below it."""
    return stack(rows_of_insets(insets, width), 2.0)


def rows_of_insets(insets: Sequence[Inset], width: float) -> list[ColumnItem]:
    """As `inset_rows`, row by row."""
    across = max(int((width + _BESIDE) // (INSET[0] + _BESIDE)), 1)
    rows = []
    for start in range(0, len(insets), across):
        row = insets[start : start + across]
        drawn = max(inset.height for inset in row)
        blocks = [stack((ColumnItem(drawn, inset.items), paragraph(inset.said, INSET[0], SMALL)), 0.8) for inset in row]
        items = [item for i, block in enumerate(blocks) for item in moved(block, i * (INSET[0] + _BESIDE), 0.0)]
        rows.append(ColumnItem(max(block.height for block in blocks), tuple(items)))
    return rows


def _bubble(bubble: Bubble, scale: float, shift: np.ndarray) -> list[Primitive]:
    at, middle = scale * np.array(bubble.at) + shift, scale * np.array(bubble.spot) + shift
    radius = min(scale * bubble.radius, _BUBBLE[0] if len(bubble.label) < 3 else _BUBBLE[1])
    towards = (at - middle) / max(float(np.linalg.norm(at - middle)), 1e-9)
    size = radius * (_TYPE[len(bubble.label) - 1] if len(bubble.label) <= len(_TYPE) else _TYPE[-1])
    line = "tick" if bubble.new else "page"
    return [
        Tick(_pair(middle + towards * radius), _pair(at), line),
        Path(at + (0.17 if bubble.new else 0.11) * radius * _circle(), "shade", True, "#111111"),
        Path(middle + radius * _circle(), line, True, "#ffffff"),
        Text(
            _pair(middle - (0.0, 0.36 * size)),
            bubble.label,
            size,
            "note",
            "middle",
            bold=bubble.new,
            link=f"part {bubble.label.split()[0]}",
        ),
    ]


def _front(picture: Picture, scale: float, shift: np.ndarray) -> list[Primitive]:
    """The arrow to the front of the prop, with its word."""
    if not picture.front:
        return []
    start = scale * np.array(picture.front[:2]) + shift
    end = start + scale * np.array(picture.front[2:])
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = np.array([-along[1], along[0]])
    head = np.array([end, end - 2.2 * along + 0.9 * across, end - 2.2 * along - 0.9 * across])
    below = ((start[0] + end[0]) / 2.0, min(start[1], end[1]) - 3.2)  # clear of an arrow in any direction
    word = Text(_pair(np.array(below)), say("front"), 2.4, "note", "middle")
    return [Tick(_pair(start), _pair(end - 2.0 * along), "tick"), Path(head, "shade", True, "#1f4e9a"), word]


def _arrow(line: np.ndarray) -> list[Primitive]:
    """A guide along a way in, and its head, both edged in white so that they show on dark foam as well."""
    along = line[-1] - line[-2]
    size = float(np.linalg.norm(along))
    if size < 1e-6:
        return []
    unit = along / size
    across = np.array([-unit[1], unit[0]])
    body = np.vstack([line[:-1], line[-1] - min(2.2, 0.9 * size) * unit])
    head, edge = (
        np.array([tip, tip - long * unit + wide * across, tip - long * unit - wide * across])
        for tip, long, wide in ((line[-1], 2.8, 1.05), (line[-1] + 0.9 * unit, 4.3, 1.85))
    )
    grounds = [Path(_strip(*ends, 0.62), "shade", True, "#ffffff") for ends in pairwise(body)]
    shafts = [Path(_strip(*ends, 0.2), "shade", True, _ARROW) for ends in pairwise(body)]
    return [*grounds, Path(edge, "shade", True, "#ffffff"), *shafts, Path(head, "shade", True, _ARROW)]


def _strip(start: np.ndarray, end: np.ndarray, half: float) -> np.ndarray:
    """A straight stroke (4, 2) of a width, a little beyond both ends."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = half * np.array([-along[1], along[0]])
    start, end = start - half * along, end + half * along
    return np.array([start - across, end - across, end + across, start + across])


def _circle() -> np.ndarray:
    turn = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    return np.column_stack([np.cos(turn), np.sin(turn)])


def _pair(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def silhouette(pattern: Pattern, width: float, height: float) -> ColumnItem:
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
    return ColumnItem(scale * spans[1], tuple(items))


def warning_sign(size: float) -> ColumnItem:
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
    return ColumnItem(
        high,
        (
            Path(triangle, "note", True, "#f6c915"),
            Path(stem, "shade", True, black),
            Path(dot, "shade", True, black),
        ),
    )
