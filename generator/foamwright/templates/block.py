"""Blocks: a few lines of text, or an arrow, that are placed as one thing. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from foamwright.drawing.metrics import line_step, text_extent, text_width
from foamwright.drawing.primitives import Path, Primitive, Text

SMALLEST = 2.2  # the smallest type that still reads when printed, in mm


@dataclass(frozen=True)
class Line:
    """One line of a block."""

    value: str
    height: float
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Block:
    """Texts and paths drawn about the origin, within a box `width` x `height` centred there."""

    items: tuple[Text | Path, ...]
    width: float
    height: float

    def at(self, centre: Sequence[float], angle: float) -> tuple[Primitive, ...]:
        """The items with the block's centre at `centre`, turned by `angle` degrees."""
        a = np.radians(angle)
        turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
        moved: list[Primitive] = []
        for item in self.items:
            if isinstance(item, Text):
                x, y = np.asarray(item.at) @ turn + centre
                moved.append(replace(item, at=(float(x), float(y)), angle=item.angle + angle))
            else:
                moved.append(replace(item, points=item.points @ turn + centre))
        return tuple(moved)


def text_block(lines: Sequence[Line], layer: str = "note", anchor: str = "middle") -> Block:
    """The lines under each other: centred ("middle"), or all from the left edge ("start")."""
    width = max(text_width(line.value, line.height, line.bold) for line in lines)
    left = 0.0 if anchor == "middle" else -width / 2
    texts = [Text((left, 0.0), line.value, line.height, layer, anchor, 0.0, line.bold) for line in lines]
    steps = [line_step(above, text) for above, text in zip(texts, texts[1:])]
    over = text_extent(lines[0].height, lines[0].bold)[0]
    total = over + sum(steps) + text_extent(lines[-1].height, lines[-1].bold)[1]
    levels = total / 2 - over - np.cumsum([0.0, *steps])
    return Block(tuple(replace(t, at=(left, float(y))) for t, y in zip(texts, levels)), width, total)


def beside(left: Block, right: Block, gap: float) -> Block:
    """Two blocks next to each other, both centred on one horizontal."""
    width = left.width + gap + right.width
    items = left.at(((left.width - width) / 2, 0.0), 0.0) + right.at(((width - right.width) / 2, 0.0), 0.0)
    return Block(items, width, max(left.height, right.height))


def arrow_block(word: str, length: float, height: float, reverse: bool) -> Block:
    """An arrow along the x axis with `word` above its shaft; it points to -x if `reverse`."""
    above, below = text_extent(height)
    length = max(length, text_width(word, height) + 1.8 * height)
    head = 0.9 * height
    total = above + below + head / 2
    shaft = -total / 2 + head / 2
    sign = -1.0 if reverse else 1.0
    tip, back = sign * length / 2, sign * (length / 2 - 1.2 * head)
    wings = np.array([[tip, shaft], [back, shaft + head / 2], [back, shaft - head / 2]])
    line = np.array([[-sign * length / 2, shaft], [back, shaft]])
    text = Text((-sign * 0.5 * head, shaft + below), word, height, "note", "middle")
    return Block((Path(line, "note"), Path(wings, "note", closed=True, fill="#000000"), text), length, total)
