"""Chapters set on paper: each item as blocks of known height. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from foamwright.booklet.pages import tables
from foamwright.booklet.pages.chapters import Bullets, Chapter, Item, Lead, Table, Views, Warn, Words
from foamwright.booklet.pages.flowing import Block, Section, Setting
from foamwright.booklet.pages.qr import qr_code
from foamwright.booklet.pictures.figures import picture_block, silhouette, warning_sign
from foamwright.booklet.words.typeset import BODY, ColumnItem, beside, bullet, moved, paragraph, stack, wrap
from foamwright.flatten.records import Pattern

_SIGN = 6.0
_CODE = 16.0  # mm: small, and its modules are still 0.4 mm wide for an address of 60 letters
_GAP = 2.2
_KEPT = 3  # lines of a paragraph and rows of a table that stay together at its beginning and its end
_LINE_GAP = 0.4  # between lines of a list, of which so many stay on one page
_WHOLE = 12
_MANY = 6  # lines of a list that is set in two columns if they are short
_SHORT = 6  # rows of a table that stays on one page with the words before it
_ABREAST = 6.0  # between rows that stand beside each other,
_NARROWEST = 80.0  # which need so much of the page
# How high views beside each other are, and how much worse they read: in pages that they must spare.
_VIEW_HEIGHTS = ((80.0, 0.0), (68.0, 0.08), (56.0, 0.2))
_VIEW_GAP = 6.0
_SHAPE_HEIGHT = 10.0


def section(chapter: Chapter, width: float) -> Section:
    """The chapter in a column `width` mm wide. One that is a table alone repeats its titles on every page."""
    items = chapter.items
    if items and isinstance(items[0], Table) and items[0].columns[0].title:
        table, rest = items[0], items[1:]
        rows = list(_rows(table, width))
        below = [_whole(block) for item in rest for block in _blocks(item, width)]
        if below:  # with the last row, so that the titles of the table never stand over words alone
            rows[-1] = stack([rows[-1], *below], 1.4)
        side_by_side = _side_by_side(table, width)
        about = [table.parts[i : i + side_by_side] for i in range(0, len(table.rows), side_by_side)]
        told = tuple(Block((Setting((row,)),), parts=parts) for row, parts in zip(rows, about, strict=True))
        return Section(chapter.title, told, _titles(table, width))
    blocks: list[ColumnItem | Block] = []
    for before, item in zip((None, *items), items):
        made = _blocks(item, width)
        if isinstance(before, Words) and isinstance(item, Table) and made:  # what is said of a table stays with it
            said = _whole(blocks.pop())
            if len(item.rows) <= _SHORT or not isinstance(made[0], Block):
                made = [stack([said, *map(_whole, made)], _GAP)]
            else:
                made = [_below(said, made[0]), *made[1:]]
        blocks += made
    return Section(chapter.title, tuple(blocks), gap=_GAP)


def _lines(heading: Sequence[ColumnItem], text: str, width: float) -> Block:
    """A paragraph as rows, so that a long one goes over to the next page, no fewer than `_KEPT` of its lines on either."""
    lines = [paragraph(line, 2.0 * width) for line in wrap(text, width, BODY)]
    if len(lines) < 2 * _KEPT:
        return Block((Setting((stack([*heading, *lines]),)),))
    last = stack(lines[-_KEPT:])
    return Block((Setting((stack([*heading, *lines[:_KEPT]]), *lines[_KEPT:-_KEPT], last)),))


def _below(said: ColumnItem, table: Block) -> Block:
    """A table whose first row has words above it."""
    (setting,) = table.settings
    first = stack([said, setting.rows[0]], _GAP)
    return replace(table, settings=(replace(setting, rows=(first, *setting.rows[1:])),))


def _whole(block: ColumnItem | Block) -> ColumnItem:
    return stack(block.settings[0].rows, block.gap) if isinstance(block, Block) else block


def _blocks(item: Item, width: float) -> list[ColumnItem | Block]:
    match item:
        case Words():
            heading = [paragraph(item.heading, width, BODY, bold=True)] if item.heading else []
            return [_lines(heading, item.text, width)]
        case Bullets():
            if not item.lines:
                return []
            first, *others = _bullets(item.lines, width)
            heading = [paragraph(item.heading, width, BODY, bold=True)] if item.heading else []
            return [stack([*heading, first], _LINE_GAP), *others]
        case Warn():
            room = width - 1.6 * _SIGN
            text = stack([paragraph(item.title, room, BODY, bold=True), paragraph(item.text, room)])
            return [beside(ColumnItem(_SIGN, moved(warning_sign(_SIGN), 0.0, -0.6)), text, 1.6 * _SIGN)]
        case Table():
            rows = list(_rows(item, width))
            if item.columns[0].title and rows:
                kept = min(_KEPT, max(len(rows) // 2, 1))
                last = [stack(rows[-kept:])] if len(rows) > kept else []
                told = (stack([_titles(item, width), *rows[:kept]]), *rows[kept : len(rows) - kept], *last)
                return [Block((Setting(told),), again=_titles(item, width))]
            return [stack(rows)] if rows else []
        case Views():
            return [Block(tuple(Setting((_views(item, width, high),), cost) for high, cost in _VIEW_HEIGHTS))]
        case Lead():
            room = width - _CODE - 3.0
            text = stack([paragraph(item.text, room), paragraph(item.address, room)])
            return [beside(qr_code(item.address, _CODE), text, _CODE + 3.0)]


def _bullets(lines: Sequence[str], width: float) -> list[ColumnItem]:
    """Lines with a dot before each, in blocks that stay on one page; many in two columns where most are short, each read from
    its top, so that a long line leaves no gap beside it."""
    half = (width - _ABREAST) / 2.0
    narrow = [bullet(line, half) for line in lines]
    if len(lines) < _MANY or sum(block.height > 1.5 * narrow[0].height for block in narrow) > len(lines) // 2:
        wide = [bullet(line, width) for line in lines]
        return wide if len(wide) > _WHOLE else [stack(wide, _LINE_GAP)]
    return [_in_two(narrow[i : i + 2 * _WHOLE], half) for i in range(0, len(narrow), 2 * _WHOLE)]


def _in_two(lines: Sequence[ColumnItem], half: float) -> ColumnItem:
    """Lines in two columns that are as equal as they can be."""
    heights = [max(stack(part, _LINE_GAP).height for part in (lines[:n], lines[n:])) for n in range(1, len(lines) + 1)]
    cut = heights.index(min(heights)) + 1
    return beside(stack(lines[:cut], _LINE_GAP), stack(lines[cut:], _LINE_GAP), half + _ABREAST)


def _side_by_side(table: Table, width: float) -> int:
    """How many rows stand beside each other."""
    return max(1, min(table.abreast, len(table.rows), int(width // _NARROWEST)))


def _apart(table: Table, width: float) -> float:
    """From the beginning of a row to that of the next beside it."""
    return (width + _ABREAST) / max(1, min(table.abreast, int(width // _NARROWEST)))


def _columns(table: Table, width: float) -> tuple[tables.Column, ...]:
    own = _apart(table, width) - _ABREAST
    return tuple(tables.Column(c.title, c.share * own, "end" if c.number else "start") for c in table.columns)


def _titles(table: Table, width: float) -> ColumnItem:
    titles = tables.header_row(_columns(table, width))
    return tables.abreast([titles] * _side_by_side(table, width), _apart(table, width))


def _rows(table: Table, width: float) -> tuple[ColumnItem, ...]:
    columns = _columns(table, width)
    cells = [
        [
            silhouette(cell, column.width - 4.0, _SHAPE_HEIGHT) if isinstance(cell, Pattern) else cell
            for cell, column in zip(row, columns)
        ]
        for row in table.rows
    ]
    rows = tables.rows_of(columns, cells)
    apart, count = _apart(table, width), _side_by_side(table, width)
    return tuple(tables.abreast(rows[i : i + count], apart) for i in range(0, len(rows), count))


def _views(item: Views, width: float, high: float) -> ColumnItem:
    """Pictures beside each other, no higher than this, their middles level."""
    room = (width - _VIEW_GAP * (len(item.pictures) - 1)) / len(item.pictures)
    drawn: Sequence[ColumnItem] = [picture_block(picture, room, high) for picture in item.pictures]
    height = max(block.height for block in drawn)
    row = ColumnItem(height, ())
    for number, block in enumerate(drawn):
        sunk = stack([ColumnItem((height - block.height) / 2.0, ()), block])
        row = beside(row, sunk, number * (room + _VIEW_GAP))
    return stack([row, ColumnItem(2.0, ()), paragraph(item.caption, width), ColumnItem(2.0, ())])
