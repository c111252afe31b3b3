"""Where two parts that are to be glued stand off each other by more than glue fills. Lengths in mm."""

from __future__ import annotations

from foamwright.contacts.joins import clearance_of, glued
from foamwright.contacts.records import Contact, Contacts
from foamwright.parts.records import FlatBody, Piece, Prop

_FILLED = 0.6  # that a coat of cement on both faces, or gel, fills; common practice, no source
_FACETS = 0.1  # that triangles may stand off a curve
_GIVES = 0.3  # by which bent foam gives when it is pressed on bent foam; common practice, no source
_FITS = 0.2  # by which the gap beside an edge may differ from the clearance that it was cut with


def gaps_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each two parts of which copies are glued to each other and stand off each other wherever they are, for whoever
    makes the design. An edge that the design's clearance keeps off a wall is meant so, and its step tells what to do there; so is
    what reaches past the part that holds it and over another, unless it is said to lie on both."""
    clearance = clearance_of(prop.design)
    touching: dict[tuple[str, int, str, int], list[Contact]] = {}
    for contact in contacts.found:
        touching.setdefault((contact.a.part, contact.a.copy, contact.b.part, contact.b.copy), []).append(contact)
    held: set[tuple[str, int]] = set()
    apart: list[tuple[tuple[str, int], str, float]] = []
    for (part, copy, other, number), own in touching.items():
        if not glued(prop, own[0]):
            continue
        gap = min(contact.gap for contact in own)
        upper, lower = _upper_first(prop, part, other)
        one = (upper, copy if upper == part else number)
        bent = [_is_curved(prop.piece(name)) for name in (part, other)]
        fits = all(c.kind != "face-face" for c in own) and gap < clearance + _FITS
        if gap <= _FILLED + _FACETS * any(bent) + _GIVES * all(bent):
            held.add(one)
        elif not fits:
            apart.append((one, lower, gap))
    told: dict[tuple[str, str], float] = {}
    for (upper, copy), lower, gap in apart:
        if (upper, copy) not in held or lower in prop.piece(upper).lies_on:
            told[upper, lower] = max(told.get((upper, lower), 0.0), gap)
    return [
        f"part {upper} stands {gap:.1f} mm off {lower}, to which it is glued: cement fills half a millimetre; move it there, or "
        "put a part as thick as the gap between the two"
        for (upper, lower), gap in told.items()
    ]


def _upper_first(prop: Prop, one: str, other: str) -> tuple[str, str]:
    """Two parts, first the one that the design has later, or lays on the other."""
    order = [piece.id for piece in prop.pieces]
    later, earlier = sorted((one, other), key=order.index, reverse=True)
    return (earlier, later) if later in prop.piece(earlier).lies_on else (later, earlier)


def _is_curved(piece: Piece) -> bool:
    return not isinstance(piece.body, FlatBody)
