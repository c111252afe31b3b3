"""How edges that share a seam are joined, as sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.assembly import directions, practice, which_copy
from foamwright.assembly.bodies import frame
from foamwright.assembly.naming import capital, members, one_of, one_plate, plain, several, the
from foamwright.assembly.records import Joint
from foamwright.assembly.units import Unit
from foamwright.booklet.words import bending, checks, drawn_faces, folded_up, glue_up, in_turn, relations, rolled_round
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.glue_up import Joining
from foamwright.booklet.words.numbered import numbered
from foamwright.booklet.words.supplies import mentioned
from foamwright.language import count, length, listed, mass, say
from foamwright.parts.records import BandBody, PanelBody, Piece
from foamwright.registry import kind
from foamwright.templates.laid import is_bent
from foamwright.templates.placement_lines import NONE

_EVEN = 0.5  # mm by which the edges of a strip may run uneven
_BROAD = 0.8  # cosine between a contact and a plate's broad face
_NEAR_SEAM = 40.0  # mm from the start of a band to a seam that it is measured from
_ON_SEAM = 2.0  # mm; less, and it begins on the seam
_HALFWAY = 4.0  # mm by which two distances along a band may differ, to be alike


@dataclass(frozen=True)
class Seaming:
    """How the seams of a step are closed: what is said before, a sentence for each pair of parts with the turn of the one
    that goes in last, in the order of work. `order` is the one in which pieces are joined one by one; empty where they are told
    by their part, `dry` how they are tried before anything is measured. `covers`: they are strips that lie on others, and
    meet only once they do. `alone`: single parts are closed to a round by themselves, and nothing else is joined."""

    before: list[str]
    pairs: list[tuple[int, str]]
    order: Sequence[Joining] = ()
    dry: Sequence[str] = ()
    covers: bool = False
    alone: bool = False


def seam_lines(told: Fitting) -> Seaming:
    """One sentence for each pair of parts, and how seams are worked."""
    pairs: dict[tuple[str, ...], list[Joint]] = {}
    for joint in told.seams:
        mirrored = len(joint.parts) == 1 and joint.edges[0] == joint.edges[1]
        pairs.setdefault((*joint.parts, str(mirrored)), []).append(joint)
    if not pairs:
        return Seaming([], [])
    several = len({part for joint in told.seams for part in joint.parts}) > 1 or any(
        len(told.every[part].placements) > 1 for joint in told.seams for part in joint.parts
    )
    skins = several and all(told.every[part].lies_on for joint in told.seams for part in joint.parts)
    found: list[tuple[int, bool, str]] = []
    lines = []
    turn = told.turn
    for joints in pairs.values():
        parts = joints[0].parts
        one = told.every[parts[0]]
        along = glue_up.along(told, sorted({told.seam_numbers[joint.edges_key] for joint in joints}))
        if len(parts) == 2:
            other = told.every[parts[1]]
            sides = {"one": the(one), "other": the(other), "along": along}
            line = (
                say("{one} and {other} meet {along}.", **sides)
                if skins
                else say("Join {one} to {other} {along}.", **sides)
            )
            line = capital(line)
        elif skins and joints[0].edges[0] == joints[0].edges[1]:
            line = capital(
                say(
                    "{parts} meet each other {along}, one cut as drawn and one cut mirrored.",
                    parts=the(one),
                    along=along,
                )
            )
        elif joints[0].edges[0] == joints[0].edges[1]:
            line = (
                say(
                    "Join {one} to each other {along}; one is the mirror image of the other.", one=the(one), along=along
                )
                if len(one.placements) == 2
                else say("Join each of {one} to its mirror image {along}.", one=the(one), along=along)
            )
        elif not one.closes_itself(*joints[0].edges):
            line = say("Join {one} to each other, each to the next, {along}.", one=the(one), along=along)
        else:
            line = say("Join the two ends of {one} {along}.", one=one_of(one), along=along)
        ring = len(parts) == 1 and joints[0].edges[0] != joints[0].edges[1]
        found.append((max(turn.get(part, 0) for part in parts), not ring, line))
    new = {told.bodies.pieces[copy].id for move in told.moves for copy in move.copies}
    if skins and any(new >= {*joint.parts} for joint in told.seams):
        lines.append(
            say(
                "Do not join these strips to each other first: lay one after the other on its lines, and "
                "let the ends that share a seam number meet edge to edge."
            )
        )
    elif not skins:
        lines += [*_worked(told, told.seams), *_ring_on_ring(told)]
    rounds = all(
        bending.closes(j, told.every[j.parts[0]]) and told.every[j.parts[0]].closes_itself(*j.edges) for j in told.seams
    )
    first, last = _last_joint(told, told.seams)
    found.sort(key=lambda pair: pair[:2])
    at = next((i for i, (_, later, _) in enumerate(found) if not later), 0)
    found[at] = (*found[at][:2], " ".join([found[at][2], *last]))  # how the first round is closed
    order = glue_up.of_step(told)
    folded = in_turn.as_ring(told, order)
    if folded:
        return Seaming(folded_up.before(told, folded), [], order)
    if order:
        how = [*in_turn.coating(told, order), *glue_up.closing(told, order)]
        return Seaming(first + lines + how, [], order, glue_up.dry(told, order))
    return Seaming(first + lines, [(turn, line) for turn, _, line in found], covers=skins, alone=rounds)


def closed_round(told: Fitting) -> list[Piece]:
    """The panels of a step that are laid round something and meet themselves there, be that one part or several: a ring that is
    closed before would have to be slid over it."""
    own = {joint.parts[0] for joint in told.seams if len(joint.parts) == 1 and joint.edges[0] != joint.edges[1]}
    laid = {m.new for m in told.meetings if m.broad and m.on_broad and m.glue != "none"} | {*rolled_round.about(told)}
    return [piece for piece in told.pieces if piece.id in own & laid and bending.closes_alone(piece)]


def _worked(told: Fitting, seams: Sequence[Joint]) -> list[str]:
    """Where a seam is begun and how it goes on: only what holds for the seams of the step."""
    ticked = any(told.seam_numbers[joint.edges_key] in told.ticked for joint in seams)
    if any(joint.length > practice.LONG_SEAM for joint in seams):
        if ticked:
            return [
                say(
                    "Start a seam longer than {size} in the middle, at the centre mark, and work outwards to both ends; "
                    "equal tick numbers meet. Bring the inner edges together first, then roll the joint shut.",
                    size=length(practice.LONG_SEAM),
                )
            ]
        return [
            say(
                "Start a seam longer than {size} in the middle, at the centre mark, and work outwards to both ends. Bring "
                "the inner edges together first, then roll the joint shut.",
                size=length(practice.LONG_SEAM),
            )
        ]
    if ticked:
        return [
            say(
                "Start at one end and work from tick to tick; equal numbers meet. Bring the inner edges together first, "
                "then roll the joint shut."
            )
        ]
    return [
        say("Start at one end; the centre marks meet. Bring the inner edges together first, then roll the joint shut.")
    ]


def _ring_on_ring(told: Fitting) -> list[str]:
    """Where a joint is begun that has no ends, as that of one closed hoop on the next."""
    closed = bending.closed_rounds(told)
    if not any(len(joint.parts) == 2 and closed.issuperset(joint.parts) for joint in told.seams):
        return []
    return [
        say(
            "A closed ring on a closed ring has no end to start at: press it on at one tick, then at the place opposite, then "
            "half-way between on both sides, and at last the stretches that are left."
        )
    ]


def own_ends(told: Fitting) -> list[tuple[int, str]]:
    """How bands are laid on, each with the turn of its part: those whose two ends meet, those that are folded, open ones."""
    folded_on = _folded_on(told)
    text = []
    for piece in told.pieces:
        body = piece.body
        if not isinstance(body, BandBody):
            continue
        line = ""
        if is_frame(piece):
            slid = any(m.broad for m in told.meetings if m.new == piece.id)
            line = (
                say("Slide {part} into its place as one: its ends are joined already.", part=one_of(piece))
                if slid
                else say("Set {part} on as one: its ends are joined already.", part=one_of(piece))
            )
        elif body.closed and not is_scored(body):
            where = _end(told, piece)
            facts = {
                "where": say("where the note above tells you or, if it tells nothing of that, where it shows least")
                if _is_noted(told, piece) and where == say("where it shows least")
                else where,
                "end": say("the end of {part} that you have not trimmed", part=one_of(piece))
                if one_end_trimmed(body)
                else say("one end of {part}", part=one_of(piece)),
            }
            if _is_crossed(told, piece) and _along_from_seams(told, piece):
                facts["where"] = say("{where}, so that its cross lines come on the seams", where=facts["where"])
            first = _first_side(told, piece) if one_end_trimmed(body) and where != say("where it shows least") else ""
            line = (
                say(
                    "Begin {where}: lay {end} on there, run the strip {first} first, and press it on bit by bit without "
                    "stretching it; the two ends are glued to each other last, edge to edge.",
                    first=first,
                    **facts,
                )
                if first
                else say(
                    "Begin {where}: lay {end} on there and press the strip on bit by bit without stretching it; the two ends are "
                    "glued to each other last, edge to edge.",
                    **facts,
                )
            )
        elif piece in folded_on:
            line = say(
                "Lay one end of {part} on at its corner, fold the strip round from face to face, and press each face on before "
                "you go to the next; the two ends are glued to each other last, edge to edge.",
                part=one_of(piece),
            )
        elif not body.closed and not body.corners and not _held_by_ends(told, piece):
            line = _open_strip(_stands_on_edge(told, piece), _is_noted(told, piece), one_of(piece))
        if line:
            text.append((told.turn.get(piece.id, 0), line))
    return text


def _open_strip(on_edge: bool, noted: bool, part: str) -> str:
    """How a strip that does not close is laid on: from its middle, if no note of the design says where to begin."""
    if on_edge and noted:
        return say(
            "The V in the middle of {part} comes on the V of the line: begin there, unless the note above tells you where, and "
            "press it on bit by bit without stretching it.",
            part=part,
        )
    if on_edge:
        return say(
            "Set {part} on with the V in its middle on the V of the line, and press it on bit by bit to both ends "
            "without stretching it.",
            part=part,
        )
    if noted:
        return say(
            "Lay the middle of {part} on first, unless the note above tells you where to begin, and press it on bit by bit "
            "without stretching it.",
            part=part,
        )
    return say(
        "Lay the middle of {part} on first, and press it on bit by bit to both ends without stretching it.", part=part
    )


def _is_noted(told: Fitting, piece: Piece) -> bool:
    """Has the design a word of its own on how a part, or its step, is done?"""
    return bool(piece.note) or any(unit.note for unit in told.units if piece.id in unit.parts)


def _stands_on_edge(told: Fitting, piece: Piece) -> bool:
    """Does a band stand here with an edge on what it is glued to? Then both have a V in its middle (`templates/laid.py`)."""
    mine = [m for m in told.meetings if m.new == piece.id and m.glue != "none"]
    body = piece.body
    bent = isinstance(body, BandBody) and is_bent(body)
    return bent and any(m.on_broad for m in mine) and not any(m.broad for m in mine)


def _held_by_ends(told: Fitting, piece: Piece) -> bool:
    """Does a band touch with its ends alone what it is glued to?"""
    mine = [m for m in told.meetings if m.new == piece.id and m.glue != "none"]
    return bool(mine) and all(relations.stands_on_ends(m, told.bodies) for m in mine)


def _end(told: Fitting, piece: Piece) -> str:
    """Where the two ends of a closed band meet: "at the back"."""
    body = piece.body
    assert isinstance(body, BandBody)
    matrix = piece.placements[0].matrix
    off = matrix[:3, :3] @ (body.curve[0] - (body.curve.min(axis=0) + body.curve.max(axis=0)) / 2.0)
    copies = told.bodies.of(piece.id)
    later = {p.id for p in told.every.values() if piece.id in (*p.lies_on, *p.after)}
    marked = any(told.bodies.pieces[b].id in later for a, b in told.bodies.touches if a in copies)
    marked = marked or _is_crossed(told, piece)
    if not marked and not np.ptp(body.low) > _EVEN and not np.ptp(body.high) > _EVEN:
        return say("where it shows least")  # the joint may come anywhere
    if len(piece.placements) > 1:
        return say("where it shows least")
    level, seam = _is_level(told, piece), _from_seam(told, piece)
    if seam:  # which tells more exactly than a measure from the middle
        where = directions.around(off) if level else directions.at(off)
        return say("{where}, {seam}", where=where, seam=seam)
    if not level:
        return directions.at(off)
    along = _along_from_seams(told, piece)
    return (
        say("{where}, {seam}", where=directions.around(off), seam=along)
        if along
        else directions.around_from_middle(off, _ON_SEAM)
    )


def _is_crossed(told: Fitting, piece: Piece) -> bool:
    """Has a band lines drawn across it, where the copies meet that it is laid on?"""
    below = {m.other for m in told.meetings if m.new == piece.id and m.broad}
    drawn = (told.bodies.lines or {}).items()
    return any(
        len({b for one in lines if one.looks != NONE for a, b in one.pairs if a == 1}) > 1
        for (carrier, comer), lines in drawn
        if carrier == piece.id and comer in below
    )


def _first_side(told: Fitting, piece: Piece) -> str:
    """Along which side a level closed band runs first from the end that is laid on first, which is not the trimmed one; "" for
    one that does not run level, or goes on alike both ways."""
    body, matrix = piece.body, piece.placements[0].matrix
    assert isinstance(body, BandBody)
    if len(piece.placements) > 1 or not _is_level(told, piece):
        return ""
    curve = body.curve @ matrix[:3, :3].T
    curve = curve if body.trim_end > 0.0 else curve[::-1]
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))]
    quarter = curve[int(np.searchsorted(along, along[-1] / 4.0))]
    return directions.along_side(quarter - (curve.min(axis=0) + curve.max(axis=0)) / 2.0)


def _along_from_seams(told: Fitting, piece: Piece) -> str:
    """How far along a closed band its joint lies from the seams of what it goes round: between which two, or from the nearer one;
    "" where that has none."""
    body = piece.body
    assert isinstance(body, BandBody)
    copy = told.bodies.of(piece.id)[0]
    matrix = told.bodies.matrices[copy]
    across = matrix[:3, :3] @ body.across
    flat = np.eye(3) - np.outer(across, across)
    curve = (_laid_face(told, piece) @ matrix[:3, :3].T + matrix[:3, 3]) @ flat
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))]
    tree, met = cKDTree(curve), list[tuple[float, int]]()  # copies of one part have seams of one number
    for m in told.meetings:
        for _, other in m.pairs if m.new == piece.id and m.broad and m.glue != "none" else ():
            host, place = told.bodies.pieces[other], told.bodies.matrices[other]
            for edge in host.body.edges if isinstance(host.body, PanelBody) else ():
                number = _number(told, host.id, edge.id)
                off, nearest = tree.query((edge.outer @ place[:3, :3].T + place[:3, 3]) @ flat)
                if number and float(off.min()) < piece.stock.thickness + _ON_SEAM:
                    met.append((float(along[nearest[int(np.argmin(off))]]), number))
    if not met:
        return ""
    (last, before), (on, after) = max(met), min(met)
    back = float(along[-1]) - last
    if abs(back - on) < _HALFWAY:
        return (
            say("halfway between seams {one} and {other}", one=min(before, after), other=max(before, after))
            if before != after
            else say("halfway between two of the seams {n}", n=before)
        )
    number, size = (before, back) if back < on else (after, on)
    return say("{size} from seam {n}, measured along the strip where it is laid", size=length(size), n=number)


def _laid_face(told: Fitting, piece: Piece) -> np.ndarray:
    """The line (n, 3) along the face of a band that lies on what it goes round, in its own place: what is measured there is in
    sight until the band covers it."""
    body = piece.body
    assert isinstance(body, BandBody)
    low, high = (
        body.curve + off * body.normals for off in (body.inner_offset, body.inner_offset + piece.stock.thickness)
    )
    copy = told.bodies.of(piece.id)[0]
    matrix = told.bodies.matrices[copy]
    places = [touch.places for (a, _), touch in told.bodies.touches.items() if a == copy and touch.glued]
    if not places:
        return low
    own = (np.concatenate(places) - matrix[:3, 3]) @ matrix[:3, :3]
    flat = np.eye(3) - np.outer(body.across, body.across)
    return min((low, high), key=lambda face: float(cKDTree(face @ flat).query(own @ flat)[0].mean()))


def _is_level(told: Fitting, piece: Piece) -> bool:
    return abs(float((piece.placements[0].matrix[:3, :3] @ piece.body.across)[2])) > _BROAD


def _from_seam(told: Fitting, piece: Piece) -> str:
    """How far from the nearest seam of what it lies on a band begins; "" where none is near."""
    copy = told.bodies.of(piece.id)[0]
    matrix = told.bodies.matrices[copy]
    start = matrix[:3, :3] @ _laid_face(told, piece)[0] + matrix[:3, 3]
    across = matrix[:3, :3] @ piece.body.across
    low, high = float(piece.body.low[0]), float(piece.body.high[0])
    level, half = (low + high) / 2.0, (high - low) / 2.0
    best = (_NEAR_SEAM, 0, np.zeros(3))
    for m in told.meetings:
        for _, other in m.pairs if m.new == piece.id and m.broad else ():
            host, place = told.bodies.pieces[other], told.bodies.matrices[other]
            for edge in host.body.edges if isinstance(host.body, PanelBody) else ():
                number = _number(told, host.id, edge.id)
                line = edge.outer @ place[:3, :3].T + place[:3, 3] - start
                # where the seam crosses the strip, and not where its form is narrower
                beyond = np.abs(line @ across - level)
                line = line[beyond <= max(half, float(beyond.min()))]
                line -= np.outer(line @ across, across)
                nearest = line[int(np.argmin(np.linalg.norm(line, axis=1)))]
                if number and float(np.linalg.norm(nearest)) < best[0]:
                    best = (float(np.linalg.norm(nearest)), number, nearest)
    apart, number, off = best
    if not number:
        return ""
    if apart < max(
        _ON_SEAM, piece.stock.thickness
    ):  # the middle of a strip on an edge lies off the end of a seam there
        return say("on seam {n}", n=number)
    return say("{size} {side} seam {n}", size=length(apart), n=number, side=directions.beside(-off))


def _number(told: Fitting, part: str, edge: str) -> int:
    return next((number for key, number in told.seam_numbers.items() if (part, edge) in key), 0)


def one_end_trimmed(body: BandBody) -> bool:
    """Is a strip longer on purpose at one end, and not at both?"""
    return (body.trim_start > 0.0) != (body.trim_end > 0.0)


def is_scored(band: BandBody) -> bool:
    """Is a band cut to the skin at its corners, and folded there?"""
    return any(corner.made == "scored" for corner in band.corners)


def is_frame(piece: Piece) -> bool:
    """Is a part a mitred band that closes by itself, as a moulding does: a stiff ring, put together before it goes on? One that
    is laid around something is closed there."""
    body = piece.body
    if not isinstance(body, BandBody) or not body.closed or piece.lies_on or body.trim_start or body.trim_end:
        return False
    return any(corner.made == "mitred" for corner in body.corners)


def folded(told: Fitting) -> list[str]:
    """Bands that are scored: glue goes into every fold, or it would spring open, and then they are folded; to a closed tube or
    frame before they go in."""
    around = {piece.id for piece in _folded_on(told)}
    scored = [piece for piece in told.pieces if isinstance(piece.body, BandBody) and is_scored(piece.body)]
    text = [_into_folds(piece) for piece in scored]
    for piece in scored:
        if piece.id in around:
            continue
        if not piece.body.closed:
            text.append(
                say("Fold {part} along its fold lines and press each V shut until it holds.", part=one_of(piece))
            )
            continue
        text.append(
            say(
                "Fold {part} round along its fold lines, press each V shut, and glue the two ends to each other, edge to edge. "
                "Hold the joint with tape for {wait} before the next work on it.",
                part=one_of(piece),
                wait=count("{n} minute", "{n} minutes", round(practice.WAIT_CEMENT)),
            )
        )
    return text


def _into_folds(piece: Piece) -> str:
    """How the glue gets into the folds of a scored band."""
    if piece.glue == "instant":
        return say("Each V of {part} is glued as it is folded: put gel on one face of it.", part=one_of(piece))
    if piece.body.closed:
        return say(
            "Brush cement on both faces of each V of {part}, and on its two ends, and let it go tacky.",
            part=one_of(piece),
        )
    return say("Brush cement on both faces of each V of {part}, and let it go tacky.", part=one_of(piece))


def _folded_on(told: Fitting) -> list[Piece]:
    """Bands that are folded round something: closed beforehand they would not go over what stands at its ends."""
    laid = {m.new for m in told.meetings if m.broad and m.glue != "none"}
    return [
        piece
        for piece in told.pieces
        if isinstance(piece.body, BandBody)
        and piece.body.closed
        and is_scored(piece.body)
        and piece.id in laid
        and piece.body.inner_offset > -0.5 * piece.stock.thickness
    ]


def whole_lines(told: Fitting, unit: Unit) -> list[str]:
    """How a whole is put together on the bench before it goes in as one."""
    if not unit.whole or not told.bench:
        return []
    name = plain(unit.whole)
    pieces = [piece for piece in told.pieces if piece.id in unit.parts]
    moves = [move for move in told.moves if told.bodies.pieces[move.copies[0]].id in unit.parts]
    made = told.made(unit)
    facts = {"parts": members(pieces), "thing": name, "things": several(name)}
    within = [joint for joint in told.whole_seams if joint.parts[0] in unit.parts]
    if within:
        text = [
            count(
                "On the bench, glue {parts} edge to edge to make the {thing}.",
                "On the bench, glue {parts} edge to edge to make {n} {things}.",
                made,
                **facts,
            )
        ]
    elif kind(pieces[0].kind).encloses:
        text = [
            count(
                "On the bench, build the {thing} from {parts}.",
                "On the bench, build {n} {things} from {parts}.",
                made,
                **facts,
            ),
            *_for_each(told, made, name, moves[0].copies),
            *_covers(told, unit, moves[0].copies),
        ]
    else:
        text = [
            count(
                "On the bench, glue {parts} face to face, from the bottom up, each in the middle of the one below, to make the "
                "{thing}.",
                "On the bench, glue {parts} face to face, from the bottom up, each in the middle of the one below, to make {n} "
                "{things}.",
                made,
                **facts,
            )
        ]
    text[1:1] = drawn_faces.turned_to(told, pieces)
    order = glue_up.sequence(told, within, moves[0].copies, ()) if within else ()
    ring = folded_up.ring(told, order) if order else ()
    if ring:
        text += [*folded_up.before(told, ring), folded_up.line(told, ring)]
    elif order:
        text += [*glue_up.dry(told, order), *_worked(told, within), *glue_up.closing(told, order)]
        text += numbered([line for _, line in glue_up.lines(told, order)])
    elif within:
        numbers = sorted({told.seam_numbers[joint.edges_key] for joint in within})
        text.append(
            count(
                "The edges meet along seam {seams}, {marks}. Bring the inner edges together first, then roll the joint shut.",
                "The edges meet along seams {seams}, {marks}. Bring the inner edges together first, then roll the joints shut.",
                len(numbers),
                seams=glue_up.ranges(numbers),
                marks=say("tick to tick") if {*told.ticked}.issuperset(numbers) else say("centre mark on centre mark"),
            )
        )
        first, last = _last_joint(told, within)
        text = first + text + last
    return text + checks.whole(told, unit, moves[0].copies)


def _for_each(told: Fitting, made: int, name: str, copies: Sequence[int]) -> list[str]:
    """Of what is made several times: the pieces that one of them takes."""
    if made < 2:
        return []
    labels = [told.bodies.pieces[copy].label for copy in copies]
    each = [say("{n} {label}", n=labels.count(label), label=label) for label in dict.fromkeys(labels)]
    return [say("Each {thing} takes {pieces}.", thing=name, pieces=listed(each))]


def _covers(told: Fitting, unit: Unit, copies: Sequence[int]) -> list[str]:
    """Of a box with butted edges: which plates lie over the edges of which, those first that lie over fewest."""
    over = _laid_over(told, copies)
    return [
        say(
            "Glue {parts} over the edges of {others}, the outsides flush.",
            parts=members([told.every[part]]),
            others=members([told.every[other] for other in unit.parts if other in over[part]]),
        )
        for part in sorted(over, key=lambda part: (len(over[part]), unit.parts.index(part)))
    ] + _filling(told, unit, copies)


def _laid_over(told: Fitting, copies: Sequence[int]) -> dict[str, list[str]]:
    """For each part of a box of `copies` the parts over the edges of which it lies with its face."""
    bodies = told.bodies
    over: dict[str, list[str]] = {}
    for a in copies:
        axes = frame(bodies.pieces[a], bodies.matrices[a])
        for b in copies:
            touch = bodies.touches.get((a, b))
            if touch is None or axes is None or abs(float(axes[2] @ touch.normals.mean(axis=0))) < _BROAD:
                continue
            one, other = bodies.pieces[a].id, bodies.pieces[b].id
            if other not in over.setdefault(one, []):
                over[one].append(other)
    return over


def _filling(told: Fitting, unit: Unit, copies: Sequence[int]) -> list[str]:
    """Of a closed box that is to be filled with ballast: how much goes in, and what is glued on last."""
    notes = " ".join(piece.note for piece in told.pieces if piece.id in unit.parts)
    if "gravel" not in mentioned([notes]):
        return []
    points = told.bodies.mesh(tuple(copies))[0]
    frames = [axes for c in copies if (axes := frame(told.bodies.pieces[c], told.bodies.matrices[c])) is not None]
    walls = 2.0 * min(told.bodies.pieces[c].stock.thickness for c in copies)
    inside = [max(float(np.ptp(points @ axis)) - walls, 0.0) for axis in frames[0]]
    millilitres = float(np.prod(inside)) / 1000.0
    return [
        say(
            "Leave the lid off until it is filled, and only lay it on dry for the check: {lid}. Each {thing} takes about "
            "{volume} ml of gravel, some {mass}.",
            lid=_lids(told, unit),
            thing=plain(unit.whole),
            volume=f"{round(millilitres, -1):.0f}",
            mass=mass(round(millilitres * practice.GRAVEL_DENSITY / 1e6, 2)),
        )
    ]


def lid(told: Fitting, unit: Unit) -> list[str]:
    """When a box that is filled is closed, after what the design says of the filling."""
    notes = " ".join(piece.note for piece in told.pieces if piece.id in unit.parts)
    if not unit.whole or not told.bench or "gravel" not in mentioned([notes]):
        return []
    return [say("Once it is filled, glue the lid on: {lid}.", lid=_lids(told, unit))]


def _lids(told: Fitting, unit: Unit) -> str:
    """The plate of each copy of a box that closes it, in words: it lies over the others, and where the box is glued to something
    with one of two such plates it is the other; else it is the upper one."""
    bodies = told.bodies
    lids = []
    for copies in (move.copies for move in told.moves if bodies.pieces[move.copies[0]].id in unit.parts):
        over = _laid_over(told, copies)
        most = max(map(len, over.values()))
        outer = [c for c in copies if len(over.get(bodies.pieces[c].id, ())) == most]
        held = {a for (a, b), touch in bodies.touches.items() if touch.glued and b not in copies}
        lids.append(max(outer, key=lambda c: (c not in held, float(bodies.mesh((c,))[0][:, 2].mean()))))
    plate = bodies.pieces[lids[0]]
    if plate.id in bodies.numbered:
        return which_copy.some(bodies, lids)
    return say("one {name} ({label})", name=one_plate(plate), label=plate.label)


def _last_joint(told: Fitting, seams: Sequence[Joint]) -> tuple[list[str], list[str]]:
    """How a round of several pieces or the two ends of one are brought together: what is done before, and at the joint."""
    ends = [joint for joint in seams if len(joint.parts) == 1 and joint.edges[0] != joint.edges[1]]
    rounds = {joint.parts[0]: joint for joint in ends}
    first: list[str] = []
    lines: list[list[str]] = []
    for part, joint in rounds.items():
        piece = told.every[part]
        alone = piece.closes_itself(*joint.edges)
        if joint.copies == len(piece.placements) > 2 and not alone:
            lines.append(rolled_round.lines(told, piece) or [_closed_to_ring()])
        elif alone:
            first.append(
                say(
                    "Roll {part} into shape dry a few times first, {face}.",
                    part=one_of(piece),
                    face=bending.face_inside([piece]),
                )
            )
            lines.append(
                [
                    say(
                        "When both ends are tacky, have a second pair of hands or a strip of masking tape across the joint hold "
                        "the ends level while you press the joint shut."
                    )
                ]
            )
    return first[:1], lines[0] if lines else []


def _closed_to_ring() -> str:
    return say(
        "Join them in a row first, and leave the last joint open. Coat its two edges as well; when they are tacky, close the row "
        "to a ring with the drawn faces inside, hold the two ends level, and press this joint shut like the others."
    )
