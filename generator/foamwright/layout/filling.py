"""Pages that are being filled, and the search for the fewest of them. Lengths in mm, page coordinates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import shapely
from shapely import box
from shapely.affinity import translate as translated
from shapely.geometry.base import BaseGeometry

from foamwright.drawing.primitives import Label
from foamwright.drawing.shapes import ink
from foamwright.layout.furniture import PAGE_SQUARE, Area, area, area_above_square, square_corners
from foamwright.layout.packing import Mask, Sheet, mask_of
from foamwright.layout.shape import Item, angles, moved, turned, worth_trying
from foamwright.layout.tiling import Tiling
from foamwright.parts.records import Piece

GAP = 6.0  # between everything that belongs to two templates on one page
_AROUND_SQUARE = 2.0
_LEAN_COST = 30.0  # mm of page that it is worth not to lean

Size = tuple[float, float]  # width and height of a page
Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Tile:
    """A window on a split item, which is turned as its grid wants it, with the labels that belong to it."""

    item: Item
    grid: Tiling
    cell: tuple[int, int]
    labels: tuple[Label, ...]

    @property
    def code(self) -> str:
        return page_code(self.item.label, self.cell)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Those of the item that the window shows."""
        core = box(*self.grid.core(*self.cell))
        return tuple(p for p, s in zip(self.item.pieces, self.item.shapes) if s.intersects(core))


@dataclass(eq=False)
class OpenPage:
    """A page that is being filled: whole items, at most one tile, and what else is `fixed` on it.

    `square` is the lower left corner of the square to measure.
    """

    size: Size
    sheet: Sheet
    items: list[Item]
    fixed: BaseGeometry
    square: Point
    tile: Tile | None = None

    @property
    def view(self) -> Area:
        return area(*self.size)

    @property
    def leading(self) -> tuple[Piece, ...]:
        """What is split, so that its pages follow each other; else everything."""
        return self.tile.item.pieces if self.tile else self.pieces

    @property
    def pieces(self) -> tuple[Piece, ...]:
        split = self.tile.pieces if self.tile else ()
        return split + tuple(p for i in self.items for p in i.pieces)

    def copy(self) -> OpenPage:
        return replace(self, sheet=self.sheet.copy(), items=list(self.items))


def open_page(
    size: Size, items: Sequence[Item], fixed: BaseGeometry, lines: Iterable[BaseGeometry], tile: Tile | None
) -> OpenPage | None:
    """A page with `items` and what is `fixed` on it; None if the square finds no room.

    The square stands in a corner of the page, else where there is no foam, else on foam clear of all `lines`.
    """
    view = area(*size)
    sheet = Sheet(view.width, view.height)
    content = shapely.union_all([fixed, *(i.shape for i in items)])
    sheet.take(_in_view(content, view), GAP)
    square = _corner(size, content) or _anywhere(sheet, view)
    if square is None:
        drawn = Sheet(view.width, view.height)
        drawn.take(_in_view(shapely.union_all(list(lines)), view), 1.0)
        square = _anywhere(drawn, view)
    if square is None:
        return None
    sheet.take(_in_view(_square_box(square), view), _AROUND_SQUARE)
    return OpenPage(size, sheet, list(items), fixed, square, tile)


def _in_view(shape: BaseGeometry, view: Area) -> BaseGeometry:
    return translated(shape, -view.x0, -view.y0)


def _square_box(at: Point) -> BaseGeometry:
    return box(*at, at[0] + PAGE_SQUARE, at[1] + PAGE_SQUARE)


def _corner(size: Size, content: BaseGeometry) -> Point | None:
    for at in square_corners(*size):
        if content.distance(_square_box(at)) >= _AROUND_SQUARE:
            return at
    return None


def _anywhere(sheet: Sheet, view: Area) -> Point | None:
    shift = sheet.find(mask_of(_square_box((0.0, 0.0))))
    return (view.x0 + shift[0], view.y0 + shift[1]) if shift else None


def homes(item: Item, sizes: Sequence[Size]) -> list[OpenPage]:
    """The item on a page of its own, for each size of page on which it fits whole, the most readable first."""
    homes = []
    for size in sizes:
        view = area(*size)
        for rank, angle in enumerate(angles(item)):
            view_of = turned(item, angle)
            x0, y0, x1, y1 = view_of.footprint.bounds  # quickly told, as no words are set for it
            if x1 - x0 > view.width or y1 - y0 > view.height:
                continue
            x0, y0, x1, y1 = view_of.shape.bounds
            if x1 - x0 > view.width or y1 - y0 > view.height:
                continue
            placed = moved(view_of, view.x0 - x0, view.y1 - y1)
            page = open_page(size, [placed], shapely.Point(), map(ink, placed.drawing.items), None)
            if page is not None:
                homes.append((rank, page))
                break
    return [page for _, page in sorted(homes, key=lambda f: f[0])]


@dataclass(frozen=True, eq=False)
class _Turn:
    """The room of an item as it may stand on a page."""

    angle: float
    mask: Mask


def fill(
    whole: Sequence[tuple[Item, Sequence[OpenPage]]], first: Sequence[OpenPage], tiles: Sequence[OpenPage]
) -> list[OpenPage]:
    """The `first` pages, the fewest pages that hold every whole item, and the `tiles`.

    `whole` pairs items with their `homes`. An item goes where there is room on a page that is there already,
    else on a page of its own. Several ways are tried: which items first, which pages first, which home.
    """
    ready = [(item, own, [_Turn(a, turned(item, a).mask) for a in worth_trying(item)]) for item, own in whole]
    best, fewest = [*first, *tiles], len(ready) + 1
    for first_item, tiles_first, home in product(_FIRST, (False, True), (0, -1)):
        begun, parts = [p.copy() for p in first], [p.copy() for p in tiles]
        opened: list[OpenPage] = []
        for item, own, turns in sorted(ready, key=lambda r: -first_item(r[0].shape)):
            places = (*begun, *parts, *opened) if tiles_first else (*begun, *opened, *parts)
            if not any(_put(item, turns, page) for page in places):
                opened.append(own[home].copy())
            if len(opened) == fewest:
                break
        else:
            best, fewest = [*begun, *opened, *parts], len(opened)
        if not fewest:
            break
    return best


def longest(shape: BaseGeometry) -> float:
    """The longer side of its bounds."""
    x0, y0, x1, y1 = shape.bounds
    return max(x1 - x0, y1 - y0)


_FIRST: tuple[Callable[[BaseGeometry], float], ...] = (lambda shape: shape.convex_hull.area, longest)


def _put(item: Item, turns: Sequence[_Turn], page: OpenPage) -> bool:
    """Place the item in the turn that reaches down least, with some favour for standing square on the page."""
    best = None
    for turn in turns:
        shift = page.sheet.find(turn.mask)
        if shift is None:
            continue
        cost = -(turn.mask.bounds[1] + shift[1]) + (_LEAN_COST if turn.angle % 90.0 else 0.0)
        if best is None or cost < best[0] - 1e-6:
            best = cost, turn.angle, shift
    if best is None:
        return False
    _, angle, shift = best
    placed = moved(turned(item, angle), *shift)
    page.sheet.take(placed.shape, GAP)
    page.items.append(moved(placed, page.view.x0, page.view.y0))
    return True


def cut_off(page: OpenPage) -> OpenPage:
    """The page of a roll cut off below what is on it and the square."""
    width, height = page.size
    low = shapely.union_all([page.fixed, *(i.shape for i in page.items)]).bounds[1]
    drop = low - area_above_square(*page.size).y0
    size = (width, height - drop)
    fixed = translated(page.fixed, 0.0, -drop)
    items = [moved(i, 0.0, -drop) for i in page.items]
    return replace(page, size=size, items=items, fixed=fixed, square=square_corners(*size)[0])


def page_code(label: str, cell: tuple[int, int]) -> str:
    """Label, row and column of a page of a split part, as in B-r1c2."""
    return f"{label}-r{cell[0] + 1}c{cell[1] + 1}"
