"""The sentences of the work inside single parts: segments, darts, layers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foamwright.assembly.naming import all_of, one_of, the
from foamwright.booklet.words import cutting, gauging
from foamwright.booklet.words.seaming import is_frame
from foamwright.flatten.bend_gauges import BendGauges
from foamwright.flatten.records import Pattern
from foamwright.flatten.segments import segment_label
from foamwright.language import count, length, listed, say
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, Piece, RodBody


def prepare(
    work: str, patterns: Sequence[Pattern], every: Mapping[str, Piece], gauged: Mapping[str, BendGauges]
) -> tuple[str, list[str]]:
    """Title and sentences of the work inside single parts; `every` are all parts by id, `gauged` the gauges of those
    that are bent."""
    if work == "split":
        return say("Join the segments of the large parts"), _segments(patterns)
    if work == "dart":
        return say("Close the darts"), _darts(patterns, gauged)
    return say("Laminate the layered parts"), _layers(patterns)


def _segments(patterns: Sequence[Pattern]) -> list[str]:
    text = [
        say(
            "Glue {part} together from {n} segments.",
            part=the(p.piece),
            n=len(p.split.segments),
        )
        if p.piece.quantity == 1
        else say(
            "Glue {part} together from {n} segments; make {times} of it, one for each layer or place.",
            part=the(p.piece),
            n=len(p.split.segments),
            times=p.piece.quantity,
        )
        for p in patterns
        if p.split
    ]
    kinds = {p.split.joint for p in patterns if p.split}
    if "puzzle" in kinds:
        text.append(
            say("Puzzle joints: coat both edges thinly and press the dovetails into each other on a flat table.")
        )
    if "scarf" in kinds:
        text.append(
            say(
                "Scarf joints: between the line and its end, pare each end down to nothing with a long blade, and sand the "
                "slope flat: each end from the face that its template names. Try them on each other, and glue slope to slope, so "
                "that both faces run on level."
            )
        )
    if "butt" in kinds:
        text.append(say("Butt joints: glue the straight edges on a flat table, so that both faces lie level."))
    return text + [_mitred(p) for p in patterns if p.split and p.split.joint == "mitre"]


def _mitred(pattern: Pattern) -> str:
    """How the segments of a mitred band are joined, and the angles of its corners."""
    assert pattern.split is not None
    corners = [
        say(
            "{one} to {other} {angle}\u00b0",
            one=segment_label(pattern, n),
            other=segment_label(pattern, (n + 1) % len(pattern.split.segments)),
            angle=f"{180.0 - abs(before + after):.0f}",
        )
        for n, (before, after) in enumerate(pattern.split.bevels)
    ]
    inside = pattern.drawn_face == "inside"
    if is_frame(pattern.piece):
        body = pattern.piece.body
        assert isinstance(body, BandBody)
        turn = sum(corner.turn for corner in body.corners if corner.at in (0, len(body.curve) - 1))
        ends = segment_label(pattern, len(pattern.split.segments) - 1), segment_label(pattern, 0)
        corners.append(
            say("{one} to {other} {angle}\u00b0", one=ends[0], other=ends[1], angle=f"{180.0 - abs(turn):.0f}")
        )
    facts = {"part": the(pattern.piece), "corners": listed(corners)}
    if is_frame(pattern.piece):
        return (
            say(
                "Mitred joints of {part}: stand the segments on the flat bench in a ring, in the order of their numbers, and try "
                "them dry, slanted end to slanted end, the drawn faces inside. Cut a card to each angle between the drawn faces: "
                "{corners}. Coat all ends, close one joint after the other on its card, the last two together, and hold the ring "
                "with tape until it has set.",
                **facts,
            )
            if inside
            else say(
                "Mitred joints of {part}: stand the segments on the flat bench in a ring, in the order of their numbers, and try "
                "them dry, slanted end to slanted end, the drawn faces outside. Cut a card to each angle on the inside: "
                "{corners}. Coat all ends, close one joint after the other on its card, the last two together, and hold the ring "
                "with tape until it has set.",
                **facts,
            )
        )
    if inside:
        return say(
            "Mitred joints of {part}: lay the segments in a row in the order of their numbers and try them dry, slanted end to "
            "slanted end, the drawn faces inside. Cut a card to each angle between the drawn faces: {corners}. Coat both ends, "
            "close one joint after the other on its card, and hold it with tape until it has set.",
            **facts,
        )
    return say(
        "Mitred joints of {part}: lay the segments in a row in the order of their numbers and try them dry, slanted end to "
        "slanted end, the drawn faces outside. Cut a card to each angle on the inside: {corners}. Coat both ends, close one "
        "joint after the other on its card, and hold it with tape until it has set.",
        **facts,
    )


def _darts(patterns: Sequence[Pattern], gauged: Mapping[str, BendGauges]) -> list[str]:
    text = [_dart_line(pattern) for pattern in patterns]
    text.append(
        say(
            "Coat both sides of each dart. When the cement is tacky, start at the tip: bring the inner edges together "
            "first, then roll the joint shut towards the edge of the part."
        )
    )
    text.append(
        say(
            "Check: run a finger along the edge of the part: you should feel no step at the dart. If you do, peel the dart open "
            "while the cement is fresh and close it again."
        )
    )
    return text + gauging.darted([pattern.piece for pattern in patterns], gauged)


def _dart_line(pattern: Pattern) -> str:
    """How many darts and how wide: they are cut by now, so that no edge need be named."""
    facts = {"part": one_of(pattern.piece), "width": length(max(dart.opening for dart in pattern.darts))}
    return count(
        "In {part}, close the dart: it is {width} wide at its mouth.",
        "In {part}, close the {n} darts: they are up to {width} wide at the mouth.",
        len(pattern.darts),
        **facts,
    )


def _laminate(pieces: Sequence[Piece], layers: int) -> str:
    if sum(len(piece.placements) for piece in pieces) == 1:
        return say("Laminate {part} from {n} layers.", part=all_of(pieces), n=layers)
    return say("Laminate {parts} from {n} layers each.", parts=all_of(pieces), n=layers)


def _layers(patterns: Sequence[Pattern]) -> list[str]:
    alike: dict[int, list[Piece]] = {}
    for pattern in patterns:
        alike.setdefault(pattern.piece.layers, []).append(pattern.piece)
    text = [_laminate(pieces, layers) for layers, pieces in alike.items()]
    pinned = [p.piece for p in patterns if getattr(p.piece.body, "pins", ())]
    if pinned:
        text.append(
            say(
                "Before any glue goes on, pierce {parts} at the crosses. Line the layers up on {size} pins while you press "
                "them together, pull the pins out, and fill their holes with gap filler before you paint.",
                parts=all_of(pinned),
                size=length(PIN),
            )
        )
    text.append(
        say(
            "Stack the layers with the drawn face of each up. Coat the whole of both faces that meet, lay them together along "
            "one edge first and press them down from there, so that no air is caught."
        )
    )
    engraved = [p.piece for p in patterns if p.fittings.engraving]
    if engraved:
        text.append(
            say(
                "The engraved layer of {parts} lies lowest, its engraving on the table: there it comes to the outside.",
                parts=all_of(engraved),
            )
        )
    turned = [p.piece for p in patterns if p.split]
    if turned:
        text.append(
            say(
                "Turn every second layer of {parts} in its plane, the same face up, so that its joints come to lie midway "
                "between those of the layer below. From now on what is marked on the upper face of the top layer and "
                "on the lower face of the bottom layer holds, and no other mark.",
                parts=all_of(turned),
            )
        )
    bored = [p.piece for p in patterns if any(cutting.small_hole(hole) for hole in p.holes)]
    if bored:
        text.append(
            say(
                "So that the holes of {parts} lie on each other, push a straight bar that fills them, as an offcut of what "
                "goes in there, through all layers while you press.",
                parts=all_of(bored),
            )
        )
    bars = [p.piece for p in patterns if isinstance(p.piece.body, RodBody)]
    if bars:
        text.append(
            say(
                "Once it has set, sand {parts} round, to {size} across; where one is glued on along its side, leave that side a "
                "little flat.",
                parts=all_of(bars),
                size=listed(list(dict.fromkeys(length(piece.body.diameter) for piece in bars))),
            )
        )
    handed = [p.piece for p in patterns if p.piece.cut_mirrored and not isinstance(p.piece.body, RodBody)]
    if handed:
        text.append(
            say(
                "Check: {parts} come out as mirror images of each other, not alike.",
                parts=all_of(handed),
            )
        )
    return text
