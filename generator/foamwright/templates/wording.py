"""What a template says in words: plain functions from a part to the lines printed on it."""

from __future__ import annotations

from foamwright.design.records import Design, Stock
from foamwright.flatten.records import Pattern, PatternDart, PatternEdge, Patterns, SegmentJoint
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, FlatBody, Piece
from foamwright.templates.bevels import bevel_words, flare, flares


def number(value: float) -> str:
    """Degrees: whole if they are, else one decimal."""
    text = f"{value:.1f}"
    return "0" if text in ("0.0", "-0.0") else text.removesuffix(".0")


def stock_title(stock: Stock) -> str:
    """The stock's name, with its thickness unless the name says it already."""
    thickness = f"{stock.thickness:.3f}".rstrip("0").rstrip(".") + " mm"
    return stock.name if thickness in stock.name else f"{stock.name}, {thickness}"


def count(piece: Piece) -> tuple[str, ...]:
    """How many to cut and how many of them mirrored, in one or two lines."""
    plain = piece.quantity - piece.mirrored
    if not piece.mirrored:
        return (f"cut {piece.quantity}",)
    if not plain:
        return (f"cut {piece.quantity}, all mirrored", "(turn the pattern over)")
    return (f"cut {piece.quantity}: {plain} as drawn, {piece.mirrored} mirrored", "(turn the pattern over)")


def lamination(piece: Piece) -> str | None:
    return f"laminate {piece.layers} layers for each" if piece.layers > 1 else None


def inside_face(piece: Piece) -> str | None:
    """Which face is drawn on; a part that stands nowhere in the prop has no inside."""
    return "this side is the inside face: draw on it" if piece.placements else None


def joint(segment: Pattern, found: SegmentJoint) -> tuple[str, ...]:
    """What is printed at a joint of a segment, in short lines; of a scarf where it begins to slope."""
    if found.joint == "scarf":
        face = "this face" if found.first else "the other face"
        return (f"scarf joint to {found.to}:", f"bevel {face}", "from here to", "nothing at the end")
    if found.joint == "mitre":
        return (f"mitre to {found.to}:", bevel_words((flare(segment, found.bevel),)) or "cut square")
    return (f"{found.joint} joint to {found.to}",)


def segment_note(pattern: Pattern) -> str | None:
    """Which segments a segment is glued to."""
    if not pattern.joints:
        return None
    others = dict.fromkeys(joint.to for joint in pattern.joints)
    return f"{pattern.joints[0].joint} joint to {' and '.join(others)}"


def use(piece: Piece) -> str | None:
    """What a part that stands nowhere in the prop is for."""
    return None if piece.placements or not piece.note else piece.note


def slot(other: Piece) -> str:
    return f"slot for {other.label}"


def fittings(piece: Piece) -> tuple[str, ...]:
    """What to do with the engraving and the pins of a flat part."""
    body = piece.body
    if not isinstance(body, FlatBody):
        return ()
    found = []
    if body.engraving:
        found.append("dotted lines: engrave on the other face, the outside")
    if body.pins:
        found.append(f"align the layers with {PIN:g} mm pins at the crosses")
    return tuple(found)


def edge_finish(piece: Piece) -> str | None:
    """How the edges are worked once the part is cut."""
    finish = piece.edge_finish
    if finish is None:
        return None
    if finish.finish == "rounded":
        return f"round all edges by sanding, radius {number(finish.size)} mm"
    return f"chamfer all edges, {number(finish.size)} mm wide"


def pack(design: Design) -> str:
    return f"{design.name} {design.version}, size {design.size}"


def dimensions(pattern: Pattern) -> tuple[str, ...]:
    """Radius of a round part, or length and width of a plain strip."""
    body = pattern.piece.body
    if isinstance(body, FlatBody) and body.radius is not None:
        return tuple(f"{word} {value:.1f}" for word, value in radii(body))
    if pattern.strip is not None:
        length, width = pattern.strip
        return (f"length {length:.1f}, width {width:.1f}",)
    return ()


def radii(body: FlatBody) -> tuple[tuple[str, float], ...]:
    found = (("R", body.radius), ("inner R", body.inner_radius))
    return tuple((word, value) for word, value in found if value is not None)


def trims(piece: Piece) -> tuple[str, ...]:
    """What to cut off each end after gluing, longest first; one text for two equal ends."""
    if not isinstance(piece.body, BandBody):
        return ()
    lengths = sorted({piece.body.trim_start, piece.body.trim_end} - {0.0}, reverse=True)
    return tuple(trim(length) for length in lengths)


def trim(length: float) -> str:
    return f"trim {number(length)} mm after gluing"


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
        return "fold lines: cut a V as told there, down to the skin of the far face, then fold"
    side, skin = ("this side", "outer") if turns[0] > 0 else ("the other side", "inner")
    return f"fold lines: cut a V of {number(abs(turns[0]))}° from {side} down to the {skin} skin, then fold"


def fold_text(turn: float) -> str:
    """What is printed at one fold line of a strip whose folds differ."""
    return f"V {number(abs(turn))}° from {'this' if turn > 0 else 'the other'} side"


def joins(patterns: Patterns, pattern: Pattern, edge: PatternEdge) -> str | None:
    """What the edge is glued to; None for a free edge."""
    me = pattern.piece.id
    sewn: dict[str, None] = {}  # copies of one part may meet different parts
    for seam in patterns.seams:
        ends = ((seam.part_a, seam.edge_a), (seam.part_b, seam.edge_b))
        for here, (other, other_edge) in (ends, ends[::-1]):
            if edge.seam is not None and here == (me, edge.id):
                mirrored = "mirrored " if (other, other_edge) == here else ""
                sewn[f"{mirrored}{patterns.prop.piece(other).label}, edge {words(other_edge)}"] = None
    if sewn:
        return f"to {' or '.join(sewn)}"
    end = f"the other end of {patterns.prop.piece(me).label}" if pattern.joints else "its other end"
    labels = [end if part == me else patterns.prop.piece(part).label for part in edge.joins]
    return f"to {', '.join(labels)}" if labels else None


def edge_text(patterns: Patterns, pattern: Pattern, edge: PatternEdge) -> str | None:
    """What is printed along an edge; None for a free edge that is cut square."""
    said = (joins(patterns, pattern, edge), bevel_words(flares(pattern, edge)))
    facts = [fact for fact in said if fact is not None]
    return f"{words(edge.id)}: {', '.join(facts)}" if facts else None


def dart_texts(dart: PatternDart) -> tuple[str, ...]:
    return (f"dart: close first, opening {dart.opening:.1f}", "dart: close first")


def mark_texts(upper: Piece, on_inside: bool, copies: tuple[int, ...] = ()) -> tuple[str, ...]:
    """What is printed in the outline of a part glued on top, longest first; `copies` if it is not on all of them."""
    only = f", copy {copies[0]} only" if len(copies) == 1 else f", copies {_listed(copies)} only" if copies else ""
    if on_inside:
        return (f"{upper.label}: {upper.name}{only}", f"{upper.label}{only}")
    return (f"{upper.label}: {upper.name}, on the other face{only}", f"{upper.label}, other face{only}")


def _listed(numbers: tuple[int, ...]) -> str:
    *most, last = map(str, sorted(set(numbers)))
    return f"{', '.join(most)} and {last}"


def copies(number: int, text: str) -> str:
    """What is said once of several things that are alike."""
    return text if number == 1 else f"{number} x {text}"


def words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
