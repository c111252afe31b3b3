"""Tables: a header, and rows whose cells are wrapped text or small pictures. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.booklet.words.typeset import SMALL, ColumnItem, moved, wrap
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Primitive, Text, Tick

_PAD = 1.3
_PITCH = 1.3
_HEADER_FILL = "#e6e6e6"


@dataclass(frozen=True)
class Column:
    """A column `width` mm wide; numbers are set "end", words "start"."""

    title: str
    width: float
    anchor: str = "start"


def header_row(columns: Sequence[Column]) -> ColumnItem:
    """The titles on a light ground."""
    cells = [_cell(column.title, column, bold=True) for column in columns]
    height = max(cell.height for cell in cells)
    width = sum(column.width for column in columns)
    ground = Path(np.array([[0, 0], [width, 0], [width, -height], [0, -height]]), "shade", True, _HEADER_FILL)
    return ColumnItem(height, (ground, *_in_columns(cells, columns, height)))


def row(columns: Sequence[Column], values: Sequence[str | ColumnItem]) -> ColumnItem:
    """One row, with a rule below it. A cell is a text, or a block that is centred in its column."""
    cells = [
        _cell(value, column) if isinstance(value, str) else _picture_cell(value, column)
        for value, column in zip(values, columns, strict=True)
    ]
    height = max(cell.height for cell in cells)
    width = sum(column.width for column in columns)
    rule = Tick((0.0, -height), (width, -height), "page")
    return ColumnItem(height, (*_in_columns(cells, columns, height), rule))


def rows_of(columns: Sequence[Column], rows: Sequence[Sequence[str | ColumnItem]]) -> tuple[ColumnItem, ...]:
    """All rows of a table."""
    return tuple(row(columns, values) for values in rows)


def abreast(blocks: Sequence[ColumnItem], apart: float) -> ColumnItem:
    """Titles or rows of a table beside each other, each beginning `apart` mm right of the one before, on one foot."""
    height = max(block.height for block in blocks)
    items = [item for i, block in enumerate(blocks) for item in moved(block, i * apart, block.height - height)]
    return ColumnItem(height, tuple(items))


def _in_columns(cells: Sequence[ColumnItem], columns: Sequence[Column], height: float) -> list[Primitive]:
    left = 0.0
    items: list[Primitive] = []
    for cell, column in zip(cells, columns, strict=True):
        items += moved(cell, left, -(height - cell.height) / 2.0)
        left += column.width
    return items


def _cell(value: str, column: Column, bold: bool = False) -> ColumnItem:
    room = column.width - 2.0 * _PAD
    lines = wrap(value, room, SMALL, bold)
    x = _PAD if column.anchor == "start" else column.width - _PAD
    assert all(text_width(line, SMALL, bold) <= room or len(line) == 1 for line in lines)
    items = [
        Text((x, -_PAD - SMALL * (0.8 + _PITCH * i)), line, SMALL, "note", column.anchor, bold=bold)
        for i, line in enumerate(lines)
    ]
    return ColumnItem(2.0 * _PAD + SMALL * (1.0 + _PITCH * (len(lines) - 1)), tuple(items))


def _picture_cell(picture: ColumnItem, column: Column) -> ColumnItem:
    points = np.vstack([np.asarray(item.points, float) for item in picture.items if isinstance(item, Path)])
    width = points[:, 0].max()
    return ColumnItem(picture.height + _PAD, moved(picture, (column.width - width) / 2.0, -_PAD / 2.0))
