"""What is done before any part is joined to another: cutting, heat, and the joints within single parts."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.joints import perimeter
from foamwright.assembly.records import Joint
from foamwright.assembly.units import is_bare
from foamwright.assembly.work import Work, by_glue, cautions_of, extent, gluing_minutes, headed, main_glue
from foamwright.booklet.words import (
    bending,
    cutting,
    free_bands,
    gauging,
    heating,
    preparing,
    saddles,
    supplies,
    titles,
    warming,
)
from foamwright.booklet.words.bending import Hollow
from foamwright.flatten.bend_gauges import BendGauges
from foamwright.flatten.records import Pattern, Patterns
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody
from foamwright.templates.bevels import is_bevelled

WITHIN = ("split", "dart", "laminate")  # joints within one part, in the order in which they are made
_ON_FORM = 0.01  # mm from a form

_SAWN = ("acrylic", "plywood")  # and sanded to their lines


def cut(patterns: Patterns, seams: bool, bodies: Bodies) -> Work:
    """`seams`: are there any?"""
    every = patterns.patterns
    minutes = sum(
        practice.MINUTES_PER_PIECE_CUT * p.piece.quantity
        + practice.MINUTES_PER_METRE_CUT * perimeter(p) * p.piece.quantity / 1000.0
        for p in every
    )
    minutes += sum(
        practice.MINUTES_PER_METRE_BEVELLED * edge.length * p.piece.quantity / 1000.0
        for p in every
        for edge in p.edges
        if is_bevelled(p, edge)
    )
    minutes += sum(
        practice.MINUTES_PER_METRE_BEVELLED * float(np.hypot(*np.diff(joint.line, axis=0).T).sum()) / 1000.0
        for p in every
        for own in cutting.cut_by_itself(p)
        for joint in own.joints
    )
    uses = ["templates", "paper-scissors", "knife", "mat", "measure", "pencil", "awl", "guard"]
    uses += cutting.special_tools(patterns)
    cautions = ["knife", "small-parts"]
    if any(map(cutting.curved_bevels, every)):
        uses.append("sandpaper")
        cautions.append("sanding-dust")
    sawn = [p for p in every if p.piece.bought or p.piece.stock.material_type in _SAWN]
    if sawn:
        uses.append("saw")
        wood = any(p.piece.stock.material_type == "plywood" for p in sawn)
        cautions.append("saw" if wood else "sawing")  # clear sheet, and bars: those of no wood are entered as foam
    if any(p.piece.stock.material_type in _SAWN and not (p.piece.listed_only or p.piece.bought) for p in every):
        uses.append("sandpaper")
        cautions.append("sanding-dust")
    text, heads = headed(cutting.cut(patterns, seams, bodies))
    return Work(
        titles.cut(),
        tuple(pattern.piece.id for pattern in every),
        text,
        minutes=minutes,
        cautions=cautions,
        uses=uses,
        heads=heads,
    )


def close_pores(
    patterns: Patterns,
    hidden: Mapping[bool, Collection[str]],
    insides: Collection[str],
    hollows: Mapping[str, Hollow],
    gauged: Mapping[str, BendGauges],
    every: Mapping[str, Piece],
    bodies: Bodies,
) -> Work | None:
    """Heat on every painted piece of foam, before glue that it would weaken; `hidden` are the flat parts of which the drawn face
    (True), or the other one, is out of sight when all is done, `insides` the curved ones of which the inside shows as well,
    `hollows` by id those that are pressed hollow, `gauged` those that have gauges, `every` part by id, `bodies` what
    touches what."""
    standing = [p for p in patterns.patterns if p.piece.placements]  # what is only cut is left as it is
    porous = [p for p in standing if _is_foam(p.piece) and not is_bare(p.piece)]
    if not porous:
        return None
    minutes = practice.MINUTES_PER_M2_HEATED * sum(p.area * p.piece.quantity for p in porous) / 1e6
    minutes += practice.MINUTES_PER_PIECE_HEATED * sum(p.piece.quantity for p in porous)
    foam = [p.piece for p in standing if _is_foam(p.piece)]
    left_out = [piece for piece in foam if is_bare(piece)]
    warmed = [p for p in porous if warming.is_warmed(p)]
    about = [p for p in warmed if bending.is_about_something(p.piece)]
    bent = {p.piece.label: _over(p) for p in about}
    minutes += practice.MINUTES_PER_PIECE_BENT * sum(p.piece.quantity for p in warmed)
    unseen = {*hidden[True]} & {*hidden[False]}
    layered = [p.piece for p in porous if p.piece.layers > 1 and p.piece.id not in unseen]
    shown = _shown([p.piece for p in porous if p.piece not in layered], hidden, insides)
    heated = [p.piece for p in porous if p.piece not in shown.neither]
    thin = [piece for piece in heated if piece.stock.thickness <= practice.THIN]
    domed = {p.piece.id: hollows[p.piece.id] for p in porous if p.piece.id in hollows}
    title, passages = heating.close_pores(
        left_out,
        thin if len(thin) < len(heated) else (),
        bent,
        [
            *warming.by_hand(warmed, gauged),
            *free_bands.lines(free_bands.free_bands(porous, bodies)),
            *free_bands.along_lines(free_bands.on_edge(porous, bodies)),
        ],
        [*warming.tight(warmed, every), *gauging.left_to_darts(domed.values())],
        gauging.how_to(porous, gauged),
        gauging.pressed(domed, gauged),
        saddles.lines(warmed, {part for part, own in gauged.items() if own.along}),
        bending.face_inside(
            [*(p.piece for p in warmed), *(p.piece for p in porous if isinstance(p.piece.body, BandBody))]
        ),
        layered,
        shown,
        {piece.id for piece in layered} - {*hidden[True]},
    )
    text, heads = headed(passages)
    parts = tuple(p.piece.id for p in porous)
    uses = (
        "heat",
        *(["former"] if bent else []),
        *(["bend-gauges"] if gauged else []),
        *(["ball"] if not all(one.darted for one in domed.values()) else []),
        *supplies.mentioned(line for line in text if "circle" in line),
        *(["eraser"] if shown.drawn or shown.both else []),
        "board",
        "weights",
        "sandpaper",
        "guard",
    )
    return Work(title, parts, text, minutes=minutes, cautions=("heat-gun", "sanding-dust"), uses=uses, heads=heads)


def _over(pattern: Pattern) -> tuple[float, float, str]:
    """What a panel is bent over, in mm across at its narrow and its wide end, and how it lies there; a cone that is closed to a
    round is bent until its ends meet."""
    narrow, wide = bending.round_about(pattern.piece)
    if narrow < wide and bending.closes_alone(pattern.piece):
        return narrow, float("inf"), ""
    return narrow, wide, bending.lies(pattern)


def _is_foam(piece: Piece) -> bool:
    """Is it cut from foam? A round bar that is bought is as often wood, and has no pores to close."""
    bought = isinstance(piece.body, RodBody) and piece.body.bought
    return piece.stock.material_type == "foam" and not bought


def _shown(pieces: Sequence[Piece], hidden: Mapping[bool, Collection[str]], insides: Collection[str]) -> heating.Shown:
    """Panels show their outside, which is not the drawn one, and some of them their inside, linings that alone; flat parts and
    bands what is not hidden."""
    seen = {}
    for piece in pieces:  # whether the drawn face shows, and the other one
        if isinstance(piece.body, FlatBody | BandBody):
            seen[piece.id] = piece.id not in hidden[True], piece.id not in hidden[False]
        else:
            seen[piece.id] = (True, False) if _is_lining(piece) else (piece.id in insides, True)

    def shows(drawn: bool, other: bool) -> list[Piece]:
        return [piece for piece in pieces if seen[piece.id] == (drawn, other)]

    return heating.Shown(shows(True, False), shows(False, True), shows(True, True), shows(False, False))


def _is_lining(piece: Piece) -> bool:
    """Is a panel glued to the inside of others, with the face that is not drawn on?"""
    body = piece.body
    return isinstance(body, PanelBody) and bool(piece.lies_on) and body.inner_offset + piece.thickness < _ON_FORM


def within(
    work: str, joints: Sequence[Joint], patterns: Patterns, every: Mapping[str, Piece], gauged: Mapping[str, BendGauges]
) -> Work | None:
    """Work of one kind inside single parts, before any is joined to another; `gauged` by id those that have gauges."""
    mine = [joint for joint in joints if joint.kind == work]
    if not mine:
        return None
    parts = tuple(joint.parts[0] for joint in mine)
    worked = [patterns.pattern(part) for part in parts]
    title, text = preparing.prepare(work, worked, every, gauged)
    uses = ["brush", "weights", "tape", "guard"]
    if any(getattr(p.piece.body, "pins", ()) for p in worked):
        uses += ["pins", "awl", "filler"]
    if work == "dart" and any(part in gauged for part in parts):
        uses.append("bend-gauges")
    glues = {joint.glue for joint in mine}
    cautions = list(cautions_of(glues))
    if any(p.split is not None and p.split.joint == "scarf" for p in worked):
        uses += ["knife", "mat", "sandpaper"]
        cautions += ["knife", "sanding-dust"]
    if work == "laminate" and any(isinstance(p.piece.body, RodBody) for p in worked):
        uses.append("sandpaper")
        cautions.append("sanding-dust")
    minutes = gluing_minutes([p.piece for p in worked], sum(joint.copies for joint in mine), *extent(mine))
    glued = by_glue((joint.glue, joint.area * joint.copies) for joint in mine)
    return Work(title, parts, text, main_glue(glues), minutes, cautions=cautions, uses=uses, glued=glued)
