"""The sentences of closing pores with heat, and of bending what is warm."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from foamwright.assembly.naming import all_of, capital, letters
from foamwright.assembly.work import Passages
from foamwright.booklet.words import bending
from foamwright.language import count, length, listed, say
from foamwright.parts.records import PanelBody, Piece


@dataclass(frozen=True)
class Shown:
    """The parts of foam by the faces that show when all is done: the `drawn` one, the `other` one, `both`, or `neither`."""

    drawn: Sequence[Piece]
    other: Sequence[Piece]
    both: Sequence[Piece]
    neither: Sequence[Piece]


def close_pores(
    left_out: Sequence[Piece],
    thin: Sequence[Piece],
    bent: Mapping[str, tuple[float, float, str]],
    wide: Sequence[str],
    tight: Sequence[str],
    gauged: Sequence[str],
    pressed: Sequence[str],
    opposite: Sequence[str],
    face: str,
    layered: Sequence[Piece],
    shown: Shown,
    stacked: Collection[str],
) -> tuple[str, Passages]:
    """Heat on the bare foam, before any glue goes on: the title and the passages. `left_out` is foam that gets none, `thin` what
    curls at once, `bent` what will be bent, by letter, with how far across in mm it is bent at its narrow and at its wide end and
    how it is laid, `wide` how what is wider is bent, `tight` how what is tighter than foam bends cold, `gauged` how gauges are
    used, `pressed` how foam is curved the other way as well, `opposite` how saddles are, `face` which face
    comes inside of what is bent, `layered` what is laminated, `shown` which faces show in the end,
    `stacked` the layered parts of which the drawn face of one layer does."""
    heat = [
        say("Do this now, while every piece is flat and has no glue on it: heat weakens a glued joint."),
        say(
            "Lay each piece of foam with the face up that shows in the end, as listed here. Pass the heat gun over it once, a "
            "hand's breadth away and never still, so slowly that it turns slightly shiny. Let what stays flat cool under a board."
        ),
        *_which_face(shown, layered),
        *_drawn_face_shows([*shown.drawn, *_flat(shown.both), *(piece for piece in layered if piece.id in stacked)]),
        *_ticks_show([piece for piece in shown.both if piece not in _flat(shown.both)]),
        say(
            "Heat no cut edges, and no other faces than these. Afterwards roughen with 120 grit where glue goes, up to its line "
            "and not over it: glue holds best on open pores."
        ),
        say("Try it on an offcut first: foam that curls or shrinks has had too much heat."),
    ]
    if thin:
        heat.append(
            say(
                "Thin foam curls at once: go over {parts} twice as fast and from twice as far.",
                parts=listed([piece.label for piece in thin]),
            )
        )
    if left_out:
        heat.append(
            say(
                "Keep the heat gun off {parts}: soft foam that stays unpainted melts and can burn.",
                parts=all_of(left_out),
            )
        )
    bend = [*gauged]
    if wide and not bent:
        bend.append(
            say(
                "What will be bent cools bent, {face}: bend it while it is warm, and hold it until it is cool.",
                face=face,
            )
        )
    if bent:
        bend.append(
            say(
                "What will be bent cools bent, {face}: lay it, still warm, over something round that lies along "
                "the bold line of its picture, and hold it until it is cool; where the foam is longer than the round thing, "
                "bend it bit by bit. Then it keeps the bend by itself. All other parts stay flat now: what of them is curved is "
                "bent cold as it goes in. What to bend over what:",
                face=face,
            )
        )
        bend += _widths(bent)
    bend += wide
    if bent:
        bend.append(
            say(
                "Never bend over a spray can or a tin with anything in it: heat makes them burst. Take an old pan or jar that is "
                "not used for food again, glass only if it is thick, and let it cool before you touch it."
            )
        )
    bend += tight
    passages = [
        (say("Heat"), heat),
        (say("Bend"), bend),
        (say("Press hollow"), [*pressed]),
        (say("Bend the opposite way"), [*opposite]),
    ]
    return say("Close the pores with heat"), passages


def _which_face(shown: Shown, layered: Sequence[Piece]) -> list[str]:
    """Which face is up under the heat gun, by letter; of what is `layered` it is another one from layer to layer."""
    told = []
    if shown.other:
        told.append(say("the drawn face down: {parts}", parts=letters(shown.other)))
    if shown.drawn:
        told.append(say("the drawn face up: {parts}", parts=letters(shown.drawn)))
    if shown.both:
        told.append(say("both faces, one after the other: {parts}", parts=letters(shown.both)))
    if layered:
        told.append(
            say(
                "of the layers only what shows once they are glued together, and nothing between them: {parts}",
                parts=letters(layered),
            )
        )
    if shown.neither:
        told.append(say("not at all, as neither face shows: {parts}", parts=letters(shown.neither)))
    return [capital(say("{list}.", list=one)) for one in told]


def _drawn_face_shows(turned: Sequence[Piece]) -> list[str]:
    if not turned:
        return []
    return [
        say(
            "Of {parts} the drawn face shows: first rub out the lines there that no part comes to, and keep the letter and "
            "the arrows on a piece of tape.",
            parts=listed([piece.label for piece in turned]),
        )
    ]


def _ticks_show(curved: Sequence[Piece]) -> list[str]:
    """What is rubbed out on panels that show the drawn face as well: all but what their seams are closed by."""
    if not curved:
        return []
    return [
        say(
            "Of {parts} the drawn face shows as well: rub out there what no part comes to, but leave the ticks and seam numbers "
            "at the edges, which the seams are closed by.",
            parts=listed([piece.label for piece in curved]),
        )
    ]


def _flat(pieces: Sequence[Piece]) -> list[Piece]:
    """Without panels: the ticks on their inside are needed until their seams are closed."""
    return [piece for piece in pieces if not isinstance(piece.body, PanelBody)]


def _widths(bent: Mapping[str, tuple[float, float, str]]) -> list[str]:
    """The letters of parts by the width of what they are bent over, a line for each width; a cone by both of its ends, the
    wide one infinite where it closes to a round."""
    by_width: dict[tuple[float, float, str], list[str]] = {}
    for label, ends in bent.items():
        by_width.setdefault(ends, []).append(label)
    return [
        (
            say("{parts} over {thing}, {lies}.", parts=listed(labels), thing=bending.former_of(narrow), lies=lies)
            if lies
            else say("{parts} over {thing}.", parts=listed(labels), thing=bending.former_of(narrow))
        )
        if narrow == wide
        else count(
            "{parts}, which is a cone, bit by bit from one end to the other over {thing} that points at its narrow edge, until "
            "its two ends nearly meet.",
            "{parts}, which are cones, bit by bit from one end to the other over {thing} that points at the narrow edge, until "
            "the two ends of each nearly meet.",
            len(labels),
            parts=listed(labels),
            thing=bending.former_of(narrow),
        )
        if wide == float("inf")
        else count(
            "{parts}, which is a cone, over {thing} at its narrow end and by hand to {size} across at the wide one.",
            "{parts}, which are cones, over {thing} at the narrow end and by hand to {size} across at the wide one.",
            len(labels),
            parts=listed(labels),
            thing=bending.former_of(narrow),
            size=length(wide),
        )
        for (narrow, wide, lies), labels in sorted(by_width.items())
    ]
