"""Copies that hang together, and parts that are held by nothing but the space that they share with others, as the design
declares."""

from __future__ import annotations

from collections.abc import Set

from scipy.cluster.hierarchy import DisjointSet

from foamwright.contacts.joins import copies_of
from foamwright.contacts.records import Contacts
from foamwright.parts.records import Prop


def held_by_sharing_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each two parts that are meant to share space, of which a copy touches, rests on and hangs from nothing that
    leads to the other: trimmed until both fit they want glue, and no step tells of it."""
    things = hanging_together(prop, contacts)
    nodes = [*things]
    told = {}
    for pair in prop.design.expected_overlaps:
        copies = {part: [node for node in nodes if node[0] == part] for part in pair}
        groups = {part: [things.subset(node) for node in own] for part, own in copies.items()}
        # the smaller is held by the larger
        one, other = sorted(pair, key=lambda part: min(map(len, groups[part]), default=0))
        if any(not group & {*copies[other]} for group in groups[one]):
            told[one, other] = (
                f"part {one} is held by nothing but the space that it shares with {other}: trimmed until both fit they want "
                f"glue there, and no step says so; cut {one} so that a face or an edge of it meets {other}, or say it in a note "
                "under steps"
            )
    return list(told.values())


def hanging_together(prop: Prop, contacts: Contacts) -> DisjointSet:
    """The copies (part, number) in groups that touch. What rests on another part, or hangs from it, is taken to belong to all
    copies of that."""
    things = DisjointSet(copies_of(prop))
    for contact in contacts.found:
        things.merge((contact.a.part, contact.a.copy), (contact.b.part, contact.b.copy))
    for piece in prop.pieces:
        for other in piece.carried_by:
            merge_parts(things, {piece.id, other})
    return things


def merge_parts(things: DisjointSet, parts: Set[str]) -> None:
    """All copies of some parts in one group."""
    own = [copy for copy in things if copy[0] in parts]
    for copy in own[1:]:
        things.merge(own[0], copy)
