"""Which parts have copies that differ by what is marked on them: these are numbered on the foam, and told by their numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.contacts.footprints import Footprint, alike, footprints
from foamwright.contacts.records import FACES, Contacts
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, Prop

_HARDLY = 0.12  # of the length along which an edge meets a part on other copies
_CORNER = 5.0  # mm of an edge; less is a corner that needs no word
MOST = 8  # pieces of a part that are told apart in a picture


def numbered(prop: Prop, contacts: Contacts) -> frozenset[str]:
    """The ids of the parts of which the copies have numbers."""
    return frozenset(piece.id for piece in prop.pieces if has_numbers(prop, piece, contacts))


def has_numbers(prop: Prop, piece: Piece, contacts: Contacts) -> bool:
    """Are the copies of a part not alike once they are in place, and few enough to be told apart? Other parts stand or lie on
    some, or at other places, or their seams are others, or an edge of some meets a part that it does not meet on the others;
    but a pair that is cut as drawn and mirrored is told apart by that as far as its edges go."""
    numbers = range(1, len(piece.placements) + 1)
    if not 1 < len(numbers) <= MOST or piece.bought:  # a bar that is cut to length has no template, and no marks
        return False
    if len(alike([_marking(prop, piece, footprints(piece, n, contacts)) for n in numbers])) > 1:
        return True
    if piece.is_pair:
        return False
    sewn = {frozenset(((seam.a.part, seam.a.edge), (seam.b.part, seam.b.edge))) for seam in prop.seams}
    return len({_seams(piece, n, contacts, sewn) for n in numbers}) > 1 or _meet_unlike(piece, contacts)


def _meet_unlike(piece: Piece, contacts: Contacts) -> bool:
    """Is there an edge that meets another part on some copies, and on others hardly or not at all?"""
    along: dict[tuple[str, str], dict[int, float]] = {}
    for contact in contacts.of(piece.id):
        for end in (contact.a, contact.b):
            other = contact.other(end).part
            if end.part == piece.id and other != piece.id and not end.broad:
                copies = along.setdefault((end.face, other), {})
                copies[end.copy] = copies.get(end.copy, 0.0) + contact.length
    return any(
        len(copies) < len(piece.placements) or min(copies.values()) < _HARDLY * max(copies.values())
        for copies in along.values()
        if max(copies.values()) > _CORNER
    )


def _marking(prop: Prop, piece: Piece, prints: Sequence[Footprint]) -> list[Footprint]:
    """What draws a line on a face of the part: what stands there with its edge, and what lies there and is smaller."""
    return [
        one
        for one in prints
        if one.face in FACES and (not one.other.broad or extent(prop.piece(one.other.part)) < extent(piece))
    ]


def _seams(piece: Piece, copy: int, contacts: Contacts, sewn: set[frozenset[tuple[str, str]]]) -> frozenset:
    """The other edges that one copy is sewn to, each with its own edge there."""
    met = set()
    for contact in contacts.found:
        for end in (contact.a, contact.b):
            other = contact.other(end)
            if (end.part, end.copy) == (piece.id, copy) and frozenset(
                ((end.part, end.face), (other.part, other.face))
            ) in sewn:
                met.add((end.face, other.part, other.face))
    return frozenset(met)


def extent(piece: Piece) -> float:
    """How far a part reaches, in mm: of two that lie on each other the smaller is marked on the larger."""
    body = piece.body
    if isinstance(body, FlatBody):
        points = body.outline
    elif isinstance(body, BandBody):
        points = body.curve
    elif isinstance(body, PanelBody):
        points = body.chart.flat
    else:
        return body.length
    return float(np.linalg.norm(np.ptp(points, axis=0)))
