"""Templates on pages: whole where they fit, several to a page, else split over the fewest pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

import shapely
from shapely import box
from shapely.affinity import rotate
from shapely.affinity import translate as translated

from generator.drawing.primitives import Drawing, Primitive, Text
from generator.drawing.transform import clip, translate
from generator.layout.front import FrontPage, SplitPart, front_pages
from generator.layout.furniture import Area, Caption, area, joins, title_strip
from generator.layout.packing import Mask, Sheet, mask_of
from generator.layout.records import Document, PackInfo, Page, Paper
from generator.layout.shape import Item, angles, half_turn, item_of, joined, moved, outline, turned
from generator.layout.texts import block_corners, deal, text_blocks
from generator.layout.tiling import OVERLAP, Tiling, split
from generator.parts.records import Piece
from generator.templates.records import Template

GAP = 6.0  # mm between everything that belongs to two templates on one page
_TURN_COST = {0.0: 0.0, 90.0: 20.0}  # mm of page that a turned text is worth
_LEAN_COST = 80.0


@dataclass(frozen=True, eq=False)
class _Tile:
    """A window on a split item, which is turned as its grid wants it, with the texts that belong to it."""

    item: Item
    grid: Tiling
    cell: tuple[int, int]
    texts: tuple[Text, ...]

    @property
    def code(self) -> str:
        return page_code(self.item.label, self.cell)


@dataclass(frozen=True, eq=False)
class _Turn:
    """The room of an item as it may stand on a page."""

    angle: float
    mask: Mask


@dataclass(eq=False)
class _Open:
    """A page that is being filled: whole items in page coordinates, and at most one tile."""

    landscape: bool
    sheet: Sheet
    items: list[Item]
    tile: _Tile | None = None

    @property
    def leading_ids(self) -> tuple[str, ...]:
        """Of the split parts, so that their pages follow each other; else of all parts."""
        return self.tile.item.part_ids if self.tile else tuple(k for i in self.items for k in i.part_ids)

    @property
    def part_ids(self) -> tuple[str, ...]:
        return self.leading_ids + (tuple(k for i in self.items for k in i.part_ids) if self.tile else ())


def lay_out(templates: Sequence[Template], paper: Paper, info: PackInfo) -> Document:
    """`templates` at true size on pages of `paper`, after pages that say how to print and where each part is.

    Parts are turned to fit but never scaled or mirrored. Pages follow the order of the templates as far as
    sharing allows.
    """
    views = {False: area(paper.width, paper.height), True: area(paper.height, paper.width)}
    pieces = {t.pattern.piece.id: t.pattern.piece for t in templates}
    order = {part: k for k, part in enumerate(pieces)}
    items = [item_of(t) for t in templates]
    whole, large = [], []
    for item in items:
        turn = _fitting(item, views)
        whole += [(item, turn)] if turn else []
        large += [] if turn else [item]
    splits = _clustered(large, views)
    splits.sort(key=lambda s: min(order[k] for k in s[0].part_ids))

    def front(total: int, pages_of, numbers: Mapping[str, int]) -> list[FrontPage]:
        codes = [{c: numbers.get(page_code(i.label, c), 0) for c in g.used} for i, g in splits]
        parts = [SplitPart(*split, pages) for split, pages in zip(splits, codes)]
        return front_pages(info, paper, views[False], total, tuple(pieces.values()), pages_of, parts)

    # Once to see how much room it takes, and again when the numbers of the pages are known.
    first = [_under_front(f, views[False]) for f in front(0, dict.fromkeys(order, ()), {})]
    tiles = [tile for item, grid in splits for tile in _tiles(item, grid, views)]
    rest = _pack(whole, views, first, tiles)
    rest.sort(key=lambda p: (min(order[k] for k in p.leading_ids), p.tile.cell if p.tile else (-1, -1)))
    opened = [*first, *rest]
    for page in opened:
        page.items.sort(key=lambda i: order[i.part_ids[0]])

    pages_of = {k: [n for n, p in enumerate(opened, start=1) if k in p.part_ids] for k in order}
    numbers = {p.tile.code: n for n, p in enumerate(opened, start=1) if p.tile}
    front_matter = front(len(opened), pages_of, numbers)
    pages = []
    for number, (page, matter) in enumerate(zip_longest(opened, front_matter), start=1):
        width, height = (paper.height, paper.width) if page.landscape else (paper.width, paper.height)
        parts = [pieces[k] for k in page.part_ids]
        title, caption = _named(page, parts, matter)
        drawn = [*(matter.drawing.items if matter else ()), *_contents(page, views[page.landscape], numbers)]
        drawn += title_strip(width, info, number, len(opened), caption)
        row, column = (page.tile.cell[0] + 1, page.tile.cell[1] + 1) if page.tile else (None, None)
        pages.append(Page(number, width, height, title, page.part_ids, row, column, Drawing(tuple(drawn))))
    subject = f"Foam templates at true size: size {info.size}, version {info.version}"
    return Document(f"{info.name} templates", subject, paper.name, tuple(pages), info.author)


def _under_front(page: FrontPage, view: Area) -> _Open:
    """A front page as one to be filled: only where there is room for a column beside the text."""
    sheet = Sheet(view.width, view.height, GAP)
    widest = max(x1 for _, _, x1, _ in page.columns) - view.x0
    if view.width - widest < 100.0:
        sheet.take_all()
    for x0, y0, x1, y1 in page.columns:
        sheet.take(box(x0 - view.x0, y0 - view.y0, x1 - view.x0, y1 - view.y0))
    return _Open(False, sheet, [])


def _fitting(item: Item, views: dict[bool, Area]) -> tuple[bool, float] | None:
    """The most readable way in which the item fits on an empty page: (landscape, angle)."""
    for angle in angles(item.shape):
        x0, y0, x1, y1 = rotate(item.shape, angle, origin=(0, 0)).bounds
        for landscape, room in views.items():
            if x1 - x0 <= room.width and y1 - y0 <= room.height:
                return landscape, angle
    return None


def _tiles(item: Item, grid: Tiling, views: dict[bool, Area]) -> list[_Open]:
    """A page for every used window, its room taken by what the window shows."""
    room = views[grid.landscape]
    dealt = deal(item, grid)
    pages = []
    for cell in grid.used:
        window = grid.window(*cell)
        texts = tuple(dealt[cell])
        sheet = Sheet(room.width, room.height, GAP)
        seen = [item.shape.intersection(box(*window)), *map(outline, texts)]
        seen += [box(*window).difference(box(*grid.core(*cell)))]  # joins
        sheet.take(translated(shapely.union_all(seen), -window[0], -window[1]))
        pages.append(_Open(grid.landscape, sheet, [], _Tile(item, grid, cell, texts)))
    return pages


def _pack(whole, views: dict[bool, Area], first: list[_Open], tiles: list[_Open]) -> list[_Open]:
    """Put every whole item, largest first, on a page; returns the pages after the `first`.

    `whole` pairs items with the (landscape, angle) in which they fit on an empty page. An item goes where
    there is room beside others, else beside a tile, else on a page of its own.
    """
    opened: list[_Open] = []
    for item, (landscape, angle) in sorted(whole, key=lambda w: -w[0].shape.convex_hull.area):
        turns = [_Turn(a, mask_of(rotate(item.shape, a, origin=(0, 0)))) for a in angles(item.shape)]
        for page in [*first, *opened, *tiles]:
            if _put(item, turns, page, views[page.landscape]):
                break
        else:
            room = views[landscape]
            opened.append(_Open(landscape, Sheet(room.width, room.height, GAP), []))
            _put(item, [t for t in turns if t.angle == angle], opened[-1], room)
    return [*opened, *tiles]


def _put(item: Item, turns: Sequence[_Turn], page: _Open, room: Area) -> bool:
    """Place the item in the turn that reaches down least, with some favour for texts that read level."""
    best = None
    for turn in turns:
        shift = page.sheet.find(turn.mask)
        if shift is None:
            continue
        cost = -(turn.mask.bounds[1] + shift[1]) + _TURN_COST.get(turn.angle, _LEAN_COST)
        if best is None or cost < best[0] - 1e-6:
            best = cost, turn.angle, shift
    if best is None:
        return False
    _, angle, shift = best
    placed = moved(turned(item, angle), *shift)
    page.sheet.take(placed.shape)
    page.items.append(moved(placed, room.x0, room.y0))
    return True


def _clustered(items: Sequence[Item], views: dict[bool, Area]) -> list[tuple[Item, Tiling]]:
    """Each item, turned, with its tiling; those that need one row or column of pages share it."""
    alone = [(i, _tiled(i, views)) for i in items]
    result = [(i, g) for i, g in alone if min(g.rows, g.columns) > 1]
    runs = sorted((x for x in alone if min(x[1].rows, x[1].columns) == 1), key=lambda x: -len(x[1].used))
    while runs:
        (item, grid), *runs = runs
        together, rest = turned(item, grid.angle), []
        members = [together]
        for other, its in runs:
            along = its.angle if (its.rows == 1) == (grid.rows == 1) else half_turn(its.angle + 90.0)
            wider = _side_by_side([*members, turned(other, along)], grid)
            x0, y0, x1, y1 = wider.shape.bounds
            if x1 - x0 <= _span(grid.width, grid.columns) and y1 - y0 <= _span(grid.height, grid.rows):
                members.append(turned(other, along))
                together = wider
            else:
                rest.append((other, its))
        runs = rest
        result.append((item, grid) if len(members) == 1 else (together, _tiled(together, views)))
    return [(turned(i, g.angle), g) for i, g in result]


def _span(window: float, count: int) -> float:
    """What so many windows in a row cover."""
    return count * (window - OVERLAP) + OVERLAP


def _side_by_side(members: Sequence[Item], grid: Tiling) -> Item:
    """Items along a run of pages, GAP apart across it, their starts level."""
    placed, at = [], 0.0
    for item in members:
        x0, y0, x1, y1 = item.shape.bounds
        if grid.rows == 1:
            placed.append(moved(item, -x0, at - y1))
            at -= y1 - y0 + GAP
        else:
            placed.append(moved(item, at - x0, -y1))
            at += x1 - x0 + GAP
    return joined(placed)


def _tiled(item: Item, views: dict[bool, Area]) -> Tiling:
    blocks = [block_corners(b) for b in text_blocks(item.drawing)]
    rooms = [(landscape, v.width, v.height) for landscape, v in views.items()]
    return split(item.shape, blocks, rooms, angles(item.shape))


def _named(page: _Open, parts: Sequence[Piece], matter: FrontPage | None) -> tuple[str, Caption]:
    """Title for the bookmark, and caption of the title strip."""
    listed = ", ".join(f"{p.label} {p.name}" for p in parts)
    lines = (listed,) if listed else ()
    if page.tile:
        code = page.tile.code
        return f"{code}: {listed}", Caption(code, lines, page.tile.grid.used, page.tile.cell)
    if matter:
        return ", ".join([matter.title, *lines]), Caption(matter.title, lines)
    return listed, Caption(", ".join(p.label for p in parts), lines)


def _contents(page: _Open, view: Area, numbers: Mapping[str, int]) -> list[Primitive]:
    """Everything of the parts on a page, in page coordinates."""
    whole = [p for i in page.items for p in i.drawing.items]
    if page.tile is None:
        return whole
    item, grid, cell = page.tile.item, page.tile.grid, page.tile.cell
    window = grid.window(*cell)
    lines = Drawing(tuple(i for i in item.drawing.items if not isinstance(i, Text)))
    shown = Drawing(clip(lines, *window).items + page.tile.texts)
    placed = translate(shown, view.x0 - window[0], view.y0 - window[1]).items
    codes = {side: page_code(item.label, c) for side, c in grid.neighbours(*cell).items()}
    around = {side: (numbers[code], code) for side, code in codes.items()}
    return [*placed, *joins(view, around, [i for i in placed if isinstance(i, Text)]), *whole]


def page_code(label: str, cell: tuple[int, int]) -> str:
    """Label, row and column of a page of a split part, as in B-r1c2."""
    return f"{label}-r{cell[0] + 1}c{cell[1] + 1}"
