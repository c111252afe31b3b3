"""Where the letters of parts stand in a first look: on their part where they hide little of it and nothing else, else beside
the prop with a line to it. Lengths in cells of the view, places as (column, row), rows upwards."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

Box = tuple[float, float, float, float]  # lowest column and row, highest column and row

_ENOUGH = 150  # cells of a copy that are seen, for it to be named
_HIDES = 1 / 8  # of what is seen of its part a letter may cover, with the room around it
_OUTSIDE = 40  # letters beside the prop
_WELL = 3  # of copies with one label those that show no less than this part of the largest are well seen
_FAR_APART = 16  # cells from one place on empty ground to the next, where it is only asked how far off it is
_STRIDE = 8  # cells from one place beside the prop to the next
_TRIED = 1500  # of these places, the nearest, for each letter
_AT_ONCE = 150  # of them, until none that is left can be better
_OVER_OTHERS, _OVER_GROUND = 3.0, 1.0  # how much longer a line counts where it runs over other parts
_CROSSED = 200.0  # cells that a crossing of lines counts as, and a line that runs below a letter


@dataclass(frozen=True)
class Label:
    """The middle of a letter, and where on its part the line from it ends, if it stands beside the prop."""

    copy: int
    at: tuple[float, float]
    on: tuple[float, float] | None = None


def placed(
    owner: np.ndarray,
    drawn: np.ndarray,
    labels: Sequence[str],
    halves: Sequence[tuple[float, float]],
    taken: Sequence[Box],
) -> list[Label]:
    """A place for the label of each copy of which enough is seen; beside the prop each label stands once, and only where it
    stands on no copy.

    `owner` (rows, columns) numbers the copy that is seen, -1 where none is; `drawn` (rows, columns) are lines to be kept
    clear. `halves` are half the width and the height of each copy's label with the room around it; `taken` are boxes that
    stand already.
    """
    rows, columns = np.nonzero(owner >= 0)
    number = owner[rows, columns]
    order = np.argsort(number, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(number[order]) > 0]) if len(order) else np.zeros(0, int)
    boxes = list(taken)
    found: list[Label] = []
    left: list[tuple[int, np.ndarray]] = []
    for own in np.split(order, starts[1:]):
        if len(own) < _ENOUGH:
            continue
        copy = int(number[own[0]])
        cells = np.column_stack([columns[own], rows[own]])
        place = _on_itself(cells, drawn, halves[copy], boxes)
        if place is None:
            left.append((copy, cells))
            continue
        found.append(Label(copy, place))
        boxes.append(_box(place, halves[copy]))
    named = {labels[label.copy] for label in found}
    lines: list[tuple[np.ndarray, np.ndarray]] = []
    free = owner < 0
    ground = cache(lambda across, up: _middles(free, across, up, _STRIDE))
    alike: dict[str, list[tuple[int, np.ndarray]]] = {}
    for copy, cells in sorted(left, key=lambda entry: (-len(entry[1]), entry[0])):
        if labels[copy] not in named:
            alike.setdefault(labels[copy], []).append((copy, cells))
    for copies in [*alike.values()][:_OUTSIDE]:
        copy, on = _outermost(copies, free)
        place = _beside(owner, copy, ground, on, halves[copy], boxes, lines)
        if place is None:
            continue
        found.append(Label(copy, place, (float(on[0]), float(on[1]))))
        boxes.append(_box(place, halves[copy]))
        lines.append((np.array(place), on))
    return found


def _box(at: tuple[float, float], half: tuple[float, float]) -> Box:
    return at[0] - half[0], at[1] - half[1], at[0] + half[0], at[1] + half[1]


def _on_itself(
    cells: np.ndarray, drawn: np.ndarray, half: tuple[float, float], taken: Sequence[Box]
) -> tuple[float, float] | None:
    """The place nearest to the middle of the cells (k, 2) where a label covers these alone; None where none is."""
    across, up = (int(np.ceil(h)) for h in half)
    if (2 * across + 1) * (2 * up + 1) > _HIDES * len(cells):
        return None
    low = cells.min(axis=0)
    wide, high = np.ptp(cells, axis=0) + 1
    room = np.zeros((high, wide), bool)
    room[cells[:, 1] - low[1], cells[:, 0] - low[0]] = ~drawn[cells[:, 1], cells[:, 0]]
    middles = _middles(room, across, up)
    middles = middles + low
    middles = middles[_clear(middles, half, taken)]
    if not len(middles):
        return None
    nearest = middles[np.square(middles - cells.mean(axis=0)).sum(axis=1).argmin()]
    return float(nearest[0]), float(nearest[1])


def _middles(room: np.ndarray, across: int, up: int, stride: int = 1) -> np.ndarray:
    """(k, 2) the cells around which a rectangle, `across` and `up` cells to either side, lies in `room` (rows, columns): those
    of which column and row are multiples of `stride`."""
    high, wide = room.shape
    tall, broad = 2 * up + 1, 2 * across + 1
    if high < tall or wide < broad:
        return np.zeros((0, 2), int)
    sums = np.zeros((high + 1, wide + 1), np.int64)
    np.cumsum(np.cumsum(room, axis=0), axis=1, out=sums[1:, 1:])
    row, column = -up % stride, -across % stride
    above, below = sums[tall:][row::stride], sums[:-tall][row::stride]
    right, left = slice(broad + column, None, stride), slice(column, -broad, stride)
    inside = above[:, right] - below[:, right] - above[:, left] + below[:, left]
    rows, columns = np.nonzero(inside == tall * broad)
    return np.column_stack([columns * stride + column + across, rows * stride + row + up])


def _inside(cells: np.ndarray) -> np.ndarray:
    """(2,) the cell well inside of the cells (k, 2) that is nearest to their middle."""
    low = cells.min(axis=0)
    room = np.zeros(np.ptp(cells, axis=0)[::-1] + 1, bool)
    room[cells[:, 1] - low[1], cells[:, 0] - low[0]] = True
    around = 12
    while not len(well := _middles(room, around, around)) and around:
        around //= 2
    well = well + low
    return np.asarray(well[np.square(well - cells.mean(axis=0)).sum(axis=1).argmin()], float)


def _outermost(copies: Sequence[tuple[int, np.ndarray]], free: np.ndarray) -> tuple[int, np.ndarray]:
    """Of copies with one label, each with its cells (k, 2) and the largest first, one that is well seen and as near to empty
    ground as any, with its place for the end of a line."""
    well = [(copy, _inside(cells)) for copy, cells in copies if len(cells) * _WELL >= len(copies[0][1])]
    empty = np.argwhere(free[::_FAR_APART, ::_FAR_APART])[:, ::-1] * _FAR_APART
    if not len(empty):
        return well[0]
    return min(well, key=lambda entry: float(np.square(empty - entry[1]).sum(axis=1).min()))


def _beside(
    owner: np.ndarray,
    copy: int,
    ground: Callable[[int, int], np.ndarray],
    on: np.ndarray,
    half: tuple[float, float],
    taken: Sequence[Box],
    lines: Sequence[tuple[np.ndarray, np.ndarray]],
) -> tuple[float, float] | None:
    """The place on the empty ground from which the line to `on` is the shortest and runs least over other parts. `ground`
    tells where there is room for so many cells to either side, across and up."""
    middles = ground(*(int(np.ceil(h)) for h in half))
    length = np.linalg.norm(middles - on, axis=1)
    nearest = np.argsort(length, kind="stable")
    best, least, left = None, np.inf, _TRIED
    for start in range(0, len(nearest), _AT_ONCE):
        some = nearest[start : start + _AT_ONCE]
        if left <= 0 or length[some[0]] * _OVER_GROUND > least:  # nor does any that comes later cost less
            break
        some = some[_clear(middles[some], half, taken)]
        some = some[_unwritten(middles[some], lines, float(np.hypot(*half)))][:left]
        left -= len(some)
        cost = _costs(middles[some], length[some], owner, copy, on, taken, lines)
        if len(some) and cost.min() < least:
            best, least = middles[some[cost.argmin()]], float(cost.min())
    return None if best is None else (float(best[0]), float(best[1]))


def _clear(middles: np.ndarray, half: tuple[float, float], taken: Sequence[Box]) -> np.ndarray:
    """Which (n,) labels with these `middles` (n, 2) lie on nothing that is taken."""
    across, up = (int(np.ceil(h)) for h in half)
    x, y = middles.T
    clear = np.ones(len(middles), bool)
    for x0, y0, x1, y1 in taken:
        clear &= (x + across < x0) | (x - across > x1) | (y + up < y0) | (y - up > y1)
    return clear


def _costs(
    middles: np.ndarray,
    length: np.ndarray,
    owner: np.ndarray,
    copy: int,
    on: np.ndarray,
    taken: Sequence[Box],
    lines: Sequence[tuple[np.ndarray, np.ndarray]],
) -> np.ndarray:
    """What lines from `middles` (n, 2) to `on`, which are so long (n,), cost: no less than their length on the ground."""
    along = np.linspace(0.0, 1.0, 32)[:, None, None]
    there = np.rint(middles + along * (on - middles)).astype(int)
    met = owner[there[..., 1], there[..., 0]]
    over = ((met >= 0) & (met != copy)).mean(axis=0)
    cost = length * (_OVER_GROUND + _OVER_OTHERS * over)
    for spot, end in lines:
        cost += _CROSSED * _cross(middles, on, spot, end)
    x, y = (middles - on).T
    square = x * x + y * y
    for x0, y0, x1, y1 in taken:  # a line that runs below a letter
        dx, dy = (x0 + x1) / 2.0 - on[0], (y0 + y1) / 2.0 - on[1]
        share = np.clip((dx * x + dy * y) / square, 0.0, 1.0)
        below = np.abs(share * x - dx) < (x1 - x0) / 2.0
        cost += _CROSSED * (below & (np.abs(share * y - dy) < (y1 - y0) / 2.0))
    return np.asarray(cost)


def _unwritten(middles: np.ndarray, lines: Sequence[tuple[np.ndarray, np.ndarray]], room: float) -> np.ndarray:
    """Which (n,) of `middles` (n, 2) are more than `room` off all lines, which are not written over."""
    clear = np.ones(len(middles), bool)
    for spot, end in lines:
        clear &= _distance(middles, spot, end) > room
    return clear


def _distance(points: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(n,) of points (n, 2) from the segment a-b."""
    along = b - a
    x, y = (points - a).T
    share = np.clip((x * along[0] + y * along[1]) / max(float(along @ along), 1e-12), 0.0, 1.0)
    return np.asarray(np.hypot(x - share * along[0], y - share * along[1]))


def _cross(starts: np.ndarray, end: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Whether segments from each of `starts` (n, 2) to `end` cross the segment a-b."""

    def side(p, q, r):
        return (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])

    apart = side(a, b, starts) * side(a, b, end) < 0.0
    return np.asarray(apart & (side(starts, end, a) * side(starts, end, b) < 0.0))
