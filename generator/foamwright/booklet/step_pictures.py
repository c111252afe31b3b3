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
from foamwright.booklet.bodies import Bodies
from foamwright.booklet.colours import painted
from foamwright.booklet.exploded import carried, middle, spread
from foamwright.booklet.looks import BACK, FRONT
from foamwright.booklet.records import Picture, Step, StepMove
from foamwright.booklet.sight import basis
from foamwright.booklet.units import rests
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
_COARSE = (300, 232)
_LEAST_CELLS = 30  # a copy seen from so few lines of sight has no share to speak of
_NEAR, _FAR = (
    0.13,
    0.8,
)  # of the size of what is shown: how far a part is pulled out along its way, at least and at most
_BEYOND = 0.06  # and past all that it comes by, where it is pulled clear
_SPREAD = (0.16, 1.6)  # how far the members of a body that goes in as one are moved apart, of their places
_GAP = 0.05  # of the size of what is shown: as much should be between them
_WAYS = 4  # moves whose ways in are drawn; of more, those that are nearest to the eye
_HATCHED = 3.4  # mm around the places where two parts touch
# What a picture costs that shows enough: the view should stay, parts stand off the faces that take glue, and those
# faces and the way in be seen.
_TURNED, _AT_HOME, _PULLED_FAR, _HIDDEN_GLUE, _END_ON = 0.35, 0.9, 0.3, 0.5, 0.5


@dataclass(frozen=True, eq=False)
class _Way:
    """Copies that are drawn off their places, corners (k, 3) of their way from there, and what stands before them."""

    copies: tuple[int, ...]
    corners: np.ndarray
    past: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class _Choice:
    name: str
    share: float
    shifts: dict[int, np.ndarray]
    ghosts: tuple[int, ...] = ()
    ways: tuple[_Way, ...] = ()


_Pull = tuple[dict[int, np.ndarray], tuple[_Way, ...]]  # shifts of copies, and the ways that they come from there


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
                turned = last != "front" and bool(drawn)
                drawn[step.number] = artist.painted(placed, coats, step, turned)
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
        chosen = artist.choose(stood, new, seen, "front" if step.bench else last)
        turned = chosen.name != last and not step.bench
        drawn[step.number] = artist.draw(stood, new, seen, chosen, turned, twins)
        last = chosen.name if not step.bench else last
    return drawn


def _carrying(steps: Sequence[Step], riders: Sequence[int]) -> list[int]:
    """The copies that copies put on them at the bench go in with later."""
    moves = [move for step in steps if not step.bench for move in step.moves if set(move.copies) & set(riders)]
    return [copy for move in moves for copy in move.copies if copy not in riders]


class _Artist:
    def __init__(self, bodies: Bodies):
        self.bodies = bodies
        self.corners = render.corner_normals(bodies) if len(bodies) else np.zeros((0, 3, 3))
        self.touches = bodies.touches
        self.joined = self._joined()
        self.painted_colours = painted(bodies)
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
                options.append((self._cost(name, last, far, pulled, new), len(options), name, pulled))
        best: _Choice | None = None
        for _, _, name, (shifts, ways) in sorted(options, key=lambda option: option[:2]):
            share = self._share(render.shifted(self.bodies, shifts), stood, new, name, ())
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
            share = self._share(render.shifted(self.bodies, best.shifts), stood, new, best.name, ghosts)
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
                    ways.append(_Way(move.copies, corners, tuple(past)))
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

    def _laid_round(self, move: StepMove) -> bool:
        """Is it a closed band, which is wrapped round what stands and never brought to it as a ring?"""
        return self._is_hoop(move.copies[0]) and len(move.copies) == 1

    def _is_hoop(self, copy: int) -> bool:
        body = self.bodies.pieces[copy].body
        return isinstance(body, BandBody) and body.closed

    def _points(self, copies: Sequence[int]) -> np.ndarray:
        return np.vstack([self.bodies.points[slice(*render.points_of(self.bodies)[i])] for i in copies])

    def _size(self, copies: Sequence[int]) -> float:
        return float(np.ptp(self._points(copies), axis=0).max())

    def _cost(self, name: str, last: str, far: int, pulled, new: Sequence[int]) -> float:
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
        glued = [t.normals @ along for (a, b), t in self.touches.items() if b in new and not self._as_one(a, b, shifts)]
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
        points = render.shifted(self.bodies, chosen.shifts)
        seen = render.window(points, self.bodies, shown, basis(_VIEWS[chosen.name][0]), _COARSE)
        owner = render.look(points, self.bodies, shown, seen).owner
        mine = render.look(points, self.bodies, list(new), seen).owner >= 0
        over = np.unique(owner[mine & (owner >= 0)])
        return tuple(int(i) for i in over if int(i) not in new)

    # The picture

    def painted(self, stood: Sequence[int], coats: Sequence[int], step: Step, turned: bool) -> Picture:
        """What stands, with what is painted now in full colour."""
        others = [i for i in stood if i not in coats]
        return self.draw(others, coats, step, _Choice("front", 1.0, {}), turned, colours=self.painted_colours)

    def draw(self, stood, new, step: Step, chosen: _Choice, turned: bool, twins: str = "", colours=None) -> Picture:
        points = render.shifted(self.bodies, chosen.shifts)
        shown = [*(i for i in stood if i not in chosen.ghosts), *new]
        every = [*stood, *new]
        seen = render.window(points, self.bodies, every, basis(_VIEWS[chosen.name][0]), _CELLS)
        note = " ".join(filter(None, (self._note(chosen, turned), twins)))
        coats = colours is not None
        colours = render.foam_colours(self.bodies) if colours is None else colours
        hidden = every if chosen.ghosts else ()
        picture, scene = self._painted(points, shown, new, hidden, seen, chosen, note, colours, coats)
        arrows = self._lines(step, stood, chosen, seen)
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
        return Picture(
            (),
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

    def _named(self, new: Sequence[int], scene: render.Scene) -> list[tuple[str, int]]:
        """What stands in bubbles, with the copy that each leads to: the letter of a part, with the number of the piece
        where the pieces differ."""
        numbered = [i for i in new if self.bodies.pieces[i].id in self.bodies.numbered]
        seen = set(scene.owner[scene.owner >= 0].tolist())
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
        rows, columns = np.nonzero(scene.owner >= 0)
        taken = np.column_stack([columns, rows]) * seen.step + seen.low
        taken = np.vstack([taken, *(np.array([bubble.spot]) for bubble in letters)])
        for x, y in ((low[0], low[1]), (high[0], low[1]), (low[0], high[1]), (high[0], high[1])):
            middle = np.array([x, y]) + 1.8 * radius * np.sign((low + high) / 2.0 - (x, y))
            across, up = np.abs(taken - middle).T
            if np.maximum(across, up).min() > 2.0 * radius:
                break
        else:
            middle = np.array([low[0] + 1.8 * radius, low[1] - 2.2 * radius])
        return (*(middle - way / 2.0).tolist(), *way.tolist())

    def _note(self, chosen: _Choice, turned: bool) -> str:
        notes = []
        if turned:
            if chosen.name.startswith("below"):
                notes.append(say("Turn it over: seen from below."))
            else:
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
            if a in shown and b in shown and (a in new or b in new) and not self._as_one(a, b, shifts):
                one, other = self.bodies.pieces[a], self.bodies.pieces[b]
                if rests(one, other) or any(i in new and self.bodies.pieces[i].glue == "none" for i in (a, b)):
                    continue
                places.append(touch.places + shifts.get(a, np.zeros(3)))
                faces.append(-touch.normals)
                copies.append(np.full(len(touch.places), a, np.int64))
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

    def _lines(self, step: Step, stood, chosen: _Choice, seen: render.Window):
        """Ways in (k, 2) of parts that are drawn apart, first where they are; or of the first part, drawn at home."""
        size = seen.step * max(seen.shape)
        if not chosen.ways:
            return self._way_home(step, size, seen) if stood and step.moves else []
        depth = [float(self._points(way.copies).mean(axis=0) @ seen.frame[2]) for way in chosen.ways]
        drawn = []
        for i in sorted(range(len(depth)), key=lambda i: (round(depth[i], 3), i))[:_WAYS]:
            way = chosen.ways[i]
            for place in self._ends(way.copies, way.past, seen):
                line = (place + way.corners[::-1]) @ seen.frame[:2].T
                if np.linalg.norm(line[0] - line[-1]) > 0.02 * size:
                    drawn.append(line)
        return drawn

    def _way_home(self, step: Step, size: float, seen: render.Window) -> list[np.ndarray]:
        move = step.moves[0]
        if len(move.outwards) != 1:
            return []
        points = self._points(move.copies)
        leg = np.array(move.outwards[0][0])
        reach = points[int((points @ leg).argmax())]
        line = np.array([reach + 0.25 * size * leg, reach]) @ seen.frame[:2].T
        return [line] if np.linalg.norm(line[0] - line[-1]) > 0.05 * size else []

    def _ends(self, copies: Sequence[int], others: Sequence[int], seen: render.Window) -> list[np.ndarray]:
        """Places at home (k, 3) that guides lead to: one, or two at the sides of a wide joint, the seen ones first."""
        touch = [
            t.places for (a, b), t in sorted(self.touches.items()) if a in copies and b in others and b not in copies
        ]
        places = np.vstack(touch) if touch else self._points(copies)
        flat = places @ seen.frame.T
        middle = flat.mean(axis=0)
        nearest = int(np.linalg.norm(flat - middle, axis=1).argmin())
        wide = np.ptp(flat[:, 0]) > 0.16 * seen.step * max(seen.shape)
        if not wide:
            return [places[nearest]]
        return [places[int(flat[:, 0].argmin())], places[int(flat[:, 0].argmax())]]
