"""The steps at the bench: the stages of the plan with what is cut before, painted between and done after.

What is glued to what is what touches in the model; how a part goes in is the way that was found free for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil, inf
from typing import TYPE_CHECKING, Any

from foamwright.assembly import practice, setting_down
from foamwright.assembly.batches import batched
from foamwright.assembly.closing import closed_in
from foamwright.assembly.gripping import grips
from foamwright.assembly.joints import beneath, drawn_length, joints
from foamwright.assembly.meetings import Meeting, meetings
from foamwright.assembly.naming import plain, the
from foamwright.assembly.planning import plan
from foamwright.assembly.records import Joint, Step
from foamwright.assembly.shutting import shuts_in
from foamwright.assembly.taking_apart import Move, Stage
from foamwright.assembly.units import is_bare, prerequisites, units, when_cured
from foamwright.assembly.ways_in import RIGID, Ways
from foamwright.assembly.work import (
    Work,
    by_glue,
    cautions_of,
    cautions_of_size,
    extent,
    gluing_minutes,
    headed,
    main_glue,
    recorded,
)
from foamwright.booklet.words import (
    bending,
    checks,
    first_work,
    gauging,
    glue_up,
    gluing,
    in_turn,
    joining,
    painting,
    places,
    supplies,
    titles,
    warming,
)
from foamwright.booklet.words.coats import Coats
from foamwright.booklet.words.fitting import Fitting
from foamwright.flatten.records import Patterns
from foamwright.language import length, listed, rounded, say
from foamwright.parts.records import BandBody, Piece, Prop, RodBody
from foamwright.registry import RANK, kind
from foamwright.templates.wording import seam_numbers

if TYPE_CHECKING:  # the solids step is heavy, and only its plain record is read here
    import numpy as np

    from foamwright.model.figure import Fit

MINUTES_OF_A_NOTE = 15.0  # of each paragraph of a step that only the design tells of
_MINUTES_OF_LAST = 10.0
_BELOW = 1.0  # mm that a part must reach below what stands for this to stand higher on the table
_AT_FACE = 0.5  # share of a contact at a broad face: more, and it lies there; less, and it is an edge that stands there
_TOUCHES = 0.5  # mm of room: less is told as none
_LENGTH = re.compile(r"\d (mm|in)\b")  # in a sentence, whatever its language


def order(
    prop: Prop,
    patterns: Patterns,
    ways: Ways,
    fit: Fit | None = None,
    figure: tuple[np.ndarray, np.ndarray] | None = None,
) -> tuple[Step, ...]:
    """Steps from the first cut to the last coat; each waits for the steps whose parts it touches. `fit` is how a figure
    fits the finished prop and `figure` its mesh, points (n, 3) and triangles (m, 3); None where there is none.

    DesignError: parts that wait for each other, or a step note of the design that cannot be one step.
    BuildError: a part has no way in, in any order or in that of the design's own steps.
    """
    return _Bench(prop, patterns, ways, fit, figure).steps()


class _Bench:
    """Makes one step after another."""

    def __init__(
        self,
        prop: Prop,
        patterns: Patterns,
        ways: Ways,
        fit: Fit | None,
        figure: tuple[np.ndarray, np.ndarray] | None,
    ):
        self.patterns, self.ways, self.fit = patterns, ways, fit
        prop = replace(prop, pieces=tuple(piece for piece in prop.pieces if piece.placements))
        self.prop = prop
        self.pieces = {piece.id: piece for piece in prop.pieces}
        self.loose = [p.piece for p in patterns.patterns if not p.piece.placements]
        self.below = beneath(prop)
        self.needs = prerequisites(prop)
        stages = plan(units(prop, self.needs, self._rank), self.needs, ways)
        every = joints(prop, patterns)
        self.inside = [joint for joint in every if joint.kind in first_work.WITHIN]
        self.seams = [joint for joint in every if joint.kind == "seam"]
        self.sewn = {frozenset(joint.parts) for joint in self.seams}
        self.seam_numbers = seam_numbers(patterns)
        self.warmed = frozenset(p.piece.id for p in patterns.patterns if warming.is_warmed(p))
        self.drawn_outside = {p.piece.id for p in patterns.patterns if p.drawn_face != "inside"}
        self.ticked = {
            self.seam_numbers[key]
            for p in patterns.patterns
            for edge in p.edges
            for key in self.seam_numbers
            if (p.piece.id, edge.id) in key and len(edge.tick_numbers) > 1
        }
        self.drawn = {(p.piece.id, edge.id): drawn_length(edge) for p in patterns.patterns for edge in p.edges}
        self.stages = batched(stages, self.sewn, self.needs, ways)
        self.coats = Coats(self.stages, prop, ways, self.sewn)
        self.closed_in = closed_in(self.stages, ways)
        told = fit is None or fit.entry is not None  # the design says how it gets in
        self.shuts_in = None if told else shuts_in(self.stages, ways, figure, self._run_into())
        self.number_of: list[int] = []  # the step of each stage
        self.done: dict[str, int] = {}  # part -> the step that touched it last
        self.placed: list[str] = []
        self.done_loose: set[str] = set()
        self.standing = 0
        self.benched: list[int] = []  # the copies, as bits, of each thing that is put together at the bench
        self.closed: set[frozenset[tuple[str, str]]] = set()  # the seams that are closed there
        self.painted: set[str] = set()
        shown = {part: share for part, share in self.coats.insides().items() if part not in self.drawn_outside}
        self.insides_shown = frozenset(shown)
        self.insides = self.coats.insides_first(shown)
        self.painted_inside: set[str] = set()
        self.heated_in = 0  # the step that closes pores with heat, and bends
        self.coated = 0  # the first step that paints
        self.taped_in = 0  # the first that tells how colours that meet are taped
        self.tried = False  # has the figure been tried?
        self.on_table: list[
            tuple[int, int, float]
        ] = []  # steps that measure from the table, what stands then, its foot
        self.said: dict[str, int] = {}  # sentences, with the first step that has each
        self.made: list[Step] = []
        self.behind: dict[int, int] = {}  # step -> all steps before it, as bits

    def steps(self) -> tuple[Step, ...]:
        hollows, gauged = bending.hollows(self.patterns), gauging.gauges(self.patterns.patterns)
        self._add(first_work.cut(self.patterns, bool(self.seam_numbers), self.ways.bodies))
        pores = first_work.close_pores(
            self.patterns,
            self.coats.unseen_faces(self.drawn_outside),
            self.insides_shown,
            hollows,
            gauged,
            self.pieces,
            self.ways.bodies,
        )
        self._add(pores)
        self.heated_in = len(self.made) if pores else 0
        for work in first_work.WITHIN:
            self._add(first_work.within(work, self.inside, self.patterns, self.pieces, gauged))
        for number, stage in enumerate(self.stages):
            ahead = self.coats.before(number, self.painted)
            if not ahead and not self.coats.is_bare(number) and self._open_insides(stage.parts):
                ahead = self.coats.next_round(number, self.painted)  # one round of paint serves for both
            for other in ahead:
                if self.coats.of_one_colour(other):
                    self._bench(other)
            standing = self.placed if self.coats.is_bare(number) else ()
            final = self.coats.is_bare(number) and number > self.coats.last
            self._paint(standing, ahead, final, bool(ahead) or bool(self._open_insides(stage.parts)))
            self._fit(stage, [self.number_of[i] for i in sorted(self.closed_in[number])])
            self.number_of.append(len(self.made))
        self._paint(self.placed, (), final=True, insides=False)
        self._last()
        return tuple(self.made)

    def _rank(self, piece: Piece) -> int:
        on_shell = any(kind(self.pieces[other].kind).is_shell for other in self.below[piece.id])
        own = kind(piece.kind)
        special = own.rank_on_shell if on_shell else own.rank_of_small if piece.glue == "instant" else ""
        return RANK[special or own.rank]

    # Putting together

    def _fit(self, stage: Stage, after: Sequence[int]) -> None:
        """The step of a stage; `after` are the steps that it would close in."""
        riders = self._bench(stage)
        told, glues = self._told(stage, riders)
        uses, cautions = _needs(told, glues)
        lines = joining.fitting(told)
        if any(places.taped_in_hole() in line for line in lines):
            uses.append("card-mask")
        touched = self._glued_to(stage.moves)
        touched += [part for joint in told.seams for part in joint.parts if part in self.placed]
        needed = [part for p in stage.parts for part in self.pieces if part in self.needs[p]]
        needed += checks.measured_from(told)
        length, _ = extent((*told.seams, *told.whole_seams))
        every = (*stage.parts, *riders)
        wet = joining.sets_wet(told)
        low, own = self._lowest(copy for move in stage.moves for copy in move.copies), 0
        for move in stage.moves:
            own |= move.own
        after = [*after, *(n for n, stood, foot in self.on_table if stood & own and low < foot - _BELOW)]
        self._add(
            Work(
                titles.title(told),
                every,
                [
                    *(line for unit in stage.units for line in self._threaded(unit.uses, unit.note)),
                    *lines,
                ],
                main_glue(glues),
                gluing_minutes(
                    told.pieces, _joined(told), length, sum(m.area for m in told.meetings if m.glue != "none")
                )
                + _shaping_minutes(told)
                + sum(unit.minutes for unit in stage.units),
                [p for p in dict.fromkeys((*touched, *needed, *riders)) if p not in stage.parts],
                (*cautions, *cautions_of_size(told.pieces, self.patterns)),
                places=every,
                moves=setting_down.past_what_stands(self.ways, self._things(), stage.moves, self.standing),
                uses=uses,
                after=after,
                drying=practice.WAIT_WET + practice.WAIT_CEMENT if wet else 0.0,
                rounds=1 if wet else in_turn.rounds(told),
                glued=_glued(told),
            )
        )
        if checks.on_table(told):
            foot = self._lowest(copy for copy in range(len(self.ways.bodies)) if told.standing >> copy & 1)
            self.on_table.append((len(self.made), told.standing, foot))
        self.placed += every
        self.standing |= self.ways.bodies.mask(copy for move in stage.moves for copy in move.copies)
        self._add_loose()

    def _lowest(self, copies: Iterable[int]) -> float:
        """The height in mm of the lowest place of some copies; infinite for none."""
        found = tuple(copies)
        return float(self.ways.bodies.mesh(found)[0][:, 2].min()) if found else inf

    def _told(self, stage: Stage, riders: Sequence[str]) -> tuple[Fitting, set[str]]:
        """What is known of the step of a stage, and the glues that it takes."""
        pieces = [self.pieces[part] for part in stage.parts]
        beside = 0  # what stands and is built together with the new parts
        for move in stage.moves:
            beside |= self.standing & move.own
        met = self._meetings(stage.moves)
        mine = self._built_together(stage, met)
        closed = self._closed_by(stage.parts)
        wholes = [set(unit.parts) for unit in stage.units if unit.whole]
        within = [joint for joint in closed if any(whole.issuperset(joint.parts) for whole in wholes)]
        seams = [joint for joint in closed if joint not in within]
        glues = {m.glue for m in mine} | {s.glue for s in closed}
        glues |= {piece.glue for piece in pieces if stage.bench and any(piece.id in whole for whole in wholes)}
        glues |= {piece.glue for piece in gluing.unmet(pieces, mine, seams, bool(self.placed))}
        told = self._fitting(
            pieces=pieces,
            units=stage.units,
            moves=stage.moves,
            meetings=mine,
            resting=[m for m in met if m not in mine],
            seams=seams,
            whole_seams=within,
            riders=[self.pieces[part] for part in riders],
            bench=stage.bench,
            standing=beside,
            anything=bool(beside) if stage.moves else bool(self.placed),
            grips="contact" in glues and grips(stage, self.standing, self.sewn, self.ways),
            inside_shows=[piece for piece in pieces if self._inside_shows(piece)],
            trial=self._trial(stage),
            tight=self._tight(stage),
        )
        return told, glues - {"none"}

    def _inside_shows(self, piece: Piece) -> bool:
        """Does the inside of a part, with the lines that are drawn on it, show when the last of it is painted?"""
        if piece.id in {*self.drawn_outside, *self.painted, *self.painted_inside} or is_bare(piece):
            return False
        moves = [move for stage in self.stages[: self.coats.last + 1] for move in stage.moves]
        return self.coats.shows_inside(piece.id, self.ways.bodies.mask(copy for move in moves for copy in move.copies))

    def _trial(self, stage: Stage) -> list[str]:
        """How the figure is tried at the part that leaves it the least room, while this can still be trimmed. What is worn is
        tried on when all is glued, and a pet keeps away from fresh cement."""
        barred = (
            self.fit is not None and self.fit.entry is not None and self.fit.entry.blocks
        )  # it does not get that far
        if self.fit is None or barred or self.fit.contacts or {"wearer", "pet"} & {*self.prop.design.used_by}:
            return []
        closest = self.fit.beside or self.fit.entry or self.fit
        if self.pieces[closest.part].glue == "none":
            return []
        if self.shuts_in is not None:
            if self.stages[self.shuts_in] is not stage:
                return []
            self.tried = True
            return [
                say(
                    "This step closes the {figure} in. Try it before you glue, with the parts held by tape, and trim what "
                    "presses. Then put it in for good: later it can neither be put in nor taken out.",
                    figure=self.fit.figure,
                )
            ]
        if closest.part not in stage.parts or closest.clearance > practice.EASY_ROOM or not self.standing:
            return []
        if not any(self.standing & move.own for move in stage.moves):
            return []  # what is built apart is tried when it is set on what stands
        self.tried = True
        whole = next((unit.whole for unit in stage.units if closest.part in unit.parts), "")
        part = say("the {whole}", whole=plain(whole)) if whole else the(self.pieces[closest.part])
        if closest.clearance < _TOUCHES:  # it may rest there
            return [
                say(
                    "Before you glue, hold {part} in its place with tape and put the {figure} in: it touches there, and must "
                    "not be pressed. Trim now what presses.",
                    part=part,
                    figure=self.fit.figure,
                )
            ]
        return [
            say(
                "Before you glue, hold {part} in its place with tape and put the {figure} in: this is the tightest place, with "
                "{size} to spare. Trim now what presses.",
                part=part,
                figure=self.fit.figure,
                size=length(closest.clearance, 1),
            )
        ]

    def _run_into(self) -> list[int]:
        """The copies that the figure runs into in its place."""
        met = {(contact.part, contact.copy) for contact in self.fit.contacts} if self.fit else set()
        number = {part: self.ways.bodies.of(part) for part, _ in met}
        return [number[part][copy - 1] for part, copy in sorted(met)]

    def _tight(self, stage: Stage) -> dict[str, set[str]]:
        """By part, the parts that its foam or theirs must give way to on its way in."""
        pieces = self.ways.bodies.pieces
        found: dict[str, set[str]] = {}
        standing = self.standing
        for move in stage.moves:
            part = pieces[move.copies[0]].id
            met = self.ways.tight(move.copies, move.way, standing & move.own)
            others = {piece.id for copy, piece in enumerate(pieces) if met >> copy & 1}
            others = {
                other
                for other in others
                if frozenset((part, other)) not in self.sewn
                and self.pieces[other].stock.material_type not in RIGID
                and not isinstance(self.pieces[other].body, RodBody)
            }
            if others:
                found.setdefault(part, set()).update(others)
            standing |= self.ways.bodies.mask(move.copies)
        return found

    def _fitting(self, pieces: Sequence[Piece], **of_step: Any) -> Fitting:
        """What is known of a step: of the whole prop, and of the step itself."""
        trimmed = [p for p in pieces if isinstance(p.body, BandBody) and max(p.body.trim_start, p.body.trim_end) > 0.0]
        return Fitting(
            pieces=pieces,
            every=self.pieces,
            bodies=self.ways.bodies,
            drawn=self.drawn,
            seam_numbers=self.seam_numbers,
            ticked=self.ticked,
            drawn_outside=self.drawn_outside,
            warmed=self.warmed,
            heated_in=self.heated_in,
            trimmed=trimmed,
            begun=bool(self.placed),
            painted=frozenset(self.painted),
            painted_inside=frozenset(self.painted_inside),
            said=self.said,
            **of_step,
        )

    def _add_loose(self) -> None:
        """What is glued on by eye, once the parts that it comes after are in place."""
        due = [p for p in self.loose if p.after and p.id not in self.done_loose and set(p.after) <= set(self.placed)]
        if not due:
            return
        self.done_loose |= {piece.id for piece in due}
        called_for = supplies.mentioned((piece.note for piece in due), (piece.stock.name for piece in due))
        self._add(
            Work(
                titles.loose(due),
                tuple(piece.id for piece in due),
                joining.loose(due),
                "contact",
                (practice.MINUTES_PER_PIECE_GLUED + practice.MINUTES_PER_JOINT_GLUED)
                * sum(piece.loose for piece in due),
                [part for piece in due for part in piece.after],
                ("contact-cement",),
                uses=("brush", "weights", "tape", "guard", *called_for),
            )
        )

    def _bench(self, stage: Stage) -> list[str]:
        """Smaller parts put on a larger one while it lies on the bench, unless they are; returns their ids."""
        riders = [self.ways.bodies.pieces[copy].id for move in stage.moves for copy in move.copies]
        riders = [part for part in dict.fromkeys(riders) if part not in stage.parts]
        things = [self.ways.bodies.mask(move.copies) for move in stage.moves if len(move.copies) > 1]
        if not riders or set(things) <= set(self.benched):
            return riders
        self.benched += things
        carrying = [move for move in stage.moves if len(move.copies) > 1]
        leads = tuple(dict.fromkeys(self.ways.bodies.pieces[move.copies[0]].id for move in carrying))
        copies = {
            part: [m.copies[0] for m in carrying if self.ways.bodies.pieces[m.copies[0]].id == part] for part in leads
        }
        lying = self.ways.bodies.mask(move.copies[0] for move in carrying)
        mine = self._meetings(stage.bench, start=lying)
        pieces = [self.pieces[part] for part in riders]
        seams = [joint for joint in self.seams if {*leads, *riders}.issuperset(joint.parts)]
        self.closed |= {joint.edges_key for joint in seams}
        glues = ({m.glue for m in mine} | {joint.glue for joint in seams}) - {"none"}
        told = self._fitting(
            pieces,
            units=(),
            moves=stage.bench,
            meetings=mine,
            resting=(),
            seams=seams,
            whole_seams=(),
            riders=(),
            bench=(),
            standing=lying,
            anything=True,
            grips=False,
        )
        into = not any(m.broad or isinstance(self.pieces[m.other].body, RodBody) for m in mine)
        over = any(bending.needs_former(self.pieces[part], self.warmed) for part in leads)
        both = tuple(dict.fromkeys((*leads, *riders)))
        self._add(
            Work(
                titles.bench(pieces, [(self.pieces[part], len(those)) for part, those in copies.items()], into),
                both,
                joining.bench(told, copies),
                main_glue(glues),
                gluing_minutes(pieces, _joined(told), extent(seams)[0], sum(m.area for m in mine)),
                cautions=(
                    *cautions_of(glues),
                    *(["knife"] if told.trimmed else []),
                    *cautions_of_size(pieces, self.patterns),
                ),
                bench=both,
                moves=recorded(stage.bench),
                uses=(
                    *_hand_tools(glues),
                    "measure",
                    *(["former"] if over else []),
                    *(["knife", "mat"] if told.trimmed else []),
                ),
                glued=_glued(told),
            )
        )
        return riders

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
        open_ = [joint for joint in self.seams if joint.edges_key not in self.closed]
        return [j for j in open_ if together.issuperset(j.parts) and not set(self.placed).issuperset(j.parts)]

    # Painting, and after

    def _open_insides(self, parts: Sequence[str]) -> list[str]:
        """Those of some parts of which the inside is still to be painted while they lie open on the bench."""
        return [part for part in parts if part in self.insides and part not in self.painted_inside]

    def _paint(self, standing: Sequence[str], ahead: Sequence[Stage], final: bool, insides: bool) -> None:
        """What of the parts that stand has no paint yet, with the parts of the stages `ahead` that go in already painted, and
        with the `insides` of what still lies open on the bench."""
        carried = [self.ways.bodies.pieces[c].id for stage in ahead for move in stage.moves for c in move.copies]
        parts = dict.fromkeys((*standing, *carried))
        fresh = [part for part in parts if part not in self.painted and not is_bare(self.pieces[part])]
        fresh = [part for part in fresh if not self.coats.sealed(part)]
        opened = (
            self._open_insides([p for p in self.pieces if p not in self.placed])
            if insides or (fresh and not final)
            else []
        )
        if not fresh and not opened:
            return
        areas = {part: self._area(part) for part in fresh}
        area = sum(areas.values()) + sum(map(self._area, opened))
        by_paint: dict[str, float] = {}
        for part, each in areas.items():
            by_paint[self.pieces[part].paint] = by_paint.get(self.pieces[part].paint, 0.0) + each
        beside = self.coats.of_other_colours(fresh, self.standing)
        standing_colours = {self.pieces[part].paint for part in fresh if part in self.placed}
        rounds = len(standing_colours) if beside else 1  # colours that meet go on one after the other
        coats = practice.SEALER_COATS + practice.PAINT_COATS * rounds + practice.VARNISH_COATS
        glued = any(step.glue for step in self.made)
        joined = glued and any(part in self.placed for part in fresh)  # seams are filled, once their glue has set
        masks = [p for p in self.loose if kind(p.kind).paints and (final or self.coats.masked(p) & set(fresh))]
        masks = [p for p in masks if p.id not in self.painted]
        through = [part for mask in masks for part in self.coats.masked(mask) & set(fresh)]
        minutes = practice.MINUTES_PER_M2_FINISHED * area / 1e6
        alone = [part for part in (*fresh, *opened) if part not in self.placed]
        minutes += practice.MINUTES_PER_PIECE_PAINTED * sum(len(self.pieces[part].placements) for part in alone)
        minutes += practice.MINUTES_PER_COAT * (coats + joined)  # filler is worked like a coat
        minutes += practice.MINUTES_PER_MASK * sum(len(self.pieces[part].placements) for part in through)
        finished = [self.pieces[p] for p in standing if p not in fresh and self.coats.shows(p, self.standing)]
        inside = [p for p in fresh if final and self.coats.shows_inside(p, self.standing)]
        seen_in = [self.pieces[p] for p in inside if p not in self.painted_inside]
        done_inside = [self.pieces[p] for p in inside if p in self.painted_inside]
        self.painted_inside |= {*opened}
        hidden = self.coats.hidden_faces([p for p in fresh if p not in self.placed], self.drawn_outside)
        below = self.coats.stands_on(fresh, self.drawn_outside)
        hidden = {drawn: list(dict.fromkeys((*hidden[drawn], *below[drawn]))) for drawn in hidden}
        kept = self.coats.kept_bare(fresh, (self.standing, *self.benched), hidden, self.drawn_outside)
        minutes += practice.MINUTES_PER_PLACE_MASKED * sum(len(bare.piece.placements) for bare in kept)
        finish = self._finished_loose([p for p in fresh if p not in self.placed], opened)
        self.painted |= {*fresh, *(p.id for p in masks)}
        uses = ["sandpaper", "cloth", "primer", "spray", "paint", "varnish", "paint-brushes", "guard"]
        if joined:
            uses.append("filler")
        if finished or kept or opened:
            uses.append("tape")
        if masks or finished or beside:
            uses.append("card-mask")
        metal = painting.of_metal([self.pieces[part] for part in fresh])
        if not self.coated:
            uses.append("wear")
        if metal:
            uses.append("chips")
        if seen_in or opened:
            uses.append("eraser")
        apart = [self.pieces[part] for part in fresh if part not in self.placed]
        in_turn = sorted((self.pieces[p] for p in fresh), key=lambda piece: -by_paint[piece.paint])
        tried = setting_down.tried_on(self.ways.bodies, self._things(), fresh, {*self.placed, *fresh}, self._built_in())
        title, passages = painting.paint(
            in_turn,
            masks,
            final,
            apart,
            kept,
            finished,
            self.coated,
            seen_in,
            [self.pieces[p] for p in opened],
            [self.pieces[p] for p in opened if self._is_lined(p)],
            done_inside,
            hidden,
            beside,
            joined,
            metal,
            finish,
            {*self._benched_with_loose(), *self._only_carried(apart)},
            [*(self._tried_on() if final else ()), *tried],
            self.taped_in,
        )
        text, heads = headed(passages)
        self._add(
            Work(
                title,
                (*fresh, *opened, *(p.id for p in masks)),
                text,
                minutes=minutes,
                before=(*fresh, *opened),
                cautions=("sanding-dust", "paint"),
                drying=practice.WAIT_COATED * coats
                + practice.WAIT_FILLED * joined
                + practice.WAIT_TAPED * painting.taped(in_turn, beside)
                + practice.WAIT_COATED * sum(len(self.pieces[part].placements) for part in through),
                rest=practice.WAIT_SET * joined,
                uses=uses,
                one_face=dict.fromkeys(opened, -1.0) | self.coats.showing_faces(hidden, self.drawn_outside),
                heads=heads,
            )
        )
        self.coated = self.coated or len(self.made)
        if beside:
            self.taped_in = self.taped_in or len(self.made)

    def _is_lined(self, part: str) -> bool:
        """Is a curved part set on what stands with their edges against its inside, where nobody sees the lines that it has for
        them?"""
        bodies = self.ways.bodies
        own = next(i for i, stage in enumerate(self.stages) if part in stage.parts)
        before = {p for stage in self.stages[:own] for p in stage.parts}
        return any(
            touch.glued
            and bodies.pieces[a].id == part
            and bodies.pieces[b].id in before
            and touch.broad[0] > _AT_FACE > touch.broad[1]
            for (a, b), touch in bodies.touches.items()
        )

    def _benched_with_loose(self) -> set[str]:
        """The parts that are glued already to one that takes no glue itself, as a flag is to a mast that lifts out."""
        pieces = self.ways.bodies.pieces
        things = [{pieces[c].id for c in range(len(pieces)) if thing >> c & 1} for thing in self.benched]
        return {part for thing in things if any(self.pieces[p].glue == "none" for p in thing) for part in thing}

    def _only_carried(self, apart: Sequence[Piece]) -> set[str]:
        """Of some parts those that rest on something or hang, and that no glue joins to what stands by now."""
        bodies = self.ways.bodies
        joined = {
            bodies.pieces[a].id
            for (a, b), touch in bodies.touches.items()
            if touch.glued and bodies.pieces[b].id in self.placed
        }
        return {piece.id for piece in apart if piece.carried_by} - joined

    def _finished_loose(self, parts: Sequence[str], opened: Sequence[str]) -> list[str]:
        """How the edges and the glued faces of parts are sanded that are painted before they go in, and how they are bent, and
        those of which the inside is, as they lie `opened`: later that would spoil the paint."""
        text = bending.by_hand(
            [self.pieces[part] for part in (*parts, *opened) if bending.is_rolled(self.pieces[part])], self.warmed
        )
        for stage in self.stages:
            moves = tuple(m for m in stage.moves if self.ways.bodies.pieces[m.copies[0]].id in parts)
            if moves:
                standing = self.ways.bodies.mask(
                    copy
                    for before in self.stages[: self.stages.index(stage)]
                    for move in before.moves
                    for copy in move.copies
                )
                pieces = [piece for part in stage.parts if (piece := self.pieces[part]).id in parts]
                text += joining.sanded(
                    pieces, meetings(self.ways, moves, standing, self.prop, self.sewn), self.pieces, self.ways.bodies
                )
        return text

    def _area(self, part: str) -> float:
        """Of one face of all copies of a part, mm2."""
        return self.patterns.pattern(part).area * len(self.pieces[part].placements)

    def _tried_on(self) -> list[str]:
        """A prop that is made for a figure is held against it while it can still be cut and glued."""
        figure = self.prop.design.figure
        if not figure or self.tried:
            return []
        users = {*self.prop.design.used_by}
        if "pet" in users:  # a caution that no size of the prop and no other coat makes needless
            told = [say("Do not try it with the animal yet: the cement is fresh.")]
            if "wearer" in users or not self._roomy():
                told.append(
                    say(
                        "Try it with a bag or a cushion that is filled and tied to its measures, and trim now what would press."
                    )
                )
            return told
        if self.coated:
            return []
        if "wearer" in users:
            return [
                say(
                    "Try it on before you seal it: hold it in place with tape, move as you will when you wear it, and look in "
                    "a mirror. Trim, bend or pad now what presses or chafes."
                )
            ]
        if self._roomy():
            return []
        return [
            say(
                "Put the {figure} in its place once before you paint: it must go there without force. Sand or trim now what is "
                "in the way.",
                figure=figure["name"],
            )
        ]

    def _roomy(self) -> bool:
        """Is the figure known to have room wherever it is?"""
        return self.fit is not None and (self.fit.beside or self.fit.entry or self.fit).clearance > practice.EASY_ROOM

    def _things(self) -> Sequence[int]:
        """The copies, as bits, of each thing that is built apart from the others."""
        return tuple(dict.fromkeys(move.own for stage in self.stages for move in stage.moves))

    def _threaded(self, uses: Sequence[str], note: str) -> list[str]:
        """How the straps among what a step of the design uses are threaded."""
        own = self.prop.design.supplies
        return supplies.threaded([own[key] for key in uses if key in own], self.pieces.values(), note)

    def _stocks(self, parts: Sequence[str]) -> list[str]:
        """The names of what some parts are cut from."""
        return [self.pieces[part].stock.name for part in parts]

    def _built_in(self) -> dict[str, int]:
        """The step that each part goes in."""
        return {part: step.number for step in self.made for part in step.places}

    def _hung_by(self) -> dict[str, str]:
        """By part that hangs what its steps use of what the design wants bought, in words."""
        told: dict[str, str] = {}
        for note in self.prop.design.steps:
            used = [self.prop.design.supplies[key].name for key in note.get("uses", ())]
            hung = [part for part in note["parts"] if self.pieces[part].hangs_from]
            told |= dict.fromkeys(hung, listed(used)) if used else {}
        return told

    def _last(self) -> None:
        parts = tuple(self.pieces)
        title, text = painting.last(self.prop.design.used_by)
        down = setting_down.set_down(self.ways, self._things(), self._built_in())
        hung = setting_down.hung(self.ways.bodies, self._things(), self._hung_by())
        if down:
            text[0] = painting.airing(apart=True)
        last = [note for note in self.prop.design.steps if when_cured(note, self.pieces)]
        told = {part for note in last for part in note["parts"]}
        text[2:2] = [*down, *dict.fromkeys(line for part, line in hung.items() if part not in told)]
        padded = any(piece.padding for piece in self.pieces.values())
        self._add(
            Work(
                title,
                parts,
                text,
                minutes=_MINUTES_OF_LAST,
                before=parts,
                cautions=("light",) if self.prop.design.lit_by else (),
                drying=practice.WAIT_CURED,
                uses=("felt",) if padded else (),
                sets=setting_down.moves(self.ways, self._things()),
                loose=tuple(setting_down.loose(self.ways, self._things())),
            )
        )
        glued = [note for note in last if "contact" in painting.glues_of(note["note"])]
        for note in last:
            glues = painting.glues_of(note["note"])
            curing = [painting.cured_again()] if note in glued[-1:] else []  # nothing is used with fresh cement
            bare = painting.scraped() if glues and self.painted.intersection(note["parts"]) else []
            own = dict.fromkeys(hung[part] for part in note["parts"] if part in hung)
            lines = [*own, *self._threaded(note["uses"], note["note"]), *note["note"].splitlines()]
            self._add(
                Work(
                    note["title"],
                    tuple(note["parts"]),
                    [*bare, *lines, *curing],
                    main_glue(glues),
                    minutes=note.get("minutes") or MINUTES_OF_A_NOTE * len(lines),
                    before=parts,
                    drying=practice.WAIT_CURED if curing else 0.0,
                    cautions=cautions_of(glues),
                    uses=(
                        *_hand_tools(glues),
                        *supplies.mentioned([note["note"]], self._stocks(note["parts"])),
                        *note["uses"],
                    ),
                )
            )

    def _add(self, work: Work | None) -> None:
        """One step more, with its number, after those that it must wait for."""
        if work is None:
            return
        number = len(self.made) + 1
        waited = {*work.after, *(self.done[part] for part in (*work.before, *work.parts) if part in self.done)}
        waits_for = tuple(n for n in sorted(waited) if not any(self.behind[m] >> n & 1 for m in waited))
        own, bought = self.prop.design.supplies, supplies.bought_anyway(self.prop.design.supplies)
        measured = any(_LENGTH.search(line) for line in work.text)
        self.behind[number] = sum(1 << n for n in waits_for)
        for n in waits_for:
            self.behind[number] |= self.behind[n]
        self.made.append(
            Step(
                number,
                work.title,
                work.parts,
                work.glue,
                rounded(
                    5.0 * max(1, ceil(work.minutes / 5.0 - 1e-9))
                ),  # as it is told, so that the sum is that of the steps
                waits_for,
                tuple(work.text),
                tuple(dict.fromkeys(work.cautions)),
                work.places,
                work.moves,
                work.bench,
                work.wait,
                tuple(
                    key
                    for key in dict.fromkeys(work.uses)
                    if key not in own and key not in bought and (key != "measure" or measured)
                ),
                tuple(supplies.called(own[key]) for key in dict.fromkeys(work.uses) if key in own),
                work.rounds,
                work.rest,
                work.sets,
                work.one_face,
                work.glued,
                work.loose,
                work.heads,
            )
        )
        self.done |= dict.fromkeys(work.parts, number)
        self.said = dict.fromkeys(work.text, number) | self.said


def _glued(told: Fitting) -> dict[str, float]:
    """What is glued in a step, in mm2 of one face by the glue: what touches, and the seams that are closed."""
    seams = ((joint.glue, joint.area * joint.copies) for joint in (*told.seams, *told.whole_seams))
    return by_glue([*((m.glue, m.area) for m in told.meetings), *seams])


def _joined(told: Fitting) -> int:
    """How many pairs of pieces a step glues to each other."""
    return sum(m.copies for m in told.meetings if m.glue != "none") + sum(joint.copies for joint in told.seams)


def _shaping_minutes(told: Fitting) -> float:
    """Hands-on time of bending once more what springs open, and of trimming what is too long."""
    curved = sum(len(piece.placements) for piece in told.pieces if bending.is_rolled(piece))
    return practice.MINUTES_PER_PIECE_TAMED * curved + practice.MINUTES_PER_BAND_TRIMMED * len(told.trimmed)


def _hand_tools(glues: set[str]) -> list[str]:
    """Keys of what is at hand for glues: drops of instant glue need no brush, and fingers hold them."""
    if "contact" in glues:
        return ["brush", "weights", "tape", "guard"]
    return ["tape", "guard"] if glues else []


def _needs(told: Fitting, glues: set[str]) -> tuple[list[str], list[str]]:
    """Keys of the supplies and of the cautions of a step that puts parts in with these glues."""
    uses = [*_hand_tools(glues), "measure"]
    cautions = list(cautions_of(glues))
    alone = [m for m in told.meetings if m.glue != "none" and m.new not in gluing.built(told)]
    if any(gluing.stands_free(m, told.meetings, told.bodies) for m in alone):
        uses.append("set-square")
    if not told.riders and any(bending.needs_former(piece, told.warmed) for piece in told.pieces):
        uses.append("former")
    if told.inside_shows:
        uses.append("eraser")
    if told.trimmed:
        uses += ["knife", "mat", "measure"]
        cautions.append("knife")
    if joining.sanded(told.bare_yet, told.meetings, told.every, told.bodies):
        uses.append("sandpaper")
    joined = glue_up.of_step(told)
    one_by_one = glue_up.hinges(joined, told.bodies) and not in_turn.as_ring(told, joined)
    if told.grips or joining.is_set_down_large(told) or one_by_one:
        uses.append("slip-paper")
    notes = (*(unit.note for unit in told.units), *(piece.note for piece in told.pieces))
    uses += supplies.mentioned(notes, [piece.stock.name for piece in told.pieces])
    uses += [key for unit in told.units for key in unit.uses]
    if "sandpaper" in uses:
        cautions.append("sanding-dust")
    return uses, cautions
