"""What is to be lifted off other parts, and is glued to them by what it touches beside: a lid whose strap ends at a strap of the
chest. Areas in mm2."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Set
from itertools import pairwise

from foamwright.contacts.declared import wholes
from foamwright.contacts.joins import parts_glued
from foamwright.contacts.records import Contacts
from foamwright.parts.records import Prop

_Joints = Mapping[str, Mapping[str, float]]  # by part the parts that it is glued to, each with the area


def glued_down_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each part that is said to rest on others or to hang from them, and is held to these by glue that the design
    does not state, for whoever makes the design. A hinge is said to lie on both."""
    joints: dict[str, dict[str, float]] = {piece.id: {} for piece in prop.pieces}
    for contact in contacts.found:
        one, other = contact.a.part, contact.b.part
        if one != other and parts_glued(prop, one, other):
            for a, b in ((one, other), (other, one)):
                joints[a][b] = joints[a].get(b, 0.0) + contact.area
    stated = {frozenset((lap.upper, lap.lower)) for lap in prop.laps}
    loose = {spec.id for spec in prop.design.parts if spec.values.get("rests_on") or spec.values.get("hangs_from")}
    whole = wholes(prop.design)
    told = {}
    for piece in prop.pieces:
        carriers = set(piece.carried_by) if piece.id in loose else set()
        for way in _ways(joints, piece.id, carriers):
            unsaid = [pair for pair in pairwise(way) if frozenset(pair) not in stated]
            if unsaid:
                one, other = (whole[end] for end in min(unsaid, key=lambda pair: joints[pair[0]][pair[1]]))
                told[frozenset((one, other))] = (
                    f"part {whole[piece.id]} {'rests on' if way[-1] in piece.rests_on else 'hangs from'} {whole[way[-1]]}, but glue holds it "
                    f"there: {one} is glued to {other}, which it touches; leave a gap between them, or join them with glue: none"
                )
                break
    return list(told.values())


def _ways(joints: _Joints, start: str, ends: Set[str]) -> Iterator[list[str]]:
    """Ways along glue from a part to one of others, the shortest first, that share none of what lies between."""
    barred: set[str] = set()
    while way := _shortest(joints, start, ends, barred):
        yield way
        if len(way) == 2:
            return
        barred |= set(way[1:-1])


def _shortest(joints: _Joints, start: str, ends: Set[str], barred: Set[str]) -> list[str]:
    came: dict[str, str] = {}
    left = deque([start])
    while left:
        part = left.popleft()
        if part in ends:
            way = [part]
            while way[-1] != start:
                way.append(came[way[-1]])
            return way[::-1]
        for other in joints[part]:
            if other != start and other not in came and other not in barred:
                came[other] = part
                left.append(other)
    return []
