"""The sentences of a step that puts parts in: shaping, the bench, a dry fit, glue, in that order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foamwright.booklet import checks, gluing, seaming
from foamwright.booklet.fitting import Fitting
from foamwright.booklet.meetings import Meeting
from foamwright.booklet.naming import all_of, capital, one_of, role, the
from foamwright.language import length, listed, say
from foamwright.parts.records import BandBody, EdgeFinish, Piece

_SLANTED = 0.35  # a share of a direction below it is not named


def bench(
    riders: Sequence[Piece], leads: Sequence[Piece], met: Sequence[Meeting], every: Mapping[str, Piece]
) -> list[str]:
    text = [
        say(
            "Do this on the bench first. Inside the prop, the place of {parts} on {base} can no longer be reached.",
            base=all_of(leads),
            parts=all_of(riders),
        )
    ]
    text += [line for _, line in gluing.meeting_sentences(met, every)]
    text += _notes(riders)
    return text


def fitting(told: Fitting) -> list[str]:
    """How the parts of a step go in: the design's own note, shaping, the bench, a dry fit, glue, in that order."""
    text = [unit.note for unit in told.units if unit.note]
    text += _edge_lines(told.pieces)
    if told.warm:
        text.append(
            say(
                "Warm {parts} evenly with the heat gun, from both sides, and bend over your knee or a bottle. Hold "
                "the bend until the foam is cool. Do this before any glue goes on.",
                parts=all_of(told.warm),
            )
        )
    text += _trim_lines(told.trimmed)
    text += seaming.folded(told)
    for unit in told.units:
        text += seaming.whole_lines(told, unit)
        text += _notes([piece for piece in told.pieces if unit.whole and piece.id in unit.parts], True)
    text += _way_lines(told)
    text += _tab_lines(told)
    before = checks.lines(told)
    text += before
    text += seaming.seam_lines(told)
    text += gluing.lines(told)
    text += seaming.own_ends(told)
    text += [] if before else checks.grown(told)
    text += _notes([piece for piece in told.pieces if not told.whole_of(piece)], len(told.units) == 1)
    return text


def loose(pieces: Sequence[Piece]) -> list[str]:
    """Parts that the model does not hold: their place is told by their note."""
    text = [say("Glue on {parts}. No line on the templates shows the place; find it like this:", parts=all_of(pieces))]
    return text + _notes(pieces, True)


def _notes(pieces: Sequence[Piece], alone: bool = False) -> list[str]:
    """The design's own notes on the parts, each once: that on a whole stands with all its members.

    `alone`: the step is about nothing else, so that a single note needs no name before it.
    """
    said: dict[tuple[str, str], Piece] = {}
    for piece in pieces:
        if piece.note:
            said.setdefault((role(piece)[1] or piece.id, piece.note), piece)
    if alone and len({role(piece)[1] or piece.id for piece in pieces}) == 1:
        return [note for _, note in said]  # it can mean no other part
    lines = []
    for (_, note), piece in said.items():
        whole = role(piece)[1]
        name = say("the {whole}", whole=whole) if whole else piece.label
        lines.append(say("{part}: {note}", part=capital(name), note=note))
    return lines


def _edge_lines(pieces: Sequence[Piece]) -> list[str]:
    alike: dict[EdgeFinish, list[Piece]] = {}
    for piece in pieces:
        if piece.edge_finish:
            alike.setdefault(piece.edge_finish, []).append(piece)
    text = []
    for how, these in alike.items():
        if how.finish == "rounded":
            line = say(
                "Sand the edges of {parts} round, to a radius of {size}, before you glue.",
                parts=all_of(these),
                size=length(how.size),
            )
        else:
            line = say(
                "Cut the corners off the edges of {parts}, {size} wide, before you glue.",
                parts=all_of(these),
                size=length(how.size),
            )
        text.append(line)
    return text


def _trim_lines(pieces: Sequence[Piece]) -> list[str]:
    return [
        say(
            "{part} is {extra} too long on purpose. Wrap it round dry, mark where the ends meet, and trim it to the "
            "mark "
            "before you glue it.",
            part=capital(the(piece)),
            extra=length(max(piece.body.trim_start, piece.body.trim_end)),
        )
        for piece in pieces
        if isinstance(piece.body, BandBody)
    ]


def side(direction: Sequence[float]) -> str:
    """Where something comes from that moves against `direction`: "from above", "from the front and the left"."""
    words = (
        (say("from the front"), say("from behind")),
        (say("from the left"), say("from the right")),
        (say("from above"), say("from below")),
    )
    near = [pair[x < 0.0] for x, pair in zip(direction, words) if abs(x) > _SLANTED]
    return listed(near)


def onwards(direction: Sequence[float]) -> str:
    """Where something moves to that moves against `direction`: "down", "to the left"."""
    words = (
        (say("back"), say("forward")),
        (say("to the right"), say("to the left")),
        (say("down"), say("up")),
    )
    near = [pair[x < 0.0] for x, pair in zip(direction, words) if abs(x) > _SLANTED]
    return listed(near)


def _way_lines(told: Fitting) -> list[str]:
    """The way in, where it is not just laying a part on from the side that it shows."""
    text: list[str] = []
    said: set[str] = set()
    one_side = len({move.way.legs[0].towards for move in told.moves}) == 1
    for move in told.moves:
        piece, way = told.bodies.pieces[move.copies[0]], move.way
        first, last = way.legs[0].towards, way.legs[-1].towards
        if piece.id in said or isinstance(piece.body, BandBody):
            continue  # a band is not brought in whole: it is laid on from one end
        line = ""
        if way.bend:
            line = say(
                "Bend {part} like a gutter, pass it in {side}, and let it spring flat in its place.",
                part=one_of(piece),
                side=side(last),
            )
        elif len(way.legs) > 1 and not way.laid:
            line = say(
                "Bring {part} in {side}, {gap} clear of its place, then press it {way}.",
                part=one_of(piece),
                side=side(last),
                gap=length(way.legs[0].travel),
                way=onwards(first) if one_side else say("home"),
            )
        elif told.whole_of(piece) and told.standing and len(told.moves) == 1:
            line = say("Set the {thing} in its place {side}.", thing=told.whole_of(piece), side=side(first))
        elif told.standing and told.goes_inside(piece) and (one_side or len(piece.placements) == 1):
            line = say("Slide {part} in {side}.", part=one_of(piece), side=side(first))
        if line:
            said.add(piece.id)
            text.append(line)
    if told.dragged:
        text.append(
            say(
                "Contact cement would grip on the way in. Coat both faces and let them turn tacky, lay baking paper "
                "between them, slide the part into its place, check it, and pull the paper out."
            )
        )
    return text


def _tab_lines(told: Fitting) -> list[str]:
    own = {piece.id for piece in told.pieces}
    here = own | {piece.id for copy, piece in enumerate(told.bodies.pieces) if told.standing >> copy & 1}
    lines = []
    for host in told.every.values():
        tabbed = [part for part in dict.fromkeys(slot.part for slot in getattr(host.body, "slots", ())) if part in here]
        if host.id in own or (host.id in here and own & set(tabbed)):
            if not tabbed:
                continue
            parts = all_of([told.every[part] for part in tabbed])
            lines.append(
                say(
                    "Push the tabs of {parts} into the slots of {host} before the glue grips.",
                    parts=parts,
                    host=the(host),
                )
            )
    return lines
