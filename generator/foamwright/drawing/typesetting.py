"""Words measured, broken into lines and set in blocks: the one place where this is done. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from foamwright.drawing.metrics import line_step, text_extent, text_width
from foamwright.drawing.primitives import Drawing, Label, Path, Primitive, Text
from foamwright.drawing.transform import translate, turned

SMALLEST = 2.2  # the smallest type that still reads when printed
_LEADING = 0.2  # white below each line of running text, as a share of the font size
_INDENT = 1.1  # of a bulleted paragraph, in font sizes


@dataclass(frozen=True)
class Line:
    """One line of a block; `role` as that of a Text."""

    value: str
    height: float
    bold: bool = False
    role: str = ""


@dataclass(frozen=True, eq=False)
class Block:
    """Items in a box `width` x `height` that is hung from its upper left corner at the origin: y is negative."""

    items: tuple[Primitive, ...]
    width: float
    height: float

    def hung(self, x: float, y: float) -> tuple[Primitive, ...]:
        """The items with the upper left corner of the block at (x, y)."""
        return translate(Drawing(self.items), x, y).items

    def padded(self, sides: float, ends: float = 0.0) -> Block:
        """With `sides` mm of white more at the left and at the right, and `ends` above and below."""
        return Block(self.hung(sides, -ends), self.width + 2.0 * sides, self.height + 2.0 * ends)

    def centred(self, centre: Sequence[float] | np.ndarray, angle: float = 0.0) -> tuple[Primitive, ...]:
        """The items with the middle of the block at `centre`, turned by `angle` degrees about it.

        Words are turned as they are: whoever asks knows how the drawing will lie.
        """
        level = turned(self.items, 0.0, -self.width / 2.0, self.height / 2.0)
        return turned(level, angle, float(centre[0]), float(centre[1]))


def wrap(value: str, width: float, height: float, bold: bool = False) -> list[str]:
    """`value` broken at blanks into lines no wider than `width`; a word that is wider by itself is broken, an address
    behind a stroke of it.

    An empty `value` is one empty line.
    """
    lines: list[str] = []
    line = ""
    for word in value.split():
        longer = f"{line} {word}" if line else word
        if text_width(longer, height, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while text_width(word, height, bold) > width and len(word) > 1:
            fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or text_width(word[:n], height, bold) <= width)
            behind = max(word.rfind(sign, 0, fits) for sign in "/-") + 1
            fits = behind if behind > fits // 2 else fits
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line or not lines else lines


def shortened(value: str, width: float, height: float, bold: bool = False) -> str:
    """`value`, cut so that with an ellipsis it is at most `width` wide."""
    if text_width(value, height, bold) <= width:
        return value
    while value and text_width(value + "…", height, bold) > width:
        value = value[:-1]
    return value.rstrip(" ,") + "…"


def fitted(value: str, width: float, height: float, bold: bool = False) -> Line:
    """`value` as a line at `height` or smaller so as to be at most `width` wide; below half of it, it is cut."""
    size = min(height, height * width / max(text_width(value, height, bold), 1e-9))
    if size < height / 2.0:
        size = height / 2.0
        value = shortened(value, width, size, bold)
    return Line(value, size, bold)


def set_line(line: Line, x: float, y: float, layer: str = "note", anchor: str = "start") -> Text:
    """The line with its anchor on the baseline at (x, y)."""
    return Text((x, y), line.value, line.height, layer, anchor, 0.0, line.bold, line.role)


def label_block(lines: Sequence[Line], layer: str = "note", anchor: str = "middle") -> Block:
    """One label, its lines under each other: centred ("middle"), or all from the left edge ("start")."""
    return _label_block(tuple(lines), layer, anchor)


@lru_cache(maxsize=4096)  # the same words are tried in many places
def _label_block(lines: tuple[Line, ...], layer: str, anchor: str) -> Block:
    width = max(text_width(line.value, line.height, line.bold) for line in lines)
    x = width / 2.0 if anchor == "middle" else 0.0
    texts = [set_line(line, x, 0.0, layer, anchor) for line in lines]
    steps = [line_step(above, text) for above, text in pairwise(texts)]
    over = text_extent(lines[0].height, lines[0].bold)[0]
    levels = -over - np.cumsum([0.0, *steps])
    height = over + sum(steps) + text_extent(lines[-1].height, lines[-1].bold)[1]
    label = Label(tuple(replace(t, at=(x, float(y))) for t, y in zip(texts, levels)))
    return Block((label,), width, height)


def side_by_side(left: Block, right: Block, gap: float) -> Block:
    """Two blocks next to each other, both centred on one horizontal; their words are one label."""
    height = max(left.height, right.height)
    items = (
        *left.hung(0.0, (left.height - height) / 2.0),
        *right.hung(left.width + gap, (right.height - height) / 2.0),
    )
    texts = tuple(text for item in items if isinstance(item, Label) for text in item.texts)
    others = tuple(item for item in items if not isinstance(item, Label))
    return Block((*others, Label(texts)), left.width + gap + right.width, height)


def arrow_block(word: str, length: float, height: float, reverse: bool) -> Block:
    """A level arrow with `word` above its shaft; it points to the left if `reverse`."""
    above, below = text_extent(height)
    length = max(length, text_width(word, height) + 1.8 * height)
    head = 0.9 * height
    total = above + below + head / 2
    shaft, middle = head / 2 - total, length / 2
    sign = -1.0 if reverse else 1.0
    tip, back = middle + sign * length / 2, middle + sign * (length / 2 - 1.2 * head)
    wings = np.array([[tip, shaft], [back, shaft + head / 2], [back, shaft - head / 2]])
    line = np.array([[middle - sign * length / 2, shaft], [back, shaft]])
    text = Text((middle - sign * 0.5 * head, shaft + below), word, height, "note", "middle")
    items = (Path(line, "note"), Path(wings, "note", closed=True, fill="#000000"), Label((text,)))
    return Block(items, length, total)


def paragraph(
    value: str,
    width: float,
    height: float,
    bold: bool = False,
    indent: float = 0.0,
    leading: float = _LEADING,
    after: float = 0.0,
) -> Block:
    """Running text of font size `height` in lines at most `width` wide, the `indent` included.

    `leading` is the white below each line as a share of the font size, `after` more white below the last, in mm.
    """
    over, under = text_extent(height, bold)
    pitch = over + under + leading * height
    lines = wrap(value, width - indent, height, bold)
    texts = (Text((indent, -over - pitch * k), line, height, bold=bold) for k, line in enumerate(lines))
    return Block(tuple(texts), width, pitch * len(lines) + after)


def bullet(value: str, width: float, height: float, leading: float = _LEADING, after: float = 0.0) -> Block:
    """A paragraph with a dot before it."""
    body = paragraph(value, width, height, indent=_INDENT * height, leading=leading, after=after)
    dot = Text((0.25 * height, -text_extent(height)[0]), "\N{MIDDLE DOT}", height, bold=True)
    return replace(body, items=(dot, *body.items))


def stack(blocks: Iterable[Block], gap: float = 0.0) -> Block:
    """Blocks one below the other, `gap` apart, their left edges in line."""
    items: list[Primitive] = []
    top = width = 0.0
    for block in blocks:
        items += block.hung(0.0, -top)
        top += block.height + gap
        width = max(width, block.width)
    return Block(tuple(items), width, max(top - gap, 0.0))


def beside(left: Block, right: Block, offset: float) -> Block:
    """`right` with its left edge `offset` to the right of that of `left`, their tops level."""
    items = (*left.items, *right.hung(offset, 0.0))
    return Block(items, max(left.width, offset + right.width), max(left.height, right.height))
