"""Parts that run over several pages: alone, or side by side along one run of pages. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import box
from shapely.affinity import translate as translated

from generator.layout.filling import GAP, OpenPage, Size, Tile, open_page
from generator.layout.furniture import MARGIN, Area, area, area_above_square
from generator.layout.packing import Sheet, mask_of
from generator.layout.shape import Item, angles, joined, moved, outline, turned
from generator.layout.texts import block_corners, deal, text_blocks
from generator.layout.tiling import OVERLAP, Tiling, split

Run = tuple[Item, Tiling, list[OpenPage]]  # turned as the grid wants it, with a page for every used window


def runs(items: Sequence[Item], sizes: Sequence[Size]) -> list[Run]:
    """Each item with its tiling and pages; those that need one row or column of pages share it."""
    alone = [(i, _tiled(i, sizes)) for i in items]
    result = [(i, t) for i, t in alone if min(t[0].rows, t[0].columns) > 1]
    single = sorted(
        (x for x in alone if min(x[1][0].rows, x[1][0].columns) == 1), key=lambda x: -len(x[1][1])
    )
    while single:
        (item, tiled), *single = single
        rest = []
        for other, its in single:
            wider = _beside(turned(item, tiled[0].angle), other, tiled[0])
            shared = _tiled(wider, sizes) if wider else None
            if shared and len(shared[1]) <= len(tiled[1]):
                item, tiled = wider, shared
            else:
                rest.append((other, its))
        single = rest
        result.append((item, tiled))
    return [(turned(i, grid.angle), grid, pages) for i, (grid, pages) in result]


def window_view(grid: Tiling, size: Size) -> Area:
    """Where a window of `grid` stands on its page."""
    return Area(MARGIN, size[1] - MARGIN - grid.height, grid.width, grid.height)


def _span(window: float, count: int) -> float:
    """What so many windows in a row cover."""
    return count * (window - OVERLAP) + OVERLAP


def _beside(item: Item, other: Item, grid: Tiling) -> Item | None:
    """`item`, turned as its grid wants it, and `other` in the room beside it on the same pages, if it fits."""
    sheet = Sheet(_span(grid.width, grid.columns), _span(grid.height, grid.rows))
    x0, _, _, y1 = item.shape.bounds
    placed = moved(item, -x0, sheet.height - y1)
    sheet.take(placed.shape, GAP)
    for angle in angles(other.shape):
        again = turned(other, angle)
        shift = sheet.find(mask_of(again.shape))
        if shift is not None:
            return joined([placed, moved(again, *shift)])
    return None


def _tiled(item: Item, sizes: Sequence[Size]) -> tuple[Tiling, list[OpenPage]]:
    """The grid with the fewest pages. It keeps to the room above the square, unless the room beside it saves a
    page and every page has a place for the square."""
    blocks = [block_corners(b) for b in text_blocks(item.drawing)]

    def grid_in(room) -> Tiling:
        views = [(w > h, room(w, h).width, room(w, h).height) for w, h in sizes]
        return split(item.shape, blocks, views, angles(item.shape))

    safe, large = grid_in(area_above_square), grid_in(area)
    if len(large.used) < len(safe.used):
        pages = _pages(turned(item, large.angle), large, sizes)
        if all(pages):
            return large, pages
    return safe, _pages(turned(item, safe.angle), safe, sizes)


def _pages(item: Item, grid: Tiling, sizes: Sequence[Size]) -> list[OpenPage | None]:
    """A page for every used window, its room taken by what the window shows; None where no square fits."""
    size = next(s for s in sizes if (s[0] > s[1]) == grid.landscape)
    view = window_view(grid, size)
    dealt = deal(item, grid)
    pages = []
    for cell in grid.used:
        window = grid.window(*cell)
        texts = tuple(dealt[cell])
        rim = box(*window).difference(box(*grid.core(*cell)))  # joins
        worded = [outline(t) for t in texts]
        seen = shapely.union_all([item.shape.intersection(box(*window)), *worded, rim])
        lines = [rim, *worded, *(outline(i) for i in item.drawing.items if i.layer != "note")]
        shift = view.x0 - window[0], view.y0 - window[1]
        lines = [translated(line, *shift) for line in lines]
        pages.append(open_page(size, [], translated(seen, *shift), lines, Tile(item, grid, cell, texts)))
    return pages
