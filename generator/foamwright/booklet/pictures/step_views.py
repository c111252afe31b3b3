"""From where a step is looked at: off their places or at home, and from which side, so that enough of every new part shows at
the least cost, after the findings of M. Agrawala and others, "Designing effective step-by-step assembly instructions"
(SIGGRAPH 2003): every new part visible, its way in shown, and the same viewpoint until there is a reason to change it.
Lengths in mm in space.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from foamwright.assembly.bodies import Bodies, Touch
from foamwright.assembly.records import Step, StepMove
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import Way
from foamwright.booklet.pictures.cut_into import cut_into
from foamwright.booklet.pictures.exploded import carried, middle, spread
from foamwright.booklet.pictures.looks import BACK, BELOW, FRONT
from foamwright.booklet.pictures.wrapping import Wrapped, half_wrapped, opened
from foamwright.booklet.words.seaming import is_frame
from foamwright.parts.records import BandBody, FlatBody

VIEWS = {  # where the eye looks along, and what a picture from there costs beside one from the front
    "front": (FRONT, 0.0),
    "side": ((-0.25, -1.6, -0.45), 0.3),
    "other": ((1.0, -1.3, -0.75), 0.35),
    "above": ((-0.5, -0.65, -2.2), 0.4),
    "back": (BACK, 0.45),
    "below": (BELOW, 0.7),
    "below-back": ((1.0, 1.3, 0.9), 0.8),
}
_OVERHEAD = (0.0, 0.0, -1.0)
LEAST_SEEN = 0.6  # of a new part; less, and it is looked at from elsewhere, pulled apart, or what hides it is left out
LEAST_TAKING = 0.1  # of what new parts are glued to that should show beside them
_COARSE = (300, 232)
_LEAST_CELLS = 30  # a copy seen from so few lines of sight has no share to speak of
_NEAR, _FAR = (
    0.13,
    0.8,
)  # of the size of what is shown: how far a part is pulled out along its way, at least and at most
_OFF, _HALF, _CLEAR = 0.0, 0.5, 1.0  # how much of the rest of the way that takes it past all that it comes by
_BEYOND = 0.06  # and past all that it comes by, where it is pulled clear
_SPREAD = (0.16, 1.6)  # how far the members of a body that goes in as one are moved apart, of their places
_RADIAL = 0.7  # of a band's breadth that lies in a direction: in less it is met by its faces, and not by its edges
_GAP = 0.05  # of the size of what is shown: as much should be between them
# What a picture costs that shows enough: the view should stay, parts stand off the faces that take glue, and those
# faces and the way in be seen.
_LOOSE_BEHIND, _SIDEWAYS = 1.2, 0.35  # a band's loose end, and from which cosine to the line of sight on it is behind
_EDGE_ON, _NARROW = (
    0.6,
    0.45,
)  # what is laid flat on something and seen by its edge, from which cosine to the line of sight on
_TURNED, _AT_HOME, _PULLED_FAR, _HIDDEN_GLUE, _END_ON = 0.35, 0.9, 0.3, 0.9, 0.5

_SLANTING, _ALONG_EYE = (
    0.75,
    0.92,
)  # cosines to the line of sight: a way in that is foreshortened, and one that is not seen


@dataclass(frozen=True, eq=False)
class Choice:
    """The view, the least share of a new part that shows, shifts of copies, standing copies that are left out, and the ways
    from where copies are drawn to their places."""

    name: str
    share: float
    shifts: dict[int, np.ndarray]
    ghosts: tuple[int, ...] = ()
    ways: tuple[Way, ...] = ()


_Pull = tuple[dict[int, np.ndarray], tuple[Way, ...]]  # shifts of copies, and the ways that they come from there


@dataclass(frozen=True, eq=False)
class Stage:
    """The bodies as one step draws them: bands that it lays round something half laid on. `bound` are the copies that have been
    put together at the bench so far, group by group."""

    bodies: Bodies
    bound: tuple[frozenset[int], ...] = ()
    wrapped: Mapping[int, Wrapped] = field(default_factory=dict)

    @property
    def touches(self) -> Mapping[tuple[int, int], Touch]:
        return self.bodies.touches

    def choose(self, stood: Sequence[int], new: Sequence[int], step: Step, last: str) -> Choice:
        """The cheapest picture that shows enough of every new part; if there is none, without what hides it."""
        options: list[tuple[float, int, str, _Pull]] = []
        # what is only set down falls out of what is turned over
        names = [name for name, (along, _) in VIEWS.items() if step.glue or not stood or along[2] < 0.0]
        for far, pulled in enumerate(self._pulls(stood, new, step)):
            for name in names:
                options.append((self._cost(name, last, far, pulled, stood, new), len(options), name, pulled))
        found = []
        hiding: Choice | None = None  # the cheapest of those that show the new copies and hide what takes them
        for _, number, name, (shifts, ways) in sorted(options, key=lambda option: option[:2]):
            share = self.share(self.placed(new, shifts), stood, new, name, ())
            found.append(Choice(name, share, shifts, (), ways))
            if share >= LEAST_SEEN:
                is_clear = bool(shifts) and number >= len(names)
                choice = self._nearer(found[-1], stood, new, step) if is_clear else found[-1]
                if self._shows_what_takes(choice, stood, new):
                    return choice
                hiding = hiding or choice
        if hiding is not None:
            return hiding
        for number, choice in enumerate(found):
            found[number] = self._opened(choice, stood, new)
            if found[number].share >= LEAST_SEEN:
                return found[number]
        return max(found, key=lambda choice: choice.share)

    def _shows_what_takes(self, chosen: Choice, stood: Sequence[int], new: Sequence[int]) -> bool:
        """Does something show of what the new copies are glued to? A large part may hide all that it is put on."""
        takes = sorted({a for (a, b), touch in self.touches.items() if touch.glued and b in new and a in stood})
        if not takes:
            return True
        points, shown = self.placed(new, chosen.shifts), [*stood, *new]
        seen = self._window(points, shown, chosen.name)
        met = render.look(points, self.bodies, shown, seen).met
        alone = sum(render.alone(points, self.bodies, copy, seen) for copy in takes)
        return float(met[takes].sum()) >= LEAST_TAKING * alone

    def _nearer(self, chosen: Choice, stood: Sequence[int], new: Sequence[int], step: Step) -> Choice:
        """Pulled half as far, where as much shows on paper then: what is pulled apart many ways at once is small in its picture,
        and hard to put together again."""
        shifts, ways = self._pulled(stood, new, step, _HALF)
        share = self.share(self.placed(new, shifts), stood, new, chosen.name, ())
        half = replace(chosen, share=share, shifts=shifts, ways=ways)
        if half.share < LEAST_SEEN:
            return chosen
        near, far = (
            one.share / self._window(self.placed(new, one.shifts), [*stood, *new], one.name).step
            for one in (half, chosen)
        )
        return half if near >= far else chosen

    def _window(self, points: np.ndarray, shown: Sequence[int], name: str) -> render.Window:
        return render.window(points, self.bodies, shown, view_of(name), _COARSE)

    def _opened(self, chosen: Choice, stood: Sequence[int], new: Sequence[int]) -> Choice:
        """The same picture without what stands before the new copies, as much of it as it takes."""
        for _ in range(len(stood)):
            hiding = self._hiding(stood, new, chosen, chosen.ghosts)
            if not hiding:
                break
            ghosts = (*chosen.ghosts, *hiding)
            share = self.share(self.placed(new, chosen.shifts), stood, new, chosen.name, ghosts)
            chosen = replace(chosen, share=share, ghosts=ghosts)
            if share >= LEAST_SEEN:
                break
        return chosen

    def _pulls(self, stood: Sequence[int], new: Sequence[int], step: Step) -> list[_Pull]:
        """Ways of drawing the new copies: a little off their places, pulled clear, or at home. Each gives the shifts of the
        copies, and for each move the corners of its way out."""
        pulls = [
            self._pulled(stood, new, step, clear)
            for clear in (_OFF, _CLEAR)
            if not clear or stood or len(step.moves) > 1
        ]
        return [*(pull for pull in pulls if pull[0]), ({}, ())]

    def _pulled(self, stood: Sequence[int], new: Sequence[int], step: Step, clear: float) -> _Pull:
        size = self._size([*stood, *new])
        shifts, ways = self._spread(step, size), list[Way]()
        past = list(stood)
        for move in step.moves:
            if past and move.outwards and not self.laid_round(move):
                corners = self._out(move, past, size, clear, shifts)
                moved = _moved(shifts, move.copies, corners[-1])
                if len(move.copies) > 1 and clear < _CLEAR and cut_into(self.bodies, move.copies, moved, stood):
                    corners = self._out(move, past, size, _CLEAR, shifts)
                ways.append(Way(move.copies, corners, tuple(past)))
                shifts |= _moved(shifts, move.copies, corners[-1])
            past += move.copies
        return shifts, tuple(ways)

    def _out(
        self, move: StepMove, past: Sequence[int], size: float, clear: float, shifts: Mapping[int, np.ndarray]
    ) -> np.ndarray:
        """Corners (k, 3) of the way out, from where the part goes on what is drawn off its place itself."""
        way = self._way(move, past, size, clear, shifts)
        return np.asarray(carried(self.bodies, move.copies, past, shifts, move.outwards[-1][0]) + way)

    def _way(
        self, move: StepMove, past: Sequence[int], size: float, clear: float, shifts: Mapping[int, np.ndarray]
    ) -> np.ndarray:
        """Corners (k, 3) of the way out, from the place of the part: all legs but the last to their ends, and that a bit off, or
        the share `clear` of what takes it past all that it comes by where that is drawn, which is `shifts` from its place."""
        corners = [np.zeros(3)]
        for leg, travel in move.outwards[:-1]:
            corners.append(corners[-1] + min(travel, _FAR * size) * np.array(leg))
        towards, travel = np.array(move.outwards[-1][0]), move.outwards[-1][1]
        reach = _NEAR * size
        if clear > 0.0:
            mine = render.all_points(self.bodies, move.copies) @ towards
            there = max(
                float((render.all_points(self.bodies, [i]) @ towards).max() + shifts.get(i, np.zeros(3)) @ towards)
                for i in past
            )
            reach += clear * max(there - float(mine.min()) + _BEYOND * size - reach, 0.0)
        corners.append(corners[-1] + min(reach, travel, _FAR * size) * towards)
        return np.array(corners)

    def _spread(self, step: Step, size: float) -> dict[int, np.ndarray]:
        """What goes in as one, drawn a little apart, so that its joints show."""
        moved: dict[int, np.ndarray] = {}
        for move in step.moves:
            if len(move.copies) < 2:
                continue
            middles = {copy: middle(self.bodies, copy) for copy in move.copies}
            one = {copy: min(self._bound_to(copy) & set(move.copies)) for copy in move.copies}
            apart = [
                float(np.linalg.norm(middles[a] - middles[b]))
                for a, b in self.touches
                if a in middles and b in middles and one[a] != one[b]
            ]
            if not apart:
                continue
            least = min((gap for gap in apart if gap > 1.0), default=np.inf)
            share = float(np.clip(_GAP * size / least, *_SPREAD))
            off = spread(self.bodies, move.copies, share)
            moved |= {copy: off[lead] for copy, lead in one.items()}
        return moved

    def _bound_to(self, copy: int) -> frozenset[int]:
        """The copies that hang together with one since they were at the bench, itself among them."""
        return next((group for group in self.bound if copy in group), frozenset([copy]))

    def placed(self, new: Sequence[int], shifts) -> np.ndarray:
        """All points (n, 3), new copies at their shifts; a closed band that goes on where it is, half laid on."""
        points = render.shifted(self.bodies, shifts)
        for copy in new:
            if copy in self.wrapped and not np.any(shifts.get(copy, 0.0)):
                points[slice(*render.points_of(self.bodies)[copy])] = self.wrapped[copy].points
        return points

    def laid_round(self, move: StepMove) -> bool:
        """Is it a closed band, which is wrapped round what stands and never brought to it as a ring?"""
        copy = move.copies[0]
        body = self.bodies.pieces[copy].body
        if (
            len(move.copies) > 1
            or not isinstance(body, BandBody)
            or not body.closed
            or is_frame(self.bodies.pieces[copy])
        ):
            return False
        across = self.bodies.matrices[copy][:3, :3] @ body.across
        touched = [touch.normals @ across for (a, _), touch in self.touches.items() if a == copy]
        return bool(touched) and float((np.abs(np.concatenate(touched)) < _RADIAL).mean()) > 0.5

    def _is_hoop(self, copy: int) -> bool:
        body = self.bodies.pieces[copy].body
        return isinstance(body, BandBody) and body.closed

    def _size(self, copies: Sequence[int]) -> float:
        return float(np.ptp(render.all_points(self.bodies, copies), axis=0).max())

    def _cost(self, name: str, last: str, far: int, pulled, stood: Sequence[int], new: Sequence[int]) -> float:
        shifts, ways = pulled
        along = view_of(name)[2]
        cost = VIEWS[name][1] + _TURNED * (name != last)
        behind = [
            float(wrapped.side @ along) > _SIDEWAYS * float(np.linalg.norm(wrapped.side))
            for wrapped in self.wrapped.values()
        ]
        cost += _LOOSE_BEHIND * float(np.mean(behind)) if behind else 0.0
        laid = [way for copy in new if (way := self._laid_flat(copy)) is not None]
        if laid:
            cost += _EDGE_ON * float(np.clip(1.0 - np.abs(np.array(laid) @ along) / _NARROW, 0.0, 1.0).mean())
        if not shifts:
            return cost + _AT_HOME
        cost += _PULLED_FAR * (far > 0)
        if ways:
            legs = [way.corners[-1] - way.corners[0] for way in ways]
            ends = np.array([leg / max(float(np.linalg.norm(leg)), 1e-9) for leg in legs])
            cost += _END_ON * float(
                np.clip((np.abs(ends @ along) - _SLANTING) / (_ALONG_EYE - _SLANTING), 0.0, 1.0).mean()
            )
        there = {*stood, *new}
        glued = [
            t.normals @ along
            for (a, b), t in self.touches.items()
            if t.glued and b in new and a in there and not as_one(a, b, shifts)
        ]
        if glued:  # directions are from `b`, which is new, to `a`, so that those of a face that is seen go along
            cost += _HIDDEN_GLUE * float((np.concatenate(glued) < 0.1).mean())
        return cost

    def _laid_flat(self, copy: int) -> np.ndarray | None:
        """The direction (3,) of the thickness of a flat copy that is glued by its broad face: where it goes is told by its
        outline, which is not seen along that face."""
        body = self.bodies.pieces[copy].body
        if not isinstance(body, FlatBody):
            return None
        normal = body.frame.to_space(np.array([[0.0, 0.0, 1.0]]))[0] - body.frame.to_space(np.zeros((1, 3)))[0]
        normal = np.asarray(self.bodies.matrices[copy][:3, :3] @ normal)
        glued = [touch for (a, _), touch in self.touches.items() if a == copy and touch.glued]
        flat = sum(float(touch.areas @ (np.abs(touch.normals @ normal) > _RADIAL)) for touch in glued)
        return normal if flat > 0.5 * sum(float(touch.areas.sum()) for touch in glued) else None

    def share(self, points, stood, new, name: str, ghosts) -> float:
        """The least share, over the new parts, of what is seen of the copies of a part: of several alike it is enough
        that half of them show well, which are the nearest ones. What was put together at the bench counts as one part: how
        it goes there was seen in that step."""
        shown = [*(i for i in stood if i not in ghosts), *new]
        seen = self._window(points, shown, name)
        met = render.look(points, self.bodies, shown, seen).met
        shares: dict[tuple[str, ...], list[float]] = {}
        groups = {copy: self._bound_to(copy) for copy in new}
        for unit in dict.fromkeys(tuple(sorted(g)) if g <= {*new} else (copy,) for copy, g in groups.items()):
            alone = self._by_itself(points, unit, shown, seen)
            own = float(met[list(unit)].sum())
            parts = tuple(sorted({self.bodies.pieces[copy].id for copy in unit}))
            shares.setdefault(parts, []).append(own / alone if alone >= _LEAST_CELLS else float(own > 0))
        return min(float(np.mean(sorted(each)[-((len(each) + 1) // 2) :])) for each in shares.values())

    def _by_itself(self, points, unit: Sequence[int], shown: Sequence[int], seen: render.Window) -> int:
        """How many lines of sight meet copies that go in as one when nothing else stands but what they are wrapped round: of a
        closed band nobody ever sees more than its outside."""
        core = [other for copy in unit for other in self.core(copy) if other in shown and other not in unit]
        if not core and len(unit) == 1:
            return render.alone(points, self.bodies, unit[0], seen)
        return int(np.isin(render.look(points, self.bodies, [*unit, *core], seen).owner, unit).sum())

    def core(self, copy: int) -> list[int]:
        """What a closed band lies around."""
        if not self._is_hoop(copy):
            return []
        centre = middle(self.bodies, copy)
        around = {
            other: float(((touch.places - centre) * touch.normals).sum())  # from the other one to the band
            for (own, other), touch in self.touches.items()
            if own == copy
        }
        return [other for other, outwards in around.items() if outwards > 0.0]

    def _hiding(self, stood: Sequence[int], new: Sequence[int], chosen: Choice, ghosts) -> tuple[int, ...]:
        """The standing copies that lie before a new one."""
        shown = [*(i for i in stood if i not in ghosts), *new]
        points = self.placed(new, chosen.shifts)
        seen = self._window(points, shown, chosen.name)
        owner = render.look(points, self.bodies, shown, seen).owner
        mine = render.look(points, self.bodies, list(new), seen).owner >= 0
        over = np.unique(owner[mine & (owner >= 0)])
        return tuple(int(i) for i in over if int(i) not in new)


@dataclass(frozen=True, eq=False)
class View:
    """What one step's picture and its close views show: points of all bodies, what is seen, stood already and is new."""

    stage: Stage
    points: np.ndarray
    shown: tuple[int, ...]
    stood: tuple[int, ...]
    new: tuple[int, ...]
    chosen: Choice
    on_one_face: bool  # its glue goes on what stands, where that shows, and not on both faces of a joint
    coated: frozenset[int] = frozenset()  # copies that have their paint


def _moved(shifts: Mapping[int, np.ndarray], copies: Sequence[int], by: np.ndarray) -> dict[int, np.ndarray]:
    """The shifts of some copies after one more."""
    return {copy: shifts.get(copy, np.zeros(3)) + by for copy in copies}


def view_of(name: str) -> np.ndarray:
    """The frame (3, 3) of a view, as `basis` has it: what is seen from below is turned over and looked down at, as it lies on
    the bench."""
    towards = VIEWS[name][0]
    return basis(towards, _OVERHEAD) if towards[2] > 0.0 else basis(towards)


def staged(bodies: Bodies, bound: Sequence[frozenset[int]], step: Step, stood: Sequence[int]) -> Stage:
    """The stage of a step that begins with what `stood`: closed bands that it lays round something, or along the inside of a
    hole, are half laid on."""
    home = Stage(bodies, tuple(bound))
    wrapped: dict[int, Wrapped] = {}
    for move in step.moves:
        if stood and home.laid_round(move):
            copy = move.copies[0]
            out = np.array(move.outwards[-1][0]) if move.outwards else None
            lines_hole = not home.core(copy)
            if out is not None or not lines_hole:
                wrapped[copy] = half_wrapped(bodies, copy, basis(FRONT)[2], out if lines_hole else None)
    return Stage(opened(bodies, wrapped.values()), tuple(bound), wrapped) if wrapped else home


def as_one(a: int, b: int, shifts: Mapping[int, np.ndarray]) -> bool:
    """Are two copies drawn as they stand to each other in the prop?"""
    apart = np.subtract(shifts.get(a, 0.0), shifts.get(b, 0.0))
    return bool(abs(apart).max() < 1e-6)
