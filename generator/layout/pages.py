"""Templates on pages: whole where they fit, several to a page, split over the fewest pages where they do not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely import box

from generator.drawing.primitives import Drawing, Primitive, Text
from generator.drawing.transform import clip, translate
from generator.layout.front import FrontPage, SplitPart, front_pages
from generator.layout.furniture import Area, Caption, area, joins, title_strip
from generator.layout.packing import Sheet, fits
from generator.layout.records import Document, PackInfo, Page, Paper
from generator.layout.shape import Item, angles, item_of, joined, moved, outline, turned
from generator.layout.texts import block_corners, deal, text_blocks
from generator.layout.tiling import Tiling, split
from generator.parts.records import Piece
from generator.templates.records import Template

GAP = 6.0  # mm between everything that belongs to two templates on one page
_TURN_COST = {0.0: 0.0, 90.0: 10.0}  # mm of page that a turned text is worth
_LEAN_COST = 30.0


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


@dataclass(eq=False)
class _Open:
    """A page that is being filled: whole items in page coordinates, and at most one tile."""

    landscape: bool
    sheet: Sheet
    items: list[Item]
    tile: _Tile | None = None

    @property
    def part_ids(self) -> list[str]:
        split = self.tile.item.part_ids if self.tile else ()
        return [*split, *(k for i in self.items for k in i.part_ids)]


def lay_out(templates: Sequence[Template], paper: Paper, info: PackInfo) -> Document:
    """`templates` at true size on pages of `paper`, after pages that say how to print and where each part is.

    Parts are turned to fit but never scaled or mirrored. Pages follow the order of the templates as far as
    sharing allows.
    """
    views = {False: area(paper.width, paper.height), True: area(paper.height, paper.width)}
    order = {t.pattern.piece.id: k for k, t in enumerate(templates)}
    items = [item_of(t) for t in templates]
    whole, large = [], []
    for item in items:
        turn = _fitting(item, views)
        whole += [(item, turn)] if turn else []
        large += [] if turn else [item]
    splits = _clustered(large, views)
    splits.sort(key=lambda s: min(order[k] for k in s[0].part_ids))

    def front(total: int, pages_of: Mapping[str, Sequence[int]], numbers: Mapping[str, int]) -> list[FrontPage]:
        pieces = [t.pattern.piece for t in templates]
        parts = [SplitPart(i, g, {c: numbers.get(page_code(i.label, c), 0) for c in g.used}) for i, g in splits]
        return front_pages(info, paper, views[False], total, pieces, pages_of, parts)

    # Once to see how much room it takes, and again when the numbers of the pages are known.
    first = [_under_front(f, views[False]) for f in front(0, dict.fromkeys(order, ()), {})]
    tiles = [tile for item, grid in splits for tile in _tiles(item, grid, views)]
    rest = _pack(whole, views, first, tiles)
    rest.sort(key=lambda p: (min(order[k] for k in p.part_ids), p.tile.cell if p.tile else (-1, -1)))
    opened = [*first, *rest]

    pages_of = {k: [n for n, p in enumerate(opened, start=1) if k in p.part_ids] for k in order}
    numbers = {p.tile.code: n for n, p in enumerate(opened, start=1) if p.tile}
    below = [f.drawing.items for f in front(len(opened), pages_of, numbers)] + [()] * len(rest)
    pages = []
    for number, (page, matter) in enumerate(zip(opened, below), start=1):
        width, height = (paper.height, paper.width) if page.landscape else (paper.width, paper.height)
        parts = sorted((t.pattern.piece for t in _templates(page)), key=lambda p: order[p.id])
        title, caption = _named(page, parts, number)
        drawn = [*matter, *_contents(page, views[page.landscape], numbers)]
        drawn += title_strip(width, info, number, len(opened), caption)
        row, column = (page.tile.cell[0] + 1, page.tile.cell[1] + 1) if page.tile else (None, None)
        ids = tuple(p.id for p in parts)
        pages.append(Page(number, width, height, title, ids, row, column, Drawing(tuple(drawn))))
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
        view = turned(item, angle).shape
        for landscape, room in views.items():
            if fits(view, room.width, room.height):
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
        sheet.take(shapely.transform(shapely.union_all(seen), lambda p: p - window[:2]))
        pages.append(_Open(grid.landscape, sheet, [], _Tile(item, grid, cell, texts)))
    return pages


def _pack(whole, views: dict[bool, Area], first: list[_Open], tiles: list[_Open]) -> list[_Open]:
    """Put every whole item, largest first, on a page; returns the pages after the `first`.

    `whole` pairs items with the (landscape, angle) in which they fit on an empty page. An item goes where
    there is room beside others, else beside a tile, else on a page of its own.
    """
    opened: list[_Open] = []
    for item, (landscape, angle) in sorted(whole, key=lambda w: -w[0].shape.convex_hull.area):
        turns = [(a, turned(item, a)) for a in angles(item.shape)]
        for page in [*first, *opened, *tiles]:
            if _put(turns, page, views[page.landscape]):
                break
        else:
            room = views[landscape]
            opened.append(_Open(landscape, Sheet(room.width, room.height, GAP), []))
            _put([(angle, turned(item, angle))], opened[-1], room)
    return [*opened, *tiles]


def _put(turns: Sequence[tuple[float, Item]], page: _Open, room: Area) -> bool:
    """Place the item in the turn that reaches down least, with some favour for texts that read level."""
    best = None
    for angle, item in turns:
        shift = page.sheet.find(item.shape)
        if shift is None:
            continue
        cost = -(item.shape.bounds[1] + shift[1]) + _TURN_COST.get(angle, _LEAN_COST)
        if best is None or cost < best[0] - 1e-6:
            best = cost, item, shift
    if best is None:
        return False
    placed = moved(best[1], *best[2])
    page.sheet.take(placed.shape)
    page.items.append(moved(placed, room.x0, room.y0))
    return True


def _clustered(items: Sequence[Item], views: dict[bool, Area]) -> list[tuple[Item, Tiling]]:
    """Each item with its tiling; items that need one row or column of pages share it side by side."""
    alone = [(i, _tiled(i, views)) for i in items]
    result = [(i, g) for i, g in alone if min(g.rows, g.columns) > 1]
    runs = sorted((x for x in alone if min(x[1].rows, x[1].columns) == 1), key=lambda x: -len(x[1].used))
    while runs:
        (item, grid), *runs = runs
        members = [turned(item, grid.angle)]
        rest = []
        for other, its in runs:
            wider = _side_by_side([*members, turned(other, its.angle)], grid)
            same = its.landscape == grid.landscape and (its.rows == 1) == (grid.rows == 1)
            if same and _across(wider, grid) <= _across_room(grid):
                members.append(turned(other, its.angle))
            else:
                rest.append((other, its))
        runs = rest
        if len(members) == 1:
            result.append((item, grid))
        else:
            together = _side_by_side(members, grid)
            result.append((together, _tiled(together, views)))
    return [(turned(i, g.angle), g) for i, g in result]


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


def _across(item: Item, grid: Tiling) -> float:
    x0, y0, x1, y1 = item.shape.bounds
    return y1 - y0 if grid.rows == 1 else x1 - x0


def _across_room(grid: Tiling) -> float:
    return grid.height if grid.rows == 1 else grid.width


def _tiled(item: Item, views: dict[bool, Area]) -> Tiling:
    blocks = [block_corners(b) for b in text_blocks(item.drawing)]
    rooms = [(landscape, v.width, v.height) for landscape, v in views.items()]
    return split(item.shape, blocks, rooms, angles(item.shape))


def _templates(page: _Open) -> list[Template]:
    return [t for i in ([page.tile.item] if page.tile else []) + page.items for t in i.templates]


def _named(page: _Open, parts: Sequence[Piece], number: int) -> tuple[str, Caption]:
    """Title for the bookmark, and caption of the title strip."""
    listed = ", ".join(f"{p.label} {p.name}" for p in parts)
    lines = (listed,) if listed else ()
    if page.tile:
        code = page.tile.code
        return f"{code}: {listed}", Caption(code, lines, page.tile.grid.used, page.tile.cell)
    if not parts:
        heading = "How to print" if number == 1 else "Page map"
        return heading, Caption(heading, ())
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
