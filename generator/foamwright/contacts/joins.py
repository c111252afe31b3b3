"""What every cut edge meets, written into the parts from the contacts, and who is glued to whom."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.contacts.glued_down import touched_by_the_way
from foamwright.contacts.hands import own_mirror, shown
from foamwright.contacts.records import NO_GAP, Contact, Contacts
from foamwright.design.records import Design
from foamwright.parts.records import BandBody, EdgeRun, FlatBody, PanelBody, PanelEdge, Piece, Prop, RodBody

if TYPE_CHECKING:  # the model is heavy, and only its records are copied here
    from foamwright.model.records import Model

_Copy = TypeVar("_Copy", bound=Hashable)
_SHARE = 0.12  # of an edge that must touch for the two to count as joined


def with_joins(model: Model, contacts: Contacts) -> Model:
    """The model, its prop and all its parts with what their edges join."""
    prop = joined(model.prop, contacts)
    pieces = {piece.id: piece for piece in prop.pieces}
    made = {p.key: dataclasses.replace(p, piece=pieces[p.piece.id]) for p in model.prototypes}
    copies = tuple(
        dataclasses.replace(c, piece=pieces[c.piece.id], prototype=made[c.prototype.key]) for c in model.copies
    )
    return dataclasses.replace(model, prop=prop, prototypes=tuple(made.values()), copies=copies)


def joined(prop: Prop, contacts: Contacts) -> Prop:
    """The prop with the ids of all parts that each edge meets, of whatever copy; what was known stays first.

    Parts that lie face to face are told by their laps, not at their edges. An edge that only rests on a part, or
    of a part that is not glued, is joined to nothing.
    """
    prop = _with_fits(prop, contacts)
    glued_to = _by_edge(prop, contacts)
    sewn = {end.part for seam in prop.seams for end in (seam.a, seam.b)}  # its numbers tell one hand from the other
    pieces = (_joined(piece, glued_to) for piece in prop.pieces)
    handed = (
        dataclasses.replace(p, own_mirror=own_mirror(p, shown(prop, p, contacts)))
        if p.mirrored and p.id not in sewn
        else p
        for p in pieces
    )
    return dataclasses.replace(prop, pieces=tuple(handed))


def _with_fits(prop: Prop, contacts: Contacts) -> Prop:
    """The prop in which what can be lifted off, with all that is glued to it, only stands beside all else that it comes near: a
    door on its stop, with a gap all round to the wall that it closes, or a rim below a lid, with a gap to the walls of the box
    that the lid can be lifted from; and beside what it touches by the way. A bar rests in a hole that is wider, if it is glued to
    something else."""
    near: dict[frozenset[str], float] = {}
    areas: dict[frozenset[str], float] = {}
    for contact in contacts.found:
        two = frozenset((contact.a.part, contact.b.part))
        if contact.gap > NO_GAP:
            near[two] = min(near.get(two, contact.gap), contact.gap)
        else:
            areas[two] = areas.get(two, 0.0) + contact.area
    told = {frozenset((lap.upper, lap.lower)) for lap in prop.laps}
    gaps = [tuple(sorted(p)) for p in sorted(near, key=near.__getitem__) if len(p) == 2 and p not in {*areas, *told}]
    touching = {pair: areas.get(pair, 0.0) for pair in (*areas, *told) if len(pair) == 2}
    by_the_way = touched_by_the_way(prop, {p: area for p, area in touching.items() if parts_glued(prop, *p)})
    off = {frozenset(pair) for pair in by_the_way}
    joints = [(one, other) for one, other in (tuple(pair) for pair in touching if pair not in off)]

    def in_wider_hole(part: str, other: str) -> bool:
        """Is a part a bar that is glued elsewhere, and the other what it comes near?"""
        glued_to = any(parts_glued(prop, *pair) for pair in joints if part in pair)
        return other != part and isinstance(prop.piece(part).body, RodBody) and glued_to

    bars = {p.id: [o for pair in gaps if p.id in pair for o in pair if in_wider_hole(p.id, o)] for p in prop.pieces}
    things = Things(prop)
    for one, other in joints:
        things.touching(one, other)
    beside: dict[str, list[str]] = {}
    for loose, fixed in by_the_way:
        beside.setdefault(loose, []).append(fixed)
    for one, other in gaps:  # the narrowest first: what little else holds is glued across it
        set_down = [part for part in (one, other) if prop.piece(part).carried_by]
        loose, fixed = (other, one) if set_down == [other] else (one, other)
        if things.apart(one, other) or (set_down and not things.is_less(fixed, loose)):
            beside.setdefault(loose, []).append(fixed)
        else:
            things.touching(one, other)
    return _resting_on(
        _standing_beside(prop, beside), {part: others for part, others in bars.items() if part not in beside}
    )


class Things:
    """What is held together and what glue holds together, part by part, as the pairs of parts that touch are told."""

    def __init__(self, prop: Prop):
        self._prop = prop
        self._glued, self._held = (DisjointSet(piece.id for piece in prop.pieces) for _ in range(2))
        for piece in prop.pieces:
            for other in piece.carried_by:
                self._held.merge(piece.id, other)

    def touching(self, one: str, other: str) -> None:
        self._held.merge(one, other)
        if parts_glued(self._prop, one, other):
            self._glued.merge(one, other)

    def glued(self, one: str, other: str) -> bool:
        """Does glue hold the two together, directly or by others?"""
        return bool(self._glued.connected(one, other))

    def is_less(self, one: str, other: str) -> bool:
        """Is one held by less than the other is, and not by that?"""
        return not self._held.connected(one, other) and self._held.subset_size(one) < self._held.subset_size(other)

    def apart(self, one: str, other: str) -> bool:
        """Are the two held together without glue, so that glue across a gap would join what is to come apart?"""
        return self._held.connected(one, other) and not self.glued(one, other)


def _resting_on(prop: Prop, more: Mapping[str, Collection[str]]) -> Prop:
    """The prop in which parts rest on `more` than is known of them, in the order of the design."""
    new = {piece.id: _unknown(prop, piece, more.get(piece.id, ())) for piece in prop.pieces}
    pieces = (dataclasses.replace(p, rests_on=(*p.rests_on, *new[p.id])) if new[p.id] else p for p in prop.pieces)
    return dataclasses.replace(prop, pieces=tuple(pieces))


def _standing_beside(prop: Prop, near: Mapping[str, Collection[str]]) -> Prop:
    """The prop in which parts stand beside what they come `near` and neither rest nor lie on."""
    pieces = (dataclasses.replace(p, beside=_unknown(prop, p, near.get(p.id, ()))) for p in prop.pieces)
    return dataclasses.replace(prop, pieces=tuple(pieces))


def _unknown(prop: Prop, piece: Piece, parts: Collection[str]) -> tuple[str, ...]:
    """Of the parts those that one is not said to rest or lie on, in the order of the design."""
    known = {piece.id, *piece.carried_by, *piece.lies_on}
    return tuple(p.id for p in prop.pieces if p.id in parts and p.id not in known)


def glued(prop: Prop, contact: Contact) -> bool:
    """Is there glue in a contact? Not where one part rests on the other or is loose."""
    return parts_glued(prop, contact.a.part, contact.b.part)


def met(prop: Prop, contacts: Contacts) -> Contacts:
    """The contacts without those of parts of which one only stands beside the other: nobody need do anything there."""
    beside = {(piece.id, other) for piece in prop.pieces for other in piece.beside}
    pairs = ((contact, contact.a.part, contact.b.part) for contact in contacts.found)
    found = tuple(contact for contact, a, b in pairs if not {(a, b), (b, a)} & beside)
    return dataclasses.replace(contacts, found=found)


def parts_glued(prop: Prop, one: str, other: str) -> bool:
    """Are two parts, given by their ids, glued where they touch? A lap says it itself: a knob is glued to a loose lid."""
    a, b = prop.piece(one), prop.piece(other)
    if b.id in (*a.carried_by, *a.beside) or a.id in (*b.carried_by, *b.beside):
        return False
    stated = [lap.glue for lap in prop.laps if {lap.upper, lap.lower} == {a.id, b.id}] or [a.glue, b.glue]
    return "none" not in stated


def glued_groups(prop: Prop, contacts: Contacts) -> tuple[frozenset[tuple[str, int]], ...]:
    """Copies (part, number) that glue holds together, in the order of the design; what is only laid, stood or put on
    something is a group of its own."""
    return moving_as_one(copies_of(prop), _glue(prop, contacts), ())


def stiff_groups(prop: Prop, contacts: Contacts) -> tuple[frozenset[tuple[str, int]], ...]:
    """The same, but that cloth holds nothing together that glue alone would not (see `moving_as_one`)."""
    cloth = {piece.id for piece in prop.pieces if piece.stock.is_cloth}
    return moving_as_one(copies_of(prop), _glue(prop, contacts), [copy for copy in copies_of(prop) if copy[0] in cloth])


def hinges(prop: Prop, contacts: Contacts) -> dict[tuple[str, int], frozenset[tuple[str, int]]]:
    """The copies of cloth that hold together what else is apart, each with the copies that it is glued to."""
    group = {copy: own for own in stiff_groups(prop, contacts) for copy in own}
    ends: dict[tuple[str, int], set[tuple[str, int]]] = {}
    for pair in _glue(prop, contacts):
        for own, end in (pair, pair[::-1]):
            if prop.piece(own[0]).stock.is_cloth and not prop.piece(end[0]).stock.is_cloth:
                ends.setdefault(own, set()).add(end)
    return {own: frozenset(held) for own, held in ends.items() if len({group[end] for end in held}) > 1}


def moving_as_one(
    copies: Sequence[_Copy], glue: Collection[tuple[_Copy, _Copy]], cloth: Collection[_Copy]
) -> tuple[frozenset[_Copy], ...]:
    """The groups of copies that move as one, in their order, by the pairs that glue joins: `cloth` joins nothing, as a hinge lets
    a lid open. What of it is glued to one such group alone, as a lining, is of that group."""
    groups = DisjointSet(copies)
    ends: dict[_Copy, list[_Copy]] = {copy: [] for copy in cloth}
    for one, other in glue:
        for own, end in ((one, other), (other, one)):
            if own in ends and end not in ends:
                ends[own].append(end)
        if one not in ends and other not in ends:
            groups.merge(one, other)
    lined = [(copy, held[0]) for copy, held in ends.items() if len({groups[end] for end in held}) == 1]
    for copy, end in lined:
        groups.merge(copy, end)
    found = {root: frozenset(groups.subset(root)) for root in map(groups.__getitem__, copies)}
    return tuple(found.values())


def copies_of(prop: Prop) -> list[tuple[str, int]]:
    """All copies (part, number) in the order of the design."""
    return [(piece.id, number) for piece in prop.pieces for number in range(1, len(piece.placements) + 1)]


def _glue(prop: Prop, contacts: Contacts) -> list[tuple[tuple[str, int], tuple[str, int]]]:
    """The pairs of copies that are glued where they touch."""
    return [((c.a.part, c.a.copy), (c.b.part, c.b.copy)) for c in contacts.found if glued(prop, c)]


def clearance_of(design: Design) -> float:
    """The gap that the design leaves around parts that fit into others; 0 where it states none."""
    return next((p.value for p in design.parameters if p.name == "clearance"), 0.0)


def _by_edge(prop: Prop, contacts: Contacts) -> dict[tuple[str, str], dict[str, float]]:
    """For (part, face) the length along which it touches each other part, at the copy where that is longest."""
    order = {piece.id: i for i, piece in enumerate(prop.pieces)}
    along: dict[tuple[str, str, int], dict[str, float]] = {}
    for contact in contacts.found:
        if not glued(prop, contact):
            continue
        for end in (contact.a, contact.b):
            other = contact.other(end).part
            met = along.setdefault((end.part, end.face, end.copy), {})
            met[other] = met.get(other, 0.0) + contact.length
    joins: dict[tuple[str, str], dict[str, float]] = {}
    for (part, face, _), met in along.items():
        best = joins.setdefault((part, face), {})
        for other in sorted(met, key=order.__getitem__):
            best[other] = max(best.get(other, 0.0), met[other])
    return {key: dict(sorted(met.items(), key=lambda item: order[item[0]])) for key, met in joins.items()}


def _joined(piece: Piece, glued_to: dict[tuple[str, str], dict[str, float]]) -> Piece:
    body = piece.body

    def met(face: str, length: float, known: Iterable[str]) -> tuple[str, ...]:
        near = glued_to.get((piece.id, face), {})
        return tuple(dict.fromkeys((*known, *(other for other, along in near.items() if along > _SHARE * length))))

    if isinstance(body, FlatBody):
        runs = tuple(dataclasses.replace(run, joins=met(run.id, run_length(body, run), run.joins)) for run in body.runs)
        return dataclasses.replace(piece, body=dataclasses.replace(body, runs=runs))
    if isinstance(body, PanelBody):
        edges = tuple(_panel_edge(edge, met(edge.id, edge_length(edge), edge.joins)) for edge in body.edges)
        return dataclasses.replace(piece, body=dataclasses.replace(body, edges=edges))
    if isinstance(body, BandBody):
        length = _length(body.curve)
        low, high = met("low", length, body.joins_low), met("high", length, body.joins_high)
        return dataclasses.replace(piece, body=dataclasses.replace(body, joins_low=low, joins_high=high))
    return piece


def _panel_edge(edge: PanelEdge, joins: tuple[str, ...]) -> PanelEdge:
    return edge if joins == edge.joins else dataclasses.replace(edge, joins=joins)


def run_length(body: FlatBody, run: EdgeRun) -> float:
    index = np.arange(run.start, run.stop + 1) % len(body.outline)
    return _length(body.outline[index])


def edge_length(edge: PanelEdge) -> float:
    return _length(edge.points)


def _length(line: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
