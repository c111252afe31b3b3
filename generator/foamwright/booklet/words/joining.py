"""The sentences of a step that puts parts in: shaping, the bench, a dry fit, glue, in that order."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from foamwright.assembly import directions, practice, which_copy
from foamwright.assembly.bodies import Bodies, Touch, frame
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, capital, one_of, role, the
from foamwright.assembly.taking_apart import Move
from foamwright.assembly.units import is_bare, lifts_out, rests
from foamwright.assembly.ways_in import Bend
from foamwright.booklet.words import (
    bending,
    beside_bars,
    checks,
    gluing,
    in_turn,
    line_joints,
    overhang,
    places,
    seaming,
)
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.numbered import numbered
from foamwright.language import count, duration, length, listed, say
from foamwright.parts.records import BandBody, EdgeFinish, FlatBody, Piece
from foamwright.templates.facing import facing as look_of

_STRAIGHT = 0.8  # cosine between a direction and the word for it
_LEVEL = 0.999  # cosine
_ROUND = 0.2  # mm by which the radii of a round part differ
_CIRCLE = 0.03  # of a radius, by which what is meant to be a circle may be off
_ONE_BEVEL = 1.0  # degrees by which one bevel may change
_FACE = 0.1  # mm from a face
_ALL_ROUND = 8  # eighths of a turn
_SQUEEZED = 1.0  # mm by which foam is squeezed on its way in, to be told
_ONE_WAY = 0.6  # length of the mean of directions that are one


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
    text += facing(riders, told.moves, told.bodies, told.drawn_outside, _lies_on(told.meetings))
    text += _notes(riders)
    seams = seaming.seam_lines(told)
    text += [*seams.dry, *seams.before]
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
    text += _rubbed_out(told.inside_shows)
    text += sanded(told.bare_yet, told.meetings, told.every, told.bodies)
    late = _ends_at_new(told)
    text += _trim_lines([piece for piece in told.trimmed if piece not in late])
    text += seaming.folded(told)
    text += places.turned(told)
    text += [line for unit in told.units for line in unit.note.splitlines()]  # up to the glue, by the author
    text += carried_over(told)
    for unit in told.units:
        text += seaming.whole_lines(told, unit)
        text += _notes([piece for piece in told.pieces if unit.whole and piece.id in unit.parts], True)
    text += _way_lines(told)
    text += seams.dry
    before = checks.lines(told)
    text += before
    text += places.lines(told)
    text += beside_bars.lines(told)
    text += overhang.lines(told)
    text += facing_lines(told)
    text += turned_to(told)
    text += told.trial
    text += _notes([piece for piece in told.pieces if not told.whole_of(piece)], len(told.units) == 1)
    text += seams.before
    text += bending.surplus(told)
    text += _beside_paint(told)
    text += gluing.in_holes(told)
    text += _one_by_one(told)
    text += _gripping(told)
    text += numbered(_in_order(told, seams))
    text += checks.glue_up(told, seams.order) if seams.order else []
    text += gluing.resting(told)
    text += _kept_in(told)
    text += [] if before else checks.grown(told)
    return text


def _rubbed_out(pieces: Sequence[Piece]) -> list[str]:
    """Lines on the inside of parts that show there when all is done: an eraser reaches them while the parts lie open."""
    if not pieces:
        return []
    return [
        say(
            "The inside of {parts} will show: at the end of this step rub out the letter, the arrows and the lines there that "
            "nothing is glued to. You paint it with the outside.",
            parts=all_of(pieces),
        )
    ]


def _kept_in(told: Fitting) -> list[str]:
    """What only rests on what it is built together with: it has no way out of it once all stands."""
    glued = {m.new for m in told.meetings if m.glue != "none"}
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
    glued = in_turn.lines(told, seams.order) if seams.order else _by_part(gluing.lines(told))
    # what goes round a part is laid on before its two ends are joined
    wrapped = {told.turn.get(m.new, 0) for m in told.meetings if m.around and m.broad and m.on_broad}
    turns = [
        *((turn, 0, line) for turn, line in _tab_lines(told)),
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
            say("Sand the edges of {parts} round, to a radius of {size}, before you glue.", **facts)
            if how.finish == "rounded"
            else say("Cut the corners off the edges of {parts}, {size} wide, before you glue.", **facts)
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
            facts = {"part": one_of(piece), "side": directions.side(last)}
            if _bowed(told, move.copies[0], way.bend):
                line = say(
                    "Bow {part} so that its two ends come nearer to each other, pass it in {side}, and let it spring flat in its "
                    "place.",
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
        if piece.id in told.tight:
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
    return (
        [say("Keep cement off the paint, which it dissolves: brush it on within the bare place only.")] if glued else []
    )


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


def _gripping(told: Fitting) -> list[str]:
    """How cement that is tacky is kept from gripping on the way in, once all has been tried dry."""
    if not told.grips or any(getattr(piece.body, "slots", ()) for piece in told.pieces):
        return []
    return [
        say(
            "Tacky cement grips at the first touch: once all is coated and tacky, lay strips of baking paper between the "
            "faces, slide the part into its place, check it again, and pull the strips out one by one."
        )
    ]


def facing_lines(told: Fitting) -> list[str]:
    """Which way the face that is drawn on goes, of flat parts that are no plates of a whole: those go inwards."""
    pieces = [piece for piece in told.pieces if not told.whole_of(piece) or _is_round(piece)]
    return facing(pieces, told.moves, told.bodies, told.drawn_outside, _lies_on(told.meetings))


def turned_to(told: Fitting) -> list[str]:
    """A level plate that is set on pieces that are told apart by numbers: to which of them its arrow points."""
    lines = []
    for piece in told.pieces:
        own = told.own(piece)
        axes = frame(piece, told.bodies.matrices[own[0]]) if len(own) == 1 else None
        met = [b for m in told.meetings if m.new == piece.id for _, b in m.pairs]
        numbered = [b for b in dict.fromkeys(met) if told.bodies.pieces[b].id in told.bodies.numbered]
        if axes is None or abs(float(axes[2][2])) < _LEVEL or len(numbered) < 2:
            continue
        if _turns_freely(piece) and {b for a, b in told.bodies.touches if a == own[0]} <= set(numbered):
            continue  # a round floor that nothing else meets fits as well any way round
        # where each is met, and not where its middle is: the side of a hull reaches far ahead of a seat
        met_at = np.array([told.bodies.touches[own[0], b].places.mean(axis=0) for b in numbered])
        off = met_at - told.bodies.spheres[own[0], :3]
        front = off[:, 0] / np.maximum(np.linalg.norm(off[:, :2], axis=1), 1e-9)
        if float(front.max()) > _STRAIGHT:
            facts = {"part": the(piece), "other": which_copy.name(told.bodies, numbered[int(np.argmax(front))])}
            lines.append(
                say(
                    "Carry the arrow \u201cforward\u201d of {part} over to its edge on a bit of tape, as its drawn face goes "
                    "down, and turn it so that the arrow points to {other}.",
                    **facts,
                )
                if _drawn(told, piece, own[0])[2] < 0.0
                else say("Turn {part} so that its arrow \u201cforward\u201d points to {other}.", **facts)
            )
    return lines


def _drawn(told: Fitting, piece: Piece, copy: int) -> np.ndarray:
    """The way (3,) that the drawn face of a flat copy looks."""
    return (1.0 if piece.id in told.drawn_outside else -1.0) * piece.off_face(told.bodies.matrices[copy])


def _turns_freely(piece: Piece) -> bool:
    """Is a part round, without holes and with one bevel all around?"""
    body = piece.body
    if not isinstance(body, FlatBody) or body.holes or len(body.runs) != 1:
        return False
    return _has_round_outline(body) and bool(np.ptp(body.side_bevels) < _ONE_BEVEL)


def _has_round_outline(body: FlatBody) -> bool:
    out = np.linalg.norm(body.outline - (body.outline.max(axis=0) + body.outline.min(axis=0)) / 2.0, axis=1)
    return bool(np.ptp(out) < _ROUND)


def carried_over(told: Fitting) -> list[str]:
    """A round part that goes on a round place, which shows no way round, and takes something later that has one: where its arrow
    points, carried over to its edge where the face that it is drawn on goes out of sight."""
    lines = []
    for piece in told.pieces:
        own = told.own(piece)
        body = piece.body
        if len(own) != 1 or not isinstance(body, FlatBody) or not _has_round_outline(body):
            continue
        axes = frame(piece, told.bodies.matrices[own[0]])
        gone = told.standing | told.bodies.mask(copy for move in told.moves for copy in move.copies)
        met = {b: touch for (a, b), touch in told.bodies.touches.items() if a == own[0]}
        here = [touch for b, touch in met.items() if gone >> b & 1]
        later = [touch for b, touch in met.items() if not gone >> b & 1]
        if axes is None or not here or not all(_goes_round(touch, told, own[0], axes) for touch in here):
            continue
        if all(_goes_round(touch, told, own[0], axes) for touch in later):
            continue
        level = abs(float(axes[2][2])) > _LEVEL
        word, way = (say("forward"), say("to the front")) if level else (say("up"), say("up"))
        drawn = _drawn(told, piece, own[0])
        hidden = any(float((touch.normals * touch.areas[:, None]).sum(axis=0) @ drawn) < 0.0 for touch in here)
        facts = {"part": the(piece), "arrow": word, "way": way}
        lines.append(
            say(
                "Before you glue, carry the arrow \u201c{arrow}\u201d of {part} over to its edge on a bit of tape, as its "
                "drawn face goes out of sight. It points {way} once the part stands in its place.",
                **facts,
            )
            if hidden
            else say("Turn {part} so that its arrow \u201c{arrow}\u201d points {way}.", **facts)
        )
    return lines


def _goes_round(touch: Touch, told: Fitting, copy: int, axes: np.ndarray) -> bool:
    """Is what a flat copy touches bounded by circles about its middle, so that it holds it any way round?"""
    lines = [line for patch in touch.outlines for line in patch]
    middle = told.bodies.spheres[copy, :3]
    out = [np.linalg.norm((line - middle) @ axes[:2].T, axis=1) for line in lines]
    return bool(out) and all(float(np.ptp(radii)) < _CIRCLE * float(radii.max()) for radii in out)


def _is_round(piece: Piece) -> bool:
    return isinstance(piece.body, FlatBody) and piece.body.radius is not None


def _lies_on(meetings: Sequence[Meeting]) -> dict[str, Meeting]:
    """By part, what it lies face to face on, above it or below."""
    on: dict[str, Meeting] = {}
    for m in meetings:
        if m.broad and m.on_broad and on.setdefault(m.new, m).other == m.other and on[m.new] is not m:
            on[m.new] = replace(on[m.new], pairs=(*on[m.new].pairs, *m.pairs))
    return on


def facing(
    pieces: Sequence[Piece],
    moves: Sequence[Move],
    bodies: Bodies,
    drawn_outside: Collection[str],
    laid: Mapping[str, Meeting],
) -> list[str]:
    """Which way the face that is drawn on goes, of those `pieces` that are flat; `drawn_outside` are those that are drawn
    on the outside face, `laid` tells what parts lie face to face on."""
    alike: dict[str, list[Piece]] = {}
    for piece in pieces:
        if not isinstance(piece.body, FlatBody) or piece.stock.material_type in ("paper", "card"):
            continue
        if piece.glue == "none" and is_bare(piece):  # a cushion lies as well either way up
            continue
        own = [c for move in moves for c in move.copies if bodies.pieces[c].id == piece.id]
        sign = 1.0 if piece.id in drawn_outside else -1.0
        word = _against(bodies, own, sign, laid[piece.id]) if piece.id in laid and own else ""
        word = word or _facing(bodies, own, sign)
        if word:
            alike.setdefault(word, []).append(piece)
    if not alike:
        return []
    labels = {word: listed([piece.label for piece in these]) for word, these in alike.items()}
    if len(alike) == 1:
        (word, these), *_ = alike.items()
        return [
            count(
                "The drawn face of {parts} goes {way}.",
                "The drawn faces of {parts} go {way}.",
                len(these),
                parts=labels[word],
                way=word,
            )
        ]
    ways = [say("{parts} {way}", parts=label, way=word) for word, label in labels.items()]
    return [say("The drawn faces go like this: {list}.", list="; ".join(ways))]


def _against(bodies: Bodies, copies: Sequence[int], sign: float, on: Meeting) -> str:
    """Of a part that lies face to face on another: is its drawn face glued to that, or does it show?"""
    piece = bodies.pieces[copies[0]]
    if not isinstance(piece.body, FlatBody):
        return ""
    there = bodies.pieces[on.pairs[0][1]].label
    met = dict(reversed(on.pairs))
    sides: dict[bool, set[bool]] = {}  # by whether a copy is on the left, whether its drawn face is glued
    for copy in copies:
        if copy not in met:
            return ""
        touch = bodies.touches[copy, met[copy]]
        from_other = (touch.areas[:, None] * touch.normals).sum(axis=0)
        way = sign * piece.off_face(bodies.matrices[copy])
        towards_it = float(-way @ from_other / max(float(np.linalg.norm(from_other)), 1e-9))
        if abs(towards_it) < _STRAIGHT:
            return ""
        sides.setdefault(bool(bodies.spheres[copy, 1] > 0.0), set()).add(towards_it > 0.0)
    if all(glued == {True} for glued in sides.values()):
        return say("against {label}", label=there)
    if all(glued == {False} for glued in sides.values()):
        return say("away from {label}", label=there)
    if any(len(glued) != 1 for glued in sides.values()):
        return ""
    if sides[True] == {True}:
        return say("against {label} on the left and away from it on the right", label=there)
    return say("against {label} on the right and away from it on the left", label=there)


def _facing(bodies: Bodies, copies: Sequence[int], sign: float) -> str:
    """Where the drawn faces of copies look, in words; "" where they look several ways that have no name."""
    ways: list[np.ndarray] = []
    outwards: list[np.ndarray] = []
    if not copies:
        return ""
    middle = bodies.spheres[:, :3].mean(axis=0)
    for copy in copies:
        piece = bodies.pieces[copy]
        if not isinstance(piece.body, FlatBody):
            return ""
        ways.append(sign * piece.off_face(bodies.matrices[copy]))
        off = bodies.spheres[copy, :3] - middle
        outwards.append(off / max(float(np.linalg.norm(off[:2])), 1e-9))
    mean = np.mean(ways, axis=0)
    if float(np.linalg.norm(mean)) > _ONE_WAY:
        axis = int(np.argmax(np.abs(mean)))
        if abs(mean[axis]) < _STRAIGHT:
            return ""
        return look_of(mean)
    towards = np.array([way[:2] @ out[:2] for way, out in zip(ways, outwards)])
    if (towards < -_ONE_WAY).all():
        return say("inwards")
    if (towards > _ONE_WAY).all():
        return say("outwards")
    # a pair that looks at each other or away, however far in front of the middle it stands
    across = np.array([way[1] * np.sign(out[1]) for way, out in zip(ways, outwards)])
    if (across < -_STRAIGHT).all():
        return say("inwards")
    if (across > _STRAIGHT).all():
        return say("outwards")
    # a pair of one template, one of them turned over
    sides = {
        left: {
            look_of(way.tolist()) if np.abs(way).max() > _STRAIGHT else ""
            for way, out in zip(ways, outwards)
            if left == (out[1] > 0)
        }
        for left in (True, False)
    }
    if any(len(words) != 1 or "" in words for words in sides.values()):
        return ""
    return say("{left} on the left, {right} on the right", left=min(sides[True]), right=min(sides[False]))


def _tab_lines(told: Fitting) -> list[tuple[int, str]]:
    """How tabs are put into slots, each with the turn of the first of them."""
    own = {piece.id for piece in told.pieces}
    here = own | {piece.id for copy, piece in enumerate(told.bodies.pieces) if told.standing >> copy & 1}
    lines = []
    for host in told.every.values():
        tabbed = [part for part in dict.fromkeys(gluing.slots_for(host)) if part in here]
        if host.id in own or (host.id in here and own & set(tabbed)):
            if not tabbed:
                continue
            parts = all_of([told.every[part] for part in tabbed])
            turn = max(told.turn.get(host.id, 0), min(told.turn.get(part, 0) for part in tabbed))
            line = (
                say(
                    "Brush cement on the tabs of {parts} and into the slots of {host}, and push them together while it is "
                    "still wet; tape holds them until it has set.",
                    parts=parts,
                    host=the(host),
                )
                if told.every[host.id].glue == "contact"
                else say(
                    "Push the tabs of {parts} into the slots of {host}, and let the glue run in afterwards.",
                    parts=parts,
                    host=the(host),
                )
            )
            lines.append((turn, line))
    return lines
