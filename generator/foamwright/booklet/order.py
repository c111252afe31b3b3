"""The steps at the bench: the stages of the plan with what is cut before, painted between and done after.

What is glued to what is what touches in the model; how a part goes in is the way that was found free for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from foamwright.booklet import bending, cutting, glue_up, gluing, joining, painting, practice, supplies, titles
from foamwright.booklet.bodies import painted_through
from foamwright.booklet.closing import closed_in
from foamwright.booklet.fitting import Fitting
from foamwright.booklet.joints import beneath, joints, perimeter
from foamwright.booklet.meetings import Meeting, meetings
from foamwright.booklet.planning import goes_in_bare, plan
from foamwright.booklet.records import Joint, Step, StepMove
from foamwright.booklet.setting_down import set_down, tried_on
from foamwright.booklet.taking_apart import Move, Stage
from foamwright.booklet.units import is_bare, prerequisites, units
from foamwright.booklet.ways_in import Ways
from foamwright.flatten.records import PatternEdge, Patterns
from foamwright.language import say
from foamwright.parts.records import BandBody, FlatBody, Piece, Prop, RodBody
from foamwright.registry import RANK, kind
from foamwright.templates.wording import seam_numbers

PARTS_PER_STEP = 6
MINUTES_OF_A_NOTE = 15.0  # of a step that only the design tells of
_HALF_HIDDEN = 0.6  # of a part that shows; less, and it is worth a round of paint of its own
_IN_SIGHT = 0.75  # of a part that shows from some side; less, and paint does not get everywhere
_SEALED = 0.03  # of a part that shows; less, and no paint gets there
_SEEN = 0.2  # of a part that shows, so that it is covered while others are painted
_OPPOSITE = 0.25  # product of mean directions of two glued places that lie against each other
SMALL_PART = 50.0  # mm; the longer side of a part that can be swallowed or lost
_INNER = ("split", "dart", "laminate")  # joints within one part


def order(prop: Prop, patterns: Patterns, ways: Ways) -> tuple[Step, ...]:
    """Steps from the first cut to the last coat; each waits for the steps whose parts it touches.

    DesignError: parts that wait for each other, or a step note of the design that cannot be one step.
    BuildError: a part has no way in, in any order or in that of the design's own steps.
    """
    return _Bench(prop, patterns, ways).steps()


class _Bench:
    """Makes one step after another."""

    def __init__(self, prop: Prop, patterns: Patterns, ways: Ways):
        self.patterns, self.ways = patterns, ways
        prop = replace(prop, pieces=tuple(piece for piece in prop.pieces if piece.placements))
        self.prop = prop
        self.pieces = {piece.id: piece for piece in prop.pieces}
        self.loose = [p.piece for p in patterns.patterns if not p.piece.placements]
        self.below = beneath(prop)
        needs = prerequisites(prop)
        stages = plan(units(prop, needs, self._rank), needs, ways)
        every = joints(prop, patterns)
        self.inside = [joint for joint in every if joint.kind in _INNER]
        self.seams = [joint for joint in every if joint.kind == "seam"]
        self.sewn = {frozenset(joint.parts) for joint in self.seams}
        self.seam_numbers = seam_numbers(patterns)
        self.warnings = {p.piece.id: "; ".join(p.warnings) for p in patterns.patterns if p.warnings}
        self.drawn_outside = {p.piece.id for p in patterns.patterns if p.drawn_face != "inside"}
        self.ticked = {
            self.seam_numbers[key]
            for p in patterns.patterns
            for edge in p.edges
            for key in self.seam_numbers
            if (p.piece.id, edge.id) in key and len(edge.tick_numbers) > 1
        }
        self.drawn = {(p.piece.id, edge.id): _drawn(edge) for p in patterns.patterns for edge in p.edges}
        self.stages = _with_their_base(_batched(stages, self.sewn, needs), self.sewn, ways)
        self.closed_in = closed_in(self.stages, ways)
        self.number_of: list[int] = []  # the step of each stage
        self.needs = needs
        self.done: dict[str, int] = {}  # part -> the step that touched it last
        self.placed: list[str] = []
        self.done_loose: set[str] = set()
        self.standing = 0
        self.painted: set[str] = set()
        self.coated = 0  # the first step that paints
        self.made: list[Step] = []
        self.behind: dict[int, int] = {}  # step -> all steps before it, as bits

    def steps(self) -> tuple[Step, ...]:
        self._cut()
        self._close_pores()
        for work in _INNER:
            self._prepare(work)
        last_painted = max((i for i, stage in enumerate(self.stages) if not self._is_bare(stage)), default=-1)
        for number, stage in enumerate(self.stages):
            if self._is_bare(stage):
                self._paint(self.placed, self._painted_ahead(number), final=number > last_painted)
            elif self._goes_out_of_reach(number):
                self._paint((), self._out_of_reach(number, number, _HALF_HIDDEN), final=False)
            self._fit(stage, [self.number_of[i] for i in sorted(self.closed_in[number])])
            self.number_of.append(len(self.made))
        self._paint(self.placed, (), final=True)
        self._last()
        return tuple(self.made)

    def _rank(self, piece: Piece) -> int:
        on_shell = any(kind(self.pieces[other].kind).is_shell for other in self.below[piece.id])
        own = kind(piece.kind)
        special = own.rank_on_shell if on_shell else own.rank_of_small if piece.glue == "instant" else ""
        return RANK[special or own.rank]

    def _is_bare(self, stage: Stage) -> bool:
        """Is nothing of it painted, or does it carry what is not? Then paint comes before it."""
        return goes_in_bare(stage, self.ways.bodies) or all(is_bare(self.pieces[part]) for part in stage.parts)

    def _painted_ahead(self, number: int) -> tuple[Stage, ...]:
        """The stages from one that goes in without paint on, of which the parts are painted on the bench before it: the
        like of it, and what is flat and either goes in before the next of them, which saves a round of paint, or is
        hidden when the next round comes."""
        found: list[int] = []
        waiting: list[int] = []
        last = number
        for last, stage in enumerate(self.stages[number:], number):
            if self._is_bare(stage):
                found += [*waiting, last]
                waiting = []
            elif self._lies_flat(stage):
                waiting.append(last)
            else:
                break
        ahead = [self.stages[i] for i in found]
        return (*ahead, *(stage for stage in self._out_of_reach(number, last, _IN_SIGHT) if stage not in ahead))

    def _out_of_reach(self, number: int, beyond: int, least: float) -> tuple[Stage, ...]:
        """The stages from one on, up to the next coat of paint after `beyond`, that go in flat and of which less
        than `least` shows when it comes."""
        then = next((i for i in range(beyond, len(self.stages)) if self._is_bare(self.stages[i])), len(self.stages))
        standing = self.ways.bodies.mask(
            copy for stage in self.stages[:then] for move in stage.moves for copy in move.copies
        )
        window = self.stages[number:then]
        return tuple(
            stage
            for stage in window
            if not self._is_bare(stage) and self._lies_flat(stage) and self._hidden(stage, standing, least)
        )

    def _goes_out_of_reach(self, number: int) -> bool:
        """Is it a stage that would be hidden when its coat of paint comes, and has none yet?"""
        stage = self.stages[number]
        unpainted = [p for p in stage.parts if p not in self.painted and self.pieces[p].paint and not self._sealed(p)]
        return bool(unpainted) and stage in self._out_of_reach(number, number, _HALF_HIDDEN)

    def _lies_flat(self, stage: Stage) -> bool:
        """Are its parts flat plates or bars, each by itself?"""
        return not any(unit.whole for unit in stage.units) and all(self._flat(part) for part in stage.parts)

    def _hidden(self, stage: Stage, standing: int, least: float) -> bool:
        """Does less than `least` of it show where the copies in `standing`, as bits, stand?"""
        copies = [copy for move in stage.moves for copy in move.copies]
        return bool(copies) and float(self.ways.sight.shown(standing)[copies].mean()) < least

    def _flat(self, part: str) -> bool:
        piece = self.pieces[part]
        return isinstance(piece.body, FlatBody | RodBody) and not any(part in pair for pair in self.sewn)

    # Before anything is joined

    def _cut(self) -> None:
        parts = tuple(pattern.piece.id for pattern in self.patterns.patterns)
        minutes = sum(
            practice.MINUTES_PER_PIECE_CUT * p.piece.quantity
            + practice.MINUTES_PER_METRE_CUT * perimeter(p) * p.piece.quantity / 1000.0
            for p in self.patterns.patterns
        )
        uses = ["templates", "paper-scissors", "knife", "mat", "pencil", "awl", "guard"]
        uses += cutting.special_tools(self.patterns)
        cautions = ["knife", "small-parts"]
        if any(p.piece.bought or p.piece.stock.material_type in ("plywood", "wood") for p in self.patterns.patterns):
            uses.append("saw")
            cautions.append("saw")
        self._add(
            titles.cut(),
            parts,
            "",
            minutes,
            (),
            cutting.cut(self.patterns, bool(self.seam_numbers), self.ways.bodies),
            cautions,
            uses=uses,
        )

    def _close_pores(self) -> None:
        """Heat on every painted piece of foam, before glue that it would weaken."""
        standing = [p for p in self.patterns.patterns if p.piece.placements]  # what is only cut is left as it is
        porous = [p for p in standing if p.piece.stock.material_type == "foam" and not is_bare(p.piece)]
        if not porous:
            return
        minutes = practice.MINUTES_PER_M2_HEATED * sum(p.area * p.piece.quantity for p in porous) / 1e6
        minutes += practice.MINUTES_PER_PIECE_HEATED * sum(p.piece.quantity for p in porous)
        foam = [p.piece for p in standing if p.piece.stock.material_type == "foam"]
        left_out = [piece for piece in foam if is_bare(piece)]
        thin = [p.piece for p in porous if p.piece.stock.thickness <= practice.THIN]
        bent = {p.piece.label: bending.former(p.piece) for p in porous if bending.is_bent(p.piece)}
        layered = [p.piece for p in porous if p.piece.layers > 1]
        title, text = painting.close_pores(left_out, thin if len(thin) < len(porous) else (), bent, layered)
        parts = tuple(p.piece.id for p in porous)
        uses = ("heat", *(["former"] if bent else []), "weights", "guard")
        self._add(title, parts, "", minutes, (), text, ("heat-gun",), uses=uses)

    def _prepare(self, work: str) -> None:
        """Work inside single parts, before any is joined to another."""
        mine = [joint for joint in self.inside if joint.kind == work]
        if not mine:
            return
        parts = tuple(joint.parts[0] for joint in mine)
        patterns = [self.patterns.pattern(part) for part in parts]
        title, text = cutting.prepare(work, patterns, self.pieces)
        uses = ["brush", "weights", "tape", "guard"]
        if any(getattr(p.piece.body, "pins", ()) for p in patterns):
            uses.append("pins")
        cautions = list(_cautions({joint.glue for joint in mine}))
        if work == "laminate" and any(isinstance(p.piece.body, RodBody) for p in patterns):
            uses.append("sandpaper")
            cautions.append("sanding-dust")
        minutes = self._minutes(parts, sum(j.length * j.copies for j in mine), sum(j.area * j.copies for j in mine))
        glues = {joint.glue for joint in mine}
        self._add(title, parts, _glue(glues), minutes, (), text, cautions, uses=uses)

    # Putting together

    def _fit(self, stage: Stage, after: Sequence[int]) -> None:
        """The step of a stage; `after` are the steps that it would close in."""
        parts = stage.parts
        pieces = [self.pieces[part] for part in parts]
        own = {copy for move in stage.moves for copy in move.copies}
        beside = 0  # what stands and is built together with the new parts
        for move in stage.moves:
            beside |= self.standing & move.own
        riders = [self.ways.bodies.pieces[copy].id for move in stage.moves for copy in move.copies]
        riders = [part for part in dict.fromkeys(riders) if part not in parts]
        if riders:
            self._bench(stage, riders)
        mine = self._built_together(stage, self._meetings(stage.moves))
        closed = self._closed_by(parts)
        wholes = [set(unit.parts) for unit in stage.units if unit.whole]
        within = [joint for joint in closed if any(whole.issuperset(joint.parts) for whole in wholes)]
        seams = [joint for joint in closed if joint not in within]
        warm = [p for p in pieces if self._is_warmed(p)]
        trimmed = [p for p in pieces if isinstance(p.body, BandBody) and max(p.body.trim_start, p.body.trim_end) > 0.0]
        glues = {m.glue for m in mine if m.glue != "none"} | {s.glue for s in closed if s.glue != "none"}
        glues |= {piece.glue for piece in pieces if stage.bench and any(piece.id in whole for whole in wholes)} - {
            "none"
        }
        glues |= {piece.glue for piece in gluing.unmet(pieces, mine, seams, bool(self.placed))}
        length = sum(joint.length * joint.copies for joint in closed)
        area = sum(m.area for m in mine if m.glue != "none")
        told = Fitting(
            pieces=pieces,
            every=self.pieces,
            units=stage.units,
            moves=stage.moves,
            bodies=self.ways.bodies,
            meetings=mine,
            drawn=self.drawn,
            seams=seams,
            whole_seams=within,
            seam_numbers=self.seam_numbers,
            ticked=self.ticked,
            drawn_outside=self.drawn_outside,
            warnings=self.warnings,
            warm=warm,
            trimmed=trimmed,
            riders=[self.pieces[part] for part in riders],
            bench=stage.bench,
            standing=beside,
            anything=bool(beside) if stage.moves else bool(self.placed),
            grips="contact" in glues and (self._dragged(stage) or self._wedged(stage)),
        )
        uses = ["brush", "weights", "tape", "guard"] if glues else []
        cautions = list(_cautions(glues))
        if warm:
            uses.append("heat")
            cautions.append("heat-gun")
        if warm or (not riders and any(bending.is_rolled(piece) for piece in pieces)):
            uses.append("former")
        if trimmed:
            uses += ["knife", "mat"]
            cautions.append("knife")
        if any(piece.edge_finish for piece in pieces):
            uses.append("sandpaper")
            cautions.append("sanding-dust")
        large = any(m.broad and m.glue == "contact" and m.area > practice.LARGE * m.copies for m in mine)
        if told.grips or large or glue_up.hinges(glue_up.of_step(told), self.ways.bodies):
            uses.append("slip-paper")
        uses += supplies.mentioned((*(u.note for u in stage.units), *(p.note for p in pieces)))
        if "sandpaper" in uses and "sanding-dust" not in cautions:
            cautions.append("sanding-dust")
        cautions += self._small(pieces)
        touched = self._glued_to(stage.moves)
        touched += [part for joint in seams for part in joint.parts if part in self.placed]
        needed = [part for p in parts for part in self.pieces if part in self.needs[p]]
        before = [p for p in dict.fromkeys((*touched, *needed, *riders)) if p not in parts]
        self._add(
            titles.title(told),
            (*parts, *riders),
            _glue(glues),
            self._minutes(parts, length, area),
            before,
            joining.fitting(told),
            cautions,
            places=(*parts, *riders),
            moves=_recorded(stage.moves),
            uses=uses,
            after=after,
        )
        self.placed += [*parts, *riders]
        self.standing |= self.ways.bodies.mask(own)
        self._add_loose()

    def _add_loose(self) -> None:
        """What is glued on by eye, once the parts that it comes after are in place."""
        due = [p for p in self.loose if p.after and p.id not in self.done_loose and set(p.after) <= set(self.placed)]
        if due:
            self.done_loose |= {piece.id for piece in due}
            text = joining.loose(due)
            minutes = practice.MINUTES_PER_PIECE_GLUED * sum(piece.loose for piece in due)
            before = [part for piece in due for part in piece.after]
            uses = ("brush", "weights", "tape", "guard", *supplies.mentioned(piece.note for piece in due))
            parts = tuple(piece.id for piece in due)
            self._add(titles.loose(due), parts, "contact", minutes, before, text, ("contact-cement",), uses=uses)

    def _bench(self, stage: Stage, riders: Sequence[str]) -> None:
        """Smaller parts put on a larger one while it lies on the bench."""
        carrying = [move for move in stage.moves if len(move.copies) > 1]
        leads = tuple(dict.fromkeys(self.ways.bodies.pieces[move.copies[0]].id for move in carrying))
        copies = {
            part: [m.copies[0] for m in carrying if self.ways.bodies.pieces[m.copies[0]].id == part] for part in leads
        }
        mine = self._meetings(stage.bench, start=self.ways.bodies.mask(move.copies[0] for move in carrying))
        pieces = [self.pieces[part] for part in riders]
        glues = {m.glue for m in mine if m.glue != "none"}
        text = joining.bench(pieces, copies, mine, self.ways.bodies, self.pieces)
        text[1:1] = joining.facing(pieces, stage.bench, self.ways.bodies, self.drawn_outside, {})
        into = not any(m.broad for m in mine)
        title = titles.bench(pieces, [(self.pieces[part], len(those)) for part, those in copies.items()], into)
        cautions = (*_cautions(glues), *self._small(pieces))
        rolled = any(bending.is_rolled(self.pieces[part]) for part in leads)
        uses = ("brush", "weights", "tape", "guard", *(["former"] if rolled else []))
        minutes = self._minutes(riders, 0.0, sum(m.area for m in mine))
        both = tuple(dict.fromkeys((*leads, *riders)))
        self._add(
            title, both, _glue(glues), minutes, (), text, cautions, bench=both, moves=_recorded(stage.bench), uses=uses
        )

    def _meetings(self, moves: Sequence[Move], start: int | None = None) -> list[Meeting]:
        """What the copies that move touch, of what stands when each goes in; a whole's own joints among them."""
        return meetings(self.ways, moves, self.standing if start is None else start, self.prop, self.sewn)

    def _built_together(self, stage: Stage, met: Sequence[Meeting]) -> list[Meeting]:
        """Without those between things that are built apart and are only set on each other when they are done."""
        own = 0
        for move in stage.moves:
            own |= move.own
        with_these = {self.ways.bodies.pieces[copy].id for copy in range(len(self.ways.bodies)) if own >> copy & 1}
        return [m for m in met if m.glue != "none" or m.other in with_these]

    def _glued_to(self, moves: Sequence[Move]) -> list[str]:
        """The parts that stand and that what moves is glued to, be it by a corner."""
        pieces = self.ways.bodies.pieces
        touches = [touch for move in moves for touch in self.ways.touches_of(move.copies, self.standing)]
        return [pieces[touch.b].id for touch in touches if touch.glued and pieces[touch.b].id in self.placed]

    def _closed_by(self, parts: Sequence[str]) -> list[Joint]:
        """The seams whose last part goes in now."""
        together = {*self.placed, *parts}
        return [j for j in self.seams if together.issuperset(j.parts) and not set(self.placed).issuperset(j.parts)]

    def _wedged(self, stage: Stage) -> bool:
        """Does a plate go in between walls that its edges are glued to on opposite sides? Then cement grips askew."""
        standing = self.standing
        for move in stage.moves:
            piece = self.ways.bodies.pieces[move.copies[0]]
            if isinstance(piece.body, FlatBody) and piece.glue == "contact" and len(move.copies) == 1:
                ways = [
                    touch.areas @ touch.normals / touch.area
                    for touch in self.ways.touches_of(move.copies, standing)
                    if touch.glued and touch.broad[0] < 0.5 and not set(touch.edges)
                ]
                if any(float(a @ b) < -_OPPOSITE for a in ways for b in ways):
                    return True
            standing |= self.ways.bodies.mask(move.copies)
        return False

    def _dragged(self, stage: Stage) -> bool:
        """Would contact cement be dragged along a wall on the way in?"""
        standing = self.standing
        for move in stage.moves:
            if (
                self.ways.drag(move.copies, move.way, standing, self.sewn) > practice.DRAGGED
                and not stage.units[-1].whole
            ):
                return True
            standing |= self.ways.bodies.mask(move.copies)
        return False

    # Painting, and after

    def _paint(self, standing: Sequence[str], ahead: Sequence[Stage], final: bool) -> None:
        """What of the parts that stand has no paint yet, with the parts of the stages `ahead` that go in already painted."""
        carried = [self.ways.bodies.pieces[c].id for stage in ahead for move in stage.moves for c in move.copies]
        parts = dict.fromkeys((*standing, *carried))
        fresh = [part for part in parts if part not in self.painted and not is_bare(self.pieces[part])]
        fresh = [part for part in fresh if not self._sealed(part)]
        if not fresh:
            return
        area = sum(self.patterns.pattern(part).area * len(self.pieces[part].placements) for part in fresh)
        coats = practice.FILLER_COATS + practice.SEALER_COATS + practice.PAINT_COATS + practice.VARNISH_COATS
        masks = [p for p in self.loose if kind(p.kind).paints and (final or self._masked(p) & set(fresh))]
        masks = [p for p in masks if p.id not in self.painted]
        stencilled = sum(
            len(self.pieces[part].placements) for mask in masks for part in self._masked(mask) & set(fresh)
        )
        minutes = practice.MINUTES_PER_M2_FINISHED * area / 1e6 + practice.MINUTES_PER_COAT * coats
        minutes += practice.MINUTES_PER_MASK * stencilled
        finished = [self.pieces[part] for part in standing if part not in fresh and self._shows(part)]
        kept = self._kept_bare(fresh)
        self.painted |= {*fresh, *(p.id for p in masks)}
        uses = ["sandpaper", "cloth", "filler", "primer", "spray", "paint", "varnish", "paint-brushes", "guard"]
        if finished or kept:
            uses.append("tape")
        if masks:
            uses.append("card-mask")
        apart = [self.pieces[part] for part in fresh if part not in self.placed]
        title, text = painting.paint([self.pieces[p] for p in fresh], masks, final, apart, kept, finished, self.coated)
        if final:
            text = [*self._tried_on(), *tried_on(self.ways.bodies, self._things()), *text]
        wait = practice.WAIT_COATED * coats
        cautions = ("sanding-dust", "paint")
        self._add(title, (*fresh, *(p.id for p in masks)), "", minutes, fresh, text, cautions, wait=wait, uses=uses)
        self.coated = self.coated or len(self.made)

    def _tried_on(self) -> list[str]:
        """A prop that is made for a figure is held against it while it can still be cut and glued."""
        figure = self.prop.design.figure
        if not figure or self.coated:
            return []
        if "wearer" in self.prop.design.used_by:
            return [
                say(
                    "Try it on before you seal it: hold it in place with tape, move as you will when you wear it, and look in "
                    "a mirror. Trim, bend or pad now what presses or chafes."
                )
            ]
        return [
            say(
                "Try it on before you seal it: it must take the {figure} without force. Sand or trim now what is in the way.",
                figure=figure["name"],
            )
        ]

    def _things(self) -> Sequence[int]:
        """The copies, as bits, of each thing that is built apart from the others."""
        return tuple(dict.fromkeys(move.own for stage in self.stages for move in stage.moves))

    def _masked(self, mask: Piece) -> set[str]:
        """The parts that are painted through a mask."""
        return {part for spec in self.prop.design.parts if spec.id == mask.id for part in painted_through(spec)}

    def _shows(self, part: str) -> bool:
        """Can paint get on to a part that stands?"""
        seen = self.ways.sight.shown(self.standing)
        return any(seen[copy] > _SEEN for copy in self.ways.bodies.of(part))

    def _sealed(self, part: str) -> bool:
        """Does nothing to speak of show of a part when all is done?"""
        copies = self.ways.bodies.of(part)
        seen = self.ways.sight.shown((1 << len(self.ways.bodies)) - 1)
        return bool(copies) and all(seen[copy] < _SEALED for copy in copies)

    def _kept_bare(self, fresh: Sequence[str]) -> list[painting.Bare]:
        """Where the parts that are painted now take glue later."""
        bodies = self.ways.bodies
        found: dict[tuple[str, str], dict[str, None]] = {}
        for (a, b), touch in sorted(bodies.touches.items()):
            one, other = bodies.pieces[b], bodies.pieces[a]
            standing = self.standing >> a & 1 and self.standing >> b & 1
            if touch.glued and not standing and one.id in fresh:
                found.setdefault((one.id, painting.place(one, other, touch)), {})[other.id] = None
        order = {part: i for i, part in enumerate(fresh)}
        ordered = sorted(found.items(), key=lambda item: order[item[0][0]])
        return [painting.Bare(self.pieces[part], where, [self.pieces[o] for o in to]) for (part, where), to in ordered]

    def _last(self) -> None:
        parts = tuple(self.pieces)
        title, text = painting.last("pet" in self.prop.design.used_by)
        text[2:2] = set_down(self.ways.bodies, self._things())
        uses = ("cloth", *(["felt"] if any(piece.padding for piece in self.pieces.values()) else []))
        cautions = ("light",) if self.prop.design.lit_by else ()
        self._add(title, parts, "", 10.0, parts, text, cautions, wait=practice.WAIT_CURED, uses=uses)
        for note in self.prop.design.steps:
            if note.get("when") == "cured":
                named = tuple(note["parts"])
                uses = tuple(supplies.mentioned([note["note"]]))
                self._add(
                    note["title"],
                    named,
                    "",
                    MINUTES_OF_A_NOTE,
                    tuple(self.pieces),
                    note["note"].splitlines(),
                    (),
                    uses=uses,
                )

    def _add(
        self,
        title: str,
        parts: tuple[str, ...],
        glue: str,
        minutes: float,
        before: Iterable[str],
        text: Sequence[str],
        cautions: Iterable[str],
        places: tuple[str, ...] = (),
        moves: tuple[StepMove, ...] = (),
        bench: tuple[str, ...] = (),
        wait: float | None = None,
        uses: Iterable[str] = (),
        after: Iterable[int] = (),
    ) -> None:
        number = len(self.made) + 1
        waited = {*after, *(self.done[part] for part in (*before, *parts) if part in self.done)}
        waits_for = tuple(n for n in sorted(waited) if not any(self.behind[m] >> n & 1 for m in waited))
        self.behind[number] = sum(1 << n for n in waits_for)
        for n in waits_for:
            self.behind[number] |= self.behind[n]
        rounded = 5.0 * max(1, ceil(minutes / 5.0 - 1e-9))
        keys = tuple(dict.fromkeys(cautions))
        if wait is None:
            wait = {"contact": practice.WAIT_CEMENT, "instant": practice.WAIT_INSTANT}.get(glue, 0.0)
        self.made.append(
            Step(
                number,
                title,
                parts,
                glue,
                rounded,
                waits_for,
                tuple(text),
                keys,
                places,
                moves,
                bench,
                wait,
                tuple(dict.fromkeys(uses)),
            )
        )
        self.done |= dict.fromkeys(parts, number)

    # Figures

    def _minutes(self, parts: Iterable[str], length: float, area: float) -> float:
        """Hands-on time of gluing: `length` in mm of seams, `area` in mm2 of faces, over all copies."""
        pieces = sum(len(self.pieces[part].placements) for part in parts)
        return (
            practice.MINUTES_PER_PIECE_GLUED * pieces
            + practice.MINUTES_PER_METRE_GLUED * length / 1000.0
            + practice.MINUTES_PER_M2_GLUED * area / 1e6
        )

    def _is_warmed(self, piece: Piece) -> bool:
        strain = self.patterns.pattern(piece.id).strain
        bend = max(abs(strain.inner_face), abs(strain.outer_face))
        return strain.max > practice.COLD_STRAIN or bend > practice.COLD_BEND

    def _small(self, pieces: Iterable[Piece]) -> tuple[str, ...]:
        spans = (self.patterns.pattern(piece.id).outline for piece in pieces)
        small = any(max(outline.max(axis=0) - outline.min(axis=0)) < SMALL_PART for outline in spans)
        return ("small-parts",) if small else ()


def _drawn(edge: PatternEdge) -> float:
    """Length of an edge in mm as it is drawn, on the inside face, with its darts closed."""
    spans = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    spans[list(edge.mouths)] = 0.0
    return float(spans.sum())


def _batched(stages: Sequence[Stage], sewn: set[frozenset[str]], needs: Mapping[str, set[str]]) -> list[Stage]:
    """Stages that follow each other made one step: parts of one rank and one glue, joined by seams or by none."""
    batches: list[Stage] = []
    for stage in stages:
        last = batches[-1] if batches else None
        if last is not None and _alike(last, stage, sewn, needs):
            batches[-1] = Stage((*last.units, *stage.units), (*last.moves, *stage.moves), (*last.bench, *stage.bench))
        else:
            batches.append(stage)
    return batches


def _alike(one: Stage, two: Stage, sewn: set[frozenset[str]], needs: Mapping[str, set[str]]) -> bool:
    every = (*one.units, *two.units)
    if len({move.own for move in (*one.moves, *two.moves)}) > 1:  # things that are built apart
        return False
    if any(unit.noted or unit.whole for unit in every) or one.bench or two.bench:
        return False
    if len({unit.rank for unit in every}) > 1 or len({unit.glue for unit in every}) > 1:
        return False
    waits = any(needs[part] & set(one.parts) for part in two.parts)
    if (waits and one.units[0].rank < RANK["detail"]) or sum(len(unit.parts) for unit in every) > PARTS_PER_STEP:
        return False
    seams = [any(part in pair for pair in sewn) for unit in every for part in unit.parts]
    return not any(seams) or any(frozenset((a, b)) in sewn for a in one.parts for b in two.parts)


def _with_their_base(stages: Sequence[Stage], sewn: set[frozenset[str]], ways: Ways) -> list[Stage]:
    """A part that is only laid on the table to begin with has no step of its own, but one with what first goes on it."""
    joined: list[Stage] = []
    standing = 0
    for stage in stages:
        last = joined[-1] if joined else None
        if last is not None and _only_lies_there(last, sewn, ways, standing) and _goes_on(stage, last, ways):
            joined[-1] = Stage((*last.units, *stage.units), (*last.moves, *stage.moves), (*last.bench, *stage.bench))
        else:
            standing |= ways.bodies.mask(copy for move in (last.moves if last else ()) for copy in move.copies)
            joined.append(stage)
    return joined


def _only_lies_there(stage: Stage, sewn: set[frozenset[str]], ways: Ways, standing: int) -> bool:
    """One flat part, of which there is nothing to say: it touches nothing that stands, and none of its copies another."""
    single = bool(stage.moves) and all(len(move.copies) == 1 for move in stage.moves)
    if len(stage.parts) != 1 or not single or stage.units[0].noted:
        return False
    copies = tuple(move.copies[0] for move in stage.moves)
    piece = ways.bodies.pieces[copies[0]]
    if not isinstance(piece.body, FlatBody) or any(piece.id in pair for pair in sewn):
        return False
    with_own = standing | ways.bodies.mask(copies)
    return not any(touch.glued for copy in copies for touch in ways.touches_of((copy,), with_own))


def _goes_on(stage: Stage, base: Stage, ways: Ways) -> bool:
    """Does a stage put something on what has just been laid down, and is it not one of several things by itself?"""
    below = ways.bodies.mask(copy for move in base.moves for copy in move.copies)
    glued = any(touch.glued for move in stage.moves for touch in ways.touches_of(move.copies, below))
    return glued and not any(unit.noted or unit.whole for unit in stage.units)


def _recorded(moves: Sequence[Move]) -> tuple[StepMove, ...]:
    return tuple(
        StepMove(
            move.copies,
            tuple((leg.towards, leg.travel) for leg in move.way.legs),
            move.way.bend is not None,
            bool(move.way.laid),
        )
        for move in moves
    )


def _glue(kinds: Iterable[str]) -> str:
    """The glue of a step; where both kinds are used the one that needs the longer wait names it."""
    return "contact" if "contact" in kinds else "instant" if "instant" in kinds else ""


def _cautions(kinds: Iterable[str]) -> tuple[str, ...]:
    names = {"contact": "contact-cement", "instant": "instant-glue"}
    return tuple(key for glue, key in names.items() if glue in kinds)
