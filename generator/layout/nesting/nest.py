"""Pieces laid on the fewest sheets, with the last sheet filled as short as can be. Lengths in mm.

Everything is counted in moves of single pieces and drawn from one fixed seed, so the same pieces give the same
layout, however fast the machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from generator.layout.nesting.field import Grid
from generator.layout.nesting.overlap import Table, turned
from generator.layout.nesting.search import APART, CLEAR, Layout, separate
from generator.layout.nesting.shapes import convex_parts, inscribed_radius

_SEED = 20
_TRIES = 4  # to shorten the last sheet that all moves are enough for, at least
_MOVES, _MOVES_PER_PIECE = 400, 5  # for an effort of 1
_EASY = 0.7  # share of the sheets that pieces and the gaps around them fill without much search
_CELL = 4.0  # mm, of the grid that points out places
_FULL = 0.86  # share that a search may hope to fill
_STEP, _STEP_LEAST, _STEP_MOST = 0.04, 0.002, 0.15  # share of its length by which the last sheet is shortened


@dataclass(frozen=True, eq=False)
class Blank:
    """A piece to be laid, `count` times, each in one of the given `ways`.

    A way is (angle, flipped): reflected (x to -x) if flipped, then turned by the angle in degrees, both about the
    origin.
    """

    shape: Polygon
    count: int
    ways: tuple[tuple[float, bool], ...]


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
    """One copy of a blank on a sheet: laid in its way (`angle`, `flipped`), then moved by (x, y)."""

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
    """A blank that fits no sheet in any of its ways; `blank` is its index."""

    def __init__(self, blank: int):
        super().__init__(f"blank {blank} fits no sheet")
        self.blank = blank


def nest(blanks: Sequence[Blank], supply: Supply, effort: int = 1) -> tuple[Filled, ...]:
    """All copies of all `blanks` on sheets: the fewest new ones that were found, and the last as short as can be.

    `effort` multiplies how long better layouts are looked for. A new sheet that is a roll is as long as what
    lies on it. Raises TooLarge.
    """
    rooms = [
        convex_parts(b.shape, _margin(supply), narrow) for b, narrow in zip(blanks, _narrow(blanks, supply))
    ]
    table = Table([[turned(parts, *way) for way in b.ways] for b, parts in zip(blanks, rooms)])
    shape = np.repeat(np.arange(len(blanks)), [b.count for b in blanks])
    if not len(shape):
        return ()
    area = np.array([b.shape.buffer(_margin(supply)).area for b in blanks])[shape]
    _refuse_too_large(table, supply)
    rng = np.random.default_rng(_SEED)
    moves = (_MOVES + _MOVES_PER_PIECE * len(shape)) * effort
    start = _first_layout(table, shape, area, supply, rng, moves)
    return _filled(_shortened(_with_fewer_sheets(start, area, rng, moves), rng, moves), supply)


@dataclass(eq=False)
class _Stack:
    """A layout with what each of its sheets is: an index of those at hand, or None for a new one."""

    layout: Layout
    origin: list[int | None]


def _margin(supply: Supply) -> float:
    return supply.gap / 2.0 + CLEAR


def _narrow(blanks: Sequence[Blank], supply: Supply) -> list[float]:
    """For each blank the radius below which no other piece gets into its slits and holes."""
    radius = min((inscribed_radius(b.shape) for b in blanks), default=0.0)
    return [radius + _margin(supply)] * len(blanks)


def _usable(size: tuple[float, float], supply: Supply) -> np.ndarray:
    """Width and length for the rooms of pieces, whose margins may reach over the edge."""
    return np.array(size) - 2.0 * (supply.edge - _margin(supply))


def _refuse_too_large(table: Table, supply: Supply) -> None:
    sizes = [_usable(size, supply) for size in (*supply.at_hand, supply.size)]
    for k, turns in enumerate(table.shapes):
        if not any((t.size <= size).all() for t in turns for size in sizes):
            raise TooLarge(k)


def _first_layout(table: Table, shape, area, supply: Supply, rng: np.random.Generator, moves: int) -> _Stack:
    """All sheets at hand and as many new ones as it takes without much search."""
    at_hand = [_usable(size, supply) for size in supply.at_hand]
    new = _usable(supply.size, supply)
    if np.isinf(new[1]):
        longest = max(float(t.size.max()) for turns in table.shapes for t in turns)
        new[1] = float(area.sum()) / _EASY / new[0] + longest
    short = float(area.sum()) / _EASY - sum(float(s.prod()) for s in at_hand)
    count = max(0, int(np.ceil(short / new.prod())))
    while True:
        sheets = np.array([*at_hand, *[new] * count]).reshape(-1, 2)
        grid = Grid(table, *sheets.max(axis=0), _CELL)
        layout = Layout(table, grid, shape, np.zeros(len(shape), int), np.zeros((len(shape), 2)), sheets)
        if _scatter(layout, np.arange(len(shape)), area, rng) and separate(layout, rng, moves)[0]:
            return _Stack(layout, [*range(len(at_hand)), *[None] * count])
        count += 1


def _scatter(layout: Layout, pieces: np.ndarray, area: np.ndarray, rng: np.random.Generator) -> bool:
    """Put `pieces` anywhere, the largest first, each on the sheet with the most foam left; False if one fits none."""
    others = np.ones(len(layout.shape), bool)
    others[pieces] = False
    free = layout.sheets.prod(axis=1) - np.bincount(
        layout.sheet()[others], area[others], minlength=len(layout.sheets)
    )
    for piece in sorted(pieces.tolist(), key=lambda p: (-area[p], p)):
        turns = layout.table.shapes[layout.shape[piece]]
        fits = [
            (s, t)
            for s, size in enumerate(layout.sheets)
            for t, own in enumerate(turns)
            if (own.size <= size).all()
        ]
        if not fits:
            return False
        s, t = max(fits, key=lambda f: (free[f[0]], -f[0], -f[1]))
        layout.turn[piece] = t
        room = layout.sheets[s] - turns[t].size
        layout.place[piece] = np.array([s * APART, 0.0]) - turns[t].low + rng.random(2) * room
        free[s] -= area[piece]
    return True


def _with_fewer_sheets(stack: _Stack, area: np.ndarray, rng: np.random.Generator, moves: int) -> _Stack:
    """Without the last sheet, again and again, for as long as its pieces find room on the others."""
    while len(stack.origin) > 1:
        trial = stack.layout.copy()
        last = len(trial.sheets) - 1
        pieces = np.flatnonzero(trial.sheet() == last)
        trial.sheets = trial.sheets[:last]
        if len(pieces):
            if area.sum() > _FULL * trial.sheets.prod(axis=1).sum():
                break
            if not _scatter(trial, pieces, area, rng) or not separate(trial, rng, moves)[0]:
                break
        stack = _Stack(trial, stack.origin[:last])
    return stack


def _shortened(stack: _Stack, rng: np.random.Generator, moves: int) -> _Stack:
    """With the pieces of the last sheet as close to its lower end as `moves` allow."""
    best = stack.layout.copy()
    last, step, used = len(best.sheets) - 1, _STEP, 0
    best.sheets[last, 1] = _top(best, last)
    while used < moves and step >= _STEP_LEAST and best.sheets[last, 1] > 0.0:
        trial = best.copy()
        trial.sheets[last, 1] *= 1.0 - step
        good, took = False, 0
        if _held(trial, last, rng):
            good, took = separate(trial, rng, max(1, min(moves - used, moves // _TRIES)))
        used += took
        if good:
            best = trial
            best.sheets[last, 1] = min(best.sheets[last, 1], _top(best, last))
            step = (
                min(1.5 * step, _STEP_MOST)
                if took <= len(best.shape) // 4
                else step / 2.0
                if took > len(best.shape) // 2
                else step
            )
        else:
            step /= 2.0
    return _Stack(best, stack.origin)


def _top(layout: Layout, sheet: int) -> float:
    on = layout.sheet() == sheet
    return float(layout.boxes()[1][on, 1].max()) if on.any() else 0.0


def _held(layout: Layout, sheet: int, rng: np.random.Generator) -> bool:
    """Bring the pieces of a shortened sheet within it, turned or on another sheet if need be."""
    lost = []
    for piece in np.flatnonzero(layout.sheet() == sheet):
        own = layout.table.shapes[layout.shape[piece]][layout.turn[piece]]
        if (own.size > layout.sheets[sheet]).any():
            lost.append(piece)
    if lost and not _scatter(layout, np.array(lost), np.zeros(len(layout.shape)), rng):
        return False
    low, high = layout.limits()
    layout.place[:] = np.clip(layout.place, low, high)
    return True


def _filled(stack: _Stack, supply: Supply) -> tuple[Filled, ...]:
    """The sheets that hold anything, in order."""
    layout, inset = stack.layout, supply.edge - _margin(supply)
    sheet = layout.sheet()
    found = []
    for s, origin in enumerate(stack.origin):
        pieces = np.flatnonzero(sheet == s)
        if not len(pieces):
            continue
        place = np.round(layout.place[pieces] - (s * APART, 0.0) + inset, 3)
        laid = [layout.table.shapes[layout.shape[p]][layout.turn[p]] for p in pieces]
        spots = tuple(
            Spot(int(layout.shape[p]), float(x), float(y), own.angle, own.flipped)
            for p, own, (x, y) in zip(pieces, laid, place)
        )
        length = round(_top(layout, s) + 2.0 * inset, 3)
        size = supply.size if origin is None else supply.at_hand[origin]
        length = min(length, size[1])
        found.append(Filled(size if np.isfinite(size[1]) else (size[0], length), origin, length, spots))
    return tuple(found)
