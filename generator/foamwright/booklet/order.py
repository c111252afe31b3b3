"""The order in which a prop is put together: what must exist first comes first, like goes with like."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from foamwright.booklet import practice
from foamwright.booklet.joints import beneath, joints, perimeter
from foamwright.booklet.records import Joint, Step
from foamwright.booklet.units import RANK, Unit, prerequisites, units
from foamwright.booklet.wording import (
    close_text,
    cut_text,
    dart_text,
    finish_text,
    fit_text,
    laminate_text,
    segments_text,
    title_of,
    trim_text,
)
from foamwright.flatten.records import Patterns
from foamwright.parts.records import BandBody, Piece, Prop
from foamwright.registry import kind

PARTS_PER_STEP = 6
SMALL_PART = 50.0  # mm; the longer side of a part that can be swallowed or lost


@dataclass(frozen=True)
class _Closing:
    """Seams across the middle that are left open until `inner`, the parts inside, are in."""

    parts: tuple[str, ...]
    inner: tuple[str, ...]
    joints: tuple[Joint, ...]


def order(prop: Prop, patterns: Patterns) -> tuple[Step, ...]:
    """Steps from the first cut to the last coat; each waits for the steps whose parts it touches.

    DesignError: parts that wait for each other, or a step note of the design that cannot be one step.
    """
    return _Assembly(prop, patterns).steps()


class _Assembly:
    """Picks one step after another: of all parts that could go in next, those of the lowest rank."""

    def __init__(self, prop: Prop, patterns: Patterns):
        self.patterns = patterns
        prop = replace(prop, pieces=tuple(piece for piece in prop.pieces if piece.placements))
        self.prop = prop
        self.pieces = {piece.id: piece for piece in prop.pieces}
        self.index = {piece.id: i for i, piece in enumerate(prop.pieces)}
        self.below = beneath(prop)
        self.needs = prerequisites(prop)
        self.units = units(prop, self.needs, self._rank)
        every = joints(prop, patterns)
        self.inside = [joint for joint in every if joint.kind in ("split", "dart", "laminate")]
        self.open = [joint for joint in every if joint.kind not in ("split", "dart", "laminate")]
        self.neighbours = _neighbours(self.open)
        self.done: dict[str, int] = {}  # part -> the step that touched it last
        self.placed: set[str] = set()
        self.closings: list[_Closing] = []
        self.untrimmed = [p.id for p in prop.pieces if _has_trim(p)]
        self.made: list[Step] = []

    def steps(self) -> tuple[Step, ...]:
        self._cut()
        self._prepare("split")
        self._prepare("dart")
        self._prepare("laminate")
        waiting = list(self.units)
        while waiting or self.closings or self.untrimmed:
            ready = [unit for unit in waiting if self._is_ready(unit)]
            first = min(ready, key=lambda unit: (unit.rank, unit.index), default=None)
            rank = first.rank if first else max(RANK.values()) + 1
            closing = next((c for c in self.closings if self.placed.issuperset(c.inner)), None)
            if closing and rank > RANK["close"]:
                self._close(closing)
            elif self.untrimmed and rank > RANK["trim"] and self.placed.issuperset(self.untrimmed):
                self._trim()
            else:
                batch = self._batch(first, ready)
                self._fit(batch, waiting)
                waiting = [unit for unit in waiting if unit not in batch]
        self._finish()
        return tuple(self.made)

    # What goes together

    def _rank(self, piece: Piece) -> int:
        on_shell = any(kind(self.pieces[other].kind).is_shell for other in self.below[piece.id])
        return RANK[kind(piece.kind).rank(piece, on_shell)]

    def _is_ready(self, unit: Unit) -> bool:
        return all(self.needs[part] <= self.placed | set(unit.parts) for part in unit.parts)

    def _batch(self, first: Unit, ready: Sequence[Unit]) -> list[Unit]:
        """The units that share a step with `first`: seam neighbours, or parts of one kind and one glue."""
        if first.noted:
            return [first]
        alike = [u for u in ready if not u.noted and u.rank == first.rank and u.glue == first.glue]
        if not self.neighbours[first.parts[0]]:
            return [u for u in alike if not self.neighbours[u.parts[0]]][:PARTS_PER_STEP]
        batch = [first]
        for unit in batch:  # grows while it is walked: breadth first along the seams
            beside = self.neighbours[unit.parts[0]]
            batch += [u for u in alike if u not in batch and u.parts[0] in beside]
        return sorted(batch[:PARTS_PER_STEP], key=lambda u: u.index)

    # The steps

    def _cut(self) -> None:
        parts = tuple(pattern.piece.id for pattern in self.patterns.patterns)
        minutes = sum(
            practice.MINUTES_PER_PIECE_CUT * p.piece.quantity
            + practice.MINUTES_PER_METRE_CUT * perimeter(p) * p.piece.quantity / 1000.0
            for p in self.patterns.patterns
        )
        self._add("Print, mark and cut", parts, "", minutes, (), cut_text(self.patterns), ("knife", "small-parts"))

    def _prepare(self, work: str) -> None:
        """Work inside single parts, before any is joined to another."""
        mine = [joint for joint in self.inside if joint.kind == work]
        if not mine:
            return
        parts = tuple(joint.parts[0] for joint in mine)
        found = [self.patterns.pattern(part) for part in parts]
        title, text = {
            "split": ("Join the segments of the large parts", segments_text),
            "dart": ("Close the darts", dart_text),
            "laminate": ("Laminate the layered parts", laminate_text),
        }[work]
        self._add(title, parts, _glue(mine), self._minutes(parts, mine), (), text(found), _glue_cautions(mine))

    def _fit(self, batch: Sequence[Unit], waiting: Sequence[Unit]) -> None:
        parts = tuple(part for unit in batch for part in unit.parts)
        together = self.placed | set(parts)
        mine = [joint for joint in self.open if together.issuperset(joint.parts)]
        if not batch[0].noted:
            closing = self._left_open(parts, mine, waiting)
            if closing:
                self.closings.append(closing)
                mine = [joint for joint in mine if joint not in closing.joints]
                self.open = [joint for joint in self.open if joint not in closing.joints]
        self.open = [joint for joint in self.open if joint not in mine]
        pieces = [self.pieces[part] for part in parts]
        warm = [p for p in pieces if self._is_warmed(p)]
        cautions = (*_glue_cautions(mine), *(("heat-gun",) if warm else ()), *self._small(pieces))
        touched = dict.fromkeys(part for joint in mine for part in joint.parts if part in self.placed)
        needed = dict.fromkeys(part for p in parts for part in self.pieces if part in self.needs[p])
        unit = batch[0]
        place = next(name for name, rank in RANK.items() if rank == unit.rank)
        title = unit.title or title_of(place, pieces)
        text = fit_text(pieces, mine, self.pieces, warm, unit.note)
        before = [p for p in (*touched, *needed) if p not in parts]
        self._add(title, parts, _glue(mine), self._minutes(parts, mine), before, text, cautions, places=parts)
        self.placed |= set(parts)

    def _left_open(self, parts: Sequence[str], mine: Sequence[Joint], waiting: Sequence[Unit]) -> _Closing | None:
        """Seams to a mirror image stay open for the bulkheads that go in between the two halves."""
        middle = [joint for joint in mine if joint.kind == "seam" and len(joint.parts) == 1]
        middle = [joint for joint in middle if joint.edges[0] == joint.edges[1]]
        if not middle:
            return None
        mirrored = {joint.parts[0] for joint in middle}
        hold = self.placed | set(parts)
        inner = []
        for unit in waiting:
            if unit.rank != RANK["bulkhead"]:
                continue
            touches = {other for part in unit.parts for other in self._contacts(part)}
            if touches & mirrored and self._only_inside(unit.parts, hold):
                inner += unit.parts
        closed = tuple(part for part in parts if part in mirrored)
        return _Closing(closed, tuple(inner), tuple(middle)) if inner else None

    def _contacts(self, part: str) -> set[str]:
        joined = {other for joint in self.open if part in joint.parts for other in joint.parts}
        return joined | self.needs[part]

    def _only_inside(self, parts: Iterable[str], hold: set[str]) -> bool:
        """Can the parts go in with nothing else but bulkheads and plates?"""
        inside_ranks = (RANK["bulkhead"], RANK["plate"], RANK["detail"])
        seen: set[str] = set()
        stack = list(parts)
        while stack:
            part = stack.pop()
            if part in hold or part in seen:
                continue
            seen.add(part)
            if self._rank(self.pieces[part]) not in inside_ranks:
                return False
            stack += self.needs[part]
        return True

    def _close(self, closing: _Closing) -> None:
        self.closings.remove(closing)
        mine = list(closing.joints)
        pieces = [self.pieces[part] for part in closing.parts]
        # A rim that is glued to both halves meets the second one only now; its first half was counted before.
        minutes = self._minutes((), mine)
        text = close_text(pieces, mine, [self.pieces[part] for part in closing.inner])
        before = (*closing.parts, *closing.inner)
        title = title_of("close", pieces)
        self._add(title, closing.parts, _glue(mine), minutes, before, text, _glue_cautions(mine))

    def _trim(self) -> None:
        parts = tuple(self.untrimmed)
        self.untrimmed = []
        text = trim_text([self.pieces[part] for part in parts])
        minutes = practice.MINUTES_PER_PIECE_CUT * sum(self.pieces[part].quantity for part in parts)
        self._add("Trim the ends flush", parts, "", minutes, parts, text, ("knife",))

    def _finish(self) -> None:
        parts = tuple(self.pieces)
        area = sum(p.area * len(p.piece.placements) for p in self.patterns.patterns)
        minutes = practice.MINUTES_PER_M2_FINISHED * area / 1e6
        cautions = ("sanding-dust", "paint", "small-parts")
        masks = [p.piece for p in self.patterns.patterns if kind(p.piece.kind).paints]
        self._add("Seal and paint", parts, "", minutes, parts, finish_text(masks), cautions)

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
    ) -> None:
        number = len(self.made) + 1
        waited = {self.done[part] for part in (*before, *parts) if part in self.done}
        waits_for = _direct(waited, self.made)
        rounded = 5.0 * max(1, ceil(minutes / 5.0 - 1e-9))
        keys = tuple(dict.fromkeys(cautions))
        self.made.append(Step(number, title, parts, glue, rounded, waits_for, tuple(text), keys, places))
        self.done |= dict.fromkeys(parts, number)

    # Figures

    def _minutes(self, parts: Iterable[str], mine: Iterable[Joint]) -> float:
        pieces = sum(len(self.pieces[part].placements) for part in parts)
        metres = sum(joint.length * joint.copies for joint in mine) / 1000.0
        square_metres = sum(joint.area * joint.copies for joint in mine if not joint.length) / 1e6
        return (
            practice.MINUTES_PER_PIECE_GLUED * pieces
            + practice.MINUTES_PER_METRE_GLUED * metres
            + practice.MINUTES_PER_M2_GLUED * square_metres
        )

    def _is_warmed(self, piece: Piece) -> bool:
        strain = self.patterns.pattern(piece.id).strain
        bend = max(abs(strain.inner_face), abs(strain.outer_face))
        return strain.max > practice.COLD_STRAIN or bend > practice.COLD_BEND

    def _small(self, pieces: Iterable[Piece]) -> tuple[str, ...]:
        spans = (self.patterns.pattern(piece.id).outline for piece in pieces)
        small = any(max(outline.max(axis=0) - outline.min(axis=0)) < SMALL_PART for outline in spans)
        return ("small-parts",) if small else ()


def _neighbours(seams: Iterable[Joint]) -> dict[str, set[str]]:
    """For each part, the parts it shares a seam with; a part that is sewn to its mirror image names itself."""
    found: dict[str, set[str]] = defaultdict(set)
    for joint in seams:
        if joint.kind == "seam":
            for part in joint.parts:
                found[part].update(joint.parts)
    return found


def _has_trim(piece: Piece) -> bool:
    return isinstance(piece.body, BandBody) and max(piece.body.trim_start, piece.body.trim_end) > 0.0


def _direct(waited: set[int], made: Sequence[Step]) -> tuple[int, ...]:
    """`waited` without the steps that another of them already waits for."""
    behind: dict[int, set[int]] = {}
    for step in made:
        behind[step.number] = set(step.waits_for).union(*(behind[n] for n in step.waits_for))
    implied = set().union(*(behind[n] for n in waited))
    return tuple(sorted(waited - implied))


def _glue(mine: Sequence[Joint]) -> str:
    """The glue of a step; where both kinds are used the one that needs the longer wait names it."""
    kinds = {joint.glue for joint in mine}
    return "contact" if "contact" in kinds else "instant" if kinds else ""


def _glue_cautions(mine: Sequence[Joint]) -> tuple[str, ...]:
    kinds = {joint.glue for joint in mine}
    names = {"contact": "contact-cement", "instant": "instant-glue"}
    return tuple(key for kind, key in names.items() if kind in kinds)
