"""Chapters set on paper: each item as blocks of known height. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet import tables
from foamwright.booklet.chapters import Bullets, Chapter, Item, Lead, Table, Views, Warn, Words
from foamwright.booklet.figures import picture_block, silhouette, warning_sign
from foamwright.booklet.flowing import Block, Section, Setting
from foamwright.booklet.qr import qr_code
from foamwright.booklet.typeset import BODY, ColumnItem, beside, bullet, moved, paragraph, stack
from foamwright.flatten.records import Pattern

_SIGN = 6.0
_CODE = 16.0  # mm: small, and its modules are still 0.4 mm wide for an address of 60 letters
_GAP = 2.2
_SHORT = 6  # rows of a table that stays on one page with the words before it
_VIEW_HEIGHT = 80.0
_VIEW_GAP = 6.0
_SHAPE_HEIGHT = 10.0


def section(chapter: Chapter, width: float) -> Section:
    """The chapter in a column `width` mm wide. One that is a table alone repeats its titles on every page."""
    items = chapter.items
    if items and isinstance(items[0], Table) and items[0].columns[0].title:
        table, rest = items[0], items[1:]
        rows = list(_rows(table, width))
        below = [block for item in rest for block in _blocks(item, width)]
        if below:  # with the last row, so that the titles of the table never stand over words alone
            rows[-1] = stack([rows[-1], *below], 1.4)
        about: list[tuple[str, ...]] = [(part,) for part in table.parts] or [()] * len(rows)
        told = tuple(Block((Setting((row,)),), parts=parts) for row, parts in zip(rows, about, strict=True))
        return Section(chapter.title, told, tables.header_row(_columns(table, width)))
    blocks: list[ColumnItem] = []
    for before, item in zip((None, *items), items):
        made = _blocks(item, width)
        if isinstance(before, Words) and isinstance(item, Table) and len(item.rows) <= _SHORT:
            made = [stack([blocks.pop(), *made], _GAP)]  # what is said of a short table stays with it
        blocks += made
    return Section(chapter.title, tuple(blocks), gap=_GAP)


def _blocks(item: Item, width: float) -> list[ColumnItem]:
    match item:
        case Words():
            heading = [paragraph(item.heading, width, BODY, bold=True)] if item.heading else []
            return [stack([*heading, paragraph(item.text, width)])]
        case Bullets():
            if not item.lines:
                return []
            lines = [bullet(line, width) for line in item.lines]
            heading = [paragraph(item.heading, width, BODY, bold=True)] if item.heading else []
            return (
                [stack([*heading, lines[0]], 0.4), *lines[1:]] if len(lines) > 12 else [stack([*heading, *lines], 0.4)]
            )
        case Warn():
            room = width - 1.6 * _SIGN
            text = stack([paragraph(item.title, room, BODY, bold=True), paragraph(item.text, room)])
            return [beside(ColumnItem(_SIGN, moved(warning_sign(_SIGN), 0.0, -0.6)), text, 1.6 * _SIGN)]
        case Table():
            rows = list(_rows(item, width))
            if item.columns[0].title and rows:
                return [stack([tables.header_row(_columns(item, width)), rows[0]]), *rows[1:]]
            return [stack(rows)] if rows else []
        case Views():
            return [_views(item, width)]
        case Lead():
            room = width - _CODE - 3.0
            text = stack([paragraph(item.text, room), paragraph(item.address, room)])
            return [beside(qr_code(item.address, _CODE), text, _CODE + 3.0)]


def _columns(table: Table, width: float) -> tuple[tables.Column, ...]:
    return tuple(tables.Column(c.title, c.share * width, "end" if c.number else "start") for c in table.columns)


def _rows(table: Table, width: float) -> tuple[ColumnItem, ...]:
    columns = _columns(table, width)
    cells = [
        [
            silhouette(cell, column.width - 4.0, _SHAPE_HEIGHT) if isinstance(cell, Pattern) else cell
            for cell, column in zip(row, columns)
        ]
        for row in table.rows
    ]
    return tables.rows_of(columns, cells)


def _views(item: Views, width: float) -> ColumnItem:
    """Pictures beside each other, their middles level."""
    room = (width - _VIEW_GAP * (len(item.pictures) - 1)) / len(item.pictures)
    drawn: Sequence[ColumnItem] = [picture_block(picture, room, _VIEW_HEIGHT) for picture in item.pictures]
    height = max(block.height for block in drawn)
    row = ColumnItem(height, ())
    for number, block in enumerate(drawn):
        sunk = stack([ColumnItem((height - block.height) / 2.0, ()), block])
        row = beside(row, sunk, number * (room + _VIEW_GAP))
    return stack([row, ColumnItem(2.0, ()), paragraph(item.caption, width), ColumnItem(2.0, ())])
