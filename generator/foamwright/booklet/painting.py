"""The sentences of sealing, painting and curing."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet import practice
from foamwright.booklet.naming import all_of, bare, role, the
from foamwright.language import count, listed, say
from foamwright.parts.records import Piece


def close_pores() -> tuple[str, list[str]]:
    """Heat on the bare foam, before any glue goes on."""
    return say("Close the pores with heat"), [
        say("Do this now, while every piece is flat and has no glue on it: heat weakens a glued joint."),
        say(
            "Lay the pieces of foam with the outside face up: that is the one on which you did not trace the cut line. Pass "
            "the heat gun over it once, a hand's breadth away and never still, until it turns slightly shiny. Let each "
            "piece cool flat under a board."
        ),
        say(
            "Leave out cut edges, the face with the markings, and what lies within placement lines: glue holds best on "
            "open pores."
        ),
        say("Try it on an offcut first: foam that curls or shrinks has had too much heat."),
    ]


def paint(
    pieces: Sequence[Piece],
    masks: Sequence[Piece],
    final: bool,
    apart: Sequence[Piece],
    kept_bare: Sequence[Piece],
    finished: Sequence[Piece],
) -> tuple[str, list[str]]:
    """How what stands is sealed and painted; `masks` are painted through.

    `apart` are those of `pieces` that go on later and are painted before, `kept_bare` the parts to which something is
    glued later, `finished` what stands and gets no paint in this step.
    """
    text = []
    if not final:
        text.append(
            say(
                "Paint now what the next parts will hide or must stay clear of: {parts}.",
                parts=_in_short([piece for piece in pieces if piece not in apart]),
            )
        )
    if apart:
        text.append(
            say(
                "Paint {parts} at the same time, but lying on the bench: they are glued on when all is dry. Keep the faces "
                "bare that are glued.",
                parts=all_of(apart),
            )
        )
    if finished:
        text.append(
            say(
                "Cover with paper and low-tack tape what is finished or stays bare: {parts}.", parts=_in_short(finished)
            )
        )
    if kept_bare:
        text.append(
            say(
                "Before you begin, cover with masking tape what later parts are glued to, on {parts}: glue holds on foam "
                "and not on paint.",
                parts=all_of(kept_bare),
            )
        )
    text += [
        say(
            "Fill open seams with gap filler, let it dry, and sand seams and edges smooth, 120 grit first, then 240. "
            "Wipe off all dust. Use no heat from here on."
        ),
        count(
            "Brush on {n} light coat of rubberised primer and let it cure.",
            "Brush on {n} light coats of rubberised primer. Let each cure before the next.",
            practice.SEALER_COATS,
        ),
    ]
    text += _colour_lines(pieces)
    text.append(
        count(
            "Dust on a little spray colour as a ground if you like, then brush on {n} coat of flexible acrylic.",
            "Dust on a little spray colour as a ground if you like, then brush on {n} coats of flexible acrylic, the "
            "first one thinned, each dry before the next. Keep dark colours of the inside off the light outside.",
            practice.PAINT_COATS,
        )
    )
    for mask in masks:
        text.append(
            say(
                "Tape {mask} down flat, dab the paint on through its windows with a nearly dry brush or sponge, and "
                "leave it in place until the paint is dry.",
                mask=the(mask),
            )
        )
        if mask.note:
            text.append(mask.note)
    if final:
        text.append(
            say(
                "If you like it worn: brush on a thinned dark wash and wipe it off the high places; then dab dark "
                "metal on the corners, and bright metal in the middle of each dab."
            )
        )
        text.append(say("Finish with a thin coat of matt varnish."))
    if kept_bare or finished or masks:
        text.append(say("Take all tape off before the last coat is hard."))
    text.append(say("Check: no place is tacky, and the paint does not crack when you press it with a thumb."))
    return (say("Seal and paint") if final else say("Seal and paint what stands so far")), text


def _in_short(pieces: Sequence[Piece]) -> str:
    """Names without letters and numbers, the members of a whole by its name."""
    return listed(list(dict.fromkeys(role(piece)[1] or bare(piece) for piece in pieces)))


def _colour_lines(pieces: Sequence[Piece]) -> list[str]:
    """The base colours of the design, by part."""
    by_colour: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.paint:
            by_colour.setdefault(piece.paint, []).append(piece)
    if not by_colour:
        return [say("Base colours are yours to choose; the pictures show the colour of the foam.")]
    told = [say("{colour}: {parts}", colour=colour, parts=_letters(these)) for colour, these in by_colour.items()]
    return [
        say(
            "Base colours by part: {list}. What is not named keeps its primer or a colour of yours.",
            list="; ".join(told),
        )
    ]


def _letters(pieces: Sequence[Piece]) -> str:
    return ", ".join(piece.label for piece in pieces)


def last() -> tuple[str, list[str]]:
    return say("Let it cure, and check"), [
        say("Leave the prop in moving air for a day, until no smell is left."),
        say("Pull gently at every part. Glue again what moves, and let it cure for another day."),
        say("Read \u201cUse and care\u201d in this booklet before it is used or given away."),
    ]
