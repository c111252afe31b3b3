"""Blocks flowed over pages: where each row stands, and which of its settings each block takes. Lengths in mm.

A block that is long goes over to the next page between two of its rows; one that may be set in several ways, with a
larger picture or a smaller one, is set so that pages are full, pictures large and few blocks go over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from foamwright.booklet.words.typeset import HEADING, ColumnItem, paragraph, stack

_BETWEEN_SECTIONS = 8.0
_BELOW_HEADING = 2.0
# What is set against what; a page that is begun is the unit.
_WHITE = 1.0  # of a whole page that is left white
_OVER = 0.25  # of a block that goes over to another page
_STUB = 0.5  # of less than `_LEAST` of it on either side
_LEAST = 18.0
_KEPT = 3  # rows of a table that stay together at its beginning and at its end


@dataclass(frozen=True)
class Setting:
    """One way to set a block, in rows one below the other; a page may end between any two. `cost` says how much worse it
    reads than the best one, in pages that it would have to spare."""

    rows: tuple[ColumnItem, ...]
    cost: float = 0.0


@dataclass(frozen=True)
class Block:
    """What is set together if it can be. `again` is set above the rows that go over to another page."""

    settings: tuple[Setting, ...]
    again: ColumnItem | None = None
    gap: float = 0.0  # between rows
    parts: tuple[str, ...] = ()  # ids of the parts in it
    name: str = ""  # of a bookmark that leads to it


@dataclass(frozen=True)
class Section:
    """Blocks under one heading, `gap` apart. `header` is set again at the top of each page that the section runs on to."""

    title: str
    blocks: tuple[ColumnItem | Block, ...]
    header: ColumnItem | None = None
    gap: float = 0.0


@dataclass(frozen=True)
class Placed:
    """A block on a page, its top at `top` mm below the top of the column."""

    block: ColumnItem
    top: float
    section: str
    parts: tuple[str, ...] = ()
    opens: bool = False  # is it the heading of its section?
    name: str = ""


@dataclass(frozen=True)
class _Laid:
    """Where the rows of one block came: of each the page, counted from that it began after, and its top."""

    rows: tuple[tuple[int, float], ...]
    used: float  # of the last page
    cost: float


def flow(sections: Sequence[Section], width: float, height: float) -> list[list[Placed]]:
    """The sections set one after another over columns `height` mm high; each column is one page.

    Spaces are as wide as the smallest number of pages allows. A heading stays with the first row of its
    section, and neither the first rows of a table nor its last ones stand alone. A row is not cut; one higher than a page is
    the caller's mistake and raises ValueError.
    """
    return min((_set(sections, width, height, spacing) for spacing in (1.0, 0.8, 0.6)), key=len)


@dataclass(frozen=True)
class _Entry:
    """A block in its place: what its section is, and whether it opens that."""

    block: Block
    section: Section
    heading: ColumnItem
    column: _Column
    opens: bool


def _set(sections: Sequence[Section], width: float, height: float, spacing: float) -> list[list[Placed]]:
    entries: list[_Entry] = []
    for section in (_with_rows_kept(section, height) for section in sections):
        heading = paragraph(section.title, width, HEADING, bold=True)
        top = section.header.height if section.header else 0.0
        column = _Column(
            height, top, heading.height + _BELOW_HEADING, spacing * section.gap, spacing * _BETWEEN_SECTIONS
        )
        entries += [_Entry(_block(item), section, heading, column, k == 0) for k, item in enumerate(section.blocks)]
    pages: list[list[Placed]] = [[]]
    for entry, laid, setting in _arranged(entries):
        block, section, begun = entry.block, entry.section, len(pages) - 1
        for number, ((page, at), row) in enumerate(zip(laid.rows, setting.rows)):
            opens = entry.opens and number == 0
            new = begun + page == len(pages)
            if new:
                pages.append([])
            above = at - (entry.column.top if section.header and (new or opens) else 0.0)
            if new and number and block.again is not None:
                above -= block.again.height + block.gap
            if opens:
                top = above - entry.heading.height - _BELOW_HEADING
                pages[-1].append(Placed(entry.heading, top, section.title, opens=True))
            if section.header and (new or opens):
                pages[-1].append(Placed(section.header, above, section.title))
                above += entry.column.top
            if new and number and block.again is not None:
                pages[-1].append(Placed(block.again, above, section.title))
            name = block.name if number == 0 else ""
            pages[-1].append(Placed(row, at, section.title, block.parts, name=name))
            if at + row.height > height + 1e-6:
                raise ValueError(f"a block of '{section.title}' is {row.height:.0f} mm high, more than a page")
    return pages


@dataclass(frozen=True)
class _Column:
    """Pages `height` high, each with `top` of its section's titles; its heading takes `opening`, and stands `apart` from
    what is before it, as blocks stand `gap` from each other."""

    height: float
    top: float = 0.0
    opening: float = 0.0
    gap: float = 0.0
    apart: float = 0.0


@dataclass(frozen=True, eq=False)
class _Way:
    """Blocks set so far: what that costs, how far their last page is filled, and the last of them after the others."""

    cost: float
    used: float
    before: _Way | None = None
    last: tuple[_Entry, _Laid, Setting] | None = None


def _arranged(entries: Sequence[_Entry]) -> list[tuple[_Entry, _Laid, Setting]]:
    """Each block with the setting it takes and where its rows come, the best of all sections together.

    Found from block to block by the best for each place at which a page can be filled to so far (to a mm).
    """
    ways = [_Way(0.0, 0.0)]
    for entry in entries:
        best: dict[int, _Way] = {}
        for way in ways:
            for setting in entry.block.settings:
                for laid in _all_laid(entry.block, setting, way.used, entry.column, entry.opens):
                    cost, key = way.cost + laid.cost + setting.cost, round(laid.used)
                    if key not in best or cost < best[key].cost - 1e-9:
                        best[key] = _Way(cost, laid.used, way, (entry, laid, setting))
        ways = list(best.values())
    found: list[tuple[_Entry, _Laid, Setting]] = []
    back: _Way | None = min(ways, key=lambda way: (way.cost, way.used))
    while back is not None and back.last is not None:
        found.append(back.last)
        back = back.before
    return found[::-1]


def _all_laid(block: Block, setting: Setting, used: float, column: _Column, first: bool) -> list[_Laid]:
    """The rows from `used` on, as far as they go; begun on a new page; and so that no single row goes over."""
    laid = [_laid(block, setting, used, column, first)]
    over = [number for number, (page, _) in enumerate(laid[0].rows) if number and page > laid[0].rows[number - 1][0]]
    if len(setting.rows) > 1 and over:
        laid.append(_laid(block, setting, used, column, first, 0))
        if over[-1] > 1:
            laid.append(_laid(block, setting, used, column, first, over[-1] - 1))
    return laid


def _laid(
    block: Block, setting: Setting, used: float, column: _Column, first: bool, ends_before: int | None = None
) -> _Laid:
    """The rows of a block from `used` on; a page ends before the row `ends_before` whether or not it would fit."""
    rows: list[tuple[int, float]] = []
    page, cost, since = 0, 0.0, 0.0  # since: how much of the block stands on this page
    opening = column.opening + column.top if first else 0.0
    for number, row in enumerate(setting.rows):
        if number:
            apart, head = block.gap, 0.0
        else:
            apart, head = (column.apart if first else column.gap) if used > 0.0 else 0.0, opening
        if used > 0.0 and (number == ends_before or used + apart + head + row.height > column.height + 1e-6):
            cost += 1.0 + _WHITE * max(column.height - used, 0.0) / column.height
            if number:
                left = sum(r.height for r in setting.rows[number:])
                cost += _OVER + _STUB * ((since < _LEAST) + (left < _LEAST))
                head = column.top + (block.again.height + block.gap if block.again else 0.0)
            elif not first:
                head = column.top
            page, used, apart, since = page + 1, 0.0, 0.0, 0.0
        top = used + apart + head
        rows.append((page, top))
        since += row.height
        used = top + row.height
    return _Laid(tuple(rows), used, cost)


def _with_rows_kept(section: Section, height: float) -> Section:
    """A table with its first rows made one block, and its last ones, where they are not themselves a good part of a page."""
    if section.header is None or len(section.blocks) < 3:
        return section
    blocks = [_block(item) for item in section.blocks]
    count = min(_KEPT, len(blocks) // 2)
    first, last = _as_one(blocks[:count], height), _as_one(blocks[-count:], height)
    return replace(section, blocks=(*first, *blocks[count : len(blocks) - count], *last))


def _as_one(blocks: Sequence[Block], height: float) -> list[Block]:
    rows = [row for block in blocks for row in block.settings[0].rows]
    if sum(row.height for row in rows) > height / 4.0:
        return list(blocks)
    parts = tuple(part for block in blocks for part in block.parts)
    return [replace(blocks[0], settings=(Setting((stack(rows),)),), parts=parts)]


def _block(item: ColumnItem | Block) -> Block:
    return item if isinstance(item, Block) else Block((Setting((item,)),))
