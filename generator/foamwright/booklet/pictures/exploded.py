"""The prop taken apart: every copy drawn off along the way that it goes in, as far as it takes to see it and what it
goes on. Lengths in mm.

Along parallel lines of sight a copy that is moved is the same picture at another place. So each copy is looked at once,
on a coarse grid, and distances are tried by laying these pictures over each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Step
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render

_ACROSS = 150  # cells of the grid across the prop
_TRIED = (0.05, 0.09, 0.14, 0.2, 0.28, 0.38, 0.5, 0.66, 0.85, 1.1, 1.4)  # distances, of the prop's size
_NEW, _OLD = 0.75, 0.6  # shares that should show of what is moved, and of each part that it is moved before
_LYING = 0.1  # of a direction that the faces of a loose joint have in common; less, and they lie all round it
_TOUCHING = 1.0  # mm that what touches may be said to reach into each other
_INTO = 0.5  # cosine of a way that would lead into what a thing lies on
# How far a copy comes out at least: of its own extent along its way, or of the prop's size.
_HALF_OUT, _FAR_ENOUGH = 0.5, 0.12
# How far the members of a body that goes in as one are moved apart, of their places; the outermost by so much of the prop's size
# at least, as those of a slender one need, and of its places at most.
_SPREAD, _SPREAD_OF_ALL, _MOST_SPREAD = 0.22, 0.04, 2.0


@dataclass(frozen=True, eq=False)
class _Seen:
    """One copy at home on the grid: its lower left cell, and how far along it is met (rows, columns); inf: not."""

    corner: np.ndarray
    depth: np.ndarray

    @property
    def cells(self) -> int:
        return int(np.isfinite(self.depth).sum())


def carried(
    bodies: Bodies,
    copies: Sequence[int],
    past: Sequence[int],
    shifts: Mapping[int, np.ndarray],
    off: Sequence[float] | np.ndarray,
) -> np.ndarray:
    """How far (3,) what these copies touch among `past` is itself moved: the mean by area; nothing if they touch none, or are
    taken, against the direction `off` in which they come off, to the other side of something: an axle that is drawn out on one
    side of a cart does not pull the far wheel through it."""
    total, moved = 0.0, np.zeros(3)
    among = set(past)
    for (a, b), touch in bodies.touches.items():
        if a in copies and b in among:
            total += touch.area
            moved = moved + touch.area * shifts.get(b, np.zeros(3))
    moved = moved / total if total else moved
    opposed = float(moved @ np.asarray(off, float)) < 0.0
    return np.zeros(3) if opposed and _goes_through(bodies, copies, past, shifts, moved) else moved


def _goes_through(
    bodies: Bodies, copies: Sequence[int], past: Sequence[int], shifts: Mapping[int, np.ndarray], moved: np.ndarray
) -> bool:
    """Do copies that are `moved` (3,) come from one side of something else to its other side?"""
    frame = basis(moved)
    own = _extent(bodies, copies, frame)
    for other in past:
        low, high = _extent(bodies, [other], frame)
        beside = (own[1][:2] <= low[:2]).any() or (high[:2] <= own[0][:2]).any()
        along = float(np.linalg.norm(moved) - frame[2] @ shifts.get(other, np.zeros(3)))
        if not beside and own[1][2] <= low[2] + _TOUCHING and own[0][2] + along >= high[2] - _TOUCHING:
            return True
    return False


def _extent(bodies: Bodies, copies: Sequence[int], frame: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The least and greatest coordinates (3,) of copies along the rows of a frame."""
    points = np.vstack([bodies.points[slice(*render.points_of(bodies)[copy])] for copy in copies]) @ frame.T
    return points.min(axis=0), points.max(axis=0)


def spread(bodies: Bodies, copies: Sequence[int], share: float) -> dict[int, np.ndarray]:
    """Copies moved apart from the middle of them all."""
    middles = {copy: middle(bodies, copy) for copy in copies}
    centre = np.mean(list(middles.values()), axis=0)
    return {copy: share * (at - centre) for copy, at in middles.items()}


def middle(bodies: Bodies, copy: int) -> np.ndarray:
    points = bodies.points[slice(*render.points_of(bodies)[copy])]
    return (points.min(axis=0) + points.max(axis=0)) / 2.0


def exploded(bodies: Bodies, steps: Sequence[Step], frame: np.ndarray) -> dict[int, np.ndarray]:
    """How far (3,) each copy is moved; `frame` has across, up and along of the view as rows.

    What hangs together is taken apart by itself; then what only rests on something is taken off it as it is set down: a cap
    on a box, a cushion through a door, the stand below a hull.
    Of parts that go in one after the other and are alike those on the far side are moved no farther than the one that shows:
    it has the letter.
    """
    once = _exploded(bodies, steps, frame, {})
    return _exploded(bodies, steps, frame, once.farthest).shifts


@dataclass(frozen=True, eq=False)
class _Apart:
    """How far (3,) each copy is moved, and by the parts of a move the least distance at which it showed."""

    shifts: dict[int, np.ndarray]
    farthest: dict[frozenset[str], float]


def _exploded(
    bodies: Bodies, steps: Sequence[Step], frame: np.ndarray, known: Mapping[frozenset[str], float]
) -> _Apart:
    """As `exploded` has it; moves of parts that are `known` go so far and are not tried."""
    size = float(np.ptp(bodies.points, axis=0).max())
    cell = size / _ACROSS
    farthest: dict[frozenset[str], float] = {}
    seen = [_seen(bodies, copy, frame, cell) for copy in range(len(bodies))]
    own = _hanging_together(bodies, [move.copies for step in steps for move in step.moves])
    shifts: dict[int, np.ndarray] = {}
    past: list[int] = []

    def distance(others: Sequence[int], copies: Sequence[int], direction: np.ndarray, tried: Sequence[float]) -> float:
        ground = _Ground(seen, {i: shifts[i] for i in others}, frame, cell)
        return size * _least(
            tried, lambda far: ground.shares({i: shifts[i] + far * size * direction for i in copies}, bodies)
        )

    for move in (move for step in steps for move in step.moves):
        fresh = [copy for copy in move.copies if copy not in shifts]
        if len(fresh) > 1:
            shifts |= spread(bodies, fresh, _apart(bodies, fresh, size))
        shifts |= {copy: np.zeros(3) for copy in fresh if copy not in shifts}
        direction = np.array(move.outwards[-1][0]) if move.outwards else np.zeros(3)
        others = [i for i in past if i not in move.copies and own[i] == own[move.copies[0]]]
        if others:
            base = carried(bodies, move.copies, others, shifts, direction)
            for copy in move.copies:
                shifts[copy] = shifts[copy] + base
            if direction.any():
                parts = frozenset(bodies.pieces[copy].id for copy in move.copies)
                least = _least_out(bodies, move.copies, direction, size)
                tried = [far for far in _TRIED if far >= least]
                far = known[parts] if parts in known else distance(others, move.copies, direction, tried)
                farthest[parts] = min(far, farthest.get(parts, far))
                for copy in move.copies:
                    shifts[copy] = shifts[copy] + far * direction
        past = [*(i for i in past if i not in move.copies), *move.copies]
    things: dict[int, list[int]] = {}
    for copy in (copy for step in steps for move in step.moves for copy in move.copies):
        things.setdefault(own[copy], [])
        if copy not in things[own[copy]]:
            things[own[copy]].append(copy)
    placed: list[int] = []
    for copies in things.values():
        if placed:
            direction = _off(bodies, steps, placed, copies)
            far = distance(placed, copies, direction, (0.0, *_TRIED))
            for copy in copies:
                shifts[copy] = shifts[copy] + far * direction
        placed += copies
    return _Apart(shifts, farthest)


def _apart(bodies: Bodies, copies: Sequence[int], size: float) -> float:
    """How far the members of a body are moved apart, of their places."""
    middles = np.array([middle(bodies, copy) for copy in copies])
    reach = float(np.linalg.norm(middles - middles.mean(axis=0), axis=1).max())
    return max(_SPREAD, min(_SPREAD_OF_ALL * size / max(reach, 1e-9), _MOST_SPREAD))


def _least_out(bodies: Bodies, copies: Sequence[int], direction: np.ndarray, size: float) -> float:
    """Of the size of the prop, how far copies come out at least: a block that stands before what it is glued on shows at home
    already, and so does that, but not that they are two."""
    low, high = _extent(bodies, copies, basis(direction))
    return min(_HALF_OUT * float(high[2] - low[2]) / size, _FAR_ENOUGH)


def _off(bodies: Bodies, steps: Sequence[Step], placed: Sequence[int], copies: Sequence[int]) -> np.ndarray:
    """The direction (3,) in which a thing that is not glued to what is `placed` comes off it: the way that it goes in as a
    whole, unless that was found without the others and leads through them; then away from the faces that lie on each other, or
    up or down, by which of the two is higher."""
    lies = [t.normals for (a, b), t in sorted(bodies.touches.items()) if a in copies and b in placed]
    off = np.concatenate(lies).mean(axis=0) if lies else np.zeros(3)
    if np.linalg.norm(off) < _LYING:
        off = np.array([0.0, 0.0, 1.0 if _height(bodies, copies) >= _height(bodies, placed) else -1.0])
    off = off / np.linalg.norm(off)
    parts = {bodies.pieces[copy].id for copy in copies}
    last = [move for step in steps for move in step.sets if parts == {bodies.pieces[copy].id for copy in move.copies}]
    for move in (*last, *(move for step in steps for move in step.moves if {*copies} <= {*move.copies})):
        if move.outwards:
            way = np.array(move.outwards[-1][0])
            return way if way @ off > -_INTO else off
    return off


def _hanging_together(bodies: Bodies, as_one: Sequence[Sequence[int]] = ()) -> list[int]:
    """For each copy the number of the thing that it is part of: of copies that are glued to each other, or that go in `as_one`:
    the sides of a roof that is only set down are joined, though nothing of it takes glue from what it lies on."""
    number = list(range(len(bodies)))
    glued = [pair for pair, touch in sorted(bodies.touches.items()) if touch.glued]
    for a, b in (*glued, *(pair for copies in as_one for pair in pairwise(copies))):
        if number[a] == number[b]:
            continue
        kept, gone = sorted((number[a], number[b]))
        number = [kept if n == gone else n for n in number]
    return number


def one_of_alike(bodies: Bodies, along: np.ndarray) -> list[int]:
    """The copies of the thing that is nearest to the eye, which looks `along` (3,), where the prop is several things that
    are made of the same parts and do not touch; else all copies."""
    groups: dict[int, list[int]] = {}
    for copy, thing in enumerate(_hanging_together(bodies)):
        groups.setdefault(thing, []).append(copy)
    if len({tuple(sorted(bodies.pieces[i].id for i in group)) for group in groups.values()}) > 1:
        return list(range(len(bodies)))
    deep = {
        thing: float(np.mean([middle(bodies, i) for i in group], axis=0) @ along) for thing, group in groups.items()
    }
    return groups[min(groups, key=lambda thing: (round(deep[thing], 3), thing))]


def _height(bodies: Bodies, copies: Sequence[int]) -> float:
    return round(float(np.mean([middle(bodies, copy)[2] for copy in copies])), 1)


def _least(tried: Sequence[float], shares: Callable[[float], tuple[float, float]]) -> float:
    """The least of the distances tried at which enough shows, or that at which most shows."""
    best, distance = -1.0, tried[0]
    for far in tried:
        new, old = shares(far)
        if new >= _NEW and old >= _OLD:
            return far
        if min(new, old) > best + 0.02:
            best, distance = min(new, old), far
    return distance


def _seen(bodies: Bodies, copy: int, frame: np.ndarray, cell: float) -> _Seen:
    flat = bodies.points[slice(*render.points_of(bodies)[copy])] @ frame[:2].T
    low, high = np.floor(flat.min(axis=0) / cell).astype(int), np.ceil(flat.max(axis=0) / cell).astype(int)
    window = render.Window(frame, low * cell, cell, (int(high[1] - low[1]) + 1, int(high[0] - low[0]) + 1))
    return _Seen(low, render.look(bodies.points, bodies, [copy], window).depth)


class _Ground:
    """Copies at their places laid over each other, to try where some more would go."""

    def __init__(self, seen: Sequence[_Seen], placed: Mapping[int, np.ndarray], frame: np.ndarray, cell: float):
        self.seen, self.frame, self.cell = seen, frame, cell
        self.boxes = {copy: self._box(copy, shift) for copy, shift in placed.items()}
        ends = np.array([(*low, *(low + s.depth.shape[::-1])) for low, _, s in self.boxes.values()])
        self.low = ends[:, :2].min(axis=0)
        columns, rows = ends[:, 2:].max(axis=0) - self.low
        self.depth, self.owner = np.full((rows, columns), np.inf), np.full((rows, columns), -1, np.int64)
        for copy in placed:
            self._lay(copy, self.boxes[copy], self.depth, self.owner)
        self.showed = np.bincount(self.owner[self.owner >= 0], minlength=len(seen))

    def _box(self, copy: int, shift: np.ndarray) -> tuple[np.ndarray, float, _Seen]:
        moved = self.frame @ shift
        return self.seen[copy].corner + np.round(moved[:2] / self.cell).astype(int), float(moved[2]), self.seen[copy]

    def _lay(self, copy: int, box, depth: np.ndarray, owner: np.ndarray) -> None:
        low, along, seen = box
        c0, r0 = low - self.low
        top, left = max(-r0, 0), max(-c0, 0)
        part = seen.depth[top : max(depth.shape[0] - r0, 0), left : max(depth.shape[1] - c0, 0)] + along
        where = (slice(r0 + top, r0 + top + part.shape[0]), slice(c0 + left, c0 + left + part.shape[1]))
        nearer = part < depth[where]
        depth[where][nearer] = part[nearer]
        owner[where][nearer] = copy

    def shares(self, placed: Mapping[int, np.ndarray], bodies: Bodies) -> tuple[float, float]:
        """What would show of the copies `placed` as well, the least part, and the least share left of what showed."""
        depth, owner = self.depth.copy(), self.owner.copy()
        beyond: dict[int, int] = {}
        for copy, shift in placed.items():
            box = self._box(copy, shift)
            self._lay(copy, box, depth, owner)
            beyond[copy] = self._outside(box)
        shows = np.bincount(owner[owner >= 0], minlength=len(self.seen))
        new = _by_part(bodies, placed, lambda i: (shows[i] + beyond[i]) / max(self.seen[i].cells, 1))
        old = _by_part(bodies, [i for i in self.boxes if self.showed[i]], lambda i: shows[i] / self.showed[i])
        return new, old

    def _outside(self, box) -> int:
        """Cells of a copy that lie off the ground, where nothing hides them."""
        low, _, seen = box
        (c0, r0), (rows, columns) = low - self.low, self.depth.shape
        inside = seen.depth[max(-r0, 0) : max(rows - r0, 0), max(-c0, 0) : max(columns - c0, 0)]
        return seen.cells - int(np.isfinite(inside).sum())


def _by_part(bodies: Bodies, copies: Iterable[int], share) -> float:
    """The least share of a part, each by the better half of its copies."""
    shares: dict[str, list[float]] = {}
    for copy in copies:
        shares.setdefault(bodies.pieces[copy].id, []).append(float(share(copy)))
    return min((float(np.mean(sorted(each)[-((len(each) + 1) // 2) :])) for each in shares.values()), default=1.0)
