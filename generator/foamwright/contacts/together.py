"""Copies that hang together."""

from __future__ import annotations

from collections.abc import Set

from scipy.cluster.hierarchy import DisjointSet

from foamwright.contacts.joins import copies_of
from foamwright.contacts.records import Contacts
from foamwright.parts.records import Prop


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
