"""The pictures of the steps and of the finished prop, after the findings of M. Agrawala and others, "Designing
effective
step-by-step assembly instructions" (SIGGRAPH 2003): one diagram for each major step, every new part visible, its way in
shown, and the same viewpoint until there is a reason to change it. Lengths in mm in the plane of the view.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from foamwright.booklet import bubbles, render, which_copy
from foamwright.booklet.arrows import Way, guides
from foamwright.booklet.bodies import Bodies
from foamwright.booklet.colours import painted
from foamwright.booklet.exploded import carried, middle, spread
from foamwright.booklet.looks import BACK, FRONT
from foamwright.booklet.records import Picture, Step, StepMove
from foamwright.booklet.sight import basis
from foamwright.booklet.units import rests
from foamwright.booklet.wrapping import Wrapped, half_wrapped, opened
from foamwright.language import say
from foamwright.parts.records import BandBody

_VIEWS = {  # where the eye looks along, and what a picture from there costs beside one from the front
    "front": (FRONT, 0.0),
    "side": ((-0.25, -1.6, -0.45), 0.3),
    "other": ((1.0, -1.3, -0.75), 0.35),
    "above": ((-0.5, -0.65, -2.2), 0.4),
    "back": (BACK, 0.45),
    "below": ((-1.0, -1.3, 0.9), 0.7),
    "below-back": ((1.0, 1.3, 0.9), 0.8),
}
LEAST_SEEN = 0.6  # of a new part; less, and it is looked at from elsewhere, pulled apart, or what hides it is left out
PRINTED = (92.0, 74.0)  # mm of paper that a step's picture fits into
_LIGHTEST_COAT = 0.85  # luminance of what is painted: white stays white
_LETTERED = 12  # parts in the picture of a coat of paint; of more the letters would hide it
_ALONG_EYE = 0.3  # of a direction that is seen; less, and no arrow shows it
_LETTER = 3.1  # mm on paper, radius of a letter's bubble
_CELLS = (1320, 1062)  # lines of sight across and up, four to a cell of the picture
_CLOSE_CELLS = (1000, 804)  # of a picture that is filled to its edges
_COARSE = (300, 232)
_TONES = (0.0, 0.25, 0.12)  # of new parts of one colour, light ones towards black and dark ones towards white
_DARK_FOAM = 0.2  # luminance
_AROUND = 2.6  # a close view shows so much of the size of the new parts,
_DETAIL = 0.5  # at least so much of the size of all,
_WORTH = 0.75  # and is not worth it where it would show more than this of it
_LEAST_CELLS = 30  # a copy seen from so few lines of sight has no share to speak of
_NEAR, _FAR = (
    0.13,
    0.8,
)  # of the size of what is shown: how far a part is pulled out along its way, at least and at most
_BEYOND = 0.06  # and past all that it comes by, where it is pulled clear
_SPREAD = (0.16, 1.6)  # how far the members of a body that goes in as one are moved apart, of their places
_RADIAL = 0.7  # of a band's breadth that lies in a direction: in less it is met by its faces, and not by its edges
_GAP = 0.05  # of the size of what is shown: as much should be between them
_HATCHED = 3.4  # mm around the places where two parts touch
# What a picture costs that shows enough: the view should stay, parts stand off the faces that take glue, and those
# faces and the way in be seen.
_TURNED, _AT_HOME, _PULLED_FAR, _HIDDEN_GLUE, _END_ON = 0.35, 0.9, 0.3, 0.9, 0.5


@dataclass(frozen=True, eq=False)
class _Choice:
    name: str
    share: float
    shifts: dict[int, np.ndarray]
    ghosts: tuple[int, ...] = ()
    ways: tuple[Way, ...] = ()


_Pull = tuple[dict[int, np.ndarray], tuple[Way, ...]]  # shifts of copies, and the ways that they come from there


def step_pictures(bodies: Bodies, steps: Sequence[Step]) -> dict[int, Picture]:
    """A picture for each step that puts a part in or paints what stands, by the step's number."""
    artist = _Artist(bodies)
    drawn: dict[int, Picture] = {}
    placed: list[int] = []
    last = "front"
    for step in steps:
        if not step.moves:
            coats = [i for i in placed if bodies.pieces[i].id in step.parts] if "paint" in step.uses else []
            if coats:
                drawn[step.number] = artist.painted(placed, coats, step, last if drawn else "")
                last = "front"
            continue
        new = [copy for move in step.moves for copy in move.copies]
        if step.bench:
            stood = _carrying(steps, new)
        else:
            stood = artist.beside(placed, new)
            placed = [*placed, *new]
        if step.bench:
            artist.bound.append(frozenset([*stood, *new]))
        stood, seen, twins = artist.one_of_twins(stood, step)
        new = [copy for move in seen.moves for copy in move.copies]
        artist.wrap(seen, stood)
        chosen = artist.choose(stood, new, seen, "front" if step.bench else last)
        before = last if drawn and not step.bench else ""
        drawn[step.number] = artist.draw(stood, new, seen, chosen, before, twins)
        last = chosen.name if not step.bench else last
    return drawn


def _carrying(steps: Sequence[Step], riders: Sequence[int]) -> list[int]:
    """The copies that copies put on them at the bench go in with later."""
    moves = [move for step in steps if not step.bench for move in step.moves if set(move.copies) & set(riders)]
    return [copy for move in moves for copy in move.copies if copy not in riders]


class _Artist:
    def __init__(self, bodies: Bodies):
        self.whole = bodies
        self.bodies = bodies  # as they are drawn: bands that are being wrapped are open
        self.corners = render.corner_normals(bodies) if len(bodies) else np.zeros((0, 3, 3))
        self.touches = bodies.touches
        self.joined = self._joined()
        self.painted_colours = painted(bodies)
        self.wrapped: dict[int, Wrapped] = {}  # closed bands of this step
        self.bound: list[frozenset[int]] = []  # copies that have been put together at the bench

    def _joined(self) -> list[int]:
        """For each copy the number of the cluster of copies that it hangs together with."""
        number = list(range(len(self.bodies)))

        def root(i: int) -> int:
            while number[i] != i:
                number[i] = number[number[i]]
                i = number[i]
            return i

        pieces = self.bodies.pieces
        links = [(a, b) for a, b in self.touches if not rests(pieces[a], pieces[b])]
        copies: dict[str, list[int]] = {}
        for copy, piece in enumerate(pieces):
            copies.setdefault(piece.id, []).append(copy)
        middle = self.bodies.spheres[:, :3]
        for copy, piece in enumerate(pieces):
            for part in (*piece.after, *piece.lies_on) if piece.glue != "none" else ():
                if part in copies:
                    away = np.linalg.norm(middle[copies[part]] - middle[copy], axis=1)
                    links.append((copy, copies[part][int(np.round(away, 3).argmin())]))
        for a, b in links:
            number[root(a)] = root(b)
        return [root(i) for i in range(len(self.bodies))]

    def beside(self, stood: Sequence[int], new: Sequence[int]) -> list[int]:
        """Of what stands, what the new copies belong to: a stand is not drawn below the hull that it will carry."""
        own = {self.joined[i] for i in new}
        mine = [i for i in stood if self.joined[i] in own]
        return mine or ([] if len(own) == 1 else list(stood))

    def one_of_twins(self, stood: Sequence[int], step: Step) -> tuple[list[int], Step, str]:
        """Of things that are built alike and do not touch, the one nearest to the eye, and a note that says so."""
        groups: dict[int, list[int]] = {}
        for move in step.moves:
            for copy in move.copies:
                groups.setdefault(self.joined[copy], []).append(copy)
        alike = {tuple(sorted(self.bodies.pieces[i].id for i in group)) for group in groups.values()}
        if len(groups) < 2 or len(alike) > 1:
            return list(stood), step, ""
        along = basis(FRONT)[2]
        kept = min(groups, key=lambda root: (round(float(self._points(groups[root]).mean(axis=0) @ along), 3), root))
        moves = [replace(m, copies=tuple(i for i in m.copies if self.joined[i] == kept)) for m in step.moves]
        seen = replace(step, moves=tuple(move for move in moves if move.copies))
        pair = any(p.mirrored for i in groups[kept] for p in self.bodies.pieces[i].placements)
        if pair and len(groups) == 2:
            note = say("Build the other side in the same way: it is the mirror image.")
        else:
            note = say("One of {n} that are built alike.", n=len(groups))
        return [i for i in stood if self.joined[i] == kept], seen, note

    # The view

    def choose(self, stood: Sequence[int], new: Sequence[int], step: Step, last: str) -> _Choice:
        """The cheapest picture that shows enough of every new part; if there is none, without what hides it."""
        options: list[tuple[float, int, str, _Pull]] = []
        for far, pulled in enumerate(self._pulls(stood, new, step)):
            for name in _VIEWS:
                options.append((self._cost(name, last, far, pulled, stood, new), len(options), name, pulled))
        best: _Choice | None = None
        for _, _, name, (shifts, ways) in sorted(options, key=lambda option: option[:2]):
            share = self._share(self._placed(new, shifts), stood, new, name, ())
            if best is None or share > best.share:
                best = _Choice(name, share, shifts, (), ways)
            if share >= LEAST_SEEN:
                return _Choice(name, share, shifts, (), ways)
        assert best is not None
        ghosts: tuple[int, ...] = ()
        for _ in range(len(stood)):
            hiding = self._hiding(stood, new, best, ghosts)
            if not hiding:
                break
            ghosts = (*ghosts, *hiding)
            share = self._share(self._placed(new, best.shifts), stood, new, best.name, ghosts)
            best = _Choice(best.name, share, best.shifts, ghosts, best.ways)
            if share >= LEAST_SEEN:
                break
        return best

    def _pulls(self, stood: Sequence[int], new: Sequence[int], step: Step):
        """Ways of drawing the new copies: a little off their places, pulled clear, or at home. Each gives the shifts
        of the copies, and for each move the corners of its way out."""
        size = self._size([*stood, *new])
        spread = self._spread(step, size)
        pulls = []
        for clear in (False, True) if stood or len(step.moves) > 1 else (False,):
            shifts, ways = dict(spread), []
            past = list(stood)
            for move in step.moves:
                if past and move.outwards and not self._laid_round(move):
                    corners = carried(self.bodies, move.copies, past, shifts) + self._way(move, past, size, clear)
                    ways.append(Way(move.copies, corners, tuple(past)))
                    for copy in move.copies:
                        shifts[copy] = shifts.get(copy, np.zeros(3)) + corners[-1]
                past += move.copies
            if shifts:
                pulls.append((shifts, tuple(ways)))
        return [*pulls, ({}, ())]

    def _way(self, move: StepMove, past: Sequence[int], size: float, clear: bool) -> np.ndarray:
        """Corners (k, 3) of the way out, from the place of the part: all legs but the last to their ends."""
        corners = [np.zeros(3)]
        for leg, travel in move.outwards[:-1]:
            corners.append(corners[-1] + min(travel, _FAR * size) * np.array(leg))
        towards, travel = np.array(move.outwards[-1][0]), move.outwards[-1][1]
        reach = _NEAR * size
        if clear:
            mine = self._points(move.copies) @ towards
            reach = float((self._points(past) @ towards).max() - mine.min()) + _BEYOND * size
        corners.append(corners[-1] + min(max(reach, _NEAR * size), travel, _FAR * size) * towards)
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

    def _placed(self, new: Sequence[int], shifts) -> np.ndarray:
        """All points (n, 3), new copies at their shifts; a closed band that goes on where it is, half laid on."""
        points = render.shifted(self.bodies, shifts)
        for copy in new:
            if copy in self.wrapped and not np.any(shifts.get(copy, 0.0)):
                points[slice(*render.points_of(self.bodies)[copy])] = self.wrapped[copy].points
        return points

    def wrap(self, step: Step, stood: Sequence[int]) -> None:
        """Takes up the closed bands that a step lays round something, or along the inside of a hole, that stands."""
        self.bodies, self.wrapped = self.whole, {}
        for move in step.moves:
            if stood and self._laid_round(move):
                copy = move.copies[0]
                out = np.array(move.outwards[-1][0]) if move.outwards else None
                lines_hole = not self._core(copy)
                if out is not None or not lines_hole:
                    eye = basis(FRONT)[2]
                    self.wrapped[copy] = half_wrapped(self.whole, copy, eye, out if lines_hole else None)
        if self.wrapped:
            self.bodies = opened(self.whole, self.wrapped.values())

    def _laid_round(self, move: StepMove) -> bool:
        """Is it a closed band, which is wrapped round what stands and never brought to it as a ring?"""
        copy = move.copies[0]
        body = self.bodies.pieces[copy].body
        if len(move.copies) > 1 or not isinstance(body, BandBody) or not body.closed:
            return False
        across = self.bodies.matrices[copy][:3, :3] @ body.across
        touched = [touch.normals @ across for (a, _), touch in self.touches.items() if a == copy]
        return bool(touched) and float((np.abs(np.concatenate(touched)) < _RADIAL).mean()) > 0.5

    def _is_hoop(self, copy: int) -> bool:
        body = self.bodies.pieces[copy].body
        return isinstance(body, BandBody) and body.closed

    def _points(self, copies: Sequence[int]) -> np.ndarray:
        return np.vstack([self.bodies.points[slice(*render.points_of(self.bodies)[i])] for i in copies])

    def _size(self, copies: Sequence[int]) -> float:
        return float(np.ptp(self._points(copies), axis=0).max())

    def _cost(self, name: str, last: str, far: int, pulled, stood: Sequence[int], new: Sequence[int]) -> float:
        shifts, ways = pulled
        along = basis(_VIEWS[name][0])[2]
        cost = _VIEWS[name][1] + _TURNED * (name != last)
        if not shifts:
            return cost + _AT_HOME
        cost += _PULLED_FAR * (far > 0)
        if ways:
            legs = [way.corners[-1] - way.corners[0] for way in ways]
            ends = np.array([leg / max(float(np.linalg.norm(leg)), 1e-9) for leg in legs])
            cost += _END_ON * float((np.abs(ends @ along) > 0.92).mean())
        there = {*stood, *new}
        glued = [
            t.normals @ along
            for (a, b), t in self.touches.items()
            if b in new and a in there and not self._as_one(a, b, shifts)
        ]
        if glued:  # directions are from `b`, which is new, to `a`, so that those of a face that is seen go along
            cost += _HIDDEN_GLUE * float((np.concatenate(glued) < 0.1).mean())
        return cost

    @staticmethod
    def _as_one(a: int, b: int, shifts) -> bool:
        apart = np.subtract(shifts.get(a, 0.0), shifts.get(b, 0.0))
        return bool(abs(apart).max() < 1e-6)

    def _share(self, points, stood, new, name: str, ghosts) -> float:
        """The least share, over the new parts, of what is seen of the copies of a part: of several alike it is enough
        that half of them show well, which are the nearest ones."""
        shown = [*(i for i in stood if i not in ghosts), *new]
        seen = render.window(points, self.bodies, shown, basis(_VIEWS[name][0]), _COARSE)
        owner = render.look(points, self.bodies, shown, seen).owner
        met = np.bincount(owner[owner >= 0], minlength=len(self.bodies))
        shares: dict[str, list[float]] = {}
        for copy in new:
            alone = self._by_itself(points, copy, shown, seen)
            shares.setdefault(self.bodies.pieces[copy].id, []).append(
                float(met[copy]) / alone if alone >= _LEAST_CELLS else float(met[copy] > 0)
            )
        return min(float(np.mean(sorted(each)[-((len(each) + 1) // 2) :])) for each in shares.values())

    def _by_itself(self, points, copy: int, shown: Sequence[int], seen: render.Window) -> int:
        """How many lines of sight meet a copy when nothing else stands but what it is wrapped round: of a closed band
        nobody ever sees more than its outside."""
        core = [other for other in self._core(copy) if other in shown]
        if not core:
            return render.alone(points, self.bodies, copy, seen)
        return int((render.look(points, self.bodies, [copy, *core], seen).owner == copy).sum())

    def _core(self, copy: int) -> list[int]:
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

    def _hiding(self, stood: Sequence[int], new: Sequence[int], chosen: _Choice, ghosts) -> tuple[int, ...]:
        """The standing copies that lie before a new one."""
        shown = [*(i for i in stood if i not in ghosts), *new]
        points = self._placed(new, chosen.shifts)
        seen = render.window(points, self.bodies, shown, basis(_VIEWS[chosen.name][0]), _COARSE)
        owner = render.look(points, self.bodies, shown, seen).owner
        mine = render.look(points, self.bodies, list(new), seen).owner >= 0
        over = np.unique(owner[mine & (owner >= 0)])
        return tuple(int(i) for i in over if int(i) not in new)

    # The picture

    def painted(self, stood: Sequence[int], coats: Sequence[int], step: Step, before: str) -> Picture:
        """What stands, with what is painted now in full colour."""
        self.wrap(step, ())
        others = [i for i in stood if i not in coats]
        return self.draw(others, coats, step, _Choice("front", 1.0, {}), before, colours=self.painted_colours)

    def draw(self, stood, new, step: Step, chosen: _Choice, before: str, twins: str = "", colours=None) -> Picture:
        points = self._placed(new if step.moves else (), chosen.shifts)
        shown = [*(i for i in stood if i not in chosen.ghosts), *new]
        every = [*stood, *new]
        seen = self._whole(points, every, chosen.name)
        close = self._close(points, seen, new) if step.moves else None
        seen = close or seen
        near = say("Close view.") if close else ""
        note = " ".join(filter(None, (self._note(chosen, before, bool(stood)), near, twins)))
        coats = colours is not None
        colours = self._told_apart(new) if colours is None else colours
        hidden = every if chosen.ghosts else ()
        picture, scene = self._painted(points, shown, new, hidden, seen, chosen, note, colours, coats)
        arrows = self._lines(step, stood, chosen, scene, seen)
        low, high = np.array(picture.box[:2]), np.array(picture.box[2:])
        ends = np.vstack([low, high, *arrows])
        low, high = ends.min(axis=0), ends.max(axis=0)
        room = np.array(PRINTED) - 2.0 * 1.4 * _LETTER
        radius = float(_LETTER / (room / np.maximum(high - low, 1e-9)).min())
        ground = bubbles.Ground(scene.owner[::3, ::3], seen.low, 3.0 * seen.step)
        named = render.best_seen(self.bodies, new, scene) if coats else self._named(new, scene)
        named = [] if coats and len(named) > _LETTERED else named
        letters = bubbles.placed(ground, named, radius, arrows)
        front = self._front(scene, seen, letters, radius, low, high) if step.moves else ()
        around = [np.add(b.spot, sign * 1.1 * radius) for b in letters for sign in (-1.0, 1.0)]
        if front:
            around += [np.add(front[:2], (0.0, sign * 2.4 * radius)) for sign in (-1.0, 1.0)]
        ends = np.vstack([low, high, *around])
        labels = ", ".join(dict.fromkeys(self.bodies.pieces[i].label for i in new))
        if step.moves:
            alt = say(
                "Step {n}: {title}. New in the picture: {labels}.", n=step.number, title=step.title, labels=labels
            )
        else:
            alt = say("Step {n}: {title}. Painted: {labels}.", n=step.number, title=step.title, labels=labels)
        x0, y0, x1, y1 = picture.box
        cut_off = bool((scene.owner[[0, -1]] >= 0).any() or (scene.owner[:, [0, -1]] >= 0).any())
        edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
        return Picture(
            (edge,) if cut_off else (),
            (),
            (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist()),
            png=picture.png,
            box=picture.box,
            bubbles=letters,
            arrows=tuple(arrows),
            note=note,
            alt=alt,
            share=chosen.share,
            front=front,
        )

    def _told_apart(self, new: Sequence[int]) -> np.ndarray:
        """The colours of the foam, those of new parts of one foam a little lighter and darker in turn."""
        colours = render.foam_colours(self.bodies)
        tones: dict[str, dict[str, float]] = {}
        for copy in new:
            piece = self.bodies.pieces[copy]
            own = tones.setdefault(piece.stock.colour, {})
            tone = own.setdefault(piece.id, _TONES[len(own) % len(_TONES)])
            end = 255.0 if render.light_of(colours[copy]) < _DARK_FOAM else 0.0
            colours[copy] += tone * (end - colours[copy])
        return colours

    def _whole(self, points, every: Sequence[int], name: str) -> render.Window:
        return render.window(points, self.bodies, every, basis(_VIEWS[name][0]), _CELLS)

    def _close(self, points, whole: render.Window, new: Sequence[int]) -> render.Window | None:
        """What is around the new parts, where these are so small that they would hardly be seen in the whole."""
        span = whole.step * np.array(whole.shape[::-1])
        home = self.bodies.points
        own = np.vstack([at[slice(*render.points_of(self.bodies)[i])] for i in new for at in (points, home)])
        flat = own @ whole.frame[:2].T
        low, high = flat.min(axis=0), flat.max(axis=0)
        wanted = np.maximum(_AROUND * float((high - low).max()), _DETAIL * float(span.max()))
        wanted = np.minimum(wanted * np.array(PRINTED) / max(PRINTED), span)
        if (wanted > _WORTH * span).all():
            return None
        corner = np.clip((low + high - wanted) / 2.0, whole.low, whole.low + span - wanted)
        step = float((wanted / _CLOSE_CELLS).max())
        rows, columns = np.ceil(wanted[::-1] / step).astype(int)
        return render.Window(whole.frame, corner, step, (int(rows), int(columns)))

    def _named(self, new: Sequence[int], scene: render.Scene) -> list[tuple[str, int]]:
        """What stands in bubbles, with the copy that each leads to: the letter of a part, with the number of the piece
        where the pieces differ."""
        numbered = [i for i in new if self.bodies.pieces[i].id in self.bodies.numbered]
        seen = set(np.flatnonzero(np.bincount(scene.owner[scene.owner >= 0], minlength=1)).tolist())
        found = render.best_seen(self.bodies, [i for i in new if i not in numbered], scene)
        return [
            *found,
            *((which_copy.label(self.bodies, i), i) for i in numbered if i in seen),
        ]

    def _front(self, scene: render.Scene, seen: render.Window, letters, radius: float, low, high) -> tuple[float, ...]:
        """Where the arrow to the front stands: in a corner of the picture that is free, or below it."""
        way = seen.frame[:2] @ np.array([1.0, 0.0, 0.0])
        if np.linalg.norm(way) < _ALONG_EYE:
            return ()
        way = 2.2 * radius * way / np.linalg.norm(way)
        rows, columns = np.nonzero(scene.owner[::4, ::4] >= 0)
        taken = np.column_stack([columns, rows]) * (4.0 * seen.step) + seen.low
        taken = np.vstack([taken, *(np.array([bubble.spot]) for bubble in letters)])
        for x, y in ((low[0], low[1]), (high[0], low[1]), (low[0], high[1]), (high[0], high[1])):
            middle = np.array([x, y]) + 1.8 * radius * np.sign((low + high) / 2.0 - (x, y))
            across, up = np.abs(taken - middle).T
            if np.maximum(across, up).min() > 2.0 * radius:
                break
        else:
            middle = np.array([low[0] + 1.8 * radius, low[1] - 2.2 * radius])
        return (*(middle - way / 2.0).tolist(), *way.tolist())

    def _note(self, chosen: _Choice, before: str, stands: bool) -> str:
        """What has changed since the picture before, which was seen from the view `before`; "" if there was none."""
        notes = []
        is_below, was_below = chosen.name.startswith("below"), before.startswith("below")
        if chosen.name != (before or "front"):
            if is_below and not was_below:
                over = before and stands
                notes.append(say("Turn it over: seen from below.") if over else say("Seen from below."))
            elif chosen.name == "front" and not was_below:
                notes.append(say("Seen from the front again."))
            elif not is_below:
                words = {
                    "front": say("Turn it back: seen from the front."),
                    "back": say("Turn it round: seen from behind."),
                    "above": say("Seen from above."),
                    "side": say("Turned: seen from the side."),
                    "other": say("Turned: seen from the other side."),
                }
                notes.append(words[chosen.name])
        if chosen.ghosts:
            notes.append(say("Parts in front are drawn as outlines only."))
        return " ".join(notes)

    def _painted(self, points, shown, new, every, seen: render.Window, chosen: _Choice, note: str, own, coats: bool):
        scene = render.look(points, self.bodies, list(shown), seen)
        normal = render.normals_of(points, self.bodies, self.corners, scene, seen)
        behind = render.look(points, self.bodies, list(every), seen) if every else None
        hatched = (
            self._bare(scene, normal, seen, shown, new)
            if coats
            else self._glued(scene, normal, seen, shown, new, chosen.shifts)
        )
        light = _LIGHTEST_COAT if coats else render.LIGHTEST_NEW
        colours = render.paint(own, scene, normal, seen, new, behind, hatched, lightest=light)
        data, box = render.framed(colours, seen)
        return Picture((), (), box, png=data, box=box, note=note), scene

    def _glued(self, scene: render.Scene, normal, seen: render.Window, shown, new, shifts) -> np.ndarray | None:
        """The faces that take glue, of parts that are drawn apart; at home they lie on each other and are not seen."""
        places, faces, copies = [], [], []
        for (a, b), touch in sorted(self.touches.items()):
            if (
                a in shown
                and b in shown
                and (a in new or b in new)
                and (b in self.wrapped or not self._as_one(a, b, shifts))
            ):
                one, other = self.bodies.pieces[a], self.bodies.pieces[b]
                if rests(one, other) or any(i in new and self.bodies.pieces[i].glue == "none" for i in (a, b)):
                    continue
                bare = ~self.wrapped[b].laid(touch.places) if b in self.wrapped else slice(None)
                places.append(touch.places[bare] + shifts.get(a, np.zeros(3)))
                faces.append(-touch.normals[bare])
                copies.append(np.full(len(places[-1]), a, np.int64))
        return self._hatching(scene, normal, seen, places, faces, copies)

    def _bare(self, scene: render.Scene, normal, seen: render.Window, shown, coats) -> np.ndarray | None:
        """The faces of what is painted that take glue later, and stay bare."""
        found = [
            (touch.places, -touch.normals, np.full(len(touch.places), a, np.int64))
            for (a, b), touch in sorted(self.touches.items())
            if a in coats and b not in shown and touch.glued
        ]
        return self._hatching(scene, normal, seen, *(list(each) for each in zip(*found))) if found else None

    def _hatching(self, scene: render.Scene, normal, seen: render.Window, places, faces, copies) -> np.ndarray | None:
        if not places:
            return None
        arrays = (np.vstack(places), np.vstack(faces), np.concatenate(copies))
        return render.touched(scene, normal, seen, *arrays, _HATCHED)

    def _lines(self, step: Step, stood, chosen: _Choice, scene: render.Scene, seen: render.Window):
        """Ways in (k, 2) of parts that are drawn apart, first where they are; or of the first part, drawn at home."""
        if chosen.ways:
            return guides(self.bodies, chosen.ways, scene, seen)
        if self.wrapped:
            return [wrapped.arrow @ seen.frame[:2].T for wrapped in self.wrapped.values()]
        return self._way_home(step, seen.step * max(seen.shape), seen) if stood and step.moves else []

    def _way_home(self, step: Step, size: float, seen: render.Window) -> list[np.ndarray]:
        move = step.moves[0]
        if len(move.outwards) != 1:
            return []
        points = self._points(move.copies)
        leg = np.array(move.outwards[0][0])
        reach = points[int((points @ leg).argmax())]
        line = np.array([reach + 0.25 * size * leg, reach]) @ seen.frame[:2].T
        return [line] if np.linalg.norm(line[0] - line[-1]) > 0.05 * size else []
