"""Parts that are held by nothing but the space that they share with others, as the design declares."""

from __future__ import annotations

from scipy.cluster.hierarchy import DisjointSet

from foamwright.contacts.records import Contacts
from foamwright.parts.records import Prop


def held_by_sharing_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each two parts that are meant to share space, of which a copy touches, rests on and hangs from nothing that
    leads to the other: trimmed until both fit they want glue, and no step tells of it."""
    nodes = [(piece.id, number) for piece in prop.pieces for number in range(1, len(piece.placements) + 1)]
    hang_together = DisjointSet(nodes)
    for contact in contacts.found:
        hang_together.merge((contact.a.part, contact.a.copy), (contact.b.part, contact.b.copy))
    carried = [{piece.id, other} for piece in prop.pieces for other in piece.carried_by]
    for parts in carried:  # which copy on which is not known here
        own = [node for node in nodes if node[0] in parts]
        for node in own[1:]:
            hang_together.merge(own[0], node)
    told = {}
    for pair in prop.design.expected_overlaps:
        copies = {part: [node for node in nodes if node[0] == part] for part in pair}
        groups = {part: [hang_together.subset(node) for node in own] for part, own in copies.items()}
        one, other = sorted(
            pair, key=lambda part: min(map(len, groups[part]), default=0)
        )  # the smaller is held by the larger
        if any(not group & {*copies[other]} for group in groups[one]):
            told[one, other] = (
                f"part {one} is held by nothing but the space that it shares with {other}: trimmed until both fit they want "
                f"glue there, and no step says so; cut {one} so that a face or an edge of it meets {other}, or say it in a note "
                "under steps"
            )
    return list(told.values())
