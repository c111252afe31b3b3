"""The pictures of the steps, one diagram for each major step (M. Agrawala and others, "Designing effective step-by-step
assembly instructions", SIGGRAPH 2003): from where `step_views` finds that it is seen best. A picture that puts parts in and one
that paints are drawn each in its own way and lettered alike. Lengths in mm in the plane of the view.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly import which_copy
from foamwright.assembly.bodies import Bodies, Touch
from foamwright.assembly.records import Inset, Picture, Step
from foamwright.assembly.sight import basis
from foamwright.assembly.units import rests
from foamwright.booklet.pictures import bubbles, render
from foamwright.booklet.pictures.arrows import Way, guides
from foamwright.booklet.pictures.bench_layout import Laid, hidden_glue, laid_out
from foamwright.booklet.pictures.colours import painted
from foamwright.booklet.pictures.engraving import seen_lines
from foamwright.booklet.pictures.figures import INSET, lettered_block, picture_block
from foamwright.booklet.pictures.hatching import Glued, hatching
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.step_views import VIEWS, Choice, Stage, as_one, staged, view_of
from foamwright.language import say
from foamwright.parts.records import FlatBody

PRINTED = (92.0, 74.0)  # mm of paper that a step's picture fits into
_LIGHTEST_COAT = 0.85  # luminance of what is painted: white stays white
_LETTERED = 20  # parts in the picture of a coat of paint, those that show most; of more the letters would hide it
_MORE_SIDES = 2  # small pictures of what is painted and does not show from the front, at most
_LIKE_SIZE, _TOGETHER_ON_BENCH = (
    4.0,
    5,
)  # times as large as another, and parts at most, in one small picture of the bench
_COARSE, _SMALL_CELLS = (300, 242), (700, 450)  # lines of sight, as `_CELLS`
_ALONG_EYE = 0.3  # of a direction that is seen; less, and no arrow shows it
_LETTER, _LONG_LETTER = 3.1, 3.9  # mm on paper, radius of a letter's bubble, and where some have a number as well
_SMALL_LETTER = 2.5  # in an inset
_OFF_LETTERS = 1.2  # radii of a bubble from its middle to the room of the arrow to the front
_FRONT_ROOM = (1.5, 2.0)  # radii of a bubble: half the room that it takes across and up, with its word,
_WORD_BELOW = 0.6  # which is below its middle
_FRONT_PLACES = 15  # places that are tried for it across a picture and up
_FEW = 8  # letters, of which there is room for larger ones
_POINTED_AT = 0.004  # of what a picture shows: less of a part is a speck that no leader is seen to end on
_PAINTED_AT = 0.0015  # and where all is told by letters alone, as which paint it gets, less of it still
_SPECK = 0.0005  # of what a picture shows: so little of one of several pieces is seen by nobody,
_HARDLY = 0.1  # and so much of the piece is a scrap behind a porthole
_TAKING = 5  # letters of what stands already, at most,
_NOT_TOO_MANY = 12  # and none beside more of what is new
_CELLS = (1320, 1062)  # lines of sight across and up, four to a cell of the picture
_CLOSE_CELLS = (1000, 804)  # of a picture that is filled to its edges
_TONES = (0.0, 0.25, 0.12)  # of new parts of one colour, light ones towards black and dark ones towards white
_DARK_FOAM = 0.2  # luminance
_AROUND = 0.4  # a close view shows so much of the size of all around the new parts,
_DETAIL = 0.5  # at least so much of it in all,
_WORTH = 0.75  # and is not worth it where the whole would be more than so much as large
_TINY = 4.5  # mm on paper: what is no larger in the picture has a close view of its own,
_AROUND_TINY = 1.6  # which shows so much of the way that it goes
_TOGETHER = 2.0  # times as much of the way as of one, and all that are alike are in it
_LARGER = 1.5  # times as large as in the picture; a close view that shows it no larger shows nothing more
_DETAILS = 3  # close views beside one step, at most
_DETAIL_CELLS = 700
_LIFTED = 0.05  # of the size of what is shown: so far off what carries it is drawn what is set down at last
_SHORT_WAY = 2.5  # times as far off its place as it is long a tiny part is drawn there
_INTO = 0.5  # of a way that would lead through what a part lies on
_UPRIGHT = 1.35  # times as high as others a narrow picture may be, or it would be the smallest of all


def printed_in(wide: float, high: float) -> np.ndarray:
    """The mm of paper (2,), across and up, that a picture of this shape fits into."""
    upright = float(np.sqrt(high / max(wide, 1e-9) * PRINTED[0] / PRINTED[1]))
    return np.array([PRINTED[0], PRINTED[1] * min(max(upright, 1.0), _UPRIGHT)])


def step_pictures(bodies: Bodies, steps: Sequence[Step]) -> dict[int, Picture]:
    """A picture for each step that puts a part in or paints what stands, by the step's number."""
    artist = _Artist(bodies)
    drawn: dict[int, Picture] = {}
    placed: list[int] = []
    bound: list[frozenset[int]] = []  # copies that have been put together at the bench
    views: dict[int, str] = {}  # from where each thing was last seen: another one that is begun has not been turned
    for step in steps:
        if not step.moves:
            coats = [i for i in placed if bodies.pieces[i].id in step.parts] if "paint" in step.uses else []
            apart = _one_of_each(bodies, placed, step.parts) if "paint" in step.uses else []
            if coats or apart:
                before = views.get(artist.joined[coats[0]], "") if coats else ""
                drawn[step.number] = artist.painted(placed if coats else (), coats, apart, step, before)
                views |= dict.fromkeys((artist.joined[i] for i in placed), "front") if coats else {}
            elif step.sets:
                before = views.get(artist.joined[step.sets[0].copies[0]], "")
                drawn[step.number] = artist.set_down(placed, step, before)
            elif step.parts and {*step.parts} < {bodies.pieces[i].id for i in placed}:
                drawn[step.number] = artist.worked_on(placed, step)
            continue
        new = [copy for move in step.moves for copy in move.copies]
        if step.bench:
            stood = _carrying(steps, new)
        else:
            stood = artist.beside(placed, new, step)
            step = artist.from_above(stood, step)
            placed = [*placed, *new]
        if step.bench:
            bound.append(frozenset([*stood, *new]))
        stood, seen, twins = artist.one_of_twins(stood, step)
        new = [copy for move in seen.moves for copy in move.copies]
        stage = staged(bodies, bound, seen, stood)
        thing = artist.joined[(stood or new)[0]]
        before = "" if step.bench else views.get(thing, "")
        chosen = stage.choose(stood, new, seen, before or "front")
        drawn[step.number] = artist.assembled(stage, stood, seen, chosen, before, twins)
        if not step.bench:
            views[thing] = chosen.name
    return drawn


def _one_of_each(bodies: Bodies, placed: Sequence[int], parts: Sequence[str]) -> list[int]:
    """The first copy of each part that is worked on and of which none has been placed."""
    here = {bodies.pieces[i].id for i in placed}
    return [bodies.of(part)[0] for part in parts if part not in here and bodies.of(part)]


def _carrying(steps: Sequence[Step], riders: Sequence[int]) -> list[int]:
    """The copies that copies put on them at the bench go in with later."""
    moves = [move for step in steps if not step.bench for move in step.moves if set(move.copies) & set(riders)]
    return [copy for move in moves for copy in move.copies if copy not in riders]


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A picture before it has its letters: what it shows where, its PNG file and the box that this fills."""

    scene: render.Scene
    seen: render.Window
    png: bytes
    box: tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class _View:
    """What one step's picture and its close views show: points of all bodies, what is seen, stood already and is new."""

    stage: Stage
    points: np.ndarray
    shown: tuple[int, ...]
    stood: tuple[int, ...]
    new: tuple[int, ...]
    chosen: Choice
    on_one_face: bool  # its glue goes on what stands, where that shows, and not on both faces of a joint


class _Artist:
    """Draws the bodies of one prop; nothing of a step is kept for the next."""

    def __init__(self, bodies: Bodies):
        self.bodies = bodies
        self.corners = render.corner_normals(bodies) if len(bodies) else np.zeros((0, 3, 3))
        self.joined = self._joined(range(len(bodies)))
        self.painted_colours = painted(bodies)

    @property
    def touches(self) -> Mapping[tuple[int, int], Touch]:
        return self.bodies.touches

    def _joined(self, among: Collection[int]) -> list[int]:
        """For each copy the number of the cluster of copies that it hangs together with, `among` those that are there."""
        pieces, here = self.bodies.pieces, frozenset(among)
        links = [(a, b) for a, b in self.touches if here.issuperset((a, b)) and not rests(pieces[a], pieces[b])]
        copies: dict[str, list[int]] = {}
        for copy, piece in enumerate(pieces):
            copies.setdefault(piece.id, []).append(copy)
        middle = self.bodies.spheres[:, :3]
        for copy, piece in enumerate(pieces) if len(here) == len(pieces) else ():
            for part in (*piece.after, *piece.lies_on) if piece.glue != "none" else ():
                if part in copies:
                    away = np.linalg.norm(middle[copies[part]] - middle[copy], axis=1)
                    links.append((copy, copies[part][int(np.round(away, 3).argmin())]))
        joined = DisjointSet(range(len(self.bodies)))
        for a, b in links:
            joined.merge(a, b)
        return [joined[i] for i in range(len(self.bodies))]

    def beside(self, stood: Sequence[int], new: Sequence[int], step: Step) -> list[int]:
        """Of what stands, what the new copies belong to: a stand is not drawn below the hull that it will carry, nor a cap that
        is glued up on the table over the box that it will lie on."""
        own = {self.joined[i] for i in new}
        mine = [i for i in stood if self.joined[i] in own]
        met = [touch for (a, b), touch in self.touches.items() if a in new and b in stood]
        is_laid = not step.glue and not any(touch.glued for touch in met)
        loose = is_laid or any(self.bodies.pieces[i].glue == "none" for i in new)
        if not mine and loose:  # a lid is laid on what stands, a pail is set in it
            below = {self.joined[touch.b] for touch in met}
            mine = [i for i in stood if self.joined[i] in below]
        return mine or ([] if len(own) == 1 else list(stood))

    def from_above(self, stood: Sequence[int], step: Step) -> Step:
        """A loose part whose way was found without what it is laid on is drawn off that."""
        moves = []
        for move in step.moves:
            laid = [t.normals for (a, b), t in self.touches.items() if a in move.copies and b in stood]
            loose = any(self.bodies.pieces[i].glue == "none" for i in move.copies)  # with a knob on it, perhaps
            if laid and loose and move.outwards:
                off = np.concatenate(laid).mean(axis=0)
                if off @ np.array(move.outwards[-1][0]) < -_INTO:
                    x, y, z = (off / np.linalg.norm(off)).tolist()
                    move = replace(move, outwards=(((x, y, z), float("inf")),))
            moves.append(move)
        return replace(step, moves=tuple(moves))

    def one_of_twins(self, stood: Sequence[int], step: Step) -> tuple[list[int], Step, str]:
        """Of things that are built alike and do not touch, the one nearest to the eye, and a note that says so."""
        new = [copy for move in step.moves for copy in move.copies]
        joined = self._joined([*stood, *new]) if step.bench else self.joined
        groups = self._alike([*stood, *new] if step.bench else new, joined)
        if not groups:
            return list(stood), step, ""
        kept = self._nearest(groups)
        moves = [replace(m, copies=tuple(i for i in m.copies if joined[i] == kept)) for m in step.moves]
        seen = replace(step, moves=tuple(move for move in moves if move.copies))
        pair = any(p.mirrored for i in groups[kept] for p in self.bodies.pieces[i].placements)
        if pair and len(groups) == 2:
            note = say("Build the other side in the same way: it is the mirror image.")
        else:
            note = say("One of {n} that are built alike.", n=len(groups))
        return [i for i in stood if joined[i] == kept], seen, note

    def _one_alike(self, stood: Sequence[int]) -> tuple[list[int], str]:
        """Of all that stands, if it is things that are built alike, the one nearest to the eye."""
        groups = self._alike(stood, self.joined)
        if not groups:
            return list(stood), ""
        kept = self._nearest(groups)
        return groups[kept], say("One of {n} that are built alike.", n=len(groups))

    def _alike(self, copies: Sequence[int], joined: Sequence[int]) -> dict[int, list[int]]:
        """Copies by the thing that they belong to, where there are several and all of them are of the same parts."""
        groups: dict[int, list[int]] = {}
        for copy in copies:
            groups.setdefault(joined[copy], []).append(copy)
        alike = {tuple(sorted(self.bodies.pieces[i].id for i in group)) for group in groups.values()}
        return groups if len(groups) > 1 and len(alike) == 1 else {}

    def _nearest(self, groups: Mapping[int, Sequence[int]]) -> int:
        along = basis(FRONT)[2]
        return min(groups, key=lambda root: (round(float(self._points(groups[root]).mean(axis=0) @ along), 3), root))

    # The two kinds of picture

    def assembled(
        self, stage: Stage, stood: Sequence[int], step: Step, chosen: Choice, before: str, twins: str
    ) -> Picture:
        """What stood pale, and what the step puts in in full colour, off its place where that was chosen, with its way in and
        its glue hatched."""
        new = [copy for move in step.moves for copy in move.copies]
        points = stage.placed(new, chosen.shifts)
        hidden = self._scraps(points, stood, new, chosen)
        shown = [i for i in (*stood, *new) if i not in chosen.ghosts and i not in hidden]
        whole = self._whole(points, [*stood, *new], chosen.name)
        close = self._close(points, whole, new)
        seen = close or whole
        view = _View(stage, points, tuple(shown), tuple(stood), tuple(new), chosen, step.glue == "instant")
        drawn = self._drawn(view, seen)
        scene = drawn.scene
        arrows = self._lines(stage, step, stood, chosen, drawn)
        near = say("Close view.") if close else ""
        labels = self._labels(new)
        alt = say("Step {n}: {title}. New in the picture: {labels}.", n=step.number, title=step.title, labels=labels)
        turned = replace(chosen, name="front") if step.bench else chosen  # what is loose lies as one likes
        far = ", ".join(sorted(which_copy.label(self.bodies, i) for i in hidden if self._is_told_apart(i, new)))
        unseen = say("On the far side, and not drawn: {labels}.", labels=far) if far else ""
        note = " ".join(filter(None, (self._note(turned, before, bool(stood)), near, twins, unseen)))
        named = self._named(view, drawn)
        taking = self._taking(new, stood, scene) if len(named) <= _NOT_TOO_MANY else ()
        picture = self._lettered(drawn, named, arrows, True, taking)
        return replace(picture, note=note, alt=alt, share=chosen.share, details=self._details(step, view, drawn))

    def set_down(self, placed: Sequence[int], step: Step, before: str) -> Picture:
        """What is set down at last, in the colours of its paint, over what will carry it, with the letters of what touches."""
        pieces = self.bodies.pieces
        new = [copy for move in step.sets for copy in move.copies]
        pairs = [(a, b) for a in new for b in placed if pieces[b].id in pieces[a].rests_on]
        carrying = {self.joined[b] for _, b in pairs}
        stood = [i for i in placed if self.joined[i] in carrying and i not in new]
        size = float(np.ptp(self._points([*stood, *new]), axis=0).max())
        lowest = {move: round(float(self._points(move.copies)[:, 2].min()), 3) for move in step.sets}
        top = float(self._points(stood)[:, 2].max()) if stood else 0.0
        past, shifts, ways = list(stood), dict[int, np.ndarray](), list[Way]()
        for move in sorted(step.sets, key=lambda move: lowest[move]):
            lift = np.array([0.0, 0.0, max(top - lowest[move], 0.0) + _LIFTED * size])
            shifts |= dict.fromkeys(move.copies, lift)
            lying = tuple(a for a, _ in pairs if a in move.copies)
            ways.append(Way(tuple(dict.fromkeys(lying)), np.array([np.zeros(3), lift]), tuple(past)))
            top = float(self._points(move.copies)[:, 2].max() + lift[2])
            past += move.copies
        points = render.shifted(self.bodies, shifts)
        seen = self._whole(points, [*stood, *new], "front")
        scene = render.look(points, self.bodies, [*stood, *new], seen)
        normal = render.normals_of(points, self.bodies, self.corners, scene, seen)
        lines = seen_lines(self.bodies, points, scene, seen)
        colours = render.paint(self.painted_colours, scene, normal, seen, new, lightest=_LIGHTEST_COAT, lines=lines)
        drawn = _Drawn(scene, seen, *render.framed(colours, seen))
        named, carriers = (
            render.best_seen(self.bodies, list(dict.fromkeys(each)), scene) for each in zip(*pairs, strict=True)
        )
        picture = self._lettered(drawn, named, guides(self.bodies, ways, scene, seen), True, carriers)
        labels = self._labels([a for a, _ in pairs])
        alt = say(
            "Step {n}: {title}. Set down in the picture: {labels}.", n=step.number, title=step.title, labels=labels
        )
        return replace(picture, note=self._note(Choice("front", 1.0, {}), before, bool(stood)), alt=alt)

    def _drawn(self, view: _View, seen: render.Window) -> _Drawn:
        """What a window shows of a step that puts parts in."""
        stage, points, new = view.stage, view.points, view.new
        scene = render.look(points, stage.bodies, view.shown, seen)
        normal = render.normals_of(points, stage.bodies, self.corners, scene, seen)
        behind = render.look(points, stage.bodies, [*view.stood, *new], seen) if view.chosen.ghosts else None
        glue = self._glued(stage, view.shown, new, view.chosen.shifts)
        standing = [one for one in glue if one.copy not in new]
        hatched = hatching(scene, normal, seen, standing) if view.on_one_face else None
        if hatched is None or not hatched.any():
            hatched = hatching(scene, normal, seen, glue)
        lines = seen_lines(stage.bodies, points, scene, seen)
        colours = render.paint(self._told_apart(new), scene, normal, seen, new, behind, hatched, lines=lines)
        return _Drawn(scene, seen, *render.framed(colours, seen))

    def _details(self, step: Step, view: _View, drawn: _Drawn) -> tuple[Inset, ...]:
        """Close views of new parts that are too small in the picture to see how they go, alone or with what goes in as one."""
        x0, y0, x1, y1 = drawn.box
        scale = min(PRINTED[0] / (x1 - x0), PRINTED[1] / (y1 - y0))
        found = []
        for label, copy in render.best_seen(self.bodies, view.new, drawn.scene):
            together = next(move.copies for move in step.moves if copy in move.copies)
            rows, columns = np.nonzero(np.isin(drawn.scene.owner, together))
            if not len(rows) or max(np.ptp(rows), np.ptp(columns)) * drawn.seen.step * scale >= _TINY:
                continue
            alike = [i for i in view.new if self.bodies.pieces[i].id == self.bodies.pieces[copy].id]
            view = self._less_far(view, alike)
            low, high = self._way_of([copy], view, drawn.seen)
            wide = float(((high - low) * _AROUND_TINY / INSET).max())
            every = self._way_of(alike, view, drawn.seen)
            if float(((every[1] - every[0]) * _AROUND_TINY / INSET).max()) <= _TOGETHER * wide:
                shown, (low, high) = alike, every
                wide = float(((high - low) * _AROUND_TINY / INSET).max())
            else:
                shown = [copy]
            if 1.0 / wide < _LARGER * scale:
                continue
            corner = (low + high - wide * np.array(INSET)) / 2.0
            cell = wide * INSET[0] / _DETAIL_CELLS
            shape = (int(wide * INSET[1] / cell), _DETAIL_CELLS)
            close = self._drawn(view, render.Window(drawn.seen.frame, corner, cell, shape))
            ways = [way for way in view.chosen.ways if {*shown} & {*way.copies}]
            x0, y0, x1, y1 = close.box
            edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
            arrows = tuple(guides(self.bodies, ways, close.scene, close.seen))
            picture = Picture((edge,), (), close.box, png=close.png, box=close.box, arrows=arrows)
            block = picture_block(picture, *INSET)
            found.append(Inset(block.items, block.height, say("Close view of {part}.", part=label)))
        return tuple(found[:_DETAILS])

    def _less_far(self, view: _View, copies: Sequence[int]) -> _View:
        """The same with copies drawn less far off their places, where that is straight: a short way may be seen larger."""
        shifts, ways = dict(view.chosen.shifts), []
        for way in view.chosen.ways:
            away = way.corners[-1] - way.corners[0]
            far = max(float(np.linalg.norm(away)), 1e-9)
            near = _SHORT_WAY * max(float(np.ptp(self._points([i]), axis=0).max()) for i in way.copies)
            own = {*way.copies} <= {*copies} and all(np.allclose(shifts.get(i, 0.0), away) for i in way.copies)
            if own and len(way.corners) == 2 and near < far:
                shifts |= {i: shifts[i] * (near / far) for i in way.copies}
                way = replace(way, corners=way.corners * (near / far))
            ways.append(way)
        chosen = replace(view.chosen, shifts=shifts, ways=tuple(ways))
        return replace(view, points=view.stage.placed(view.new, shifts), chosen=chosen)

    def _way_of(self, copies: Sequence[int], view: _View, seen: render.Window) -> tuple[np.ndarray, np.ndarray]:
        """The corners (2,), (2,) of what a window shows of copies where they are drawn and at home."""
        spans = [slice(*render.points_of(self.bodies)[i]) for i in copies]
        flat = np.vstack([at[span] for span in spans for at in (view.points, self.bodies.points)]) @ seen.frame[:2].T
        return flat.min(axis=0), flat.max(axis=0)

    def painted(
        self, stood: Sequence[int], coats: Sequence[int], apart: Sequence[int], step: Step, before: str
    ) -> Picture:
        """What stands, with what is painted now in the colour of its paint, and hatched where glue goes later. Small pictures
        beside it show what is not seen from there, and what is painted `apart`, lying on the bench; that is a picture of
        its own where nothing else is painted."""
        stood, twins = self._one_alike(stood)
        coats = [i for i in coats if i in stood]
        fresh = [*coats, *apart]
        alt = say("Step {n}: {title}. Painted: {labels}.", n=step.number, title=step.title, labels=self._labels(fresh))
        if not coats:
            drawn = self._coated("front", [], [], apart, _CELLS, PRINTED, step.one_face)
            picture = self._lettered(drawn, render.best_seen(self.bodies, apart, drawn.scene), (), False)
            return replace(picture, note=self._lying(apart, step.one_face), alt=alt)
        drawn = self._coated("front", stood, coats, (), _CELLS, PRINTED)
        named = render.best_seen(self.bodies, coats, drawn.scene)
        met = drawn.scene.met
        named = sorted(named, key=lambda one: (-int(met[one[1]]), one[0]))[:_LETTERED]
        picture = self._lettered(drawn, named, (), False)
        others = any(i not in coats for i in stood)
        note = " ".join(filter(None, (self._note(Choice("front", 1.0, {}), before, others), twins)))
        told = {label for label, i in named if met[i] >= _PAINTED_AT * met.sum()}
        insets = [*self._not_seen(stood, coats, told), *self._on_the_bench(apart, step.one_face)]
        return replace(picture, note=note, alt=alt, details=tuple(insets))

    def worked_on(self, placed: Sequence[int], step: Step) -> Picture:
        """What stands pale, and in the colours of their paint the parts at which something is done without a part going in, as
        straps are threaded; those that do not show from the front in small pictures from where they do."""
        stood, twins = self._one_alike(placed)
        own = [i for i in stood if self.bodies.pieces[i].id in step.parts]
        drawn = self._coated("front", stood, own, (), _CELLS, PRINTED)
        picture = self._lettered(drawn, render.best_seen(self.bodies, own, drawn.scene), (), True)
        met = np.bincount(drawn.scene.owner[drawn.scene.owner >= 0], minlength=len(self.bodies))
        told = {self.bodies.pieces[i].label for i in own if met[i] >= _PAINTED_AT * met.sum()}
        alt = say("Step {n}: {title}. Worked on: {labels}.", n=step.number, title=step.title, labels=self._labels(own))
        return replace(picture, note=twins, alt=alt, details=tuple(self._not_seen(stood, own, told)))

    def _coated(
        self,
        view: str,
        stood: Sequence[int],
        coats: Sequence[int],
        apart: Sequence[int],
        cells: tuple[int, int],
        room: tuple[float, float],
        one_face: Mapping[str, float] = MappingProxyType({}),
    ) -> _Drawn:
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
        hatched = hatching(scene, normal, seen, self._bare([*others, *coats], coats, laid))
        lines = seen_lines(self.bodies, points, scene, seen)
        colours = render.paint(
            self.painted_colours, scene, normal, seen, fresh, None, hatched, lightest=_LIGHTEST_COAT, lines=lines
        )
        return _Drawn(scene, seen, *render.framed(colours, seen))

    def _not_seen(self, stood: Sequence[int], coats: Sequence[int], told: Collection[str]) -> Iterator[Inset]:
        """The parts that are painted and whose letters are not `told` from the front: from where most of them show, and those
        that are left then from one side more."""
        hidden = [i for i in coats if self.bodies.pieces[i].label not in told]
        showing: dict[str, set[str]] = {}  # by view
        for view in (name for name in VIEWS if name != "front" and hidden):
            coarse = render.window(self.bodies.points, self.bodies, stood, view_of(view), _COARSE)
            own = render.look(self.bodies.points, self.bodies, stood, coarse).met
            showing[view] = {self.bodies.pieces[i].id for i in hidden if own[i] >= _PAINTED_AT * own.sum()}
        for _ in range(_MORE_SIDES):
            view = max(showing, key=lambda name: len(showing[name]), default="")
            if not view or not showing[view]:
                return
            fresh = set(showing[view])
            drawn = self._coated(view, stood, coats, (), _SMALL_CELLS, INSET)
            named = render.best_seen(self.bodies, [i for i in hidden if self.bodies.pieces[i].id in fresh], drawn.scene)
            yield self._small(drawn, named, self._note(Choice(view, 1.0, {}), "front", False))
            showing = {name: parts - fresh for name, parts in showing.items()}

    def _on_the_bench(self, apart: Sequence[int], one_face: Mapping[str, float]) -> Iterator[Inset]:
        """One of each of what is painted lying on the bench, those of like size together."""
        size = {i: round(float(np.ptp(self._points([i]), axis=0).max()), 3) for i in apart}
        waiting = sorted(apart, key=lambda i: (-size[i], i))
        while waiting:
            group = [i for i in waiting if size[i] * _LIKE_SIZE >= size[waiting[0]]][:_TOGETHER_ON_BENCH]
            waiting = [i for i in waiting if i not in group]
            drawn = self._coated("front", [], [], group, _SMALL_CELLS, INSET, one_face)
            yield self._small(drawn, render.best_seen(self.bodies, group, drawn.scene), self._lying(group, one_face))

    def _lying(self, copies: Sequence[int], one_face: Mapping[str, float]) -> str:
        """What is said of parts that lie on the bench."""
        pieces = self.bodies.pieces
        bare = [i for i in copies if pieces[i].id in one_face and isinstance(pieces[i].body, FlatBody)]
        bowls = [i for i in copies if pieces[i].id in one_face and i not in bare]
        both = [i for i in copies if i not in bare and hidden_glue(self.bodies, i)]
        said = [say("On the bench: one of each.")]
        if bowls:
            said.append(say("With the inside up: {labels}.", labels=self._labels(bowls)))
        if bare:
            said.append(say("The face below stays bare: {labels}.", labels=self._labels(bare)))
        if both:
            said.append(say("The face below takes glue as well: {labels}.", labels=self._labels(both)))
        return " ".join(said)

    def _small(self, drawn: _Drawn, named: Sequence[tuple[str, int]], said: str) -> Inset:
        """A picture as large as an inset, with its letters."""
        picture = self._lettered(drawn, named, (), False, room=INSET)
        block = lettered_block(picture, *INSET)
        return Inset(block.items, block.height, said)

    def _lettered(
        self,
        drawn: _Drawn,
        named: Sequence[tuple[str, int]],
        arrows: Sequence[np.ndarray],
        to_front: bool,
        taking: Sequence[tuple[str, int]] = (),
        room: tuple[float, float] = PRINTED,
    ) -> Picture:
        """With the letters of the copies `named` and of those `taking` them, arrows, the arrow to the front, and an edge where
        it shows not all."""
        scene, seen = drawn.scene, drawn.seen
        low, high = np.array(drawn.box[:2]), np.array(drawn.box[2:])
        ends = np.vstack([low, high, *arrows])
        low, high = ends.min(axis=0), ends.max(axis=0)
        letter = _LONG_LETTER if len(named) <= _FEW and any(len(label) > 2 for label, _ in named) else _LETTER
        letter = letter if room == PRINTED else _SMALL_LETTER
        inner = np.array(room) - 2.0 * 1.4 * letter
        radius = float(letter / (inner / np.maximum(high - low, 1e-9)).min())
        ground = bubbles.Ground(scene.owner[::3, ::3], seen.low, 3.0 * seen.step)
        letters = bubbles.placed(ground, named, radius, arrows, taking)
        front = self._front(scene, seen, letters, arrows, radius, low, high) if to_front else ()
        around = [np.add(b.spot, sign * 1.1 * radius) for b in letters for sign in (-1.0, 1.0)]
        if front:
            middle = np.add(front[:2], np.array(front[2:]) / 2.0) - (0.0, _WORD_BELOW * radius)
            around += [middle + sign * np.array(_FRONT_ROOM) * radius for sign in (-1.0, 1.0)]
        ends = np.vstack([low, high, *around])
        x0, y0, x1, y1 = drawn.box
        cut_off = bool((scene.owner[[0, -1]] >= 0).any() or (scene.owner[:, [0, -1]] >= 0).any())
        edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
        return Picture(
            (edge,) if cut_off else (),
            (),
            (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist()),
            png=drawn.png,
            box=drawn.box,
            bubbles=letters,
            arrows=tuple(arrows),
            front=front,
        )

    # What they are made of

    def _points(self, copies: Sequence[int]) -> np.ndarray:
        return np.vstack([self.bodies.points[slice(*render.points_of(self.bodies)[i])] for i in copies])

    def _labels(self, copies: Sequence[int]) -> str:
        return ", ".join(dict.fromkeys(self.bodies.pieces[i].label for i in copies))

    def _told_apart(self, new: Sequence[int]) -> np.ndarray:
        """The colours of the foam, those of new parts of one foam a little lighter and darker in turn."""
        colours = render.foam_colours(self.bodies)
        tones: dict[str, dict[str, float]] = {}
        for copy in new:
            piece = self.bodies.pieces[copy]
            own = tones.setdefault(piece.stock.colour, {})
            tone = own.setdefault(piece.id, _TONES[len(own) % len(_TONES)])
            own_light = float(render.light_of(colours[copy]))
            other = render.whitened if own_light < _DARK_FOAM else render.darkened
            colours[copy] = other(colours[copy], tone)
        return colours

    def _scraps(self, points: np.ndarray, stood: Sequence[int], new: Sequence[int], chosen: Choice) -> set[int]:
        """The new copies of which a scrap shows through some opening, and that are told by another copy of their part: left
        out, as nobody could say what the scrap is."""
        seen = render.window(points, self.bodies, [*stood, *new], view_of(chosen.name), _COARSE)
        met = render.look(points, self.bodies, [*(i for i in stood if i not in chosen.ghosts), *new], seen).met
        scraps = {i for i in new if met[i] <= _HARDLY * render.alone(points, self.bodies, i, seen)}
        told = {self.bodies.pieces[i].id for i in new if i not in scraps}
        return {i for i in scraps if met[i] and self.bodies.pieces[i].id in told}

    def _whole(self, points, every: Sequence[int], name: str) -> render.Window:
        return render.window(points, self.bodies, every, view_of(name), _CELLS)

    def _close(self, points, whole: render.Window, new: Sequence[int]) -> render.Window | None:
        """What is around the new parts, where these are so small that they would hardly be seen in the whole."""
        span = whole.step * np.array(whole.shape[::-1])
        home = self.bodies.points
        own = np.vstack([at[slice(*render.points_of(self.bodies)[i])] for i in new for at in (points, home)])
        flat = own @ whole.frame[:2].T
        low, high = flat.min(axis=0), flat.max(axis=0)
        wanted = np.maximum(high - low + _AROUND * float(span.max()), _DETAIL * float(span.max()))
        wanted = np.minimum(wanted, span)
        scales = [float((printed_in(*size) / size).min()) for size in (wanted, span)]
        if scales[1] > _WORTH * scales[0]:
            return None
        wanted = np.minimum(np.maximum(wanted, np.array(PRINTED) / scales[0]), span)
        corner = np.clip((low + high - wanted) / 2.0, whole.low, whole.low + span - wanted)
        step = float((wanted / _CLOSE_CELLS).max())
        rows, columns = np.ceil(wanted[::-1] / step).astype(int)
        return render.Window(whole.frame, corner, step, (int(rows), int(columns)))

    def _named(self, view: _View, drawn: _Drawn) -> list[tuple[str, int]]:
        """What stands in bubbles, with the copy that each leads to: the letter of a part, with the number of the piece
        where the pieces differ and it is seen well enough to be told."""
        numbered = [i for i in view.new if self._is_told_apart(i, view.new)]
        met = drawn.scene.met
        seen = [
            i
            for i in numbered
            if met[i] > max(_SPECK * met.sum(), _HARDLY * render.alone(view.points, self.bodies, i, drawn.seen))
        ]
        found = render.best_seen(self.bodies, [i for i in view.new if i not in numbered], drawn.scene)
        return [*found, *((which_copy.label(self.bodies, i), i) for i in seen)]

    def _is_told_apart(self, copy: int, new: Collection[int]) -> bool:
        """Has a copy more than the letter of its part: a number, or left and right where both go in?"""
        part = self.bodies.pieces[copy].id
        pair = which_copy.is_left(self.bodies, copy) is not None and set(self.bodies.of(part)) <= {*new}
        return part in self.bodies.numbered or pair

    def _taking(self, new: Sequence[int], stood: Sequence[int], scene: render.Scene) -> list[tuple[str, int]]:
        """The letters of what stands already and takes the new parts, each with the copy of it that shows best: those that are
        seen well enough to be pointed at, the largest first, as many as leave room for those of the new parts."""
        met = scene.met
        takes = [b for b in stood if any((a, b) in self.touches for a in new) and met[b] >= _POINTED_AT * met.sum()]
        own = {self.bodies.pieces[i].label for i in new}
        found = [named for named in render.best_seen(self.bodies, takes, scene) if named[0] not in own]
        return sorted(found, key=lambda named: (-int(met[named[1]]), named[0]))[:_TAKING]

    def _front(
        self, scene: render.Scene, seen: render.Window, letters, lines: Sequence[np.ndarray], radius: float, low, high
    ) -> tuple[float, ...]:
        """Where the arrow to the front stands, clear of parts, letters and `lines`: as near to a corner of the picture as there
        is room, or below it."""
        way = seen.frame[:2] @ np.array([1.0, 0.0, 0.0])
        if np.linalg.norm(way) < _ALONG_EYE:
            return ()
        way = 2.2 * radius * way / np.linalg.norm(way)
        rows, columns = np.nonzero(scene.owner[::4, ::4] >= 0)
        taken = np.column_stack([columns, rows]) * (4.0 * seen.step) + seen.low
        taken = np.vstack([taken, *(bubbles.along(line, radius / 2.0) for line in lines)])
        spots = np.array([bubble.spot for bubble in letters]).reshape(-1, 2)
        leaders = [bubbles.along(np.array([b.spot, b.at]), radius / 2.0) for b in letters]
        taken = np.vstack([taken, *leaders])
        half = np.array(_FRONT_ROOM) * radius
        x0, y0 = low + half
        x1, y1 = np.maximum(high - half, (x0, y0))
        places = np.column_stack([np.linspace(x0, x1, _FRONT_PLACES), np.linspace(y0, y1, _FRONT_PLACES)])
        grid = [(x, y) for y in places[:, 1] for x in places[:, 0]]
        free = _clear_of(taken, places, half) & _clear_of(spots, places, half + _OFF_LETTERS * radius)
        corners = np.array([(x0, y0), (x1, y0), (x0, y1), (x1, y1)])
        size = float(np.linalg.norm(np.subtract(high, low)))
        off = [float(np.round(np.linalg.norm(corners - spot, axis=1).min() / size, 3)) for spot in grid]
        for number in sorted(range(len(grid)), key=lambda i: (off[i], i)):
            if free.ravel()[number]:
                middle = np.array(grid[number])
                break
        else:
            middle = np.array([x0, low[1] - half[1]])
        middle = middle + (0.0, _WORD_BELOW * radius)
        return (*(middle - way / 2.0).tolist(), *way.tolist())

    def _note(self, chosen: Choice, before: str, stands: bool) -> str:
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
                    "side": say("Turned: seen from the left."),
                    "other": say("Turned: seen from behind on the left."),
                }
                notes.append(words[chosen.name])
        if chosen.ghosts:
            notes.append(say("Parts in front are drawn as outlines only."))
        return " ".join(notes)

    def _glued(
        self, stage: Stage, shown: Sequence[int], new: Sequence[int], shifts: Mapping[int, np.ndarray]
    ) -> list[Glued]:
        """The faces that take glue, of parts that are drawn apart; at home they lie on each other and are not seen."""
        glue: list[Glued] = []
        for (a, b), touch in sorted(self.touches.items()):
            if not (a in shown and b in shown and (a in new or b in new)):
                continue
            if b not in stage.wrapped and as_one(a, b, shifts):
                continue
            if rests(self.bodies.pieces[a], self.bodies.pieces[b]):
                continue
            if any(i in new and self.bodies.pieces[i].glue == "none" for i in (a, b)):
                continue
            shift = shifts.get(a, np.zeros(3))
            if b in stage.wrapped:
                bare = ~stage.wrapped[b].laid(touch.places)
                glue.append(Glued(a, touch.places[bare] + shift, -touch.normals[bare]))
            else:
                outlines = tuple(tuple(loop + shift for loop in patch) for patch in touch.outlines)
                glue.append(Glued(a, touch.places + shift, -touch.normals, outlines))
        return glue

    def _bare(self, shown: Sequence[int], coats: Sequence[int], laid: Laid) -> list[Glued]:
        """The faces of what is painted that take glue later, and stay bare."""
        glue: list[Glued] = []
        for (a, b), touch in sorted(self.touches.items()):
            if touch.glued and (a in laid.ways or (a in coats and b not in shown)):
                outlines = tuple(tuple(laid.spots(a, loop, loop)[0] for loop in patch) for patch in touch.outlines)
                glue.append(Glued(a, *laid.spots(a, touch.places, -touch.normals), outlines))
        return glue

    def _lines(self, stage: Stage, step: Step, stood: Sequence[int], chosen: Choice, drawn: _Drawn) -> list[np.ndarray]:
        """Ways in (k, 2) of parts that are drawn apart, first where they are; or of the first part, drawn at home."""
        seen = drawn.seen
        if chosen.ways:
            return guides(self.bodies, chosen.ways, drawn.scene, seen)
        if stage.wrapped:
            return [wrapped.arrow(seen.frame[2]) @ seen.frame[:2].T for wrapped in stage.wrapped.values()]
        return self._way_home(step, seen.step * max(seen.shape), seen) if stood else []

    def _way_home(self, step: Step, size: float, seen: render.Window) -> list[np.ndarray]:
        move = step.moves[0]
        if len(move.outwards) != 1:
            return []
        points = self._points(move.copies)
        leg = np.array(move.outwards[0][0])
        reach = points[int((points @ leg).argmax())]
        line = np.array([reach + 0.25 * size * leg, reach]) @ seen.frame[:2].T
        return [line] if np.linalg.norm(line[0] - line[-1]) > 0.05 * size else []


def _clear_of(taken: np.ndarray, places: np.ndarray, half: np.ndarray) -> np.ndarray:
    """For the middles (up, across) of a grid, which has its coordinates across and up in `places` (n, 2), whether none of the
    points `taken` (k, 2) lies in the rectangle around it."""
    across, up = (np.abs(taken[:, axis] - places[:, axis, None]) <= half[axis] for axis in (0, 1))
    return np.asarray(up.astype(np.float32) @ across.T.astype(np.float32) == 0.0)
