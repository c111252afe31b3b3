"""What takes its shape with heat: where foam bends tighter, or gives more, than it does cold. All of it is done before any glue
goes on and before darts are closed, since heat weakens a glued joint (common practice, no source)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foamwright.assembly import practice
from foamwright.assembly.naming import all_of, one_of
from foamwright.booklet.words import bending
from foamwright.booklet.words.bending import Tight
from foamwright.flatten.bend_gauges import BendGauges
from foamwright.flatten.records import Pattern
from foamwright.language import count, length, listed, say
from foamwright.parts.records import PanelBody, Piece
from foamwright.templates.bends import bend_marks

_SCORED = 0.5  # of the thickness that a line is scored deep
_DRAWN = bending.SEEN  # mm across of the widest circle that is drawn on paper to bend by


def is_warmed(pattern: Pattern) -> bool:
    """Is a part of foam bent with heat, in the step that closes its pores?"""
    if not bending.is_heated(pattern.piece):
        return False
    strain = pattern.strain
    gives = (
        strain.max > practice.COLD_STRAIN or max(abs(strain.inner_face), abs(strain.outer_face)) > practice.COLD_BEND
    )
    shaped = bending.is_bent(pattern.piece) or bending.is_pointed(pattern.piece) or _is_curved(pattern.piece)
    return gives or bool(pattern.warnings) or shaped


def _is_curved(piece: Piece) -> bool:
    """Does a panel that stands by itself curve so that it is seen? While foam is warm it takes that at once; later its darts are
    closed, or its inside is painted."""
    thick = piece.stock.thickness > practice.THIN
    return bending.is_rolled(piece) and thick and bending.former(piece) < _DRAWN


def by_hand(patterns: Sequence[Pattern], gauged: Mapping[str, BendGauges]) -> list[str]:
    """How those of some warmed panels are bent that are too wide for anything round: until their ends meet, by the gauges of
    some (by id), or a line for each width."""
    rounds: list[str] = []
    by_gauge: list[str] = []
    by_width: dict[tuple[float, bool], list[str]] = {}  # and whether a line on the template tells which way
    for pattern in patterns:
        piece = pattern.piece
        about = not isinstance(piece.body, PanelBody) or bending.is_about_something(piece)
        if about or bending.is_pointed(piece) or not is_warmed(pattern):
            continue  # cones are rolled to their tips
        across = bending.former(piece)
        if bending.closes_alone(piece):
            rounds.append(piece.label)
            continue
        if piece.id in gauged and gauged[piece.id].around is not None and bend_marks(pattern):
            by_gauge.append(piece.label)
            continue
        width = 10.0 * round(across / 10.0) if across < _DRAWN else float("inf")
        by_width.setdefault((width, bool(bend_marks(pattern))), []).append(piece.label)
    text = []
    if rounds:
        text.append(
            count(
                "{parts} by hand, bit by bit, until its two ends nearly meet.",
                "{parts} by hand, bit by bit, until the two ends of each nearly meet.",
                len(rounds),
                parts=listed(rounds),
            )
        )
    if by_gauge:
        text.append(
            count(
                "{parts} by hand, bit by bit, round the bend line of its template, until its gauge “across the bend line” fits.",
                "{parts} by hand, bit by bit, round the bend lines of their templates, until the gauge “across the bend line” of "
                "each fits.",
                len(by_gauge),
                parts=listed(by_gauge),
            )
        )
    return text + [_by_hand(labels, across, lined) for (across, lined), labels in sorted(by_width.items())]


def _by_hand(labels: Sequence[str], across: float, lined: bool) -> str:
    facts = {"parts": listed(labels), "size": length(across) if across < _DRAWN else ""}
    if not across < _DRAWN:
        return say("{parts} by hand, bit by bit and lightly, as the pictures of the prop show it.", **facts)
    if not lined:
        return count(
            "{parts} by hand, bit by bit, until it lies on part of a circle drawn on paper: {size} across.",
            "{parts} by hand, bit by bit, until each lies on part of a circle drawn on paper: {size} across.",
            len(labels),
            **facts,
        )
    return count(
        "{parts} by hand, bit by bit, round the bend line of its template, until it lies, square to that line, on part of a "
        "circle drawn on paper: {size} across.",
        "{parts} by hand, bit by bit, round the bend line of its template, until each lies, square to that line, on part of a "
        "circle drawn on paper: {size} across.",
        len(labels),
        **facts,
    )


def tight(patterns: Sequence[Pattern], every: Mapping[str, Piece]) -> list[str]:
    """How parts are bent that bend tighter than foam does cold; `every` part of the prop by its id."""
    return [
        _tight_line(pattern.piece, bending.tight(pattern.piece), every)
        for pattern in patterns
        if is_warmed(pattern) and (pattern.warnings or bending.is_pointed(pattern.piece))
    ]


def _tight_line(piece: Piece, place: Tight | None, every: Mapping[str, Piece]) -> str:
    deep = length(_SCORED * piece.stock.thickness)
    if bending.is_pointed(piece):
        return say(
            "Warm {part}, which comes to a point, and roll it into a cone by hand, the drawn face inside, the tip last. If it "
            "creases, score the drawn face in lines that run out from the tip like rays, {deep} deep.",
            part=one_of(piece),
            deep=deep,
        )
    facts = {"part": one_of(piece), "deep": deep, "apart": length(piece.stock.thickness)}
    if place is None:
        return say(
            "At its tightest place {part} bends tighter than this foam does cold: warm that stretch once more and roll it in by "
            "hand. If it still creases, score the face that comes to lie inside the bend: lines along the bend, {deep} deep and "
            "{apart} apart.",
            **facts,
        )
    others = [every[part] for part in place.meets if part in every and part != piece.id]
    facts["radius"] = length(place.radius)
    if others:
        return say(
            "Along the edge that meets {others}, {part} bends to a radius of {radius}, tighter than this foam bends cold: "
            "warm that stretch once more and roll it in by hand. If it still creases, score the face that comes to lie "
            "inside the bend: lines square to the edge, {deep} deep and {apart} apart.",
            others=all_of(others),
            **facts,
        )
    return say(
        "Along its narrowest edge {part} bends to a radius of {radius}, tighter than this foam bends cold: warm that "
        "stretch once more and roll it in by hand. If it still creases, score the face that comes to lie inside the bend: "
        "lines square to the edge, {deep} deep and {apart} apart.",
        **facts,
    )
