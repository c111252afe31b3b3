"""What runs over several pages: alone, or side by side along one run of pages. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from itertools import product

import numpy as np
import shapely
from shapely import box
from shapely.affinity import translate as translated

from foamwright.drawing.shapes import ink
from foamwright.layout.filling import GAP, OpenPage, Size, Tile, open_page
from foamwright.layout.furniture import PRINT_MARGIN, Area, area, area_above_square
from foamwright.layout.packing import Beside, Rooms
from foamwright.layout.shape import Item, joined, moved, turned, worth_trying
from foamwright.layout.texts import deal, join_marks, whole_on_pages
from foamwright.layout.tiling import OVERLAP, Tiling, View, split

_HAIR = 0.5  # mm that what is drawn may reach beyond a page's window, within its margin
_CLEAR = 1.0  # mm between two parts of a run whose words were set anew
_BESIDE = 10.0  # mm around a window; a line farther off takes no room on its page

_Tiled = tuple[Item, tuple[Tiling, list[OpenPage]]]
_Room = Callable[[Item, Item], Beside]  # for the second beside the first; what has been worked out is kept
Run = tuple[Item, Tiling, list[OpenPage]]  # turned as the grid wants it, with a page for every used window


def runs(items: Sequence[Item], sizes: Sequence[Size]) -> list[Run]:
    """Each item with its tiling and pages.

    Items lie side by side along one run where that takes fewer pages in all and parts none over more of them.
    Two orders are tried: any that save a page as they come, and before them those whose own pages are all saved.
    """
    rooms = Rooms(GAP)
    room = cache(lambda first, second: rooms(first.shape, second.shape))
    apart = sorted(((i, _tiled(i, sizes)) for i in items), key=lambda x: -len(x[1][1]))
    alone = {item.label: len(pages) for item, (_, pages) in apart}
    tried = [_gathered(apart, alone, sizes, savings, room) for savings in ((_one,), (len, _one))]
    best = min(tried, key=lambda gathered: sum(len(pages) for _, (_, pages) in gathered))
    return [_reworded(turned(item, grid.angle), grid, pages, sizes) for item, (grid, pages) in best]


def _reworded(item: Item, grid: Tiling, pages: list[OpenPage], sizes: Sequence[Size]) -> Run:
    """With the words of each part set clear of the joins, now that these are known, if there is room for that."""
    joins = join_marks(grid)
    windows = shapely.union_all([box(*grid.window(*cell)) for cell in grid.used]).buffer(_HAIR)
    placed = list(item.placed)
    for k, own in enumerate(placed):
        if whole_on_pages(own.drawing, grid):
            continue
        anew = own.clear_of(joins)
        others = shapely.union_all([p.room for p in placed if p is not own])
        on_pages = whole_on_pages(anew.drawing, grid) and windows.contains(anew.room)
        if on_pages and anew.room.distance(others) > _CLEAR:
            placed[k] = anew
    reworded = Item(tuple(placed))
    if reworded.placed == item.placed:
        return item, grid, pages
    opened = _pages(reworded, grid, sizes)
    return (reworded, grid, opened) if opened else (item, grid, pages)


def _gathered(
    waiting: Sequence[_Tiled],
    alone: Mapping[str, int],
    sizes: Sequence[Size],
    savings: Sequence[Callable[[Sequence[OpenPage]], int]],
    room: _Room,
) -> list[_Tiled]:
    """Each item together with those after it that it shares pages with.

    `savings` say in turn how many of its own pages another must save to be taken in.
    """
    result = []
    while waiting:
        (item, tiled), *waiting = waiting
        for saved in savings:
            rest = []
            for other, its in waiting:
                most = len(tiled[1]) + len(its[1]) - saved(its[1])
                shared = _shared(item, other, most, alone, sizes, room)
                if shared:
                    item, tiled = shared
                else:
                    rest.append((other, its))
            waiting = rest
        result.append((item, tiled))
    return result


def _one(pages: Sequence[OpenPage]) -> int:
    return 1


def window_view(grid: Tiling, size: Size) -> Area:
    """Where a window of `grid` stands on its page."""
    return Area(PRINT_MARGIN, size[1] - PRINT_MARGIN - grid.height, grid.width, grid.height)


def _span(window: float, count: int) -> float:
    """What so many windows in a row cover."""
    return count * (window - OVERLAP) + OVERLAP


def _shared(item: Item, other: Item, most: int, alone: Mapping[str, int], sizes: Sequence[Size], room: _Room):
    """Both side by side, with tiling and pages, if these are no more than `most` and no piece runs over more of
    them than `alone`, by its label."""
    for together in _side_by_side(item, other, most, sizes, room):
        large = _grid(together, sizes, area)
        if len(large.used) > most:
            continue  # nor are they fewer where less of a page may be used
        grids = _in_turn(together, sizes, large)
        if any(_suits(together, grid, most, alone) for grid in grids):
            tiled = _paged(together, sizes, grids)
            if _suits(together, tiled[0], most, alone):
                return together, tiled
    return None


def _suits(item: Item, grid: Tiling, most: int, alone: Mapping[str, int]) -> bool:
    """Are its pages no more than `most`, and does no piece run over more of them than `alone`?"""
    if len(grid.used) > most:
        return False
    lying = turned(item, grid.angle)
    spread = Counter(piece.label for cell in grid.used for piece in Tile(lying, grid, cell, ()).pieces)
    return all(count <= alone[label] for label, count in spread.items())


def _side_by_side(item: Item, other: Item, most: int, sizes: Sequence[Size], room: _Room) -> Iterator[Item]:
    """Both as one in rectangles of at most so many pages, the smallest rectangles first; each way they stand beside each
    other once."""
    firsts = [turned(item, angle) for angle in worth_trying(item)]
    others = [turned(other, angle) for angle in worth_trying(other)]
    foam = item.shape.area + other.shape.area
    grids = [
        (rows * columns, rows, columns, area(*size))
        for size in sizes
        for rows, columns in product(range(1, most + 1), repeat=2)
        if rows * columns <= most
    ]
    had = set()
    for _, rows, columns, view in sorted(grids, key=lambda grid: grid[:3]):
        width, height = _span(view.width, columns), _span(view.height, rows)
        if foam > width * height:
            continue
        for first in firsts:
            x0, y0, x1, y1 = first.shape.bounds
            if x1 - x0 > width or y1 - y0 > height:
                continue
            places = ((second, room(first, second).on(width, height)) for second in others)
            found = next(((second, place) for second, place in places if place is not None), None)
            if found is None:
                continue
            second, (across, down) = found
            if (way := (first, second, across, down)) not in had:
                had.add(way)
                left, _, _, top = second.shape.bounds
                yield joined([moved(first, -x0, height - y1), moved(second, across - left, height - down - top)])
            break


def _tiled(item: Item, sizes: Sequence[Size]) -> tuple[Tiling, list[OpenPage]]:
    """The grid with the fewest pages, and these."""
    return _paged(item, sizes, _in_turn(item, sizes, _grid(item, sizes, area)))


def _in_turn(item: Item, sizes: Sequence[Size], large: Tiling) -> list[Tiling]:
    """The grids with the fewest pages: the `large` one, which uses the room beside the square, if it saves a page, and the one
    that keeps to the room above it."""
    safe = _grid(item, sizes, area_above_square)
    return [large, safe] if len(large.used) < len(safe.used) else [safe]


def _paged(item: Item, sizes: Sequence[Size], grids: Sequence[Tiling]) -> tuple[Tiling, list[OpenPage]]:
    """The first of the grids of which every page has a place for the square, and these pages."""
    for grid in grids:
        pages = _pages(turned(item, grid.angle), grid, sizes)
        if pages:
            return grid, pages
    raise ValueError(f"{item.label}: a page with room for the square has none")


def _grid(item: Item, sizes: Sequence[Size], room: Callable[[float, float], Area]) -> Tiling:
    """The grid with the fewest pages of which `room` may be used."""
    areas = [(w > h, room(w, h).width, room(w, h).height) for w, h in sizes]
    lying = ((angle, turned(item, angle)) for angle in _turns(item))
    return split([View(angle, way.shapes, way.label_corners) for angle, way in lying], areas)


def _turns(item: Item) -> tuple[float, ...]:
    """Angles that are tried for the grid. Words beside the foam are set anew for each turn, and those of parts that stand beside
    each other might come to lie on another part: such a turn is none."""
    tried = worth_trying(item)
    if len(item.placed) == 1 or not any(placed.worded.spills for placed in item.placed):
        return tried
    return (0.0, *(angle for angle in tried if angle and _apart(turned(item, angle))))


def _apart(item: Item) -> bool:
    """Does the room of no part meet that of another?"""
    tree = shapely.STRtree(item.shapes)
    one, other = tree.query(item.shapes, predicate="intersects")
    return bool((one == other).all())


def _pages(item: Item, grid: Tiling, sizes: Sequence[Size]) -> list[OpenPage] | None:
    """A page for every used window, its room taken by what the window shows; None where one has no room for
    its square."""
    size = next(s for s in sizes if (s[0] > s[1]) == grid.landscape)
    view = window_view(grid, size)
    dealt = deal(item, grid)
    drawn = np.array([ink(i) for i in item.drawing.items if i.layer != "note"], object)
    corners = shapely.bounds(drawn).reshape(-1, 4)
    pages = []
    for cell in grid.used:
        window = np.array(grid.window(*cell))
        labels = tuple(dealt[cell])
        rim = box(*window).difference(box(*grid.core(*cell)))  # joins
        worded = [ink(label) for label in labels]
        seen = shapely.union_all([item.shape.intersection(box(*window)), *worded, rim])
        low, high = window[:2] - _BESIDE, window[2:] + _BESIDE
        near = ((corners[:, :2] <= high) & (corners[:, 2:] >= low)).all(axis=1)
        lines = [rim, *worded, *shapely.clip_by_rect(drawn[near], *low, *high)]
        shift = view.x0 - window[0], view.y0 - window[1]
        lines = [translated(line, *shift) for line in lines]
        page = open_page(size, [], translated(seen, *shift), lines, Tile(item, grid, cell, labels))
        if page is None:
            return None
        pages.append(page)
    return pages
