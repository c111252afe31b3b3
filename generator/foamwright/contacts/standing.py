"""What is held by what: glued together, or standing and lying on something that is held. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contact, Contacts, Solid
from foamwright.parts.placing import direction
from foamwright.parts.records import Prop

Copy = tuple[str, int]  # the id of its part, and its number from 1
_GROUND = 1.0  # mm: what comes as near as this to the lowest place of a thing may stand on the ground beside it


def unsupported(
    prop: Prop,
    solids: Sequence[Solid],
    contacts: Contacts,
    rests: Iterable[tuple[Copy, Copy]],
    thing: Set[Copy],
) -> list[tuple[Set[Copy], Set[Copy]]]:
    """Of the copies of a `thing` that hang together those that nothing holds but what rests on them, by groups that are glued
    together, each with what rests on it.

    `rests` are the pairs of which the first rests on the second. Held is what is glued to the most of the thing, what that
    rests on, what reaches the ground, and what lies or stands on any of that. What is worn has no ground, and holds nothing by
    itself.
    """
    if "wearer" in prop.design.used_by:
        return []
    here = [(s.part, s.number) for s in solids if (s.part, s.number) in thing]
    together = DisjointSet(here)
    for contact in contacts.found:
        if glued(prop, contact) and {*_copies(contact)} <= thing:
            together.merge(*_copies(contact))
    down = direction((prop.design.stands or {}).get("down", "-z"))
    depth = {(s.part, s.number): _depth(s, down) for s in solids if (s.part, s.number) in thing}
    lowest = max(depth.values()) - _GROUND
    groups = [frozenset(group) for group in together.subsets()]
    group_of = {copy: group for group in groups for copy in group}
    on: dict[frozenset[Copy], set[frozenset[Copy]]] = {group: set() for group in groups}  # what each lies or stands on
    for one, other in [*rests, *_laid(prop, contacts)]:
        if {one, other} <= thing:
            on[group_of[one]].add(group_of[other])
    largest = max(groups, key=lambda group: (len(group), -here.index(min(group, key=here.index))))
    held = {largest, *(group for group in groups if max(depth[copy] for copy in group) > lowest)}
    carrying = [largest]  # a frame may have fewer pieces than the wheels on the axle that lies in it
    for group in carrying:
        carrying += [below for below in on[group] if below not in carrying]
    held |= set(carrying)
    while more := {group for group in groups if group not in held and on[group] & held}:
        held |= more
    return [
        (group, frozenset().union(*(above for above in groups if group in on[above] and above is not group)))
        for group in groups
        if group not in held
    ]


def _copies(contact: Contact) -> tuple[Copy, Copy]:
    return (contact.a.part, contact.a.copy), (contact.b.part, contact.b.copy)


def _laid(prop: Prop, contacts: Contacts) -> list[tuple[Copy, Copy]]:
    """Copies that touch without glue, where nothing says which of them rests on the other: both orders."""
    told: Mapping[str, Set[str]] = {piece.id: {*piece.carried_by, *piece.beside} for piece in prop.pieces}
    pairs = []
    for contact in contacts.found:
        one, other = _copies(contact)
        if not glued(prop, contact):
            pairs += [(a, b) for a, b in ((one, other), (other, one)) if b[0] in told[a[0]] or a[0] not in told[b[0]]]
    return pairs


def _depth(solid: Solid, down: np.ndarray) -> float:
    shift = float(solid.matrix[:3, 3] @ down)
    return max(float((face.points @ (solid.matrix[:3, :3].T @ down)).max()) for face in solid.faces) + shift
