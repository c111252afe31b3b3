"""The pictures of the steps and of the finished prop, after the findings of M. Agrawala and others, "Designing
effective
step-by-step assembly instructions" (SIGGRAPH 2003): one diagram for each major step, every new part visible, its way in
shown, and the same viewpoint until there is a reason to change it. Lengths in mm in the plane of the view.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.booklet import render
from foamwright.booklet.bodies import Bodies
from foamwright.booklet.language import say
from foamwright.booklet.records import Bubble, Picture, Pictures, Step
from foamwright.booklet.sight import basis
from foamwright.booklet.units import rests

FRONT = (-1.0, -1.3, -0.75)  # the eye looks along these
BACK = (1.0, 1.3, -0.75)
_VIEWS = {
    "front": FRONT,
    "back": BACK,
    "above": (-0.5, -0.65, -2.2),
    "side": (-0.25, -1.6, -0.45),
    "other": (1.0, -1.3, -0.75),
    "below": (-1.0, -1.3, 0.9),
    "below-back": (1.0, 1.3, 0.9),
}
LEAST_SEEN = 0.6  # of a new part; less, and it is looked at from elsewhere, pulled apart, or what hides it is left out
_CELLS = (1500, 1160)  # lines of sight across and up, four to a cell of the picture
_COARSE = (150, 116)
_APART = 0.34  # of the size of what is shown: how far a part is pulled out along its way
_ARROWS = 3
_NEAR_GLUE = 4.5  # mm around the places where two parts touch


@dataclass(frozen=True, eq=False)
class _Choice:
    name: str
    share: float
    shifts: dict[int, np.ndarray]
    ghosts: tuple[int, ...]


def step_pictures(bodies: Bodies, steps: Sequence[Step], fit: Sequence[Picture] = ()) -> Pictures:
    """The finished prop from two sides, and a picture for each step that puts a part in."""
    artist = _Artist(bodies)
    everything = tuple(range(len(bodies)))
    finished = tuple(artist.finished(everything, towards) for towards in (FRONT, BACK)) if everything else ()
    drawn: dict[int, Picture] = {}
    placed: list[int] = []
    last = "front"
    for step in steps:
        if not step.moves:
            continue
        new = [copy for move in step.moves for copy in move.copies]
        stood = placed
        if step.bench:
            stood = [i for i in everything if bodies.pieces[i].id in step.bench and i not in new]
            chosen = artist.choose(stood, new, step, "front")
        else:
            chosen = artist.choose(artist.beside(stood, new), new, step, last)
            placed = [*placed, *new]
        turned = chosen.name != last and not step.bench and bool(drawn)
        drawn[step.number] = artist.draw(stood if step.bench else artist.beside(stood, new), new, step, chosen, turned)
        last = chosen.name if not step.bench else last
    return Pictures(finished, drawn, _overall(bodies), tuple(fit))


def _overall(bodies: Bodies) -> tuple[float, float, float] | None:
    return tuple(np.ptp(bodies.points, axis=0).tolist()) if len(bodies) else None


class _Artist:
    def __init__(self, bodies: Bodies):
        self.bodies = bodies
        self.corners = render.corner_normals(bodies) if len(bodies) else np.zeros((0, 3, 3))
        self.touches = bodies.touches
        self.joined = self._joined()

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
        first: dict[str, int] = {}
        for copy, piece in enumerate(pieces):
            first.setdefault(piece.id, copy)
        for copy, piece in enumerate(pieces):
            if piece.glue != "none":
                links += [(copy, first[part]) for part in (*piece.after, *piece.lies_on) if part in first]
        for a, b in links:
            number[root(a)] = root(b)
        return [root(i) for i in range(len(self.bodies))]

    def beside(self, stood: Sequence[int], new: Sequence[int]) -> list[int]:
        """Of what stands, what the new copies belong to: a stand is not drawn below the hull that it will carry."""
        own = {self.joined[i] for i in new}
        mine = [i for i in stood if self.joined[i] in own]
        return mine or ([] if len(own) == 1 else list(stood))

    def finished(self, shown: Sequence[int], towards: Sequence[float]) -> Picture:
        seen = render.window(self.bodies.points, self.bodies, shown, basis(towards), _CELLS)
        return self._painted(self.bodies.points, shown, shown, (), seen, None, "")

    # The view

    def choose(self, stood: Sequence[int], new: Sequence[int], step: Step, last: str) -> _Choice:
        """The last view while enough shows in it; else another; else pulled apart; else without what hides it."""
        best = None
        for name in (last, *(name for name in _VIEWS if name != last)):
            share = self._share(self.bodies.points, stood, new, name, ())
            if best is None or share > best.share + (0.0 if best.share < LEAST_SEEN else 1.0):
                best = _Choice(name, share, {}, ())
            if share >= LEAST_SEEN:
                return best
        assert best is not None
        shifts = self._pulled(stood, new, step)
        for name in (last, *(name for name in _VIEWS if name != last)) if shifts else ():
            share = self._share(render.shifted(self.bodies, shifts), stood, new, name, ())
            if share >= LEAST_SEEN:
                return _Choice(name, share, shifts, ())
            if share > best.share:
                best = _Choice(name, share, shifts, ())
        best = _Choice(best.name if best.shifts else last, best.share, {}, ())
        ghosts = self._hiding(stood, new, best.name)
        share = self._share(self.bodies.points, stood, new, best.name, ghosts)
        return _Choice(best.name, share, {}, ghosts)

    def _share(self, points, stood, new, name: str, ghosts) -> float:
        """The least share, over the new parts, of what is seen of all copies of a part together."""
        shown = [*(i for i in stood if i not in ghosts), *new]
        seen = render.window(points, self.bodies, shown, basis(_VIEWS[name]), _COARSE)
        owner = render.look(points, self.bodies, shown, seen).owner
        shares: dict[str, list[int]] = {}
        for copy in new:
            alone = (render.look(points, self.bodies, [copy], seen).owner >= 0).sum()
            counted = shares.setdefault(self.bodies.pieces[copy].id, [])
            counted.append(int(1000 * (owner == copy).sum() / max(int(alone), 1)))
        # of several alike it is enough that some show well: they are the nearest ones
        return min(
            float(np.mean(sorted(found)[-max(1, (len(found) + 1) // 2) :])) / 1000.0 for found in shares.values()
        )

    def _pulled(self, stood: Sequence[int], new: Sequence[int], step: Step) -> dict[int, np.ndarray]:
        """How far each new copy is drawn out along its way."""
        if not stood:
            return {}
        used = np.concatenate([self.bodies.triangles[slice(*self.bodies.spans[i])].ravel() for i in (*stood, *new)])
        size = float(np.ptp(self.bodies.points[used], axis=0).max())
        shifts: dict[int, np.ndarray] = {}
        for move in step.moves:
            shift = np.zeros(3)
            for towards, travel in move.outwards:
                shift = shift + min(travel, _APART * size * (2.2 if travel == np.inf else 1.0)) * np.array(towards)
            shifts |= dict.fromkeys(move.copies, shift)
        return shifts

    def _hiding(self, stood: Sequence[int], new: Sequence[int], name: str) -> tuple[int, ...]:
        """The standing copies that lie before a new one."""
        shown = [*stood, *new]
        seen = render.window(self.bodies.points, self.bodies, shown, basis(_VIEWS[name]), _COARSE)
        owner = render.look(self.bodies.points, self.bodies, shown, seen).owner
        mine = render.look(self.bodies.points, self.bodies, list(new), seen).owner >= 0
        over = np.unique(owner[mine & (owner >= 0)])
        return tuple(int(i) for i in over if int(i) not in new)

    # The picture

    def draw(self, stood, new, step: Step, chosen: _Choice, turned: bool) -> Picture:
        points = render.shifted(self.bodies, chosen.shifts)
        shown = [*(i for i in stood if i not in chosen.ghosts), *new]
        every = [*stood, *new]
        seen = render.window(points, self.bodies, every, basis(_VIEWS[chosen.name]), _CELLS)
        note = self._note(chosen, turned)
        picture = self._painted(points, shown, new, every if chosen.ghosts else (), seen, (stood, new), note)
        bubbles = self._bubbles(points, shown, new, seen, picture.bounds)
        arrows = self._arrows(step, chosen, seen) if stood else []
        labels = ", ".join(dict.fromkeys(self.bodies.pieces[i].label for i in new))
        alt = say("Step {n}: {title}. New in the picture: {labels}.", n=step.number, title=step.title, labels=labels)
        low, high = picture.bounds[:2], picture.bounds[2:]
        ends = np.vstack([low, high, *arrows]) if arrows else np.array([low, high])
        bounds = (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist())
        return Picture(
            (), (), bounds, (), (), picture.png, picture.bounds, bubbles, tuple(arrows), note, alt, chosen.share
        )

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
        if chosen.shifts:
            notes.append(say("Drawn before it is pushed home."))
        if chosen.ghosts:
            notes.append(say("Parts in front are drawn as outlines only."))
        return " ".join(notes)

    def _painted(self, points, shown, new, every, seen: render.Window, glue, note: str) -> Picture:
        scene = render.look(points, self.bodies, list(shown), seen)
        normal = render.normals_of(points, self.bodies, self.corners, scene, seen)
        behind = render.look(points, self.bodies, list(every), seen) if every else None
        hatched = self._glued(points, scene, seen, *glue) if glue else None
        colours = render.paint(self.bodies, scene, normal, seen, new, behind, hatched)
        data = render.png(render.halved(colours))
        rows, columns = (n // 2 * 2 for n in seen.shape)
        x, y = (seen.low - seen.step / 2.0).tolist()
        top = y + seen.step * seen.shape[0]
        box = (x, top - seen.step * rows, x + seen.step * columns, top)
        return Picture((), (), box, (), (), data, box, (), (), note)

    def _glued(self, points, scene: render.Scene, seen: render.Window, stood, new) -> np.ndarray:
        """Where the parts that stand are met by the new ones: seen where those are drawn off their places."""
        places = [t.places for (a, b), t in sorted(self.touches.items()) if a in stood and b in new]
        found = np.zeros(scene.owner.shape, bool)
        if not places:
            return found
        hit = np.isin(scene.owner, list(stood))
        rows, columns = np.nonzero(hit)
        flat = seen.low + seen.step * np.column_stack([columns, rows])
        spots = np.column_stack([flat, scene.depth[hit]]) @ seen.frame
        every = np.vstack(places)
        near = cKDTree(every).query(spots, distance_upper_bound=_NEAR_GLUE)[0] < _NEAR_GLUE
        found[rows[near], columns[near]] = True
        return found

    def _bubbles(self, points, shown, new, seen: render.Window, bounds) -> tuple[Bubble, ...]:
        """A letter for each new part, at the left or the right of the picture, with the place that it points at."""
        owner = render.look(points, self.bodies, list(shown), seen).owner
        found = []
        for part in dict.fromkeys(self.bodies.pieces[i].id for i in new):
            copies = [i for i in new if self.bodies.pieces[i].id == part]
            counts = [(int((owner == i).sum()), -i) for i in copies]
            most, which = max(counts)
            label = self.bodies.pieces[-which].label
            if most == 0:
                continue
            rows, columns = np.nonzero(owner == -which)
            middle = np.array([columns.mean(), rows.mean()])
            near = int(np.argmin((columns - middle[0]) ** 2 + (rows - middle[1]) ** 2))
            at = seen.low + seen.step * np.array([columns[near], rows[near]])
            found.append((label, tuple(at.tolist())))
        middle_x = (bounds[0] + bounds[2]) / 2.0
        return tuple(Bubble(label, at, "left" if at[0] < middle_x else "right") for label, at in found)

    def _arrows(self, step: Step, chosen: _Choice, seen: render.Window) -> list[np.ndarray]:
        """Lines (k, 2) along the ways in, the head last: from where the part comes to its place."""
        arrows = []
        size = seen.step * max(seen.shape)
        moves = step.moves if len(step.moves) <= _ARROWS else step.moves[:1]
        for move in moves:
            points = self.bodies.mesh(move.copies)[0]
            home = points.mean(axis=0)
            legs = [np.array(towards) for towards, _ in move.outwards]
            way = np.zeros(3)
            corners = [home]
            for leg, (_, travel) in zip(legs, move.outwards):
                reach = float(((points - home) @ leg).max())
                way = way + leg * (travel if travel < np.inf else reach + 0.2 * size)
                corners.append(home + way)
            line = np.array(corners[::-1]) @ seen.frame[:2].T
            if not chosen.shifts:
                reach = float(((points - home) @ legs[-1]).max()) if len(legs) == 1 else 0.0
                line[-1] = (home + (legs[0] * reach if len(legs) == 1 else 0.0)) @ seen.frame[:2].T
            if np.linalg.norm(line[0] - line[-1]) > 0.04 * size:
                arrows.append(line)
        return arrows
