"""The picture of a step that puts parts in, from where `step_views` finds that it is seen best. Lengths in mm in the plane of the
view."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from foamwright.assembly import which_copy
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset, Picture, Step
from foamwright.assembly.units import rests
from foamwright.booklet.pictures import close_views, glue_views, render
from foamwright.booklet.pictures.arrows import guides
from foamwright.booklet.pictures.colours import painted
from foamwright.booklet.pictures.engraving import seen_lines
from foamwright.booklet.pictures.hatching import Glued, hatching
from foamwright.booklet.pictures.lettering import OTHER_SIDE, Drawn, lettered, small
from foamwright.booklet.pictures.step_views import VIEWS, Choice, Stage, View, as_one, view_of
from foamwright.booklet.pictures.turning import view_note
from foamwright.language import say

_CELLS = (1320, 1062)  # lines of sight across and up, four to a cell of the picture
_COARSE, _SMALL_CELLS = (300, 242), (700, 450)
_POINTED_AT = 0.004  # of what a picture shows: less of a part is a speck that no leader is seen to end on
_SPECK = 0.0005  # of what a picture shows: so little of one of several pieces is seen by nobody
_TAKING = 5  # letters of what stands already, at most,
_NOT_TOO_MANY = 12  # and none beside more of what is new
_TONES = (0.0, 0.25, 0.12)  # of new parts of one colour, light ones towards black and dark ones towards white
_DARK_FOAM = 0.2  # luminance


class Assembler:
    """Draws how parts of one prop go in; nothing of a step is kept for the next."""

    def __init__(self, bodies: Bodies):
        self.bodies, self.painted = bodies, painted(bodies)
        self.corners = render.corner_normals(bodies) if len(bodies) else np.zeros((0, 3, 3))

    def assembled(
        self,
        stage: Stage,
        stood: Sequence[int],
        step: Step,
        chosen: Choice,
        before: str,
        twins: str,
        coated: Collection[int] = (),
    ) -> Picture:
        """What stood pale, and what the step puts in in full colour, which is that of its paint where it is `coated`; off its
        place where that was chosen, with its way in and its glue hatched."""
        new = [copy for move in step.moves for copy in move.copies]
        points = stage.placed(new, chosen.shifts)
        hidden = self._scraps(points, stood, new, chosen)
        shown = [i for i in (*stood, *new) if i not in chosen.ghosts and i not in hidden]
        whole = render.window(points, self.bodies, [*stood, *new], view_of(chosen.name), _CELLS)
        close = close_views.close_window(self.bodies, points, whole, new)
        seen = close or whole
        view = View(
            stage, points, tuple(shown), tuple(stood), tuple(new), chosen, step.glue == "instant", frozenset(coated)
        )
        drawn = self.drawn(view, seen)
        scene = drawn.scene
        arrows = self._lines(stage, step, stood, chosen, drawn)
        near = say("Close view.") if close else ""
        labels = render.labels_of(self.bodies, new)
        alt = say("Step {n}: {title}. New in the picture: {labels}.", n=step.number, title=step.title, labels=labels)
        turned = replace(chosen, name="front") if step.bench else chosen  # what is loose lies as one likes
        note = " ".join(filter(None, (view_note(turned, before, bool(stood)), near, twins)))
        far = [i for i in sorted(hidden) if self._is_told_apart(i, new)]
        details = close_views.details(self.bodies, self.drawn, step, view, drawn)
        named = self._named(view, drawn)
        taking = self._taking(new, stood, scene) if len(named) <= _NOT_TOO_MANY else ()
        lone = [copy for label, copy in named if label == self.bodies.pieces[copy].label]
        scene = render.alike_as_one(self.bodies, scene, lone, new)
        picture = lettered(replace(drawn, scene=scene), named, arrows, True, taking)
        return replace(
            picture,
            note=note,
            alt=alt,
            share=chosen.share,
            details=(*(self._from_the_far_side(view, far) or self._hidden_glue(view, drawn)), *details),
        )

    def _hidden_glue(self, view: View, drawn: Drawn) -> tuple[Inset, ...]:
        glue = self._glued(view.stage, view.shown, view.new, view.chosen.shifts)
        return glue_views.hidden_glue(self.bodies, self.drawn, glue, view, drawn)

    def _from_the_far_side(self, view: View, far: Sequence[int]) -> tuple[Inset, ...]:
        """A small picture from where most shows of new copies that are not drawn, as they go in on the far side."""
        if not far:
            return ()
        whole = replace(view, shown=(*(i for i in view.shown if i not in far), *far))
        shares = {
            name: view.stage.share(view.points, view.stood, far, name, view.chosen.ghosts)
            for name in VIEWS
            if name != view.chosen.name
        }
        name = max(shares, key=lambda name: (round(shares[name], 3), -VIEWS[name][1]))
        seen = render.window(view.points, self.bodies, whole.shown, view_of(name), _SMALL_CELLS)
        drawn = self.drawn(whole, seen)
        ways = [way for way in view.chosen.ways if {*way.copies} & {*far}]
        named = [(which_copy.label(self.bodies, i), i) for i in far if drawn.scene.met[i]]
        said = say("The far side.") + " " + view_note(Choice(name, 1.0, {}), view.chosen.name, False)
        return (small(drawn, named, said, OTHER_SIDE, guides(self.bodies, ways, drawn.scene, seen)),)

    def drawn(self, view: View, seen: render.Window) -> Drawn:
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
        colours = render.paint(
            self._told_apart(new, view.coated), scene, normal, seen, new, behind, hatched, lines=lines
        )
        return Drawn(scene, seen, *render.framed(colours, seen))

    def _told_apart(self, new: Sequence[int], coated: Collection[int]) -> np.ndarray:
        """The colours of the foam, or of the paint on what is coated; those of new parts of one foam a little lighter and
        darker in turn."""
        colours = render.foam_colours(self.bodies)
        colours[list(coated)] = self.painted[list(coated)]
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
        scene = render.look(points, self.bodies, [*(i for i in stood if i not in chosen.ghosts), *new], seen)
        scraps = {i for i in new if render.is_scrap(points, self.bodies, i, scene, seen)}
        told = {self.bodies.pieces[i].id for i in new if i not in scraps}
        return {i for i in scraps if scene.met[i] and self.bodies.pieces[i].id in told}

    def _named(self, view: View, drawn: Drawn) -> list[tuple[str, int]]:
        """What stands in bubbles, with the copy that each leads to: the letter of a part, with the number of the piece
        where the pieces differ and it is seen well enough to be told."""
        numbered = [i for i in view.new if self._is_told_apart(i, view.new)]
        met = drawn.scene.met
        seen = [
            i
            for i in numbered
            if met[i] > _SPECK * met.sum() and not render.is_scrap(view.points, self.bodies, i, drawn.scene, drawn.seen)
        ]
        found = render.best_seen(self.bodies, [i for i in view.new if i not in numbered], drawn.scene)
        return [*found, *((which_copy.label(self.bodies, i), i) for i in seen)]

    def _is_told_apart(self, copy: int, new: Collection[int]) -> bool:
        """Has a copy more than the letter of its part: a number, or left and right where they differ or both go in?"""
        part = self.bodies.pieces[copy].id
        pair = which_copy.is_left(self.bodies, copy) is not None and set(self.bodies.of(part)) <= {*new}
        return which_copy.is_numbered(self.bodies, self.bodies.pieces[copy]) or pair

    def _taking(self, new: Sequence[int], stood: Sequence[int], scene: render.Scene) -> list[tuple[str, int]]:
        """The letters of what stands already and takes the new parts, each with the copy of it that shows best: those that are
        seen well enough to be pointed at, the largest first, as many as leave room for those of the new parts."""
        met = scene.met
        takes = [
            b for b in stood if any((a, b) in self.bodies.touches for a in new) and met[b] >= _POINTED_AT * met.sum()
        ]
        own = {self.bodies.pieces[i].label for i in new}
        found = [named for named in render.best_seen(self.bodies, takes, scene) if named[0] not in own]
        return sorted(found, key=lambda named: (-int(met[named[1]]), named[0]))[:_TAKING]

    def _glued(
        self, stage: Stage, shown: Sequence[int], new: Sequence[int], shifts: Mapping[int, np.ndarray]
    ) -> list[Glued]:
        """The faces that take glue, of parts that are drawn apart; at home they lie on each other and are not seen."""
        glue: list[Glued] = []
        for (a, b), touch in sorted(self.bodies.touches.items()):
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
                glue.append(Glued(a, touch.places[bare] + shift, -touch.normals[bare], other=b))
            else:
                outlines = tuple(tuple(loop + shift for loop in patch) for patch in touch.outlines)
                glue.append(Glued(a, touch.places + shift, -touch.normals, outlines, b))
        return glue

    def _lines(self, stage: Stage, step: Step, stood: Sequence[int], chosen: Choice, drawn: Drawn) -> list[np.ndarray]:
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
        points = render.all_points(self.bodies, move.copies)
        leg = np.array(move.outwards[0][0])
        reach = points[int((points @ leg).argmax())]
        line = np.array([reach + 0.25 * size * leg, reach]) @ seen.frame[:2].T
        return [line] if np.linalg.norm(line[0] - line[-1]) > 0.05 * size else []
