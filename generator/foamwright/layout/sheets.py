"""Every piece of a prop on the sheets of foam that it is cut from. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate, scale

from foamwright.design.records import Stock
from foamwright.errors import BuildError
from foamwright.flatten.records import Pattern, Patterns, silhouette
from foamwright.flatten.split import too_large
from foamwright.layout.records import FoamSheet, PlacedPiece
from foamwright.nesting.nest import Blank, Supply, TooLarge, nest
from foamwright.nesting.rooms import Pose
from foamwright.parts.records import Piece
from foamwright.store import Store

_SAME = 0.002  # share of its area by which a piece may differ from itself turned, to count as symmetric


def lay_on_sheets(
    patterns: Patterns,
    on_hand: Mapping[str, Sequence[tuple[float, float]]] = {},
    effort: float = 1.0,
    store: Store | None = None,
) -> tuple[FoamSheet, ...]:
    """All copies and layers of every part on sheets of its stock, stocks in the order of the design.

    `on_hand` gives the sizes of sheets that lie on the shelf by stock; they are filled before new ones.
    `effort` multiplies how long better layouts are looked for. What `store` has kept of a stock is used again while
    its pieces and sheets stay. Raises BuildError for a part that is larger
    than any sheet.
    """
    sheets: list[FoamSheet] = []
    stocks = {p.piece.stock.id: p.piece.stock for p in patterns.patterns}
    order = {id_: k for k, id_ in enumerate(patterns.prop.design.stock)}
    for stock in sorted(stocks.values(), key=lambda s: order.get(s.id, len(order))):
        own = [p for p in patterns.patterns if p.piece.stock.id == stock.id and not p.piece.bought]
        sheets += _sheets_of(stock, own, tuple(on_hand.get(stock.id, ())), effort, store or Store(None))
    return tuple(sheets)


def numbered(sheets: Sequence[FoamSheet]) -> list[tuple[FoamSheet, int, int]]:
    """Each sheet with its number among those of its material, from 1, and how many those are."""
    total = Counter(sheet.material for sheet in sheets)
    seen: Counter[str] = Counter()
    numbers = []
    for sheet in sheets:
        seen[sheet.material] += 1
        numbers.append((sheet, seen[sheet.material], total[sheet.material]))
    return numbers


def piece_on_sheet(pattern: Pattern, placed: PlacedPiece) -> Polygon:
    """Where a placed piece lies on its sheet."""
    return shapely.transform(foam_of(pattern)[placed.segment], lambda points: points_on_sheet(points, placed))


def points_on_sheet(points: np.ndarray, placed: PlacedPiece) -> np.ndarray:
    """(N, 2) points of a pattern where a placed piece has them on its sheet."""
    a = np.radians(placed.angle)
    turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return (points * ((-1.0, 1.0) if placed.flipped else (1.0, 1.0))) @ turn + (placed.x, placed.y)


def _sheets_of(stock: Stock, patterns: Sequence[Pattern], at_hand, effort: float, store: Store) -> list[FoamSheet]:
    copies = [
        (pattern, segment, foam, sides, numbers)
        for pattern in patterns
        for sides, numbers in _copies(stock, pattern.piece)
        for segment, foam in enumerate(map(_rounded, foam_of(pattern)))
    ]
    blanks = [Blank(foam, len(numbers), _poses(stock, foam, sides)) for _, _, foam, sides, numbers in copies]
    size = stock.sheet if stock.roll is None else (stock.roll, np.inf)
    supply = Supply(size, at_hand, stock.gap, stock.edge)
    pieces = [(b.shape.wkb, b.count, b.poses) for b in blanks]
    try:
        sheets = store.kept("nesting", (pieces, supply, effort), lambda: nest(blanks, supply, effort))
    except TooLarge as error:
        raise BuildError(too_large(copies[error.blank][0])) from None
    left = [list(numbers) for *_, numbers in copies]
    laid = []
    for sheet in sheets:
        placed, area = [], 0.0
        for spot in sheet.spots:
            pattern, segment, foam, *_ = copies[spot.blank]
            copy, place = left[spot.blank].pop(0), (spot.x, spot.y, spot.angle, spot.flipped)
            placed.append(PlacedPiece(pattern.piece.id, copy, *place, segment))
            area += pattern.area if pattern.split is None else foam.area
        used = area / (sheet.size[0] * sheet.size[1])
        laid.append(FoamSheet(stock.id, sheet.size, tuple(placed), used, sheet.length, sheet.at_hand is not None))
    return laid


def _copies(stock: Stock, piece: Piece) -> list[tuple[tuple[bool, ...], list[int]]]:
    """Copies that may lie in the same poses: flipped or not or both, and their numbers."""
    placements = [p.mirrored for p in piece.placements]
    flipped = [m for m in placements for _ in range(piece.layers)]
    flipped += [False] * (piece.quantity - len(flipped))
    if stock.flip:
        return [((False, True), list(range(len(flipped))))]
    sides = [(side, [n for n, f in enumerate(flipped) if f == side]) for side in (False, True)]
    return [((side,), numbers) for side, numbers in sides if numbers]


def _poses(stock: Stock, foam: Polygon, sides: Sequence[bool]) -> tuple[Pose, ...]:
    """The poses in which a piece may lie, each only once where the piece is symmetric."""
    angles = {"free": _free_angles(foam), "half": (0.0, 180.0), "none": (0.0,)}[stock.turn]
    poses: list[tuple[Pose, Polygon]] = []
    for side in sides:
        for angle in angles:
            laid = rotate(scale(foam, -1.0 if side else 1.0, 1.0, origin=(0, 0)), angle, origin=(0, 0))
            laid = shapely.transform(laid, lambda p, c=laid.centroid: p - (c.x, c.y))
            if not any(laid.symmetric_difference(other).area < _SAME * foam.area for _, other in poses):
                poses.append(((angle, side), laid))
    return tuple(pose for pose, _ in poses)


def _free_angles(foam: Polygon) -> tuple[float, ...]:
    """Quarter turns as drawn, and those that set the sides of the smallest rectangle around it upright."""
    corners = shapely.get_coordinates(foam.convex_hull.minimum_rotated_rectangle)
    x, y = corners[1] - corners[0]
    lean = round(float(-np.degrees(np.arctan2(y, x))) % 90.0, 1)
    starts = (0.0,) if min(lean, 90.0 - lean) < 2.0 else (0.0, lean)
    return tuple(start + turn for start in starts for turn in (0.0, 90.0, 180.0, 270.0))


def foam_of(pattern: Pattern) -> tuple[Polygon, ...]:
    """The pieces of foam that a part is cut from: one, or its segments. Made valid where a dart closes to a line."""
    loops = pattern.split.segments if pattern.split else (pattern,)
    polygons = [silhouette(piece) for piece in loops]
    return tuple(p if p.is_valid else p.buffer(0.0) for p in polygons)


def _rounded(foam: Polygon) -> Polygon:
    """To 0.001 mm: processors differ far below that, and a search must not follow them to another layout."""
    rounded = shapely.transform(foam, lambda points: np.round(points, 3))
    # A corner less than that from the point before it becomes a spike, which the grid's own rounding takes away.
    return rounded if rounded.is_valid else shapely.set_precision(foam, 1e-3)
