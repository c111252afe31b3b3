"""Pieces moved on their sheets until none overlaps another. Lengths in mm.

A piece that overlaps is put where it overlaps least, out of places tried at random and then followed downhill.
Overlaps that last weigh more from pass to pass, so that the search leaves layouts from which no single move
helps (guided local search: Voudouris and Tsang, 1999; on nesting: Egeblad, Nielsen and Odgaard, 2007; with places
tried at random: Gardeyn, Vanden Berghe and Wauters, 2025).

The functions here are compiled. Effort is counted in pairs of polygons looked at, never in time.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from foamwright.compiled import compiled, first_bit, lent, njit
from foamwright.nesting.rooms import Rooms

_LINES = 32  # across each sheet and along it, by which pieces that are near each other are found
CLEAR = 0.01  # mm: overlaps less deep than this count as none; the rooms of the pieces are larger by it
_ANYWHERE, _NEAR = 20, 10  # places tried on each sheet, and around the one that the piece has
_FOLLOWED = 2  # of them that are followed downhill
_PATIENCE = 40  # passes without progress before a search gives up
_PROGRESS = 0.98  # of the least overlap so far that counts as some
_FADE, _GROW, _GROW_MOST = 0.95, 1.2, 2.0  # of the weight of two pieces: apart, just and most overlapping
_COARSE, _FINE, _FINEST = 0.25, 0.04, 0.002  # shares of a piece's lesser size: steps downhill
_TRIED = 300  # places to lower a piece to
_LEFT = 0.1  # of the way to the left counts as much as the way down
_SLIDE, _SLIDE_LEAST = 64.0, 0.05  # mm: steps of a piece slid along


class Layout(NamedTuple):
    """Where every piece is. The arrays but `rooms` and `shape` are changed in place."""

    rooms: Rooms
    shape: np.ndarray  # (n,) int
    form: np.ndarray  # (n,) int
    sheet: np.ndarray  # (n,) int
    place: np.ndarray  # (n, 2) of the origin of each piece on its sheet
    sheets: np.ndarray  # (S, 2) width and length that may be used

    def copy(self) -> Layout:
        """One with arrays of its own."""
        return Layout(self.rooms, self.shape, *(a.copy() for a in self[2:]))


class Overlaps(NamedTuple):
    """Which pieces overlap, by their numbers, and how deep; and of each piece whether it does. Changed in place, and filled
    as far as there are any."""

    pairs: np.ndarray  # (M, 2) int, the lesser number first
    depths: np.ndarray  # (M,)
    pieces: np.ndarray  # (n,) bool


# What is compiled stands in one module: a compiled function is kept between runs until its own file changes, not
# those of the functions that it calls. The innermost ones are inlined, as a call takes longer than what they do.


_compiled = compiled(nogil=True)


@njit(inline="always")
def _lent(y):
    r = y.rooms
    rooms = Rooms(
        lent(r.form),
        lent(r.polygon),
        lent(r.side),
        lent(r.form_box),
        lent(r.polygon_box),
        lent(r.corners),
        lent(r.sides),
        lent(r.reach),
    )
    return Layout(rooms, lent(y.shape), lent(y.form), lent(y.sheet), lent(y.place), lent(y.sheets))


@njit(inline="always")
def _behind_sides(r, f, p, q, x, y, least):
    """How deep polygon `q`, moved by (x, y), lies behind the side of `p`, of form `f`, that it is least deep behind.

    `least` if that is less; 0 if `q` lies beyond a side.
    """
    first, end = r.side[r.polygon[f]], r.side[r.polygon[f + 1]]
    row = first * (len(r.side) - 1) + (end - first) * q - first
    for k in range(r.side[p], r.side[p + 1]):
        depth = r.reach[row + k] - r.sides[k, 0] * x - r.sides[k, 1] * y
        if depth < least:
            least = depth
            if depth <= 0.0:
                return 0.0
    return least


@njit(inline="always")
def polygon_depth(r, f, g, p, q, x, y):
    """How deep polygon `q` of form `g`, moved by (x, y), runs into polygon `p` of form `f`; 0 if they are apart.

    They overlap where (x, y) lies inside the sum of p and -q, which is bounded by the normals of the sides of
    both; the depth is the distance to the nearest of those bounds.
    """
    depth = _behind_sides(r, f, p, q, x, y, np.inf)
    return _behind_sides(r, g, q, p, -x, -y, depth) if depth > 0.0 else 0.0


@njit(inline="always")
def _apart(a, i, b, j, x, y):
    """Whether box `j` of the array `b`, moved by (x, y), does not overlap box `i` of `a`."""
    return a[i, 0] >= b[j, 2] + x or a[i, 2] <= b[j, 0] + x or a[i, 1] >= b[j, 3] + y or a[i, 3] <= b[j, 1] + y


@njit(inline="always")
def _form_depth(r, f, g, x, y, limit, spent):
    """Sum of the depths of the polygons of form `g`, moved by (x, y), in those of form `f`.

    It stops as soon as the sum exceeds `limit`. `spent` (1,) counts the pairs of polygons that were looked at.
    """
    total = 0.0
    for p in range(r.polygon[f], r.polygon[f + 1]):
        if total > limit:
            break
        if _apart(r.polygon_box, p, r.form_box, g, x, y):
            continue
        for q in range(r.polygon[g], r.polygon[g + 1]):
            if not _apart(r.polygon_box, p, r.polygon_box, q, x, y):
                spent[0] += 1
                total += polygon_depth(r, f, g, p, q, x, y)
                if total > limit:
                    break
    return total


def separate(layout: Layout, rng: np.random.Generator, budget: int) -> tuple[bool, int]:
    """Move pieces until none overlaps another: whether that was reached, and what was spent.

    It gives up after `budget` pairs of polygons, or when nothing has got better for long; the layout is then the
    best that was found.
    """
    n, spent = len(layout.shape), np.zeros(1, np.int64)
    most = max(n * (n - 1) // 2, 1)
    overlaps = Overlaps(np.empty((most, 2), np.int64), np.empty(most), np.empty(n, np.bool_))
    clear = _separate(layout, _no_lines(layout), np.zeros((n, n)), overlaps, rng, budget, spent)
    return clear, int(spent[0])


def gather(layout: Layout, rng: np.random.Generator, rounds: int) -> None:
    """Slide pieces that lie free towards the lower left of their sheets, so that what is left is in one place."""
    n = len(layout.shape)
    _gather(layout, _no_lines(layout), np.ones((n, n)), rng, rounds, np.zeros(1, np.int64))


def _no_lines(layout: Layout) -> np.ndarray:
    """(sheets, 2, lines, words) of bits: which pieces lie on each line across a sheet and along it, none yet."""
    return np.zeros((len(layout.sheets), 2, _LINES, len(layout.shape) // 64 + 1), np.uint64)


@_compiled
def _separate(layout, lines, weights, overlaps, rng, budget, spent):
    layout, lines, weights, spent = _lent(layout), lent(lines), lent(weights), lent(spent)
    overlaps = Overlaps(lent(overlaps.pairs), lent(overlaps.depths), lent(overlaps.pieces))
    n = len(layout.shape)
    for piece in range(n):
        _enter(layout, lines, piece)
    starts = _starting_weights(layout)
    weights[:] = starts
    best = layout.form.copy(), layout.sheet.copy(), layout.place.copy()
    least, mark, idle = np.inf, np.inf, 0
    while True:
        count, total = _all_depths(layout, lines, overlaps, spent)
        if total < least:
            least = total
            best[0][:], best[1][:], best[2][:] = layout.form, layout.sheet, layout.place
        if total == 0.0:
            return True
        idle += 1
        if total < _PROGRESS * mark:
            mark, idle = total, 0
        if spent[0] >= budget or idle > _PATIENCE:
            layout.form[:], layout.sheet[:], layout.place[:] = best
            return False
        _weigh(weights, starts, overlaps, count)
        for piece in _shuffled(n, rng):
            if overlaps.pieces[piece]:
                form, sheet, place = layout.form[piece], layout.sheet[piece], layout.place[piece]
                now = _cost(layout, lines, weights, piece, form, sheet, place[0], place[1], np.inf, spent)
                if now > CLEAR:  # it may have been freed by another's move
                    _relocate(layout, lines, weights, piece, now, rng, spent)


@_compiled
def _gather(layout, lines, ones, rng, rounds, spent):
    layout, lines, ones, spent = _lent(layout), lent(lines), lent(ones), lent(spent)
    n = len(layout.shape)
    for piece in range(n):
        _enter(layout, lines, piece)
    for _ in range(rounds):
        height = np.array([layout.place[i, 1] + layout.rooms.form_box[layout.form[i], 3] for i in range(n)])
        for piece in np.argsort(-height):
            _lower(layout, lines, ones, piece, rng, spent)


@njit(inline="always")
def _line(value, length):
    """The line nearest below; boxes that overlap have one in common."""
    return min(max(int(value * (_LINES / length)), 0), _LINES - 1)


@_compiled
def _enter(layout, lines, piece):
    """Tell the lines that a piece lies on; it may have lain on others."""
    word, bit = piece // 64, np.uint64(1) << np.uint64(piece % 64)
    for s in range(len(lines)):
        for axis in range(2):
            for k in range(_LINES):
                lines[s, axis, k, word] &= ~bit
    box, sheet = layout.rooms.form_box[layout.form[piece]], layout.sheet[piece]
    for axis in range(2):
        at, length = layout.place[piece, axis], layout.sheets[sheet, axis]
        for k in range(_line(at + box[axis], length), _line(at + box[axis + 2], length) + 1):
            lines[sheet, axis, k, word] |= bit


@njit(inline="always")
def _crossed(lines, sheet, axis, first, last, word):
    """Bits of the pieces that lie on any of some lines."""
    found = np.uint64(0)
    for k in range(first, last + 1):
        found |= lines[sheet, axis, k, word]
    return found


@_compiled
def _starting_weights(layout):
    """(n, n) more for large pieces, so that small ones give way."""
    r, n = layout.rooms, len(layout.shape)
    size = np.empty(n)
    for i in range(n):
        f = layout.form[i]
        area = (r.form_box[f, 2] - r.form_box[f, 0]) * (r.form_box[f, 3] - r.form_box[f, 1])
        size[i] = np.sqrt(np.sqrt(np.sqrt(area)))  # roots, unlike powers, are the same on every machine
    return size.reshape(n, 1) * size.reshape(1, n)


@_compiled
def _all_depths(layout, lines, overlaps, spent):
    """Fill in which pieces overlap; how many pairs, and the sum of their depths."""
    r, total, count = layout.rooms, 0.0, 0
    overlaps.pieces[:] = False
    for i in range(len(layout.shape)):
        f, sheet, u, v = layout.form[i], layout.sheet[i], layout.place[i, 0], layout.place[i, 1]
        width, length = layout.sheets[sheet, 0], layout.sheets[sheet, 1]
        left, right = _line(u + r.form_box[f, 0], width), _line(u + r.form_box[f, 2], width)
        lower, upper = _line(v + r.form_box[f, 1], length), _line(v + r.form_box[f, 3], length)
        for word in range(i // 64, lines.shape[3]):
            near = _crossed(lines, sheet, 0, left, right, word) & _crossed(lines, sheet, 1, lower, upper, word)
            while near:
                j = 64 * word + first_bit(near)
                near &= near - np.uint64(1)
                if j <= i:
                    continue
                g, x, y = layout.form[j], layout.place[j, 0] - u, layout.place[j, 1] - v
                if not _apart(r.form_box, f, r.form_box, g, x, y):
                    depth = _form_depth(r, f, g, x, y, np.inf, spent)
                    if depth > CLEAR:
                        overlaps.pairs[count, 0], overlaps.pairs[count, 1] = i, j
                        overlaps.depths[count] = depth
                        overlaps.pieces[i] = overlaps.pieces[j] = True
                        count += 1
                        total += depth
    return count, total


@_compiled
def _weigh(weights, starts, overlaps, count):
    """More for the pieces that overlap, less for all others."""
    pairs, depths = overlaps.pairs, overlaps.depths
    most = depths[:count].max()
    grown = np.empty(count)
    for k in range(count):
        grown[k] = weights[pairs[k, 0], pairs[k, 1]] * (_GROW + (_GROW_MOST - _GROW) * depths[k] / most)
    for i in range(len(weights)):
        for j in range(len(weights)):
            faded = _FADE * weights[i, j]
            weights[i, j] = faded if faded > starts[i, j] else starts[i, j]
    for k in range(count):
        i, j = pairs[k, 0], pairs[k, 1]
        weights[i, j] = weights[j, i] = grown[k]


@_compiled
def _shuffled(n, rng):
    order = np.arange(n)
    for i in range(n - 1, 0, -1):
        k = int(rng.random() * (i + 1))
        order[i], order[k] = order[k], order[i]
    return order


@_compiled
def _cost(layout, lines, weights, piece, form, sheet, x, y, limit, spent):
    """Weighted overlap of a piece with all others if it lay so; infinite if it is more than `limit`."""
    r, total = layout.rooms, 0.0
    width, length = layout.sheets[sheet, 0], layout.sheets[sheet, 1]
    left, right = _line(x + r.form_box[form, 0], width), _line(x + r.form_box[form, 2], width)
    lower, upper = _line(y + r.form_box[form, 1], length), _line(y + r.form_box[form, 3], length)
    for word in range(lines.shape[3]):
        near = _crossed(lines, sheet, 0, left, right, word) & _crossed(lines, sheet, 1, lower, upper, word)
        while near:
            j = 64 * word + first_bit(near)
            near &= near - np.uint64(1)
            if j == piece:
                continue
            g, dx, dy = layout.form[j], layout.place[j, 0], layout.place[j, 1]
            if _apart(r.form_box, g, r.form_box, form, x - dx, y - dy):
                continue
            w = weights[piece, j]
            total += w * _form_depth(r, g, form, x - dx, y - dy, (limit - total) / w, spent)
            if total > limit:
                return np.inf
    return total


@_compiled
def bounds(layout, form, sheet):
    """Least and greatest x and y of a piece on a sheet; the greatest are less than the least if it does not fit."""
    r = layout.rooms
    width, length = layout.sheets[sheet]
    return (
        -r.form_box[form, 0],
        width - r.form_box[form, 2],
        -r.form_box[form, 1],
        length - r.form_box[form, 3],
    )


@_compiled
def _between(value, least, most):
    return min(max(value, least), most)


@_compiled
def _relocate(layout, lines, weights, piece, now, rng, spent):
    """Put one piece where it overlaps least, of the place that it has (which costs `now`) and the best found."""
    r, shape = layout.rooms, layout.shape[piece]
    first, ways = r.form[shape], r.form[shape + 1] - r.form[shape]
    own, home = layout.form[piece], layout.sheet[piece]
    middle_x = layout.place[piece, 0] + 0.5 * (r.form_box[own, 0] + r.form_box[own, 2])
    middle_y = layout.place[piece, 1] + 0.5 * (r.form_box[own, 1] + r.form_box[own, 3])
    cost = np.full(_FOLLOWED, np.inf)
    form, sheet = np.full(_FOLLOWED, own), np.full(_FOLLOWED, home)
    place = np.zeros((_FOLLOWED, 2))
    cost[0], place[0] = now, layout.place[piece]
    for t in range(_NEAR + _ANYWHERE * len(layout.sheets)):
        near = t < _NEAR
        f = own if near and rng.random() < 0.5 else first + int(rng.random() * ways)
        s = home if near else (t - _NEAR) // _ANYWHERE
        x0, x1, y0, y1 = bounds(layout, f, s)
        if x1 < x0 or y1 < y0:
            continue
        if near:
            span = 0.5 * max(r.form_box[f, 2] - r.form_box[f, 0], r.form_box[f, 3] - r.form_box[f, 1])
            x = middle_x - 0.5 * (r.form_box[f, 0] + r.form_box[f, 2]) + span * (rng.random() - 0.5)
            y = middle_y - 0.5 * (r.form_box[f, 1] + r.form_box[f, 3]) + span * (rng.random() - 0.5)
            x, y = _between(x, x0, x1), _between(y, y0, y1)
        else:
            x, y = x0 + rng.random() * (x1 - x0), y0 + rng.random() * (y1 - y0)
        c = _cost(layout, lines, weights, piece, f, s, x, y, cost[-1], spent)
        if c < cost[-1]:
            k = _FOLLOWED - 1
            while k > 0 and cost[k - 1] > c:
                cost[k], form[k], sheet[k], place[k] = cost[k - 1], form[k - 1], sheet[k - 1], place[k - 1]
                k -= 1
            cost[k], form[k], sheet[k] = c, f, s
            place[k, 0], place[k, 1] = x, y
    best = 0
    for k in range(_FOLLOWED):
        if np.isfinite(cost[k]):
            cost[k] = _downhill(
                layout, lines, weights, piece, form[k], sheet[k], place[k], cost[k], _COARSE, _FINE, rng, spent
            )
            if cost[k] < cost[best]:
                best = k
            if cost[k] == 0.0:
                break
    c = _downhill(
        layout, lines, weights, piece, form[best], sheet[best], place[best], cost[best], _FINE, _FINEST, rng, spent
    )
    if c < now:
        layout.form[piece], layout.sheet[piece] = form[best], sheet[best]
        layout.place[piece] = place[best]
        _enter(layout, lines, piece)


@_compiled
def _downhill(layout, lines, weights, piece, form, sheet, place, cost, start, end, rng, spent):
    """Move `place` (2,) along the axes and their diagonals for as long as it gets cheaper; the cost there.

    Steps, as shares of the lesser size of the piece, start at `start` and grow with success and shrink without,
    to `end`.
    """
    r = layout.rooms
    x0, x1, y0, y1 = bounds(layout, form, sheet)
    size = min(r.form_box[form, 2] - r.form_box[form, 0], r.form_box[form, 3] - r.form_box[form, 1])
    step_x = step_y = start * size
    while (step_x > end * size or step_y > end * size) and cost > 0.0:
        axis = rng.random()
        dx = 0.0 if 0.25 <= axis < 0.5 else step_x
        dy = 0.0 if axis < 0.25 else step_y if axis < 0.75 else -step_y
        here_x, here_y, factor = place[0], place[1], 0.5
        for sign in (1.0, -1.0):
            x, y = _between(here_x + sign * dx, x0, x1), _between(here_y + sign * dy, y0, y1)
            if x == here_x and y == here_y:
                continue
            c = _cost(layout, lines, weights, piece, form, sheet, x, y, cost, spent)
            if c < cost:
                cost, factor = c, 1.1
                place[0], place[1] = x, y
        if dx != 0.0:
            step_x *= factor
        if dy != 0.0:
            step_y *= factor
    return cost


@_compiled
def _lower(layout, lines, ones, piece, rng, spent):
    """Put one piece where its upper edge is lowest, and then as far left, of places at random that are free."""
    r, shape, sheet = layout.rooms, layout.shape[piece], layout.sheet[piece]
    first, ways = r.form[shape], r.form[shape + 1] - r.form[shape]
    f, x, y = layout.form[piece], layout.place[piece, 0], layout.place[piece, 1]
    height = y + r.form_box[f, 3] + _LEFT * (x + r.form_box[f, 2])
    for _ in range(_TRIED):
        g = first + int(rng.random() * ways)
        x0, x1, y0, y1 = bounds(layout, g, sheet)
        if x1 < x0 or y1 < y0:
            continue
        u = x0 + rng.random() * (x1 - x0)
        most = min(y1, height - r.form_box[g, 3] - _LEFT * (u + r.form_box[g, 2]))
        if most <= y0:
            continue
        v = y0 + rng.random() * (most - y0)
        if not _free(layout, lines, ones, piece, g, sheet, u, v, spent):
            continue
        u, v = _slid(layout, lines, ones, piece, g, sheet, u, v, spent)
        f, x, y = g, u, v
        height = y + r.form_box[f, 3] + _LEFT * (x + r.form_box[f, 2])
    layout.form[piece] = f
    layout.place[piece, 0], layout.place[piece, 1] = _slid(layout, lines, ones, piece, f, sheet, x, y, spent)
    _enter(layout, lines, piece)


@_compiled
def _free(layout, lines, ones, piece, form, sheet, x, y, spent):
    """Whether a piece would overlap no other if it lay so."""
    return _cost(layout, lines, ones, piece, form, sheet, x, y, CLEAR / 2.0, spent) <= CLEAR / 2.0


@_compiled
def _slid(layout, lines, ones, piece, form, sheet, x, y, spent):
    """A free place slid down and to the left in ever smaller steps, as far as it stays free."""
    x0, _, y0, _ = bounds(layout, form, sheet)
    step = _SLIDE
    while step > _SLIDE_LEAST:
        moved = False
        for dx, dy in ((0.0, step), (step, 0.0)):
            u, v = max(x - dx, x0), max(y - dy, y0)
            if (u < x or v < y) and _free(layout, lines, ones, piece, form, sheet, u, v, spent):
                x, y, moved = u, v, True
        if not moved:
            step /= 2.0
    return x, y
