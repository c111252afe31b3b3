"""What is to be lifted off other parts, and touches by the way what these are glued to: a lid whose strap ends at a strap of the
chest. Areas in mm2."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Set
from itertools import pairwise

from foamwright.contacts.declared import wholes
from foamwright.contacts.records import NO_GAP, Contacts
from foamwright.parts.records import Prop


def touched_by_the_way(prop: Prop, areas: Mapping[frozenset[str], float]) -> list[tuple[str, str]]:
    """Of the pairs of parts that would be glued, each with its area, those by which glue would hold what rests on a part, or
    hangs from it, to that: the smallest on the way there, but none beyond a part that the design has before what rests, for that
    stood without it. The one that comes off is first. What the design states is meant: a hinge lies on both."""
    joints: dict[str, dict[str, float]] = {piece.id: {} for piece in prop.pieces}
    for (one, other), area in ((tuple(pair), area) for pair, area in areas.items() if len(pair) == 2):
        joints[one][other] = joints[other][one] = area
    stated = {frozenset((lap.upper, lap.lower)) for lap in prop.laps}
    order = {piece.id: number for number, piece in enumerate(prop.pieces)}
    found: list[tuple[str, str]] = []
    for piece in prop.pieces:
        barred: set[str] = set()
        while way := _shortest(joints, piece.id, set(piece.carried_by), barred):
            unsaid = [pair for pair in pairwise(way) if frozenset(pair) not in stated]
            if unsaid:
                stood = next(
                    k for k, (_, far) in enumerate(unsaid) if order[far] < order[piece.id] or k == len(unsaid) - 1
                )
                one, other = min(unsaid[: stood + 1], key=lambda pair: joints[pair[0]][pair[1]])
                del joints[one][other], joints[other][one]
                found.append((one, other))
            elif len(way) == 2:
                break
            else:
                barred |= set(way[1:-1])
    return found


def by_the_way_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each two parts that touch and are not glued, as one of them is to be lifted off with what it is glued to."""
    whole = wholes(prop.design)
    beside = {frozenset((piece.id, other)): piece.id for piece in prop.pieces for other in piece.beside}
    touching = (frozenset((contact.a.part, contact.b.part)) for contact in contacts.found if contact.gap <= NO_GAP)
    loose = {pair: beside[pair] for pair in dict.fromkeys(touching) if pair in beside}
    told = ((whole[part], whole[other]) for pair, part in loose.items() for other in pair - {part})
    return [
        f"part {part} touches {other} and is not glued to it: it is to come off with what rests or hangs; leave a gap between "
        "the two, or name them under joins with their glue"
        for part, other in dict.fromkeys(told)
    ]


def _shortest(joints: Mapping[str, Mapping[str, float]], start: str, ends: Set[str], barred: Set[str]) -> list[str]:
    """The shortest way along glue from a part to one of others, past none of those that are barred; empty if there is none."""
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
