"""Pieces laid on the fewest sheets, with the last sheet filled as short as can be. Lengths in mm.

Effort is counted in pairs of polygons looked at and chance is drawn from fixed seeds, so the same pieces give the
same layout, however fast the machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from threading import Event

import numpy as np
from shapely import Polygon

from foamwright.nesting.placing import scattered, top
from foamwright.nesting.rooms import Pose, Rooms, rooms
from foamwright.nesting.search import CLEAR, Layout, gather, separate
from foamwright.nesting.shapes import convex_parts, inscribed_radius
from foamwright.nesting.shorten import Budget, attempt, shortened

_SEEDS = (20, 21)  # one search side by side for each; the best is kept, as one alone may have bad luck
_PAIRS, _PAIRS_PER_PIECE = 8_000_000, 1_000_000  # of polygons that may be looked at, for an effort of 1
_EASY = 0.6  # share of a sheet that pieces and the gaps around them fill without much search
_FULL = 0.9  # share that a search may hope to fill
_FEWER = 0.5  # share of the effort that goes into doing without a sheet, each time
_OFFCUT = 0.06  # share of it that goes into shortening a sheet, which is bought whole however much of it is left
_GATHERINGS = 4
_NARROW = 1.0  # mm, half the width of slits that are worth nothing even to the corner of a piece


@dataclass(frozen=True, eq=False)
class Blank:
    """A piece to be laid, `count` times, each in one of the given `poses`.

    A pose is (angle, flipped): reflected (x to -x) if flipped, then turned by the angle in degrees, both about the
    origin.
    """

    shape: Polygon
    count: int
    poses: tuple[Pose, ...]


@dataclass(frozen=True)
class Supply:
    """What pieces are laid on: sheets at hand first, in their order, then new ones of one size.

    `size` is (width, length) of a new sheet; a length of infinity is a roll. Pieces keep `gap` mm from each
    other and `edge` mm from the edges of a sheet.
    """

    size: tuple[float, float]
    at_hand: tuple[tuple[float, float], ...] = ()
    gap: float = 3.0
    edge: float = 3.0


@dataclass(frozen=True)
class Spot:
    """One copy of a blank on a sheet: laid in its pose (`angle`, `flipped`), then moved by (x, y)."""

    blank: int
    x: float
    y: float
    angle: float
    flipped: bool


@dataclass(frozen=True)
class Filled:
    """A sheet with what lies on it. `at_hand` is its index in the supply, None for a new one.

    `length` is that of the part of it that is used, from its lower end.
    """

    size: tuple[float, float]
    at_hand: int | None
    length: float
    spots: tuple[Spot, ...]


class TooLarge(ValueError):
    """A blank that fits no sheet in any of its poses; `blank` is its index."""

    def __init__(self, blank: int):
        super().__init__(f"blank {blank} fits no sheet")
        self.blank = blank


class Overlap(RuntimeError):
    """Pieces of a finished layout overlap: a fault of the search, which must stop the build and not spoil a sheet."""


def refuse_overlaps(layout: Layout, rng: np.random.Generator) -> None:
    """Raise Overlap for a layout in which the rooms of two pieces overlap; nothing is moved."""
    clear, _ = separate(layout.copy(), rng, 0)
    if not clear:
        raise Overlap("two pieces on a sheet overlap; nothing can be cut by this layout")


def nest(blanks: Sequence[Blank], supply: Supply, effort: float = 1.0) -> tuple[Filled, ...]:
    """All copies of all `blanks` on sheets: the fewest new ones that were found, and the last as short as can be.

    `effort` multiplies how long better layouts are looked for. A new sheet that is a roll is as long as what
    lies on it. Raises TooLarge.
    """
    shape = np.repeat(np.arange(len(blanks)), [b.count for b in blanks])
    if not len(shape):
        return ()
    narrow = _narrow(blanks, supply)
    polygons = [convex_parts(b.shape, _margin(supply), narrow) for b in blanks]
    table = rooms(polygons, [b.poses for b in blanks])
    _refuse_too_large(table, supply)
    area = np.array([b.shape.buffer(_margin(supply)).area for b in blanks])[shape]
    pairs = int((_PAIRS + _PAIRS_PER_PIECE * len(shape)) * effort)

    stopped = Event()

    def searched(seed: int) -> tuple[Filled, ...]:
        rng = np.random.default_rng(seed)
        stack = _first_layout(table, shape, area, supply, rng, stopped)
        stack = _with_fewer_sheets(stack, area, rng, pairs, stopped)
        whole = stack.origin[-1] is not None or np.isfinite(supply.size[1])
        layout = shortened(stack.layout, rng, int(_OFFCUT * pairs) if whole else pairs, stopped)
        gather(layout, rng, _GATHERINGS)
        refuse_overlaps(layout, rng)
        return _filled(_Stack(layout, stack.origin), blanks, supply)

    with ThreadPoolExecutor(len(_SEEDS)) as pool:  # what is compiled runs without the interpreter's lock
        try:
            return min(pool.map(searched, _SEEDS), key=_waste)
        finally:
            stopped.set()  # who interrupts the build does not want to wait for the end of the search


def prepare() -> None:
    """Load and compile what the search needs, which is kept where it can be; the first time on a machine takes long."""
    nest([Blank(Polygon([(0, 0), (9, 0), (9, 9), (0, 9)]), 2, ((0.0, False),))], Supply((30.0, np.inf)), 0.0)


@dataclass(eq=False)
class _Stack:
    """A layout with what each of its sheets is: an index of those at hand, or None for a new one."""

    layout: Layout
    origin: list[int | None]


def _waste(sheets: Sequence[Filled]) -> tuple[int, int, float]:
    """How many new sheets are used, how many in all, and how much of the last."""
    return sum(s.at_hand is None for s in sheets), len(sheets), sheets[-1].length


def _margin(supply: Supply) -> float:
    return supply.gap / 2.0 + CLEAR


def _narrow(blanks: Sequence[Blank], supply: Supply) -> float:
    """The radius below which no piece gets into the slits and holes of another."""
    return min(_NARROW, *(inscribed_radius(b.shape) for b in blanks)) + _margin(supply)


def _usable(size: tuple[float, float], supply: Supply) -> np.ndarray:
    """Width and length for the rooms of pieces, whose margins may reach over the edge."""
    return np.array(size) - 2.0 * (supply.edge - _margin(supply))


def _refuse_too_large(table: Rooms, supply: Supply) -> None:
    sizes = [_usable(size, supply) for size in (*supply.at_hand, supply.size)]
    own = table.size
    for k, (first, end) in enumerate(pairwise(table.form)):
        if not any((own[first:end] <= size).all(axis=1).any() for size in sizes):
            raise TooLarge(k)


def _first_layout(table: Rooms, shape, area, supply: Supply, rng: np.random.Generator, stopped: Event) -> _Stack:
    """All sheets at hand and as many new ones as it takes without much search."""
    at_hand = [_usable(size, supply) for size in supply.at_hand]
    new = _usable(supply.size, supply)
    if np.isinf(new[1]):
        new[1] = float(area.sum()) / _EASY / new[0] + float(table.size.max())
    short = float(area.sum()) / _EASY - sum(float(s.prod()) for s in at_hand)
    count = max(0, int(np.ceil(short / new.prod())))
    n = len(shape)
    while True:
        sheets = np.array([*at_hand, *[new] * count]).reshape(-1, 2)
        zeros = np.zeros(n, np.int64)
        empty = Layout(table, shape, table.form[shape], zeros, np.zeros((n, 2)), sheets)
        start = scattered(empty, range(n), rng) if len(sheets) else None
        layout = None if start is None else attempt(start, rng, Budget(_PAIRS_PER_PIECE * n, stopped))
        if layout is not None:
            return _Stack(layout, [*range(len(at_hand)), *[None] * count])
        count += 1


def _with_fewer_sheets(stack: _Stack, area: np.ndarray, rng: np.random.Generator, pairs: int, stopped: Event) -> _Stack:
    """Without the last sheet, again and again, for as long as its pieces find room on the others."""
    while len(stack.origin) > 1:
        last = len(stack.origin) - 1
        rest = stack.layout._replace(sheets=stack.layout.sheets[:last])
        pieces = np.flatnonzero(rest.sheet == last)
        layout: Layout | None = rest
        if len(pieces):
            if area.sum() > _FULL * rest.sheets.prod(axis=1).sum():
                break
            start = scattered(rest, pieces, rng)
            layout = None if start is None else attempt(start, rng, Budget(int(_FEWER * pairs), stopped))
        if layout is None:
            break
        stack = _Stack(layout, stack.origin[:last])
    return stack


def _filled(stack: _Stack, blanks: Sequence[Blank], supply: Supply) -> tuple[Filled, ...]:
    """The sheets that hold anything, in order."""
    layout, inset = stack.layout, supply.edge - _margin(supply)
    filled = []
    for s, origin in enumerate(stack.origin):
        pieces = np.flatnonzero(layout.sheet == s)
        if not len(pieces):
            continue
        place = np.round(layout.place[pieces] + inset, 3)
        spots = []
        for p, (x, y) in zip(pieces, place):
            k = int(layout.shape[p])
            spots.append(Spot(k, float(x), float(y), *blanks[k].poses[layout.form[p] - layout.rooms.form[k]]))
        size = supply.size if origin is None else supply.at_hand[origin]
        length = min(round(top(layout, s) + 2.0 * inset, 3), size[1])
        filled.append(Filled(size if np.isfinite(size[1]) else (size[0], length), origin, length, tuple(spots)))
    return tuple(filled)
