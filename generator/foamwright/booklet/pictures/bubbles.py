"""Where the letters of parts stand in a picture: on empty ground near their part, none over another, leaders short
and, where that can be, not across each other. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.ndimage import distance_transform_edt

from foamwright.assembly import raster
from foamwright.assembly.records import Bubble

_COLUMNS = 72  # places that are tried across the wider side of a picture
_ANCHORS = 14  # places on a part that its leader may end on
_OVER = 3.0  # how much longer a leader counts where it runs over other parts
_OVER_LETTERED = 9.0  # and over those with a letter of their own, for which it could be taken
_CROSSED = 6.0  # a crossing of leaders counts as so many bubbles' breadths
_NEAREST = 400  # places looked at closely for each letter
_BESIDE = 2.25  # radii: bubbles whose middles are nearer than that stand too close
_ROUNDS = 4
_STARTS, _FAR_OFF = 3, 6.0  # orders in which letters are placed, while one costs so many radii more than it need


@dataclass(frozen=True, eq=False)
class Ground:
    """Which part is seen where: `owner` (rows, columns; rows upwards, -1 where nothing is), `step` mm from `low` on."""

    owner: np.ndarray
    low: np.ndarray
    step: float

    def at(self, cells: np.ndarray) -> np.ndarray:
        """Places (n, 2) in mm of cells (n, 2) given as row, column."""
        return self.low + self.step * np.asarray(cells)[:, ::-1]


def placed(
    ground: Ground,
    named: Sequence[tuple[str, int]],
    radius: float,
    lines: Sequence[np.ndarray] = (),
    others: Sequence[tuple[str, int]] = (),
) -> tuple[Bubble, ...]:
    """A bubble of `radius` for every label and the copy that it names, if that copy is seen at all; those of `others` tell what
    is not new.

    Bubbles may stand outside of the ground, up to three radii. `lines` are polylines that they keep off.
    """
    seen = [(label, copy, _anchors(ground, copy)) for label, copy in (*named, *others)]
    new = len([entry for entry in seen[: len(named)] if len(entry[2])])
    seen = [entry for entry in seen if len(entry[2])]
    if not seen:
        return ()
    places, clear = _places(ground, radius, lines)
    labelled = [copy for _, copy, _ in seen]
    options = [_options(ground, places, clear, anchors, radius, labelled) for _, _, anchors in seen]
    chosen = _settled([costs for costs, _, _ in options], [spots for _, spots, _ in options],
                      [ends for _, _, ends in options], radius)  # fmt: skip
    return tuple(
        Bubble(label, _pair(options[i][2][chosen[i]]), _pair(options[i][1][chosen[i]]), radius, i < new)
        for i, (label, _, _) in enumerate(seen)
    )


def along(line: np.ndarray, step: float) -> np.ndarray:
    """Places (n, 2) on a polyline, `step` apart or a little less."""
    pieces = []
    for start, end in pairwise(line):
        count = max(int(np.linalg.norm(end - start) / step), 1) + 1
        pieces.append(start + np.linspace(0.0, 1.0, count)[:, None] * (end - start))
    return np.vstack(pieces)


def _anchors(ground: Ground, copy: int) -> np.ndarray:
    """Places (k, 2) well inside what is seen of a copy, the deepest first; none if nothing is seen."""
    rows, columns = np.nonzero(ground.owner == copy)
    if not len(rows):
        return np.zeros((0, 2))
    r0, c0 = rows.min(), columns.min()
    window = np.pad(ground.owner[r0 : rows.max() + 1, c0 : columns.max() + 1] == copy, 1)
    depth = distance_transform_edt(window)
    inside = depth >= min(0.4 * depth.max(), 8.0)
    rows, columns = np.nonzero(inside)
    order = np.lexsort((columns, rows, -np.round(depth[inside], 6)))
    picked = np.unique(np.linspace(0, len(order) - 1, _ANCHORS).astype(int))
    cells = np.column_stack([rows, columns])[order[picked]] + (r0 - 1, c0 - 1)
    return ground.at(cells)


def _places(ground: Ground, radius: float, lines: Sequence[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Where a bubble may stand, places (n, 2), and the distance (n,) of each from the nearest part or line."""
    rows, columns = ground.owner.shape
    margin = int(np.ceil(3.0 * radius / ground.step))
    room = np.pad(ground.owner < 0, margin, constant_values=True)
    for line in lines:
        cells = np.round((along(line, ground.step) - ground.low) / ground.step).astype(int) + margin
        inside = ((cells >= 0) & (cells < (room.shape[1], room.shape[0]))).all(axis=1)
        room[cells[inside, 1], cells[inside, 0]] = False
    if room.all():
        away = np.full(room.shape, np.inf)
    else:
        away = distance_transform_edt(room) * ground.step
    pitch = max(max(rows, columns) // _COLUMNS, 1)
    grid = np.argwhere(np.ones([-(-n // pitch) for n in room.shape])) * pitch
    free = away[grid[:, 0], grid[:, 1]]
    kept = free > 1.12 * radius
    edge = margin - int(np.floor(1.8 * radius / ground.step))  # no farther out than this
    kept &= (grid >= edge).all(axis=1) & (grid[:, 0] < room.shape[0] - edge) & (grid[:, 1] < room.shape[1] - edge)
    grid, free = grid[kept], free[kept]
    return ground.at(grid - margin), free


def _options(
    ground: Ground,
    places: np.ndarray,
    clear: np.ndarray,
    anchors: np.ndarray,
    radius: float,
    labelled: Sequence[int],
):
    """Costs (k,), places (k, 2) and ends of leaders (k, 2) of the places that suit a letter best."""
    apart = _length(places[:, 0] - anchors[:, :1], places[:, 1] - anchors[:, 1:])  # by anchor
    near = np.argsort(apart.min(axis=0), kind="stable")[:_NEAREST]
    far = np.arange(0, len(places), max(len(places) // 60, 1))  # some farther off, where near ones are taken
    tried = np.unique(np.concatenate([near, far]))
    which = np.tile(np.arange(len(anchors)), len(tried))
    tried = np.repeat(tried, len(anchors))
    ends, spots = anchors[which], places[tried]
    length = apart[which, tried]
    price = np.full(int(ground.owner.max()) + 1, _OVER)
    price[list(labelled)] = _OVER_LETTERED
    over = raster.run_over(ground.owner, price, ends, spots, np.linspace(0.02, 0.98, 24), ground.low, ground.step)
    costs = length * (1.0 + over) - 0.3 * np.minimum(clear[tried], 3.0 * radius)
    best = costs.reshape(-1, len(anchors)).argmin(axis=1) + np.arange(0, len(costs), len(anchors))
    return costs[best], spots[best], ends[best]


def _settled(
    costs: Sequence[np.ndarray], spots: Sequence[np.ndarray], ends: Sequence[np.ndarray], radius: float
) -> list[int]:
    """The place of each letter: the cheapest in turn, hardest first; and where that left one far from its part, those that came
    off worst first, whichever costs less in all."""
    order = sorted(range(len(costs)), key=lambda i: (-float(costs[i].min()), i))
    best: tuple[float, list[int]] | None = None
    for _ in range(_STARTS):
        chosen = _in_turn(order, costs, spots, ends, radius)
        places = np.array([(spots[i][k], ends[i][k]) for i, k in enumerate(chosen)]).reshape(-1, 2, 2)
        own = [float(costs[i][k]) for i, k in enumerate(chosen)]
        total = sum(own) + sum(
            float(_in_the_way(place[None, 0], place[None, 1], np.delete(places, i, axis=0), radius)[0]) / 2.0
            for i, place in enumerate(places)
        )
        if best is None or total < best[0] - 1e-6:
            best = total, chosen
        lost = [round(cost - float(costs[i].min()), 6) for i, cost in enumerate(own)]
        if max(lost) < _FAR_OFF * radius:
            break
        order = sorted(order, key=lambda i: -lost[i])
    assert best is not None
    return best[1]


def _in_turn(
    order: Sequence[int],
    costs: Sequence[np.ndarray],
    spots: Sequence[np.ndarray],
    ends: Sequence[np.ndarray],
    radius: float,
) -> list[int]:
    """The cheapest place of each letter in this order, then of each again while that is any better."""
    chosen: dict[int, int] = {}
    moves, asked = 0, dict.fromkeys(order, -1)  # how many there have been, and when each letter was asked last
    for _ in range(_ROUNDS):
        before = moves
        for i in order:
            if asked[i] == moves:
                continue
            others = [(spots[j][k], ends[j][k]) for j, k in chosen.items() if j != i]
            best = int((costs[i] + _in_the_way(spots[i], ends[i], np.array(others).reshape(-1, 2, 2), radius)).argmin())
            moves += chosen.get(i) != best
            chosen[i], asked[i] = best, moves
        if moves == before:
            break
    return [chosen[i] for i in range(len(costs))]


def _in_the_way(spots: np.ndarray, ends: np.ndarray, others: np.ndarray, radius: float) -> np.ndarray:
    """What each place (n, 2), with the end of its leader (n, 2), costs beside the places and ends of `others` (m, 2, 2)."""
    near = np.ones((len(others), len(spots)), bool)  # only of those that are near each other more is asked
    for axis in (0, 1):
        low, high = np.minimum(spots, ends)[:, axis], np.maximum(spots, ends)[:, axis]
        near &= low <= others[:, :, axis].max(axis=1)[:, None] + _BESIDE * radius
        near &= high >= others[:, :, axis].min(axis=1)[:, None] - _BESIDE * radius
    other, own = np.nonzero(near)
    spot, end, there, to = spots[own], ends[own], others[other, 0], others[other, 1]
    gap = _length(*(spot - there).T)
    total = np.where(gap < _BESIDE * radius, 1e6 * (3.0 * radius - gap), 0.0)
    total += _CROSSED * 2.0 * radius * _cross(spot, end, there, to)
    total += 1e3 * radius * (_off(spot, there, to) < 1.15 * radius)
    total += 1e3 * radius * (_off(there, spot, end) < 1.15 * radius)
    return np.bincount(own, total, len(spots))


def _cross(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> np.ndarray:
    """Whether segments a-b (n, 2) cross the segments c-d."""

    def side(p, q, r):
        return (q[:, 0] - p[:, 0]) * (r[:, 1] - p[:, 1]) - (q[:, 1] - p[:, 1]) * (r[:, 0] - p[:, 0])

    return (side(a, b, c) * side(a, b, d) < 0.0) & (side(c, d, a) * side(c, d, b) < 0.0)


def _off(points: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distance (n,) of points (n, 2) from the segments a-b (n, 2)."""
    (x, y), (across, up) = (b - a).T, (points - a).T
    share = np.clip((across * x + up * y) / np.maximum(x * x + y * y, 1e-12), 0.0, 1.0)
    return _length(across - share * x, up - share * y)


def _length(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Of vectors by their components: sums along an axis of two take several times as long."""
    return np.asarray(np.sqrt(x * x + y * y))


def _pair(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])
