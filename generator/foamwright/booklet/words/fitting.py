"""What is known of a step that puts parts in, for those who write its sentences."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import plain
from foamwright.assembly.records import Joint
from foamwright.assembly.taking_apart import Move
from foamwright.assembly.units import Unit
from foamwright.language import say
from foamwright.parts.records import Piece


@dataclass(frozen=True)
class Fitting:
    """A step that puts parts in, one unit after another."""

    pieces: Sequence[Piece]
    every: Mapping[str, Piece]
    units: Sequence[Unit]
    moves: Sequence[Move]
    bodies: Bodies
    meetings: Sequence[Meeting]
    resting: Sequence[Meeting]  # what only rests on what is built apart from it
    drawn: Mapping[tuple[str, str], float]  # mm of each edge, by part and edge, as a rule finds it on the template
    seams: Sequence[Joint]  # closed now, but for those within a whole
    whole_seams: Sequence[Joint]  # closed now at the bench, within a whole
    seam_numbers: Mapping[frozenset[tuple[str, str]], int]  # as printed along the edges, by part and edge of both sides
    ticked: Collection[int]  # seams with ticks enough to work from one to the next
    drawn_outside: Collection[str]  # parts that are drawn on the outside face
    warmed: Collection[str]  # parts that were bent with heat, before any glue
    trimmed: Sequence[Piece]
    riders: Sequence[Piece]
    bench: Sequence[Move]
    standing: int  # copies, as bits
    anything: bool  # does anything stand that these go with?
    begun: bool  # has anything gone in before?
    heated_in: int  # the number of the step that closes pores with heat, and bends; 0 for none
    grips: bool  # would contact cement catch before the parts are where they go?
    painted: Collection[str] = ()  # parts that are finished already, so that nothing is sanded on them
    painted_inside: Collection[str] = ()  # parts of which the inside is, as they lay open on the bench
    inside_shows: Sequence[Piece] = ()  # drawn on the inside, which shows when all is done
    trial: Sequence[str] = ()  # how the figure is tried while its parts are only taped
    said: Mapping[str, int] = field(
        default_factory=dict
    )  # sentences of the steps before, with the first step that has each
    tight: Mapping[str, Collection[str]] = field(
        default_factory=dict
    )  # by part, the parts that give way to it on its way in

    def once(self, whole: str, again: str) -> str:
        """A sentence, or, where a step before has it, `again`: a phrase in place of it with the number {n} of that step."""
        return say(again, n=self.said[whole]) if whole in self.said else whole

    @property
    def turn(self) -> dict[str, int]:
        """For each part that goes in, which it is in the order in which they do."""
        first: dict[str, int] = {}
        for move in self.moves:
            for copy in move.copies:
                first.setdefault(self.bodies.pieces[copy].id, len(first))
        return first

    @property
    def bare_yet(self) -> list[Piece]:
        """The parts of the step that are not painted yet."""
        return [piece for piece in self.pieces if piece.id not in self.painted]

    def own(self, piece: Piece) -> list[int]:
        """The copies of a part that go in, in their order."""
        return [c for move in self.moves for c in move.copies if self.bodies.pieces[c].id == piece.id]

    def goes_inside(self, piece: Piece) -> bool:
        """Does a part go in with its edges held by what is around it?"""
        mine = [m for m in self.meetings if m.new == piece.id and m.new != m.other]
        return bool(mine) and sum(m.area for m in mine if m.around) > 0.5 * sum(m.area for m in mine)

    def whole_of(self, piece: Piece) -> str:
        """What the thing is called that a part is a member of; "" for none."""
        return next((plain(unit.whole) for unit in self.units if unit.whole and piece.id in unit.parts), "")

    def made(self, unit: Unit) -> int:
        """How often a whole is made: once for each move that takes its members in together."""
        moves = [m for m in self.moves if self.bodies.pieces[m.copies[0]].id in unit.parts and len(m.copies) > 1]
        return max(len(moves), 1)
