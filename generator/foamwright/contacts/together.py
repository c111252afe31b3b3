"""Copies that hang together."""

from __future__ import annotations

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
            own = [copy for copy in things if copy[0] in (piece.id, other)]
            for copy in own[1:]:
                things.merge(own[0], copy)
    return things
