"""Which way the face of a part goes that is drawn on, and where its arrow points."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
import shapely.affinity

from foamwright.assembly import directions, which_copy
from foamwright.assembly.bodies import Bodies, Touch, frame
from foamwright.assembly.meetings import UPRIGHT, Meeting
from foamwright.assembly.naming import capital, one_of, the
from foamwright.assembly.taking_apart import Move
from foamwright.assembly.units import is_bare
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, listed, say
from foamwright.parts.records import FlatBody, Piece
from foamwright.templates.facing import facing as look_of
from foamwright.templates.heading import ROUND
from foamwright.templates.wording import SHINES_THROUGH

_NOT_DRAWN_ON = ("card", "cloth", *SHINES_THROUGH)  # material types of which no face is drawn on
_STRAIGHT = 0.8  # cosine between a direction and the word for it
_LEVEL = 0.999  # cosine
_ROUND = 0.2  # mm by which the radii of a round part differ
_CIRCLE = 0.03  # of a radius, by which what is meant to be a circle may be off
_ONE_BEVEL = 1.0  # degrees by which one bevel may change
_OFF_MIDDLE = 2.0  # mm from the middle, at which a place is seen to be nearer to one end
_SAME = 0.02  # of a part by which it differs from itself turned round
_FEW = 4  # copies that are told one by one
_ONE_WAY = 0.6  # cosine between a direction and straight to the middle, for faces that look inwards


def lines(told: Fitting) -> list[str]:
    """Which way the face that is drawn on goes, of flat parts that are no plates of a whole: those go inwards."""
    pieces = [piece for piece in told.pieces if not told.whole_of(piece) or _is_round(piece)]
    met = [m for m in told.meetings if m.on_broad or not told.whole_of(told.every[m.new])]  # a whole is turned as one
    return facing(pieces, told.moves, told.bodies, told.drawn_outside, lies_on(met))


def turned_to(told: Fitting, pieces: Sequence[Piece]) -> list[str]:
    """Level plates that are set on pieces that are told apart by numbers: to which of them their arrow points."""
    lines = []
    for piece in pieces:
        own = told.own(piece)
        axes = frame(piece, told.bodies.matrices[own[0]]) if len(own) == 1 else None
        met = [b for m in told.meetings if m.new == piece.id for _, b in m.pairs]
        if own and told.whole_of(piece):
            there = told.standing | told.bodies.mask(copy for move in told.moves for copy in move.copies)
            met = [b for b in _met(told.bodies, own) if there >> b & 1]  # whichever of its plates is put to the others
            if not (piece.body.holes or _met(told.bodies, own) - {*met}) or not _met(told.bodies, met) - {*met, *own}:
                continue  # nothing comes to it or to those around it that makes them differ
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
                if _drawn(told, piece, own[0])[2] < 0.0 and not told.whole_of(piece)  # a whole is turned at the bench
                else say("Turn {part} so that its arrow \u201cforward\u201d points to {other}.", **facts)
            )
    return lines


def _met(bodies: Bodies, copies: Collection[int]) -> set[int]:
    """What touches any of some copies."""
    return {b for a, b in bodies.touches if a in copies}


def ends_told(told: Fitting) -> list[str]:
    """Of parts that are painted by then, arrows and all, and would go in turned half round as well: which end is which, by what
    comes to one of them."""
    lines = []
    for piece in told.pieces:
        if piece.id not in told.painted or not isinstance(piece.body, FlatBody) or not _turns_half(piece.body):
            continue
        own = told.own(piece)
        found = [_nearer_end(told.bodies, copy) for copy in own]
        if found and found[0] and len(set(found)) == 1:
            label, where = found[0]
            lines.append(
                say(
                    "{part} would fit turned end for end as well: the end nearer to its place for {label} goes {where}.",
                    part=capital(one_of(piece)),
                    label=label,
                    where=where,
                )
            )
    return lines


def _nearer_end(bodies: Bodies, copy: int) -> tuple[str, str] | None:
    """Of a flat copy the letter of what comes on a face of it, off its middle, and where its end is that is nearer to that; None
    where nothing does, or it comes on both sides of the middle."""
    axes = frame(bodies.pieces[copy], bodies.matrices[copy])
    if axes is None:
        return None
    points = bodies.mesh((copy,))[0]
    middle = (points.max(axis=0) + points.min(axis=0)) / 2.0
    off: dict[str, list[np.ndarray]] = {}
    for (a, b), touch in bodies.touches.items():
        if a == copy and touch.glued and touch.broad[0] > 0.5:
            off.setdefault(bodies.pieces[b].label, []).append(touch.places.mean(axis=0) - middle)
    for label, each in off.items():
        mean = np.mean(each, axis=0)
        mean -= (mean @ axes[2]) * axes[2]
        if len(each) == 1 and float(np.linalg.norm(mean)) > _OFF_MIDDLE:
            return label, directions.at(mean / np.linalg.norm(mean))
    return None


def _turns_half(body: FlatBody) -> bool:
    """Has a part the same outline when it is turned half round in its plane, and is no circle?"""
    foam = shapely.Polygon(body.outline, body.holes)
    turned = shapely.affinity.rotate(foam, 180.0, "center")
    return not _has_round_outline(body) and foam.symmetric_difference(turned).area < _SAME * foam.area


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
    middle = (body.outline.max(axis=0) + body.outline.min(axis=0)) / 2.0
    corners = np.linalg.norm(body.outline - middle, axis=1)
    sides = np.linalg.norm((body.outline + np.roll(body.outline, -1, axis=0)) / 2.0 - middle, axis=1)
    return bool(
        np.ptp(corners) < _ROUND and sides.min() > (1.0 - _CIRCLE) * corners.max()
    )  # a square has its corners on one


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
    corners = [line for patch in touch.outlines for line in patch]
    lines = [
        np.vstack([line, (line + np.roll(line, -1, axis=0)) / 2.0]) for line in corners
    ]  # a square has its corners on one
    middle = told.bodies.spheres[copy, :3]
    out = [np.linalg.norm((line - middle) @ axes[:2].T, axis=1) for line in lines]
    return bool(out) and all(float(np.ptp(radii)) <= max(ROUND, _CIRCLE * float(radii.max())) for radii in out)


def _is_round(piece: Piece) -> bool:
    return isinstance(piece.body, FlatBody) and piece.body.radius is not None


def lies_on(meetings: Sequence[Meeting]) -> dict[str, Meeting]:
    """By part, what it lies on with a face: on a face of that, else level on edges of it or below them."""
    on: dict[str, Meeting] = {}
    laid = (m for m in meetings if m.broad and (m.on_broad or abs(m.from_other[2]) > UPRIGHT))
    for m in sorted(laid, key=lambda m: not m.on_broad):
        if on.setdefault(m.new, m).other == m.other and on[m.new] is not m:
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
        if not isinstance(piece.body, FlatBody) or piece.stock.material_type in _NOT_DRAWN_ON:
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
        mutual = word in (say("towards each other"), say("away from each other"))
        return [
            count(
                "The drawn face of {parts} goes {way}.",
                "The drawn faces of {parts} go {way}.",
                len(these) + mutual,
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
        way = sign * piece.off_face(bodies.matrices[copy])
        towards_it = float(-way @ touch.off / max(float(np.linalg.norm(touch.off)), 1e-9))
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
    """Where the drawn faces of copies look, in words: all one way, towards what is between them or away from it, else by where
    each stands; "" where words do not tell the copies apart."""
    if not copies or not all(isinstance(bodies.pieces[copy].body, FlatBody) for copy in copies):
        return ""
    ways = np.array([sign * bodies.pieces[copy].off_face(bodies.matrices[copy]) for copy in copies])
    if len(copies) == 1:
        return directions.looking(ways[0])
    mean = ways.mean(axis=0)
    if float(np.abs(mean).max()) > _STRAIGHT and float((ways @ mean).min()) > 0.0:
        return look_of(mean)
    places = bodies.spheres[:, :3]
    # their own middle first: a cap may stand far from that of the prop
    middles = places[list(copies)].mean(axis=0), places.mean(axis=0)
    about = (_about(ways, places[list(copies)] - middle) for middle in middles)
    return next(filter(None, about), "") or _by_side(bodies, copies, ways) or _by_place(bodies, copies, ways)


def _about(ways: np.ndarray, off: np.ndarray) -> str:
    """Do directions (n, 3) of upright faces all look towards a middle that they are `off` (n, 3), away from it, or to one side of
    the way to it, as those of brackets around a tower?"""
    level = off[:, :2] / np.maximum(np.linalg.norm(off[:, :2], axis=1, keepdims=True), 1e-9)
    towards = (ways[:, :2] * level).sum(axis=1)
    # what looks at each other or away, however far it stands apart along itself, as the wheels of two axles
    facing_it = [towards / _ONE_WAY, *(ways[:, axis] * np.sign(off[:, axis]) / _STRAIGHT for axis in (0, 1))]
    opposite = len(ways) == 2 and float(ways[0] @ ways[1]) < -_STRAIGHT
    if any((way < -1.0).all() for way in facing_it):
        return say("towards each other") if opposite else say("inwards")
    if any((way > 1.0).all() for way in facing_it):
        return say("away from each other") if opposite else say("outwards")
    beside = ways[:, 1] * level[:, 0] - ways[:, 0] * level[:, 1]
    if (beside > _ONE_WAY).all():
        return say("to the right, seen from outside")
    return say("to the left, seen from outside") if (beside < -_ONE_WAY).all() else ""


def _by_side(bodies: Bodies, copies: Sequence[int], ways: np.ndarray) -> str:
    """Of copies on both sides of the prop, which look one way on the left and one on the right."""
    on_left = bodies.spheres[list(copies), 1] > bodies.spheres[:, 1].mean()
    sides = [{directions.looking(way) for way, left in zip(ways, on_left) if left == side} for side in (True, False)]
    if any(len(words) != 1 for words in sides):
        return ""
    return say("{left} on the left, {right} on the right", left=min(sides[0]), right=min(sides[1]))


def _by_place(bodies: Bodies, copies: Sequence[int], ways: np.ndarray) -> str:
    """Of a few copies that are all of a part, where each of them looks, by where it stands."""
    part = bodies.pieces[copies[0]].id
    where = dict(zip(bodies.of(part), which_copy.places(bodies, part)))
    if len(copies) > _FEW or not all(copy in where for copy in copies):
        return ""
    return listed(
        [say("{where} {way}", where=where[copy], way=directions.looking(way)) for copy, way in zip(copies, ways)]
    )
