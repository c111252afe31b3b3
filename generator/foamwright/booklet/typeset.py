"""Setting text: wrapped lines, blocks of known height, and blocks flowed over pages. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from foamwright.drawing.primitives import Drawing, Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import wrap as wrap

BODY = 3.5  # font size of running text
SMALL = 2.9  # of tables and lists
HEADING = 5.4
BULLET_INDENT = 1.1  # in font sizes
_BETWEEN_SECTIONS = 8.0
_PITCH = 1.36  # distance of baselines, in font sizes
_FIRST = 0.98  # first baseline below the top of the block; an accented capital still fits


@dataclass(frozen=True)
class ColumnItem:
    """Something `height` mm high; its items hang from the origin, at its top left corner, so y is negative."""

    height: float
    items: tuple[Primitive, ...]


@dataclass(frozen=True)
class Section:
    """Blocks under one heading. `header` is set again at the top of each page that the section runs on to."""

    title: str
    blocks: tuple[ColumnItem, ...]
    header: ColumnItem | None = None
    gap: float = 0.0
    parts: tuple[tuple[str, ...], ...] = ()  # ids of the parts in each block, if any
    names: tuple[str, ...] = ()  # of each block that a bookmark leads to, "" for one that continues
    sizes: tuple[tuple[ColumnItem, ...], ...] = ()  # each block as it is and ever smaller, if it may be set smaller


@dataclass(frozen=True)
class Placed:
    """A block on a page, its top at `top` mm below the top of the column."""

    block: ColumnItem
    top: float
    section: str
    parts: tuple[str, ...] = ()
    opens: bool = False  # is it the heading of its section?
    name: str = ""


def paragraph(value: str, width: float, size: float = BODY, bold: bool = False, indent: float = 0.0) -> ColumnItem:
    """Wrapped text, every line from `indent`."""
    lines = wrap(value, width - indent, size, bold)
    items = [
        Text((indent, -size * (_FIRST + _PITCH * i)), line, size, "note", bold=bold) for i, line in enumerate(lines)
    ]
    return ColumnItem(size * _PITCH * len(lines), tuple(items))


def bullet(value: str, width: float, size: float = BODY) -> ColumnItem:
    """A paragraph with a dot before it."""
    indent = BULLET_INDENT * size
    block = paragraph(value, width, size, indent=indent)
    dot = Text((0.25 * size, -size * _FIRST), "\N{MIDDLE DOT}", size, "note", bold=True)
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


def flow(sections: Sequence[Section], width: float, height: float) -> list[list[Placed]]:
    """The sections set one after another over columns `height` mm high; each column is one page.

    Spaces are as wide as the smallest number of pages allows. A heading stays with the first block of its
    section, and the last row of a table never stands alone. A block is not cut; one higher than a page is
    the caller's mistake and raises ValueError.
    """
    return min((_set(sections, width, height, spacing) for spacing in (1.0, 0.8, 0.6)), key=len)


def _set(sections: Sequence[Section], width: float, height: float, spacing: float) -> list[list[Placed]]:
    pages: list[list[Placed]] = [[]]
    used = 0.0
    for section in (_with_last_rows_kept(section, height) for section in sections):
        heading = paragraph(section.title, width, HEADING, bold=True)
        header_height = section.header.height if section.header else 0.0
        if section.sizes:
            apart = 0.0 if used == 0.0 else spacing * _BETWEEN_SECTIONS
            room = height - used - apart - heading.height - 2.0 - header_height
            section = replace(section, blocks=packed(section.sizes, room, height, spacing * section.gap))
        for index, block in enumerate(section.blocks):
            parts = section.parts[index] if section.parts else ()
            opening = heading.height + 2.0 + header_height if index == 0 else 0.0
            apart = 0.0 if used == 0.0 else spacing * (_BETWEEN_SECTIONS if index == 0 else section.gap)
            if used > 0.0 and used + apart + opening + block.height > height:
                pages.append([])
                used = apart = 0.0
            top = used + apart
            if index == 0:
                pages[-1].append(Placed(heading, top, section.title, opens=True))
                top += heading.height + 2.0
            if section.header and (index == 0 or used == 0.0):
                pages[-1].append(Placed(section.header, top, section.title))
                top += header_height
            name = section.names[index] if section.names else ""
            pages[-1].append(Placed(block, top, section.title, parts, name=name))
            used = top + block.height
            if used > height + 1e-6:
                raise ValueError(f"a block of '{section.title}' is {block.height:.0f} mm high, more than a page")
    return pages


def packed(sizes: Sequence[Sequence[ColumnItem]], room: float, height: float, gap: float) -> tuple[ColumnItem, ...]:
    """Each block in one of its sizes, so that all take as few pages as they can, and then as little as can be is smaller.

    `room` is left on the page that they begin on, `height` is that of the others. Found from the last block backwards,
    by the best for what is left from each block on.
    """
    count = len(sizes)
    best: dict[int, tuple[tuple[int, int], tuple[int, ...]]] = {count: ((0, 0), ())}
    for start in range(count - 1, -1, -1):
        options = []
        for end in range(start + 1, count + 1):
            chosen = _on_a_page(sizes[start:end], height, gap)
            if chosen is None:
                break
            (pages, smaller), rest = best[end]
            options.append(((pages + 1, smaller + sum(chosen)), (*chosen, *rest)))
        best[start] = (
            min(options) if options else ((best[start + 1][0][0] + 1, best[start + 1][0][1]), (0, *best[start + 1][1]))
        )
    options = [best[0]]
    for end in range(1, count + 1):
        chosen = _on_a_page(sizes[:end], room, gap)
        if chosen is not None:
            (pages, smaller), rest = best[end]
            options.append(((pages, smaller + sum(chosen)), (*chosen, *rest)))
    return tuple(block[size] for block, size in zip(sizes, min(options)[1]))


def _on_a_page(sizes: Sequence[Sequence[ColumnItem]], room: float, gap: float) -> tuple[int, ...] | None:
    """The size of each block, the largest that go on one page; None if even the smallest do not."""
    chosen = [len(block) - 1 for block in sizes]
    used = sum(block[-1].height for block in sizes) + gap * (len(sizes) - 1)
    if used > room:
        return None
    for smaller in range(max(chosen), 0, -1):
        for i, block in enumerate(sizes):
            if chosen[i] == smaller and used + block[smaller - 1].height - block[smaller].height <= room:
                used += block[smaller - 1].height - block[smaller].height
                chosen[i] = smaller - 1
    return tuple(chosen)


def _with_last_rows_kept(section: Section, height: float) -> Section:
    """A table with its last two rows made one block, where they are not themselves a good part of a page."""
    if section.header is None or len(section.blocks) < 3:
        return section
    if sum(block.height for block in section.blocks[-2:]) > height / 4.0:
        return section
    blocks = (*section.blocks[:-2], stack(section.blocks[-2:]))
    parts = section.parts and (*section.parts[:-2], section.parts[-2] + section.parts[-1])
    return replace(section, blocks=blocks, parts=parts)
