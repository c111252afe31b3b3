"""Setting text: wrapped lines, and blocks of known height. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from foamwright.booklet.words.numbered import parted
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Drawing, Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import wrap as wrap

BODY = 3.5  # font size of running text
SMALL = 2.9  # of tables and lists
HEADING = 5.4
BULLET_INDENT = 1.1  # in font sizes
NUMBER_INDENT = 1.6
_PITCH = 1.36  # distance of baselines, in font sizes
_FIRST = 0.98  # first baseline below the top of the block; an accented capital still fits


@dataclass(frozen=True)
class ColumnItem:
    """Something `height` mm high; its items hang from the origin, at its top left corner, so y is negative."""

    height: float
    items: tuple[Primitive, ...]


def paragraph(value: str, width: float, size: float = BODY, bold: bool = False, indent: float = 0.0) -> ColumnItem:
    """Wrapped text, every line from `indent`."""
    lines = wrap(value, width - indent, size, bold)
    items = [
        Text((indent, -size * (_FIRST + _PITCH * i)), line, size, "note", bold=bold) for i, line in enumerate(lines)
    ]
    return ColumnItem(size * _PITCH * len(lines), tuple(items))


def bullet(value: str, width: float, size: float = BODY) -> ColumnItem:
    """A paragraph with a dot before it, or with its number where it has one."""
    number, value = parted(value)
    left = 0.25 * size
    indent = max(NUMBER_INDENT * size, left + text_width(number, size, True) + left) if number else BULLET_INDENT * size
    block = paragraph(value, width, size, indent=indent)
    dot = Text((left, -size * _FIRST), number or "\N{MIDDLE DOT}", size, "note", bold=True)
    return ColumnItem(block.height, (dot, *block.items))


def stack(blocks: Sequence[ColumnItem], gap: float = 0.0) -> ColumnItem:
    """Blocks one below the other."""
    top = 0.0
    items: list[Primitive] = []
    for block in blocks:
        items += moved(block, 0.0, -top)
        top += block.height + gap
    return ColumnItem(max(top - gap, 0.0), tuple(items))


def beside(left: ColumnItem, right: ColumnItem, offset: float) -> ColumnItem:
    """`right` set `offset` mm to the right of the left edge of `left`, their tops level."""
    return ColumnItem(max(left.height, right.height), (*left.items, *moved(right, offset, 0.0)))


def moved(block: ColumnItem, dx: float, dy: float) -> tuple[Primitive, ...]:
    """The items of `block` with its top left corner at (dx, dy)."""
    return translate(Drawing(block.items), dx, dy).items
