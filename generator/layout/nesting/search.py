"""Pieces moved on their sheets until none overlaps another. Lengths in mm.

The total of all overlaps, as squared depths of convex parts, is lowered in two ways in turn: a piece that
overlaps is put where it overlaps least, out of many places tried, and then all pieces are pushed apart together
down the gradient. Overlaps that last weigh more from pass to pass, so that the search leaves layouts
from which no single move helps (guided local search: Voudouris and Tsang, 1999; on nesting: Egeblad, Nielsen
and Odgaard, 2007; pushing apart: Imamichi, Yagiura and Nagamochi, 2009).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.layout.nesting.field import Grid
from generator.layout.nesting.overlap import Table

CLEAR = 0.01  # mm: overlaps less deep than this count as none; the rooms of the pieces are larger by it
APART = 1e6  # mm between the origins of sheets in the one plane that they all lie in
_NEAR = 12.0  # mm: pieces that are further apart are not looked at while all are pushed apart
_TRIED = 3  # places for each angle and sheet that the grid points out
_WORST = 0.5  # overlaps of at least this share of the deepest are looked at in a pass
_FADE, _GROW, _GROW_MOST = 0.95, 1.2, 2.0  # of the weight of two pieces: apart, just and most overlapping
_REFINED = 5  # of them that are looked at more closely
_SPREADS = (2.0, 1.0)  # mm: how closely


@dataclass(eq=False)
class Layout:
    """Where every piece is: shape, index of its angle, and place in the plane of all sheets."""

    table: Table
    grid: Grid
    shape: np.ndarray  # (n,) int
    turn: np.ndarray  # (n,) int
    place: np.ndarray  # (n, 2)
    sheets: np.ndarray  # (S, 2) width and length that may be used

    def copy(self) -> Layout:
        return Layout(
            self.table, self.grid, self.shape, self.turn.copy(), self.place.copy(), self.sheets.copy()
        )

    def sheet(self) -> np.ndarray:
        """(n,) index of the sheet of each piece."""
        return np.round(self.place[:, 0] / APART).astype(int)

    def boxes(self) -> tuple[np.ndarray, np.ndarray]:
        """(n, 2) lower left and upper right corners of the boxes of all pieces, in the plane."""
        every = [self.table.shapes[s][t] for s, t in zip(self.shape, self.turn)]
        return self.place + [t.low for t in every], self.place + [t.high for t in every]

    def limits(self) -> tuple[np.ndarray, np.ndarray]:
        """(n, 2) least and greatest place at which each piece lies within its sheet."""
        every = [self.table.shapes[s][t] for s, t in zip(self.shape, self.turn)]
        sheet = self.sheet()
        origin = np.column_stack([sheet * APART, np.zeros(len(sheet))])
        low = origin - [t.low for t in every]
        return low, origin + self.sheets[sheet] - [t.high for t in every]


def overlaps(layout: Layout) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pairs i < j whose boxes meet, and the depth (at least 0) of each pair's overlap."""
    low, high = layout.boxes()
    i, j = _close(low, high, 0.0)
    depth = np.zeros(len(i))
    for k, (a, b) in enumerate(zip(i, j)):
        known = layout.table.between((layout.shape[a], layout.turn[a]), (layout.shape[b], layout.turn[b]))
        depth[k] = max(known.depths((layout.place[b] - layout.place[a])[None]).max(), 0.0)
    return i, j, depth


def _close(low: np.ndarray, high: np.ndarray, near: float) -> tuple[np.ndarray, np.ndarray]:
    meet = (low[:, None] < high[None] + near).all(axis=2)
    return np.nonzero(np.triu(meet & meet.T, 1))


def push_apart(layout: Layout, weights: np.ndarray, rounds: int = 3, steps: int = 60) -> None:
    """Move all pieces at once so that their weighted overlaps become less; angles and sheets stay."""
    for _ in range(rounds):
        low, high = layout.boxes()
        pairs = []
        for a, b in zip(*_close(low, high, _NEAR)):
            known = layout.table.between((layout.shape[a], layout.turn[a]), (layout.shape[b], layout.turn[b]))
            depth = known.depths((layout.place[b] - layout.place[a])[None])[0]
            kept = depth > -_NEAR
            if kept.any():
                pairs.append((a, b, known, kept))
        if not pairs:
            return
        least, most = layout.limits()
        # beyond half of _NEAR a pair that was left out might meet
        least = np.maximum(least, layout.place - _NEAR / 2.8)
        most = np.maximum(np.minimum(most, layout.place + _NEAR / 2.8), least)
        moved, left = _lowered(_Terms(pairs, weights), np.clip(layout.place, least, most), least, most, steps)
        far = np.abs(moved - layout.place).max()
        layout.place[:] = moved
        if left < 1e-7 or far < 0.5 * _NEAR / 2.8:
            return


def _lowered(terms: _Terms, place: np.ndarray, least: np.ndarray, most: np.ndarray, steps: int):
    """Places between the bounds with a lower sum of `terms`, and that sum.

    Each piece goes down its own gradient by half of what it would need alone, as its partners move as well;
    with the momentum of Nesterov (1983), dropped whenever it leads uphill.
    """
    ahead, since = place, 0
    for _ in range(steps):
        total, gradient, steepness = terms.value(ahead)
        if total < 1e-8:
            return ahead, total
        new = np.clip(ahead - gradient / (2.0 * np.maximum(steepness, 1e-9))[:, None], least, most)
        since = 0 if ((new - place) * gradient).sum() > 0.0 else since + 1
        ahead = np.clip(new + since / (since + 3.0) * (new - place), least, most)
        place = new
    return place, terms.value(place)[0]


class _Terms:
    """The sum of the squared depths of chosen pairs of parts, as a function of all places."""

    def __init__(self, pairs, weights: np.ndarray):
        most = max(known.limits.shape[0] for _, _, known, _ in pairs)
        count = [int(kept.sum()) for _, _, _, kept in pairs]
        self.a = np.repeat([a for a, *_ in pairs], count)
        self.b = np.repeat([b for _, b, *_ in pairs], count)
        self.weight = weights[self.a, self.b]
        self.normals = np.zeros((2, most, len(self.a)))
        self.limits = np.full((most, len(self.a)), np.inf)  # a bound that never is the nearest
        start = 0
        for (_, _, known, kept), n in zip(pairs, count):
            width = len(known.limits)
            self.normals[:, :width, start : start + n] = known.normals[:, :, kept]
            self.limits[:width, start : start + n] = known.limits[:, kept]
            start += n

    def value(self, place: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        """The sum, its gradient (n, 2) by the places, and the sum of the second derivatives (n,) of each piece."""
        x, y = (place[self.b] - place[self.a]).T
        depth = self.limits - self.normals[0] * x - self.normals[1] * y
        nearest = depth.argmin(axis=0)
        depth = np.take_along_axis(depth, nearest[None], axis=0)[0]
        deep = np.flatnonzero(depth > 0.0)
        d, w = depth[deep], self.weight[deep]
        pull = (2.0 * w * d)[:, None] * self.normals[:, nearest[deep], deep].T
        ends = np.concatenate([self.a[deep], self.b[deep]])
        pulls, n = np.concatenate([pull, -pull]), len(place)
        gradient = np.column_stack([np.bincount(ends, pulls[:, k], n) for k in (0, 1)])
        return float((w * d * d).sum()), gradient, np.bincount(ends, np.tile(2.0 * w, 2), n)


def cost_at(
    layout: Layout, piece: int, turn: int, places: np.ndarray, weights: np.ndarray, boxes, limit: float
) -> np.ndarray:
    """(N,) weighted overlap of one piece with all others if it stood at `places` (N, 2) at the angle `turn`.

    `boxes` are those of the layout. A place that is found to cost more than `limit` costs infinity.
    """
    own = layout.table.shapes[layout.shape[piece]][turn]
    low, high = boxes
    cost = np.zeros(len(places))
    meet = ((places[:, None] + own.low < high) & (places[:, None] + own.high > low)).all(axis=2)
    meet[:, piece] = False
    often = meet.sum(axis=0)
    for j in np.argsort(-often, kind="stable")[: np.count_nonzero(often)]:
        rows = np.flatnonzero(meet[:, j] & (cost <= limit))
        if len(rows):
            known = layout.table.between((layout.shape[j], layout.turn[j]), (layout.shape[piece], turn))
            depth = np.maximum(known.depths(places[rows] - layout.place[j]), 0.0)
            cost[rows] += weights[piece, j] * np.einsum("nk,nk->n", depth, depth)
    return np.where(cost <= limit, cost, np.inf)


def relocate(layout: Layout, piece: int, weights: np.ndarray, rng: np.random.Generator) -> None:
    """Put one piece where it overlaps least, of its own place and the best found on every sheet."""
    boxes, sheet, shape = layout.boxes(), layout.sheet(), int(layout.shape[piece])
    turn, place = int(layout.turn[piece]), layout.place[piece].copy()
    found = []
    for s, size in enumerate(layout.sheets):
        others = [
            (int(layout.shape[j]), int(layout.turn[j]), layout.place[j] - (s * APART, 0.0), weights[piece, j])
            for j in np.flatnonzero(sheet == s)
            if j != piece
        ]
        load = layout.grid.load(others)
        for t, own in enumerate(layout.table.shapes[shape]):
            if (own.size <= size).all():
                found += [
                    (c, t, p + (s * APART, 0.0)) for c, p in layout.grid.best(load, shape, t, size, _TRIED)
                ]
    found.sort(key=lambda f: f[0])
    now = float(cost_at(layout, piece, turn, place[None], weights, boxes, np.inf)[0])
    best = _refined(layout, piece, now, turn, place, weights, boxes, rng, now)
    for _, t, p in found[:_REFINED]:
        if best[0] <= 0.0:
            break
        best = min(
            best,
            _refined(layout, piece, np.inf, t, p, weights, boxes, rng, 1.5 * best[0]),
            key=lambda b: b[0],
        )
    _, layout.turn[piece], layout.place[piece] = best


def _refined(
    layout: Layout, piece: int, cost: float, turn: int, place: np.ndarray, weights, boxes, rng, limit
):
    """Cost, angle and place after a closer look around one place; only costs below `limit` matter."""
    own = layout.table.shapes[layout.shape[piece]][turn]
    sheet = int(np.round(place[0] / APART))
    least = np.array([sheet * APART, 0.0]) - own.low
    most = least + layout.sheets[sheet] - own.size
    for spread in _SPREADS:
        near = np.clip(place + spread * rng.normal(size=(16, 2)), least, most)
        costs = cost_at(layout, piece, turn, near, weights, boxes, min(cost, limit))
        k = int(np.argmin(costs))
        if costs[k] < cost:
            cost, place = float(costs[k]), near[k]
        if cost <= 0.0 or not np.isfinite(cost):
            break
    return cost, turn, place


def separate(layout: Layout, rng: np.random.Generator, moves: int) -> tuple[bool, int]:
    """Move pieces until none overlaps another; whether that was reached, and how many single moves it took.

    It gives up at the end of the pass in which `moves` are used up.
    """
    n = len(layout.shape)
    weights = np.ones((n, n))
    push_apart(layout, weights)
    used = 0
    while True:
        i, j, depth = overlaps(layout)
        bad = depth > CLEAR
        if not bad.any():
            return True, used
        if used >= moves:
            return False, used
        i, j, depth = i[bad], j[bad], depth[bad]
        grown = _FADE * weights
        grown[i, j] = grown[j, i] = weights[i, j] * (_GROW + (_GROW_MOST - _GROW) * depth / depth.max())
        weights = np.maximum(grown, 1.0)
        worst = depth >= _WORST * depth.max()
        for piece in rng.permutation(np.unique(np.concatenate([i[worst], j[worst]]))):
            if _clashes(layout, piece):
                relocate(layout, int(piece), weights, rng)
                used += 1
        push_apart(layout, weights)


def _clashes(layout: Layout, piece: int) -> bool:
    ones = np.ones((len(layout.shape), len(layout.shape)))
    own = layout.place[piece][None]
    return bool(cost_at(layout, piece, layout.turn[piece], own, ones, layout.boxes(), np.inf)[0] > CLEAR**2)
