"""The sentences of a step that puts parts in: shaping, the bench, a dry fit, glue, in that order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from foamwright.assembly import directions, practice, which_copy
from foamwright.assembly.bodies import Bodies, Touch, frame
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, capital, one_of, role, the
from foamwright.assembly.setting_down import alike
from foamwright.assembly.units import lifts_out, rests
from foamwright.assembly.ways_in import Bend
from foamwright.booklet.words import (
    bending,
    beside_bars,
    checks,
    drawn_faces,
    gluing,
    hidden_lines,
    hinged,
    in_turn,
    line_joints,
    overhang,
    places,
    relations,
    rolled_round,
    seaming,
    set_up,
    slanting,
)
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.numbered import numbered
from foamwright.language import count, duration, length, listed, phrase, say
from foamwright.parts.records import BandBody, EdgeFinish, FlatBody, Piece

_STRAIGHT = 0.8  # cosine between a direction and the word for it
_FACE = 0.1  # mm from a face
_ALL_ROUND = 8  # eighths of a turn
_LONG = 1.5  # times as long as wide
_SQUEEZED = 1.0  # mm by which foam is squeezed on its way in, to be told


def bench(told: Fitting, leads: Mapping[str, Sequence[int]]) -> list[str]:
    """How parts are put on others before these go in; `leads` are the parts that carry them, each with its copies that do."""
    riders = told.pieces
    facts = {
        "base": listed([which_copy.some(told.bodies, those) for those in leads.values()]),
        "parts": all_of(riders),
    }
    text = [
        say("Put {parts} on {base} now, on the bench: they lift out as one.", **facts)
        if all(lifts_out(told.every[part]) for part in leads)
        else say("Put {parts} on {base} now, on the bench: later the place is hard to reach.", **facts)
    ]
    late = _ends_at_new(told)
    text += _trim_lines([piece for piece in told.trimmed if piece not in late])
    text += bending.bent(told, [told.every[part] for part in leads if bending.is_rolled(told.every[part])])
    text += checks.lines(told)
    text += places.lines(told)
    text += beside_bars.lines(told)
    text += overhang.lines(told)
    text += drawn_faces.facing(riders, told.moves, told.bodies, told.drawn_outside, drawn_faces.lies_on(told.meetings))
    text += _notes(riders)
    seams = seaming.seam_lines(told)
    text += [*seams.dry, *seams.before]
    text += hidden_lines.lines(told)
    text += gluing.in_holes(told)
    text += numbered(_in_order(told, seams))
    text += _jutting(riders, leads, told.bodies)
    return text


def _jutting(riders: Sequence[Piece], leads: Mapping[str, Sequence[int]], bodies: Bodies) -> list[str]:
    """Of what is put into one half of a pair: it stands out of it, for the other half to close on."""
    text = []
    for piece in riders:
        met = {b for (a, b) in bodies.touches if bodies.pieces[a].id == piece.id and bodies.pieces[b].id in leads}
        later = [copy for copy in met if all(copy not in those for those in leads.values())]
        if later:
            text.append(
                say(
                    "{part} juts out of it for the other half: hold {other} against it dry to see that both close on it.",
                    part=capital(the(piece)),
                    other=which_copy.some(bodies, later),
                )
            )
    return text


def fitting(told: Fitting) -> list[str]:
    """How the parts of a step go in: shaping, the design's own note, the bench, a dry fit, glue, in that order."""
    text = bending.lines(told)
    seams = seaming.seam_lines(told)
    noted = any(unit.note for unit in told.units)
    if noted and seams.alone:  # the design's own note tells of what is a round by then
        text += [*seams.before, *(line for _, line in seams.pairs)]
        seams = replace(seams, before=[], pairs=[])
    text += _made_alike(told)
    text += _rubbed_out(told.inside_shows)
    text += sanded(told.bare_yet, told.meetings, told.every, told.bodies)
    late = _ends_at_new(told)
    text += _trim_lines([piece for piece in told.trimmed if piece not in late])
    text += seaming.folded(told)
    text += places.turned(told)
    text += [line for unit in told.units for line in unit.note.splitlines()]  # up to the glue, by the author
    text += drawn_faces.carried_over(told)
    for unit in told.units:
        text += seaming.whole_lines(told, unit)
        text += _notes([piece for piece in told.pieces if unit.whole and piece.id in unit.parts], True)
        text += seaming.lid(told, unit)
    text += _way_lines(told)
    text += seams.dry
    before = checks.lines(told)
    text += before
    text += places.lines(told)
    text += hinged.lines(told)
    text += beside_bars.lines(told)
    text += beside_bars.leaning(told)
    text += slanting.lines(told)
    text += overhang.lines(told)
    text += drawn_faces.lines(told)
    text += drawn_faces.turned_to(told, [piece for piece in told.pieces if not told.whole_of(piece)])
    text += drawn_faces.ends_told(told)
    text += told.trial
    text += _notes([piece for piece in told.pieces if not told.whole_of(piece)], len(told.units) == 1)
    text += seams.before
    text += bending.surplus(told)
    text += hidden_lines.lines(told)
    text += _beside_paint(told)
    text += gluing.in_holes(told)
    text += _one_by_one(told)
    text += _laid_over(told)
    text += _gripping(told)
    text += _lined_up(told)
    text += set_up.lines(told)
    text += numbered(_in_order(told, seams))
    text += checks.glue_up(told, seams.order) if seams.order else []
    text += gluing.resting(told)
    text += _held_up(told)
    text += _kept_in(told)
    text += [] if before else checks.grown(told)
    return text


def _made_alike(told: Fitting) -> list[str]:
    """How many things alike the parts of a step make, as crates of slats, and of what each is made."""
    copies = [copy for move in told.moves for copy in move.copies]
    groups = [] if told.standing or any(unit.whole for unit in told.units) else alike(told.bodies, copies)
    if not groups:
        return []
    made = Counter(told.bodies.pieces[copy].label for copy in groups[0])
    return [
        say(
            "Make {n} alike, each of {parts}.",
            n=len(groups),
            parts=listed([say("{n} {label}", n=n, label=label) for label, n in made.items()]),
        )
    ]


def _rubbed_out(pieces: Sequence[Piece]) -> list[str]:
    """Lines on the inside of parts that show there when all is done: an eraser reaches them while the parts lie open."""
    if not pieces:
        return []
    return [
        say(
            "The inside of {parts} will show: at the end of this step rub out the letter, the arrows and the lines there that "
            "no part comes to. You paint it with the outside.",
            parts=all_of(pieces),
        )
    ]


def _held_up(told: Fitting) -> list[str]:
    """What goes in without glue where nothing carries it: it is held until what holds it is in."""
    loose = [m for m in (*told.meetings, *told.resting) if told.every[m.new].glue == "none"]
    falls = [m for m in loose if relations.unglued(m, loose, told.bodies, "") == "against" and not m.around]
    carried = {m.new for m in loose if m not in falls}
    pieces = [told.every[part] for part in dict.fromkeys(m.new for m in falls) if part not in carried]
    if not pieces:
        return []
    copies = {copy for piece in pieces for copy in told.own(piece)}
    placed = told.standing | told.bodies.mask(copy for move in told.moves for copy in move.copies)
    against = {m.other for m in falls}
    met = [b for (a, b) in told.bodies.touches if a in copies and not placed >> b & 1]
    later = sorted({b for b in met if told.bodies.pieces[b].id not in against})
    facts = {
        "parts": capital(all_of(pieces)),
        "others": all_of([piece for part, piece in told.every.items() if part in against]),
    }
    holding = dict.fromkeys(told.bodies.pieces[b].id for b in later)
    if holding:
        return [
            count(
                "{parts} would fall off {others}: turn the work so that this place looks up, or hold it with low-tack tape, "
                "until {later} will hold it.",
                "{parts} would fall off {others}: turn the work so that these places look up, or hold them with low-tack tape, "
                "until {later} will hold them.",
                len(copies),
                later=all_of([told.every[part] for part in holding]),
                **facts,
            )
        ]
    return [say("{parts} would fall off {others}, as nothing carries such a part there: use low-tack tape.", **facts)]


def _kept_in(told: Fitting) -> list[str]:
    """What only rests on what it is built together with: it has no way out of it once all stands. What one of the plates of a
    box is glued to holds all of them."""
    glued = {part for m in told.meetings if m.glue != "none" for part in m.parts}
    glued |= {part for unit in told.units if unit.whole and not glued.isdisjoint(unit.parts) for part in unit.parts}
    resting = (m.new for m in told.meetings if rests(told.every[m.new], told.every[m.other]))
    loose = [told.every[part] for part in dict.fromkeys(resting) if part not in glued]
    if not loose:
        return []
    return [
        count(
            "{parts} goes in now and stays loose: hold it when you turn the work.",
            "{parts} go in now and stay loose: hold them when you turn the work.",
            sum(len(told.own(piece)) for piece in loose),
            parts=capital(all_of(loose)),
        )
    ]


def sets_wet(told: Fitting) -> bool:
    """Is something of a step pushed together while its cement is wet, which sets slowly?"""
    tabs = any(
        told.every[part].glue == "contact" for piece in told.pieces for part in (*gluing.slots_for(piece), piece.id)
    )
    return bool(gluing.in_holes(told)) or (tabs and bool(_tab_lines(told)))


def _in_order(told: Fitting, seams: seaming.Seaming) -> list[str]:
    """The work of a step part by part in their order: its tabs, then what it is joined to by its edges, then by its faces; how it
    is laid on stands in the same sentence."""
    framed = _framed(told)
    if framed:
        return framed
    about = {} if seams.order else rolled_round.about(told)
    within = [m for met in about.values() for m in met]
    glued = in_turn.lines(told, seams.order) if seams.order else _by_part(gluing.lines(told, within))
    # what goes round a part is laid on before its two ends are joined
    wrapped = {told.turn.get(m.new, 0) for m in told.meetings if m.around and m.broad and m.on_broad}
    wrapped |= {told.turn[piece.id] for piece in seaming.closed_round(told) if piece.id not in about}
    turns = [
        *((turn, -1, line) for turn, line in _rolled(told, about)),
        *((turn, 0, line) for turn, line in (*_coated_first(told), *_tab_lines(told))),
        *((turn, 1, line) for turn, line in glued),
        *((turn, 0 if turn not in wrapped else 2, line) for turn, line in seams.pairs if not seams.covers),
    ]
    text = sorted(turns, key=lambda item: item[:2])
    ends = seams.pairs if seams.covers else ()
    more = (*gluing.shoulders(told), *gluing.small_ones(told))
    for turn, how in (*ends, *bending.onto_edges(told), *line_joints.lines(told), *seaming.own_ends(told), *more):
        at = max((i for i, item in enumerate(text) if item[0] == turn), default=None)
        if at is None:
            text.append((turn, 3, how))
        else:
            text[at] = (turn, text[at][1], f"{text[at][2]} {how}")
    for piece in _ends_at_new(told):
        at = next((i for i, item in enumerate(text) if item[0] == told.turn[piece.id]), len(text))
        text[at:at] = [(told.turn[piece.id], 0, line) for line in _trim_lines([piece])]
    return [line for _, _, line in text]


def _rolled(told: Fitting, about: Mapping[str, Sequence[Meeting]]) -> list[tuple[int, str]]:
    """What single walls are rolled round, each with the turn of the first part that goes in then."""
    text = []
    for wall, met in about.items():
        glued = [line for _, line in gluing.meeting_sentences(met, told.bodies, told.every, painted=told.painted)]
        turn = told.turn.get(wall, min(told.turn[m.new] for m in met))
        text.append((turn, rolled_round.line(told, told.every[wall], met, " ".join(glued))))
    return text


def _by_part(lines: Sequence[tuple[int, str]]) -> list[tuple[int, str]]:
    """What one part is glued to at the same time is one thing to do."""
    by_turn: dict[int, list[str]] = {}
    for turn, line in lines:
        by_turn.setdefault(turn, []).append(line)
    return [(turn, " ".join(these)) for turn, these in by_turn.items()]


def _framed(told: Fitting) -> list[str]:
    """Parts that hold each other by tabs and all stand on something else: they are made a frame first, which no cement drags
    over, and set down as one. Empty for others."""
    tabs = _tab_lines(told)
    tabbed = {part for piece in told.pieces for part in gluing.slots_for(piece)}
    frame = tabbed | {piece.id for piece in told.pieces if tabbed & set(gluing.slots_for(piece))}
    if not tabs or not frame <= {piece.id for piece in told.pieces} or told.seams:
        return []
    down = [m for m in told.meetings if m.new in frame and m.other not in frame]
    if not down or any(m.glue == "none" or not gluing.set_down(m) for m in down):
        return []
    others = [m for m in told.meetings if not {m.new, m.other} & frame]
    first = [line for _, line in gluing.meeting_sentences(others, told.bodies, told.every)]
    last = [line for _, line in gluing.meeting_sentences(down, told.bodies, told.every)]
    last[0] = say(
        "When the frame has set for {time}, coat its lower edges and set it down as one. {sentence}",
        sentence=last[0],
        time=duration(practice.WAIT_WET),
    )
    return [*first, *(line for _, line in tabs), *last]


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


def sanded(
    pieces: Sequence[Piece], meetings: Sequence[Meeting], every: Mapping[str, Piece], bodies: Bodies
) -> list[str]:
    """How the edges of parts, and the faces that they are glued by, are sanded before any glue or paint goes on."""
    return [*_edge_lines(pieces, bodies), *bending.hollowed(pieces, meetings, every, bodies)]


def _left_square(pieces: Sequence[Piece], bodies: Bodies) -> list[str]:
    """Which edges of parts stay as they were cut: rounded ones leave a groove along what they are glued to."""
    glued = [
        (bodies.pieces[copy], touch)
        for (copy, _), touch in bodies.touches.items()
        if touch.glued and bodies.pieces[copy] in pieces
    ]
    holes = any(getattr(piece.body, "holes", ()) for piece in pieces)
    return [
        *([say("holes")] if holes else []),
        *([say("edges that are glued")] if holes or any(touch.broad[0] < 0.5 for _, touch in glued) else []),
        *([say("the rim of a face that is glued")] if any(_by_its_face(*one) for one in glued) else []),
    ]


def _by_its_face(piece: Piece, touch: Touch) -> bool:
    """Is a part glued by most of a face, so that the rim of it meets the other part?"""
    body = piece.body
    if touch.broad[0] < 0.5 or not isinstance(body, FlatBody):
        return False
    return touch.area > 0.5 * float(shapely.Polygon(body.outline, body.holes).area)


def _edge_lines(pieces: Sequence[Piece], bodies: Bodies) -> list[str]:
    alike: dict[EdgeFinish, list[Piece]] = {}
    for piece in pieces:
        if piece.edge_finish:
            alike.setdefault(piece.edge_finish, []).append(piece)
    text = []
    for how, these in alike.items():
        facts = {"parts": all_of(these), "size": length(how.size)}
        line = (
            say("First sand the edges of {parts} round, to a radius of {size}.", **facts)
            if how.finish == "rounded"
            else say("First cut the corners off the edges of {parts}, {size} wide.", **facts)
        )
        stacked = [piece for piece in these if piece.layers > 1]
        if stacked:
            line = say(
                "{sentence} Of {stacked} these are the rims at the top and at the bottom of the whole stack.",
                sentence=line,
                stacked=listed([piece.label for piece in stacked]),
            )
        square = _left_square(these, bodies)
        if square:
            line = say("{sentence} Leave {what} square.", sentence=line, what=listed(square))
        text.append(line)
    return text


def _ends_at_new(told: Fitting) -> list[Piece]:
    """Strips of a step that are laid on what goes in before them in it: only then can they be tried there, and trimmed."""
    if _framed(told):
        return []
    turn = told.turn
    return [
        piece
        for piece in told.trimmed
        if any(m.new == piece.id and turn.get(m.other, turn[piece.id]) < turn[piece.id] for m in told.meetings)
    ]


def _trim_lines(pieces: Sequence[Piece]) -> list[str]:
    return [_trim_line(piece, piece.body) for piece in pieces if isinstance(piece.body, BandBody)]


def _trim_line(piece: Piece, body: BandBody) -> str:
    facts = {"part": capital(one_of(piece)), "extra": length(max(body.trim_start, body.trim_end))}
    line = (
        say(
            "{part} is {extra} too long on purpose. Wrap it round dry, mark where the ends meet, and trim it to the mark "
            "before you glue it.",
            **facts,
        )
        if body.closed
        else say(
            "{part} is {extra} too long on purpose. Lay it in its place dry, mark where it ends there, and trim it to the mark "
            "before you glue it.",
            **facts,
        )
    )
    if seaming.one_end_trimmed(body):  # its marks have their place from the other
        line = say("{sentence} Cut at the end alone that is hatched on its template.", sentence=line)
    return line


def _bowed(told: Fitting, copy: int, bend: Bend) -> bool:
    """Is it bent over its length, and not along it as a gutter is?"""
    points = told.bodies.mesh((copy,))[0]
    return float(np.ptp(points @ np.cross(bend.axis, bend.rising))) > float(np.ptp(points @ np.array(bend.axis)))


def _is_long(told: Fitting, copy: int) -> bool:
    """Has a flat copy two ends, as a bar or a strip has?"""
    axes = frame(told.bodies.pieces[copy], told.bodies.matrices[copy])
    spans = np.sort(np.ptp(told.bodies.mesh((copy,))[0] @ axes.T, axis=0)) if axes is not None else np.zeros(3)
    return bool(spans[2] > _LONG * spans[1])


def _way_lines(told: Fitting) -> list[str]:
    """The way in, where it is not just laying a part on from the side that it shows."""
    text: list[str] = []
    said: set[str] = set()
    one_side = len({move.way.legs[0].towards for move in told.moves}) == 1
    laid_round = seaming.closed_round(told)
    for move in told.moves:
        piece, way = told.bodies.pieces[move.copies[0]], move.way
        first, last = way.legs[0].towards, way.legs[-1].towards
        if piece.id in said or isinstance(piece.body, BandBody) or piece in laid_round:
            continue  # a strip is not brought in whole: it is laid on from one end, or from its middle
        line = ""
        if way.bend:
            facts = {"part": one_of(piece), "side": directions.side(last)}
            if _bowed(told, move.copies[0], way.bend):
                line = say(
                    "Bow {part} so that {ends} come nearer to each other, pass it in {side}, and let it spring flat in its "
                    "place.",
                    ends=say("its two ends") if _is_long(told, move.copies[0]) else say("two opposite sides"),
                    **facts,
                )
            else:
                line = say(
                    "Bend {part} like a gutter, pass it in {side}, and let it spring flat in its place.", **facts
                )
        elif len(way.legs) > 1 and not way.laid:
            line = say(
                "Bring {part} in {side}, {gap} clear of its place, then press it {way}.",
                part=one_of(piece),
                side=directions.side(last),
                gap=length(way.legs[0].travel),
                way=directions.onwards(first) if one_side else say("home"),
            )
        elif told.whole_of(piece) and told.standing and len(told.moves) == 1:
            line = say("Set the {thing} in its place {side}.", thing=told.whole_of(piece), side=directions.side(first))
        elif told.standing and told.goes_inside(piece) and (one_side or len(piece.placements) == 1):
            line = say("Slide {part} in {side}.", part=one_of(piece), side=directions.side(first))
        if piece.id in told.tight and gluing.goes_over(told, piece) >= {*told.tight[piece.id]}:
            line = say(
                "{sentence} It is a little narrower than what it goes over: open it by hand as you lay it on; a second pair of "
                "hands helps.",
                sentence=line or say("Put {part} on {side}.", part=one_of(piece), side=directions.side(last)),
            )
        elif piece.id in told.tight:
            line = say(
                "{sentence} The way in is a little narrower than the part: spread {others} by hand as it passes; a second pair "
                "of hands helps.",
                sentence=line or say("Put {part} in {side}.", part=one_of(piece), side=directions.side(last)),
                others=all_of([told.every[part] for part in told.every if part in told.tight[piece.id]]),
            )
        elif _wider_in_front(told, move.copies[0], first):
            line = say(
                "{sentence} The face that goes in first is the wider one: set one side in, and squeeze the other past the edge.",
                sentence=line or say("Put {part} in {side}.", part=one_of(piece), side=directions.side(last)),
            )
        if line:
            said.add(piece.id)
            text.append(line)
    return text


def _wider_in_front(told: Fitting, copy: int, out: Sequence[float]) -> bool:
    """Is a flat part that is glued all round by its edge wider at the face that goes in first than at the other one? `out` is the
    way back from its place."""
    piece = told.bodies.pieces[copy]
    axes = frame(piece, told.bodies.matrices[copy]) if isinstance(piece.body, FlatBody) else None
    if axes is None or abs(float(axes[2] @ np.array(out))) < _STRAIGHT:
        return False
    met = [
        touch.places
        for (a, b), touch in told.bodies.touches.items()
        if a == copy and told.standing >> b & 1 and touch.glued and touch.broad[0] < 0.5
    ]
    if not met:
        return False
    off = (np.vstack(met) - told.bodies.spheres[copy, :3]) @ axes[:2].T
    sides = np.unique((np.arctan2(off[:, 1], off[:, 0]) // (np.pi / 4.0)).astype(int))
    points = told.bodies.mesh((copy,))[0]
    along = points @ (axes[2] * np.sign(axes[2] @ np.array(out)))
    front, back = (points[np.abs(along - at) < _FACE] @ axes[:2].T for at in (along.min(), along.max()))
    return len(sides) == _ALL_ROUND and bool((np.ptp(front, axis=0) - np.ptp(back, axis=0) > _SQUEEZED).all())


def _beside_paint(told: Fitting) -> list[str]:
    """What cement does to paint, where it is used on what is finished."""
    glued = any(m.glue == "contact" and {*m.parts} & {*told.painted} for m in told.meetings)
    whole = say("Keep cement off the paint, which it dissolves: brush it on within the bare place only.")
    return [told.once(whole, phrase("Brush cement on within the bare place only, as in step {n}."))] if glued else []


def _one_by_one(told: Fitting) -> list[str]:
    pieces = gluing.one_by_one(told)
    if not pieces:
        return []
    return [
        say(
            "One joint of {parts} after the other: coat, wait, and press the first; leave it alone for {time}; then coat, wait, "
            "and press the next.",
            parts=all_of(pieces),
            time=duration(practice.WAIT_CEMENT),
        )
    ]


def _laid_over(told: Fitting) -> list[str]:
    """How a part is laid over the edge of another, each along the line of the other."""
    if not gluing.lapped(told):
        return []
    whole = say(
        "Where a part is laid over the edge of another, hold it there dry first: the edge below comes along the line on the part "
        "above; if it does not, draw a new one along the edge. Coat the part above as far as that line, and the one below from "
        "its line to its edge. Press the middle down first, then on towards both ends."
    )
    return [told.once(whole, phrase("Lay one part over the edge of the other as in step {n}."))]


def _gripping(told: Fitting) -> list[str]:
    """How cement that is tacky is kept from gripping on the way in, once all has been tried dry."""
    if not told.grips or any(getattr(piece.body, "slots", ()) for piece in told.pieces):
        return []
    whole = say(
        "Tacky cement grips at the first touch: once all is coated and tacky, lay strips of baking paper between the "
        "faces, slide the part into its place, check it again, and pull the strips out one by one."
    )
    return [told.once(whole, phrase("Lay baking paper between the faces that are tacky, as in step {n}."))]


def is_set_down_large(told: Fitting) -> bool:
    """Does a flat part go on with so large a face that it grips before it lies right? What is bent is laid on bit by bit."""
    return any(
        m.broad
        and m.glue == "contact"
        and m.area > practice.LARGE * m.copies
        and isinstance(told.every[m.new].body, FlatBody)
        for m in told.meetings
    )


def _lined_up(told: Fitting) -> list[str]:
    """How a large flat part is set down on its lines."""
    if _gripping(told) or not is_set_down_large(told):
        return []
    whole = say(
        "A large face grips before it lies right: once both faces are tacky, lay strips of baking paper between them, line the "
        "part up, and pull out one strip after the other."
    )
    return [told.once(whole, phrase("Line up what is large on strips of baking paper as in step {n}."))]


def _tabbed(told: Fitting) -> list[tuple[int, Piece, list[str]]]:
    """The parts that tabs enter now, each with the parts that have these, and the turn at which they go together."""
    own = {piece.id for piece in told.pieces}
    here = own | {piece.id for copy, piece in enumerate(told.bodies.pieces) if told.standing >> copy & 1}
    found = []
    for host in told.every.values():
        tabbed = [part for part in dict.fromkeys(gluing.slots_for(host)) if part in here]
        if tabbed and (host.id in own or (host.id in here and own & set(tabbed))):
            turn = max(told.turn.get(host.id, 0), min(told.turn.get(part, 0) for part in tabbed))
            found.append((turn, host, tabbed))
    return found


def _coated_first(told: Fitting) -> list[tuple[int, str]]:
    """What goes in by its tabs and is glued to more as it comes down: wet tabs go in at once, and no brush reaches the rest."""
    lines = {}
    for turn, host, tabbed in _tabbed(told):
        for part in (host.id, *tabbed):
            if told.turn.get(part) != turn:
                continue  # it stands by then
            joined = {*tabbed} if part == host.id else {host.id}
            rest = [
                m for m in told.meetings if m.new == part and m.glue == "contact" and m.other not in {part, *joined}
            ]
            if not rest or told.every[part].glue != "contact":
                continue
            lines[part] = (
                turn,
                say(
                    "Coat {part} and {others} where they meet, and let the cement turn tacky: no brush reaches it once the tabs "
                    "are in. Lay baking paper over it until all is in its place.",
                    part=all_of([told.every[part]]),
                    others=all_of([told.every[other] for other in dict.fromkeys(m.other for m in rest)]),
                ),
            )
    return [*lines.values()]


def _tab_lines(told: Fitting) -> list[tuple[int, str]]:
    """How tabs are put into slots, each with the turn of the first of them."""
    lines = []
    for turn, host, tabbed in _tabbed(told):
        parts = all_of([told.every[part] for part in tabbed])
        line = (
            say(
                "Brush cement on the tabs of {parts} and into the slots of {host}, and push them together while it is "
                "still wet; tape holds them until it has set.",
                parts=parts,
                host=the(host),
            )
            if host.glue == "contact"
            else say(
                "Push the tabs of {parts} into the slots of {host}, and let the glue run in afterwards.",
                parts=parts,
                host=the(host),
            )
        )
        lines.append((turn, line))
    return lines
