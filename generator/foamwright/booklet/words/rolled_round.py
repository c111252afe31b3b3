"""How a ring of walls is closed round the plates that lie within it, as a roof or a floor, and a single wall round a plate in the
midst of it: once it is closed they no longer go in, or drag their cement along all of it (common practice, no source)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import frame
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, one_of, the
from foamwright.booklet.words import bending, drawn_faces
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, say
from foamwright.parts.records import FlatBody, Piece

_EDGE = 0.5  # of what touches on a face of a plate; less, and it touches with its edge
_LEVEL = 1.0  # mm between a plate and the rim of the walls round it, that is flush
_TUBE = 0.05  # of the directions off a wall, along it: more, and it is a cone, which comes off a plate as it moves


def lines(told: Fitting, wall: Piece) -> list[str]:
    """How the copies of a `wall` are rolled round what lies within their ring; [] where nothing does."""
    plates = _within(told, wall)
    if not plates:
        return []
    return [
        *drawn_faces.facing(plates, told.moves, told.bodies, told.drawn_outside, {}),
        count(
            "Join them in a row first, and leave the last joint open. Coat its two edges as well, and those of {plates} with the "
            "places that these come to. When all is tacky, set {plates} with one edge on the first piece of the row, {where}, "
            "and roll the row round it, the drawn faces inside, pressing edge and joint shut one after the other: it does not go "
            "into a ring that is closed. Press the last joint shut like the others.",
            "Join them in a row first, and leave the last joint open. Coat its two edges as well, and those of {plates} with the "
            "places that these come to. When all is tacky, set {plates} each with one edge on the first piece of the row, "
            "{where}, and roll the row round them, the drawn faces inside, pressing edges and joint shut one after the other: "
            "they do not go into a ring that is closed. Press the last joint shut like the others.",
            len(plates),
            where=_where(told, wall, plates),
            plates=all_of(plates),
        ),
    ]


def _within(told: Fitting, wall: Piece) -> list[Piece]:
    """The plates, as a roof or a floor, that meet every copy of `wall` with their edges, as they lie within the ring of these."""
    bodies = told.bodies
    here = [bodies.pieces[copy] for move in told.moves for copy in move.copies]
    found = []
    for plate in dict.fromkeys(piece for piece in here if piece is not wall and len(piece.placements) == 1):
        (own,) = bodies.of(plate.id)
        met = [bodies.touches.get((own, copy)) for copy in bodies.of(wall.id)]
        if isinstance(plate.body, FlatBody) and all(t is not None and t.glued and t.broad[0] < _EDGE for t in met):
            found.append(plate)
    return found


def _where(told: Fitting, wall: Piece, plates: Sequence[Piece]) -> str:
    """Where the plates lie on the walls: flush with an end of them, or where their lines are."""
    ends = [_flush_end(told, wall, plate) for plate in plates]
    if not all(ends):
        return say("where its lines are") if len(plates) == 1 else say("where their lines are")
    if len(plates) == 1:
        return say("its outer face flush with the rim of the row {end}", end=ends[0])
    return say("the outer face of each flush with a rim of the row")


def _flush_end(told: Fitting, wall: Piece, plate: Piece) -> str:
    """At which end of the walls round it a plate ends where they do; "" where at none."""
    bodies = told.bodies
    (own,) = bodies.of(plate.id)
    axes = frame(plate, bodies.matrices[own])
    if axes is None:
        return ""
    mine, walls = (bodies.mesh(copies)[0] @ axes[2] for copies in ((own,), bodies.of(wall.id)))
    if abs(mine.max() - walls.max()) < _LEVEL:
        return directions.at(axes[2])
    return directions.at(-axes[2]) if abs(mine.min() - walls.min()) < _LEVEL else ""


def about(told: Fitting) -> dict[str, list[Meeting]]:
    """By the part that a step closes by itself to a tube, what it is glued to with its inside all round: the wall is rolled round
    that, or it round what goes in, and its two ends are joined last."""
    closed = {
        joint.parts[0]
        for joint in told.seams
        if bending.closes(joint, told.every[joint.parts[0]]) and told.every[joint.parts[0]].closes_itself(*joint.edges)
    }
    found: dict[str, list[Meeting]] = {}
    for m in told.meetings:
        wall = m.new if m.broad else m.other
        if m.glue != "none" and m.around and m.broad != m.on_broad and wall in closed and _is_tube(told, m):
            found.setdefault(wall, []).append(m)
    return {wall: met for wall, met in found.items() if bending.closes_alone(told.every[wall])}


def _is_tube(told: Fitting, meeting: Meeting) -> bool:
    """Has what touches one way along which all of it slides?"""
    touch = told.bodies.touches[meeting.pairs[0]]
    spread = (touch.areas[:, None] * touch.normals).T @ touch.normals / touch.area
    return float(np.linalg.eigvalsh(spread)[0]) < _TUBE**2


def line(told: Fitting, wall: Piece, met: Sequence[Meeting], glued: str) -> str:
    """How a single `wall` is rolled round all that it is glued to inside, by the sentence on what is `glued`."""
    inside = dict.fromkeys(m.other if m.new == wall.id else m.new for m in met)
    return say(
        "{sentence} Roll {wall} round {others} for this, from one end to the other, and press it on bit by bit: once it is "
        "closed, tacky cement lets nothing slide along it.",
        sentence=glued,
        wall=one_of(wall),
        others=the(told.every[next(iter(inside))]) if len(inside) == 1 else all_of([told.every[p] for p in inside]),
    )
