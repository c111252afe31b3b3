"""What a template says in words: plain functions from a part to the lines printed on it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import shapely

from foamwright.design.records import Design, Stock
from foamwright.flatten.records import Pattern, PatternDart, PatternEdge, Patterns, SegmentJoint
from foamwright.flatten.segments import drawn_length
from foamwright.language import count as count_of
from foamwright.language import decimal, figure, listed, say
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, FlatBody, Piece
from foamwright.templates.bevels import bevel_words, flare, flares
from foamwright.templates.facing import facing
from foamwright.templates.marks import OVERHANG
from foamwright.templates.records import Mark
from foamwright.templates.touching import Partly

SHINES_THROUGH = ("paper", "acrylic")  # material types that are marked on their outline alone
_LONGER = 0.05  # mm that a strip is longer over both faces than on the drawn one, to be told
_ALIKE = 0.98  # cosine: copies that all look one way
_STRAIGHT = 0.8  # of a direction, from which on it is told by one word


def number(value: float) -> str:
    """Degrees: whole if they are, else one decimal."""
    text = f"{value:.1f}"
    return "0" if text in ("0.0", "-0.0") else decimal(value, 0 if text.endswith(".0") else 1)


def stock_title(stock: Stock) -> str:
    """The stock's name, with its thickness unless the name says it already."""
    thickness = f"{stock.thickness:.3f}".rstrip("0").rstrip(".") + " mm"
    return stock.name if thickness in stock.name else f"{stock.name}, {thickness}"


def count(piece: Piece) -> tuple[str, ...]:
    """How many to cut and how many of them mirrored, in one or two lines."""
    mirrored = piece.cut_mirrored
    plain = piece.quantity - mirrored
    if not mirrored:
        return (say("cut {n}", n=piece.quantity),)
    if not plain:
        return (say("cut {n}, all mirrored", n=piece.quantity), say("(turn the template over)"))
    return (
        say("cut {n}: {plain} as drawn, {mirrored} mirrored", n=piece.quantity, plain=plain, mirrored=mirrored),
        say("(turn the template over)"),
    )


def lamination(piece: Piece) -> str | None:
    """What becomes of pieces that are glued on each other, as `count` tells of every layer."""
    if piece.layers == 1:
        return None
    parts = piece.quantity // piece.layers
    return count_of(
        "they make {n} part of {layers} layers", "they make {n} parts of {layers} layers", parts, layers=piece.layers
    )


def drawn_face(piece: Piece) -> str | None:
    """Which face is drawn on; a part that stands nowhere in the prop has no inside.

    Of a flat part it is told where that face looks once it stands, where it does so in all copies; an inside it has
    only where all copies turn it towards their middle, as the sides of a tower do.
    """
    if not piece.placements:
        return None
    if piece.stock.material_type in SHINES_THROUGH:
        return say("draw its outline and nothing else: light shows every line")
    if not isinstance(piece.body, FlatBody):
        return say("this side is the inside face: draw on it")
    looks = np.array([-piece.off_face(place.matrix) for place in piece.placements])
    mean = looks.mean(axis=0)
    if (looks @ mean).min() > _ALIKE and np.abs(mean).max() > _STRAIGHT:
        if np.abs(mean).argmax() < 2:
            return say("draw on this face: it goes {way}", way=facing(mean))
        return say("draw on this face: it goes up") if mean[2] > 0.0 else say("draw on this face: it goes down")
    middle = piece.body.frame.to_space(np.array([piece.body.outline.mean(axis=0)]))[0]
    places = np.array([place.matrix[:3, :3] @ middle + place.matrix[:3, 3] for place in piece.placements])
    if ((looks * (places.mean(axis=0) - places)).sum(axis=1) > 0.0).all():
        return say("this side is the inside face: draw on it")
    return say("draw on this face")


def joint(segment: Pattern, met: SegmentJoint) -> tuple[str, ...]:
    """What is printed at a joint of a segment, in short lines; of a scarf where it begins to slope."""
    if met.joint == "scarf":
        return (
            say("scarf joint to {label}:", label=met.to),
            say("bevel this face") if met.first else say("bevel the other face"),
            say("from here to"),
            say("nothing at the end"),
        )
    if met.joint == "mitre":
        return (
            say("mitre to {label}:", label=met.to),
            bevel_words((flare(segment, met.bevel),), segment.piece.thickness) or say("cut square"),
        )
    return (_joint_to(met.joint, met.to),)


def _joint_to(kind: str, label: str) -> str:
    words = {
        "puzzle": say("puzzle joint to {label}", label=label),
        "scarf": say("scarf joint to {label}", label=label),
        "butt": say("butt joint to {label}", label=label),
        "mitre": say("mitre joint to {label}", label=label),
    }
    return words[kind]


def segment_note(pattern: Pattern) -> str | None:
    """Which segments a segment is glued to."""
    if not pattern.joints:
        return None
    others = dict.fromkeys(joint.to for joint in pattern.joints)
    return _joint_to(pattern.joints[0].joint, say(" and ").join(others))


def use(piece: Piece) -> str | None:
    """What a part that stands nowhere in the prop is for."""
    return None if piece.placements or not piece.note else piece.note


def slot(other: Piece) -> str:
    return say("slot for {label}", label=other.label)


def fittings(piece: Piece) -> tuple[str, ...]:
    """What to do with the engraving and the pins of a flat part."""
    body = piece.body
    if not isinstance(body, FlatBody):
        return ()
    facts = []
    if body.engraving:
        facts.append(say("dotted lines: engrave on the other face, the outside"))
    if body.pins:
        facts.append(say("line the layers up on {size} mm pins at the crosses", size=f"{PIN:g}"))
    return tuple(facts)


def edge_finish(piece: Piece) -> str | None:
    """How the edges are worked once the part is cut."""
    finish = piece.edge_finish
    if finish is None:
        return None
    if finish.finish == "rounded":
        return say(
            "then round the edges by sanding, radius {size} mm; what is glued stays square", size=number(finish.size)
        )
    return say("then chamfer the edges, {size} mm wide; what is glued stays square", size=number(finish.size))


def pack(design: Design) -> str:
    return say("{name} {version}, size {size}", name=design.name, version=design.version, size=design.size)


def dimensions(pattern: Pattern) -> tuple[str, ...]:
    """Radius of a round part, or length and width of a plain strip."""
    body = pattern.piece.body
    if isinstance(body, FlatBody) and body.radius is not None:
        outer, inner = (None if r is None else decimal(r, 1) for r in (body.radius, body.inner_radius))
        told = (say("radius {size} mm", size=outer),)
        return told if inner is None else (*told, say("inner radius {size} mm", size=inner))
    if pattern.strip is not None:
        length, width = pattern.strip
        drawn = drawn_length(pattern)
        if length - drawn > _LONGER:
            return (
                say(
                    "length {length} mm over both faces, {drawn} mm on the drawn one, width {width} mm",
                    length=decimal(length, 1),
                    drawn=decimal(drawn, 1),
                    width=decimal(width, 1),
                ),
            )
        return (say("length {length} mm, width {width} mm", length=decimal(length, 1), width=decimal(width, 1)),)
    return ()


def trims(piece: Piece) -> tuple[str, ...]:
    """What to cut off each end to fit, longest first; one text for two equal ends."""
    if not isinstance(piece.body, BandBody):
        return ()
    lengths = sorted({piece.body.trim_start, piece.body.trim_end} - {0.0}, reverse=True)
    return tuple(trim(length) for length in lengths)


def trim(length: float) -> str:
    return say("trim {size} mm to fit", size=number(length))


def _fold_turns(pattern: Pattern) -> list[float]:
    body = pattern.piece.body
    return [c.turn for c in body.corners if c.made == "scored"] if isinstance(body, BandBody) else []


def folds_differ(pattern: Pattern) -> bool:
    """Is each fold line of a strip told by itself?"""
    turns = _fold_turns(pattern)
    return bool(turns) and max(turns) - min(turns) > 0.1


def fold_note(pattern: Pattern) -> str | None:
    """How to score a strip that is folded in its corners."""
    turns = _fold_turns(pattern)
    if not turns:
        return None
    if folds_differ(pattern):
        return say("fold lines: cut a V as said there, down to the skin of the far face, then fold")
    angle = number(abs(turns[0]))
    if turns[0] > 0:
        return say("fold lines: cut a V of {angle}° from this side down to the outer skin, then fold", angle=angle)
    return say("fold lines: cut a V of {angle}° from the other side down to the inner skin, then fold", angle=angle)


def fold_text(turn: float) -> str:
    """What is printed at one fold line of a strip whose folds differ."""
    angle = number(abs(turn))
    return (
        say("V {angle}° from this side", angle=angle)
        if turn > 0
        else say("V {angle}° from the other side", angle=angle)
    )


def seam_numbers(patterns: Patterns) -> Mapping[frozenset[tuple[str, str]], int]:
    """The number of each seam, as it is printed at both of its edges, by part and edge of both sides."""
    keys = dict.fromkeys(frozenset(((s.part_a, s.edge_a), (s.part_b, s.edge_b))) for s in patterns.seams)
    return {key: number for number, key in enumerate(keys, start=1)}


Copies = Mapping[tuple[str, str], tuple[int, ...]]  # which copies of a part meet which (part, edge) at a seam


def joins(
    patterns: Patterns,
    pattern: Pattern,
    edge: PatternEdge,
    told: Collection[str] = (),
    met: Copies = MappingProxyType({}),
) -> str | None:
    """What the edge is glued to, but for the parts that are `told` by themselves; None for a free edge.

    Where copies of the part are sewn to different edges, each is told with its copies, if they are known (`met`).
    """
    me = pattern.piece.id
    numbers = seam_numbers(patterns)
    sewn: dict[str, tuple[int, ...]] = {}  # copies of one part may meet different parts
    for seam in patterns.seams:
        ends = ((seam.part_a, seam.edge_a), (seam.part_b, seam.edge_b))
        for here, (other, other_edge) in (ends, ends[::-1]):
            if edge.seam is not None and here == (me, edge.id):
                number = numbers[frozenset(ends)]
                label = patterns.prop.piece(other).label
                copies = met.get((other, other_edge), ())
                if (other, other_edge) == here:
                    sewn[say("seam {n} to mirrored {label}", n=number, label=label)] = copies
                elif other == me and pattern.piece.closes_itself(edge.id, other_edge):
                    sewn[say("seam {n} to its other end", n=number)] = copies
                elif other == me:
                    sewn[say("seam {n} to the next {label}", n=number, label=label)] = copies
                else:
                    sewn[say("seam {n} to {label}", n=number, label=label)] = copies
    if sewn:
        return _by_copy(pattern.piece, sewn)
    end = (
        say("the other end of {label}", label=patterns.prop.piece(me).label) if pattern.joints else say("its other end")
    )
    labels = [end if part == me else patterns.prop.piece(part).label for part in edge.joins if part not in told]
    return say("to {labels}", labels=", ".join(labels)) if labels else None


def _by_copy(piece: Piece, sewn: Mapping[str, tuple[int, ...]]) -> str:
    """The seams of one edge; each with the copies that have it there, where these are known and each has but one."""
    every = [copy for copies in sewn.values() for copy in copies]
    if len(sewn) == 1 or not all(sewn.values()) or len(set(every)) < len(every):
        return say(" or ").join(sewn)
    if piece.is_pair:
        drawn = [placement.mirrored for placement in piece.placements].index(False) + 1
        told = [
            say("as drawn: {seam}", seam=text) if copies == (drawn,) else say("mirrored: {seam}", seam=text)
            for text, copies in sewn.items()
        ]
        return ", ".join(told)
    told = [
        count_of(
            "copy {copies}: {seam}", "copies {copies}: {seam}", len(c), copies=listed([str(n) for n in c]), seam=text
        )
        for text, c in sewn.items()
    ]
    return ", ".join(told)


def edge_text(
    patterns: Patterns,
    pattern: Pattern,
    edge: PatternEdge,
    told: Collection[str] = (),
    met: Copies = MappingProxyType({}),
) -> str | None:
    """What is printed along an edge; None for a free edge that is cut square. The parts `told` stand by themselves."""
    bevel = bevel_words(flares(pattern, edge), pattern.piece.thickness)
    if bevel is not None and _in_a_hole(pattern, edge):
        bevel = say("hole: {bevel}", bevel=bevel)
    said = (joins(patterns, pattern, edge, told, met), bevel)
    return ", ".join(fact for fact in said if fact is not None) or None


def _in_a_hole(pattern: Pattern, edge: PatternEdge) -> bool:
    """Is it the edge of a hole, which a leader alone would not tell from that of the outline?"""
    start = shapely.Point(edge.points[0])
    rings = [shapely.LinearRing(ring) for ring in (pattern.outline, *pattern.holes)]
    return len(rings) > 1 and min(range(len(rings)), key=lambda i: round(rings[i].distance(start), 6)) > 0


@dataclass(frozen=True, eq=False)
class Told:
    """How the copies of a part are told apart: a pair by being mirrored, others by their number where they are `numbered`, and
    else not at all."""

    piece: Piece
    numbered: bool = True

    def only(self, copies: Collection[int]) -> str:
        """Of which copies something holds; nothing if of all."""
        if not copies:
            return ""
        number = len(set(copies))
        if self.piece.is_pair and number == 1:
            mirrored = self.piece.placements[min(copies) - 1].mirrored
            return say(", mirrored only") if mirrored else say(", as drawn only")
        if not self.numbered:
            return say(", on {n} of {all}", n=number, all=len(self.piece.placements))
        return count_of(
            ", copy {copies} only",
            ", copies {copies} only",
            number,
            copies=listed([str(n) for n in sorted(set(copies))]),
        )


def partly_text(patterns: Patterns, met: Partly, told: Told) -> str:
    """What is printed at the stretches of an edge that touch another part, where the rest of it does not."""
    label = patterns.prop.piece(met.other).label
    if not met.stretches and not met.opens and not met.overhang:
        return say("to {labels}", labels=label) + told.only(met.copies)
    if not met.stretches and not met.opens:
        text = say("to {label}, {size} mm of the edge stand out", label=label, size=decimal(met.overhang, 0))
        return text + told.only(met.copies)
    if not met.stretches:
        gap = decimal(met.opens, 0)
        text = say(
            "to {label} along one side of the edge, a gap of up to {size} mm at the other", label=label, size=gap
        )
        return text + told.only(met.copies)
    if len(met.stretches) > 1:
        text = count_of("to {label} at {n} place", "to {label} at {n} places", len(met.stretches), label=label)
    else:
        text = say("to {label} for {size} mm", label=label, size=decimal(met.stretches[0].length, 0))
    if met.opens:
        text = say("{text}, beside it a gap of up to {size} mm", text=text, size=decimal(met.opens, 0))
    return text + told.only(met.copies)


def dart_texts(dart: PatternDart) -> tuple[str, ...]:
    size = decimal(dart.opening, 0 if dart.opening >= 1.0 else 1)
    return (say("dart: close first, {size} mm wide", size=size), say("dart {size} mm: close first", size=size))


def mark_texts(mark: Mark, told: Told) -> tuple[str, ...]:
    """What is printed in the outline of a part that goes on top, longest first."""
    upper, only = mark.upper, told.only(mark.copies)
    named, short = f"{upper.label}: {upper.name}", upper.label
    if mark.overhang > OVERHANG:
        size = figure(round(2.0 * mark.overhang) / 2.0)  # to half a millimetre: 2.5 told as 3 is measured and doubted
        named = say("{part}, stands {size} mm out", part=named, size=size)
        short = say("{part}, {size} mm out", part=short, size=size)
    if not mark.glued:
        named, short = say("{part}, rests here, no glue", part=named), say("{part}, no glue", part=short)
    if mark.on_inside:
        return (named + only, short + only)
    return (say("{part}, on the other face", part=named) + only, say("{part}, other face", part=short) + only)


def copies(number: int, text: str) -> str:
    """What is said once of several things that are alike."""
    return text if number == 1 else f"{number} x {text}"


def words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
