"""Parts that run over several pages: alone, or side by side along one run of pages. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import box
from shapely.affinity import translate as translated

from generator.layout.filling import GAP, OpenPage, Size, Tile, open_page
from generator.layout.furniture import MARGIN, Area, area, area_above_square
from generator.layout.shape import Item, angles, half_turn, joined, moved, outline, turned
from generator.layout.texts import block_corners, deal, text_blocks
from generator.layout.tiling import OVERLAP, Tiling, split

Run = tuple[Item, Tiling, list[OpenPage]]  # turned as the grid wants it, with a page for every used window


def runs(items: Sequence[Item], sizes: Sequence[Size]) -> list[Run]:
    """Each item with its tiling and pages; those that need one row or column of pages share it."""
    alone = [(i, _tiled(i, sizes)) for i in items]
    result = [(i, t) for i, t in alone if min(t[0].rows, t[0].columns) > 1]
    single = sorted((x for x in alone if min(x[1][0].rows, x[1][0].columns) == 1), key=lambda x: -len(x[1][1]))
    while single:
        (item, tiled), *single = single
        grid = tiled[0]
        together, rest = turned(item, grid.angle), []
        members = [together]
        for other, its in single:
            along = its[0].angle if (its[0].rows == 1) == (grid.rows == 1) else half_turn(its[0].angle + 90.0)
            wider = _side_by_side([*members, turned(other, along)], grid)
            x0, y0, x1, y1 = wider.shape.bounds
            if x1 - x0 <= _span(grid.width, grid.columns) and y1 - y0 <= _span(grid.height, grid.rows):
                members.append(turned(other, along))
                together = wider
            else:
                rest.append((other, its))
        single = rest
        result.append((item, tiled) if len(members) == 1 else (together, _tiled(together, sizes)))
    return [(turned(i, grid.angle), grid, pages) for i, (grid, pages) in result]


def window_view(grid: Tiling, size: Size) -> Area:
    """Where a window of `grid` stands on its page."""
    return Area(MARGIN, size[1] - MARGIN - grid.height, grid.width, grid.height)


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
