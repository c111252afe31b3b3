"""Pictures of steps that put no part in: what is painted, what is worked on as it stands, and what is set down at last, in the
colours of their paint. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset, Picture, Step, StepMove
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import Way, guides
from foamwright.booklet.pictures.bench_layout import Laid, hidden_glue, laid_out
from foamwright.booklet.pictures.colours import painted
from foamwright.booklet.pictures.engraving import own_seam, printed, seen_lines
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.hatching import Glued, all_spots
from foamwright.booklet.pictures.lettering import OTHER_SIDE, PRINTED, Drawn, lettered, small
from foamwright.booklet.pictures.step_views import VIEWS, Choice, view_of
from foamwright.booklet.pictures.threading import COLOUR as STRAP
from foamwright.booklet.pictures.threading import threaded
from foamwright.booklet.pictures.together import Together
from foamwright.booklet.pictures.turning import view_note
from foamwright.design.records import Bought
from foamwright.language import say
from foamwright.parts.records import FlatBody

_CELLS = (1320, 1062)  # lines of sight across and up, four to a cell of the picture
_COARSE, _SMALL_CELLS = (300, 242), (700, 450)
_LIGHTEST_COAT = 0.85  # luminance of what is painted: white stays white
_LETTERED = 20  # parts in the picture of a coat of paint, those that show most; of more the letters would hide it
_PAINTED_AT = 0.0015  # of what a picture shows: less of a part, and its letter is told from another side
_MORE_SIDES = 2  # small pictures of what is painted and does not show from the front, at most
_LIKE_SIZE, _TOGETHER_ON_BENCH = (
    4.0,
    5,
)  # times as large as another, and parts at most, in one small picture of the bench
_SQUARE = 0.99  # cosine between what is seen of a flat part and its face
_BEHIND = 0.5  # cosine to the line of sight of a way off that goes behind what stands
_LIFTED = 0.05  # of the size of what is shown: so far off what carries it is drawn what is set down at last


class Painter:
    """Draws the bodies of one prop in the colours of their paint; nothing of a step is kept for the next."""

    def __init__(self, together: Together):
        self.bodies, self.together = together.bodies, together
        self.corners = render.corner_normals(self.bodies) if len(self.bodies) else np.zeros((0, 3, 3))
        self.colours = painted(self.bodies)

    def set_down(self, placed: Sequence[int], step: Step, before: str) -> Picture:
        """What is set down at last, in the colours of its paint, over what will carry it, with the letters of what touches."""
        pieces = self.bodies.pieces
        new = [copy for move in step.sets for copy in move.copies]
        pairs = [(a, b) for a in new for b in placed if pieces[b].id in pieces[a].carried_by]
        carrying = {self.together.joined[b] for _, b in pairs}
        stood = [i for i in placed if self.together.joined[i] in carrying and i not in new]
        size = float(np.ptp(render.all_points(self.bodies, [*stood, *new]), axis=0).max())
        lowest = {move: round(float(render.all_points(self.bodies, move.copies)[:, 2].min()), 3) for move in step.sets}
        past, shifts, ways = list(stood), dict[int, np.ndarray](), list[Way]()
        for move in sorted(step.sets, key=lambda move: lowest[move]):
            corners = self._off(move, past, shifts, size)
            shifts |= dict.fromkeys(move.copies, corners[-1])
            lying = tuple(a for a, _ in pairs if a in move.copies)
            ways.append(Way(tuple(dict.fromkeys(lying)), corners, tuple(past)))
            past += move.copies
        points = render.shifted(self.bodies, shifts)
        behind = np.mean([move.outwards[-1][0] for move in step.sets], axis=0) @ view_of("front")[2] > _BEHIND
        name = "back" if behind else "front"
        seen = render.window(points, self.bodies, [*stood, *new], view_of(name), _CELLS)
        scene = render.look(points, self.bodies, [*stood, *new], seen)
        normal = render.normals_of(points, self.bodies, self.corners, scene, seen)
        lines = seen_lines(self.bodies, points, scene, seen)
        prints = printed(self.bodies, points, scene, seen, new)
        colours = render.paint(
            self.colours, scene, normal, seen, new, lightest=_LIGHTEST_COAT, lines=lines, prints=prints
        )
        drawn = Drawn(scene, seen, *render.framed(colours, seen))
        named, carriers = (
            render.best_seen(self.bodies, list(dict.fromkeys(each)), scene) for each in zip(*pairs, strict=True)
        )
        picture = lettered(drawn, named, guides(self.bodies, ways, scene, seen), True, carriers)
        labels = render.labels_of(self.bodies, [a for a, _ in pairs])
        alt = say(
            "Step {n}: {title}. Set down in the picture: {labels}.", n=step.number, title=step.title, labels=labels
        )
        return replace(picture, note=view_note(Choice(name, 1.0, {}), before, bool(stood)), alt=alt)

    def _off(self, move: StepMove, past: Sequence[int], shifts: Mapping[int, np.ndarray], size: float) -> np.ndarray:
        """Corners (k, 3) of the way of what is set down: a little past all that is drawn already."""
        *before, (towards, _) = move.outwards
        corners = np.cumsum([np.zeros(3), *(travel * np.array(leg) for leg, travel in before)], axis=0)
        direction = np.array(towards)
        start = float(((render.all_points(self.bodies, move.copies) + corners[-1]) @ direction).min())
        there = [
            float(((render.all_points(self.bodies, [i]) + shifts.get(i, np.zeros(3))) @ direction).max()) for i in past
        ]
        far = max(max(there, default=start) - start, 0.0) + _LIFTED * size
        return np.vstack([corners, corners[-1] + far * direction])

    def painted(
        self, stood: Sequence[int], coats: Sequence[int], apart: Sequence[int], step: Step, before: str
    ) -> Picture:
        """What stands, with what is painted now in the colour of its paint, and hatched where glue goes later. Small pictures
        beside it show what is not seen from there, and what is painted `apart`, lying on the bench; that is a picture of
        its own where nothing else is painted."""
        stood, twins = self.together.one_alike(stood)
        coats = [i for i in coats if i in stood]
        fresh = [*coats, *apart]
        alt = say(
            "Step {n}: {title}. Painted: {labels}.",
            n=step.number,
            title=step.title,
            labels=render.labels_of(self.bodies, fresh),
        )
        if not coats:
            drawn = self._coated("front", [], [], apart, _CELLS, PRINTED, step.one_face)
            picture = lettered(drawn, render.best_seen(self.bodies, apart, drawn.scene), (), False)
            return replace(picture, note=self._lying(apart, step.one_face), alt=alt)
        drawn = self._coated("front", stood, coats, (), _CELLS, PRINTED, step.one_face)
        met = drawn.scene.met
        found = render.best_seen(self.bodies, coats, drawn.scene)
        clear = [one for one in found if met[one[1]] >= _PAINTED_AT * met.sum()]
        told = {
            label
            for label, i in clear
            if not render.is_scrap(self.bodies.points, self.bodies, i, drawn.scene, drawn.seen)
        }
        sides, elsewhere = self._not_seen(stood, coats, told, step.one_face)
        named = [one for one in found if one[0] not in elsewhere]
        named = sorted(named, key=lambda one: (-int(met[one[1]]), one[0]))[:_LETTERED]
        scene = render.alike_as_one(self.bodies, drawn.scene, [copy for _, copy in named], coats)
        picture = lettered(replace(drawn, scene=scene), named, (), False)
        others = any(i not in coats for i in stood)
        note = " ".join(filter(None, (view_note(Choice("front", 1.0, {}), before, others), twins)))
        insets = [*sides, *self._on_the_bench(apart, step.one_face)]
        return replace(picture, note=note, alt=alt, details=tuple(insets))

    def worked_on(self, placed: Sequence[int], step: Step, straps: Sequence[Bought]) -> Picture:
        """What stands pale, and in the colours of their paint the parts at which something is done without a part going in, with
        the straps that are threaded through them; those that do not show from the front, and the straps from where most of
        them shows, in small pictures."""
        stood, twins = self.together.one_alike(placed)
        own = [i for i in stood if self.bodies.pieces[i].id in step.parts]
        bodies = threaded(self.bodies, own, straps)
        drawn = self._worked(bodies, "front", stood, own, _CELLS)
        picture = lettered(drawn, render.best_seen(self.bodies, own, drawn.scene), (), True)
        met = drawn.scene.met[: len(self.bodies)]
        told = {self.bodies.pieces[i].label for i in own if met[i] >= _PAINTED_AT * met.sum()}
        labels = render.labels_of(self.bodies, own)
        alt = say("Step {n}: {title}. Worked on: {labels}.", n=step.number, title=step.title, labels=labels)
        details = [*self._straps(bodies, stood, own), *self._not_seen(stood, own, told, step.one_face)[0]]
        return replace(picture, note=twins, alt=alt, details=tuple(details))

    def _straps(self, bodies: Bodies, stood: Sequence[int], own: Sequence[int]) -> Iterator[Inset]:
        """Straps from where most of them shows."""
        straps = range(len(self.bodies), len(bodies.spans))
        if not straps:
            return
        showing = {}
        for view in (name for name in VIEWS if name != "front"):
            coarse = render.window(bodies.points, bodies, [*stood, *straps], view_of(view), _COARSE)
            showing[view] = render.look(bodies.points, bodies, [*stood, *straps], coarse).met[list(straps)].sum()
        view = max(showing, key=lambda name: int(showing[name]))
        drawn = self._worked(bodies, view, stood, own, _SMALL_CELLS)
        said = view_note(Choice(view, 1.0, {}), "front", False)
        named = render.best_seen(self.bodies, own, drawn.scene)
        yield small(drawn, named, said + " " + say("Straps are blue."), OTHER_SIDE)

    def _worked(
        self, bodies: Bodies, view: str, stood: Sequence[int], own: Sequence[int], cells: tuple[int, int]
    ) -> Drawn:
        """What stands, and straps behind all copies, in the colours of their paint, pale what nothing is done at."""
        straps = range(len(self.bodies), len(bodies.spans))
        shown = [*stood, *straps]
        seen = render.window(bodies.points, bodies, shown, view_of(view), cells)
        scene = render.look(bodies.points, bodies, shown, seen)
        normal = render.normals_of(bodies.points, bodies, render.corner_normals(bodies), scene, seen)
        colours = np.vstack([self.colours, np.tile(STRAP, (len(straps), 1))])
        drawn = render.paint(colours, scene, normal, seen, [*own, *straps], lightest=_LIGHTEST_COAT)
        return Drawn(scene, seen, *render.framed(drawn, seen))

    def _coated(
        self,
        view: str,
        stood: Sequence[int],
        coats: Sequence[int],
        apart: Sequence[int],
        cells: tuple[int, int],
        room: tuple[float, float],
        one_face: Mapping[str, float],
    ) -> Drawn:
        """Copies at home and others lying `apart`, those of `one_face` with that face up, in the colours of their paint, pale
        what gets none."""
        frame = view_of(view)
        laid = laid_out(self.bodies, apart, stood, frame, room, one_face)
        points = laid.points()
        others = [i for i in stood if i not in coats]
        shown, fresh = [*others, *coats, *apart], [*coats, *apart]
        seen = render.window(points, self.bodies, shown, frame, cells)
        scene = render.look(points, self.bodies, shown, seen)
        normal = render.normals_of(points, self.bodies, laid.corners(self.corners), scene, seen)
        # whoever masks by the picture takes what shows without red for painted: no scrap is left out
        hatched = all_spots(scene, normal, seen, self._bare([*others, *coats], coats, laid))
        hatched |= self._bare_faces(scene, normal, seen, coats, one_face)
        lines = seen_lines(self.bodies, points, scene, seen)
        prints = printed(self.bodies, points, scene, seen, fresh)
        colours = render.paint(
            self.colours, scene, normal, seen, fresh, None, hatched, lightest=_LIGHTEST_COAT, lines=lines, prints=prints
        )
        return Drawn(scene, seen, *render.framed(colours, seen))

    def _not_seen(
        self, stood: Sequence[int], coats: Sequence[int], told: Collection[str], one_face: Mapping[str, float]
    ) -> tuple[list[Inset], set[str]]:
        """The parts that are painted and whose letters are not `told` from the front: on the thing that they belong to, without
        what that only stands on, from where most of them show; and those that are left then from one side more. With the
        pictures, the letters that they show."""
        hidden = [i for i in coats if self.bodies.pieces[i].label not in told]
        things: dict[int, list[int]] = {self.together.joined[i]: [] for i in hidden}
        for i in stood:
            things.get(self.together.joined[i], []).append(i)
        showing: dict[tuple[str, int], set[str]] = {}  # by view and thing
        for view, thing in product((name for name in VIEWS if name != "front"), things):
            coarse = render.window(self.bodies.points, self.bodies, things[thing], view_of(view), _COARSE)
            own = render.look(self.bodies.points, self.bodies, things[thing], coarse).met
            showing[view, thing] = {self.bodies.pieces[i].id for i in hidden if own[i] >= _PAINTED_AT * own.sum()}
        pictures, letters = list[Inset](), set[str]()
        for _ in range(_MORE_SIDES):
            view, thing = max(showing, key=lambda side: len(showing[side]), default=("", -1))
            if not view or not showing[view, thing]:
                break
            fresh = set(showing[view, thing])
            shown = things[thing]
            painted_here = [i for i in coats if i in shown]
            drawn = self._coated(view, shown, painted_here, (), _SMALL_CELLS, OTHER_SIDE, one_face)
            named = render.best_seen(self.bodies, [i for i in hidden if self.bodies.pieces[i].id in fresh], drawn.scene)
            pictures.append(small(drawn, named, view_note(Choice(view, 1.0, {}), "front", False), OTHER_SIDE))
            letters |= {label for label, _ in named}
            showing = {side: parts - fresh for side, parts in showing.items()}
        return pictures, letters

    def _on_the_bench(self, apart: Sequence[int], one_face: Mapping[str, float]) -> Iterator[Inset]:
        """One of each of what is painted lying on the bench, those of like size together."""
        size = {i: round(float(np.ptp(render.all_points(self.bodies, [i]), axis=0).max()), 3) for i in apart}
        waiting = sorted(apart, key=lambda i: (-size[i], i))
        while waiting:
            alike = [i for i in waiting if size[i] * _LIKE_SIZE >= size[waiting[0]]]
            is_larger = len(waiting) < len(apart)  # than on the bench before, where each fills its picture
            waiting = [i for i in waiting if i not in alike]
            for group in np.array_split(alike, -(-len(alike) // _TOGETHER_ON_BENCH)):
                drawn = self._coated("front", [], [], group.tolist(), _SMALL_CELLS, INSET, one_face)
                said = self._lying(group.tolist(), one_face)
                said += " " + say("Drawn larger.") if is_larger else ""
                yield small(drawn, render.best_seen(self.bodies, group.tolist(), drawn.scene), said)

    def _lying(self, copies: Sequence[int], one_face: Mapping[str, float]) -> str:
        """What is said of parts that lie on the bench."""
        pieces = self.bodies.pieces
        bare = [i for i in copies if pieces[i].id in one_face and isinstance(pieces[i].body, FlatBody)]
        bowls = [i for i in copies if pieces[i].id in one_face and i not in bare]
        both = [i for i in copies if i not in bare and hidden_glue(self.bodies, i)]
        said = [say("On the bench: one of each.")]
        if bowls:
            said.append(say("With the inside up: {labels}.", labels=render.labels_of(self.bodies, bowls)))
        if rolled := [i for i in bowls if own_seam(pieces[i])]:
            labels = render.labels_of(self.bodies, rolled)
            said.append(say("Drawn closed, as it will be later: {labels}.", labels=labels))
        if bare:
            said.append(say("The face below stays bare: {labels}.", labels=render.labels_of(self.bodies, bare)))
        if both:
            said.append(say("The face below takes glue as well: {labels}.", labels=render.labels_of(self.bodies, both)))
        return " ".join(said)

    def _bare_faces(
        self,
        scene: render.Scene,
        normal: np.ndarray,
        seen: render.Window,
        coats: Sequence[int],
        one_face: Mapping[str, float],
    ) -> np.ndarray:
        """Where (rows, columns) the face shows that is not painted of flat copies of `one_face` that stand at home."""
        bare = np.zeros(scene.owner.shape, bool)
        for copy in coats:
            piece = self.bodies.pieces[copy]
            if piece.id in one_face and isinstance(piece.body, FlatBody):
                off = -one_face[piece.id] * piece.off_face(self.bodies.matrices[copy])
                bare |= (scene.owner == copy) & (normal @ (seen.frame @ off) > _SQUARE)
        return bare

    def _bare(self, shown: Sequence[int], coats: Sequence[int], laid: Laid) -> list[Glued]:
        """The faces of what is painted that take glue later, and stay bare."""
        glue: list[Glued] = []
        for (a, b), touch in sorted(self.bodies.touches.items()):
            if touch.glued and (a in laid.ways or (a in coats and b not in shown)):
                outlines = tuple(tuple(laid.spots(a, loop, loop)[0] for loop in patch) for patch in touch.outlines)
                glue.append(Glued(a, *laid.spots(a, touch.places, -touch.normals), outlines))
        return glue
