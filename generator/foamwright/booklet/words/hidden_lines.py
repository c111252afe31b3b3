"""Parts whose placement lines go out of sight as they go on, with nothing else to lead them: a joint that grips at the first
touch is aimed by ticks across it (common practice, no source)."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of
from foamwright.booklet.words import at_lines, gluing
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.supplies import mentioned
from foamwright.language import count, listed, phrase, say
from foamwright.parts.records import FlatBody, Piece
from foamwright.templates.placement_lines import LINES, RING, ROUND

_CLOSED = (ROUND, RING, LINES, at_lines.SEVERAL)  # no edge of the part is one side of them, to be felt as it goes on


def lines(told: Fitting) -> list[str]:
    """How the parts of a step are aimed that carry their lines on the face which goes on; those of one kind in one sentence."""
    found: dict[tuple[bool, bool], list[Piece]] = {}
    for parts in _together(told):
        met = [m for m in told.meetings if m.new in parts and m.other not in parts]
        if met and all(_is_hidden(told, m) for m in met) and not _is_led(told, parts):
            painted = met[0].new in told.painted
            taped = painted or any(m.other in told.painted for m in met)
            found.setdefault((painted, taped), []).append(told.every[met[0].new])
    return [line for how, pieces in found.items() for line in _lines(told, pieces, *how)]


def _lines(told: Fitting, pieces: Sequence[Piece], painted: bool, taped: bool) -> list[str]:
    alone = [piece for piece in pieces if not told.whole_of(piece)]
    names = [say("the {whole}", whole=told.whole_of(piece)) for piece in pieces if piece not in alone]
    going = sum(len(told.own(piece)) for piece in pieces)
    whole = say(
        "Glue grips at the first touch: hold such a part in its place dry, look along the joint until {shown} just shows all "
        "round, and draw a short tick across the joint at two places far apart{where}. Then set it on by the ticks.",
        shown=say("the edge of the paint") if painted else say("the outer line"),
        where=say(", on bits of tape") if taped else "",
    )
    return [
        count(
            "The placement lines of {parts} are out of sight as it goes on.",
            "The placement lines of {parts} are out of sight as they go on.",
            going,
            parts=listed([*names, *([all_of(alone)] if alone else [])]),
        ),
        told.once(whole, phrase("Aim with ticks across the joint, as in step {n}.")),
    ]


def _together(told: Fitting) -> list[set[str]]:
    """The parts of a step that go on as one: the members of a whole, and every other by itself."""
    wholes = [{*unit.parts} for unit in told.units if unit.whole]
    return wholes + [{piece.id} for piece in told.pieces if not any(piece.id in whole for whole in wholes)]


def _is_hidden(told: Fitting, meeting: Meeting) -> bool:
    """Does the flat part that goes on carry the lines, on the face that the other then covers?"""
    if not isinstance(told.every[meeting.new].body, FlatBody) or not meeting.broad or meeting.glue == "none":
        return False
    side, looks = at_lines.seen(gluing.how_met(meeting, told), (meeting,), told.bodies)
    return told.bodies.lines is not None and side == "new" and looks in _CLOSED


def _is_led(told: Fitting, parts: set[str]) -> bool:
    """Is it led to its place by something else: seams, tabs, pins of which the design tells, or an edge that is pushed up against
    another?"""
    notes = [piece.note for piece in told.pieces if piece.id in parts]
    if "pins" in mentioned([*notes, *(unit.note for unit in told.units if parts & {*unit.parts})]):
        return True
    if any(parts & {*joint.parts} and not parts >= {*joint.parts} for joint in told.seams):
        return True
    if any(
        parts & {*gluing.slots_for(piece)} or (piece.id in parts and gluing.slots_for(piece)) for piece in told.pieces
    ):
        return True
    touches = (told.bodies.touches[pair] for m in told.meetings if m.new in parts for pair in m.pairs)
    return any(touch.edges for touch in touches)
