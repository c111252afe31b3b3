"""Declarations held against what touches, and parts that nothing holds. Lengths in mm."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence, Set
from functools import lru_cache

import igl
import numpy as np

from foamwright.contacts.declared import declared, edge_only, meant, untrue, wholes
from foamwright.contacts.find import GLUE_REACH, pairs_within
from foamwright.contacts.hanging import hanging, hung_too_high, too_high_told
from foamwright.contacts.joins import clearance_of, glued
from foamwright.contacts.records import Contact, Contacts, End, Solid
from foamwright.contacts.standing import Copy, unsupported
from foamwright.contacts.things import EDGE_ONLY, SHARES_ONLY, TO_HOLD_IT, things_told
from foamwright.contacts.together import hanging_together
from foamwright.errors import BuildError
from foamwright.geometry import box_of, boxes_apart
from foamwright.geometry.mesh import along_sides
from foamwright.parts.records import Piece, Prop
from foamwright.registry import kind

_SPACING = 5.0  # mm between the places from which a gap is measured
_NO_GAP = 0.05  # mm, below which a gap is none to one decimal
_WITHIN = 0.5  # of a turn that a solid's faces make round a place within it
_TOLD = 4  # faults beside the first that are told


def refuse_untrue(prop: Prop, solids: Sequence[Solid], contacts: Contacts) -> None:
    """BuildError with everything that is not as declared, worst first: the first in full, the others by what they are about."""
    faults = [
        *untrue_laps(prop, solids, contacts),
        *untrue_rests(prop, solids),
        *untrue_hangings(prop, solids),
        *unheld(prop, solids, contacts),
    ]
    if faults:
        others = [re.split(", but |: ", fault)[0] for fault in faults[1 : 1 + _TOLD]]
        counted = [f"{len(faults) - 1 - _TOLD} more"] if len(faults) > 1 + _TOLD else []
        also = f" (also not so: {'; '.join([*others, *counted])})" if others else ""
        raise BuildError(faults[0] + also)


def untrue_laps(prop: Prop, solids: Sequence[Solid], contacts: Contacts) -> list[str]:
    """What is wrong with `lies_on`, `over` and `joins`: every copy of the upper part must touch a copy of one of
    those that it lies on, each of these must be touched by some copy, and broad face to broad face. Of a part with
    several members, as a box, one that is touched will do."""
    faults = []
    whole = wholes(prop.design)
    for lap in prop.laps:
        upper, lower = prop.piece(lap.upper), prop.piece(lap.lower)
        on = lap.lower in upper.lies_on
        between = list(contacts.between(upper.id, lower.id))
        if not upper.placements or not lower.placements or not between:
            continue
        if on and not kind(upper.kind).rim_only and not any(_end(c, upper.id).broad for c in between):
            faults.append(edge_only(upper, lower))
    faults += [
        untrue(prop.design, said, _apart(solids, said.pairs))
        for said in declared(prop.design, prop.pieces, prop.laps)
        if not said.rests and not any(any(contacts.between(*pair)) for pair in said.pairs)
    ]
    for piece in prop.pieces:
        lowers = set(piece.lies_on) if whole[piece.id] == piece.id else set()  # a plate of a box need not
        for copy in range(1, len(piece.placements) + 1 if lowers else 1):
            if any(lowers & {c.a.part, c.b.part} for c in contacts.of(piece.id, copy)):
                continue
            if any(list(contacts.between(piece.id, low)) for low in lowers):
                mine = [s for s in solids if (s.part, s.number) == (piece.id, copy)]
                _, nearest = _nearest(mine, [s for s in solids if s.part in lowers])
                faults.append(f"part {piece.id}, copy {copy}, touches none of those that it lies on: {nearest}")
    return faults


def _end(contact: Contact, part: str) -> End:
    end = contact.end(part)
    assert end is not None
    return end


def untrue_rests(prop: Prop, solids: Sequence[Solid]) -> list[str]:
    """What is wrong with `rests_on`: the two must come within reach of each other and of the padding between. Of a part
    with several members, as a box, one that comes so near will do."""
    return [
        untrue(prop.design, said, _apart(solids, said.pairs))
        for said in declared(prop.design, prop.pieces, prop.laps)
        if said.rests and not any(_rest_of(prop, prop.piece(upper), lower, solids) for upper, lower in said.pairs)
    ]


def untrue_hangings(prop: Prop, solids: Sequence[Solid]) -> list[str]:
    """What is wrong with `hangs_from`: a copy hangs from one that reaches higher than itself."""
    pieces, points = [prop.piece(s.part) for s in solids], [_points(s) for s in solids]
    pairs = hung_too_high(prop.design, pieces, points, _boxes(solids))
    return [too_high_told(solids[one].part, solids[other].part, solids[one].number) for one, other in pairs]


@lru_cache(maxsize=64)  # asked for by what is declared and by what holds each part, one after the other
def resting(prop: Prop, piece: Piece, lower: str, solids: Sequence[Solid]) -> tuple[Contact, ...]:
    """Where a part rests on another, its padding between them."""
    upper_ones = [s for s in solids if s.part == piece.id]
    lower_ones = [s for s in solids if s.part == lower]
    return pairs_within(upper_ones, lower_ones, GLUE_REACH + clearance_of(prop.design) + piece.padding)


def unheld(prop: Prop, solids: Sequence[Solid], contacts: Contacts) -> list[str]:
    """Copies that nothing holds, by glue, tab, pin or rest, groups that hang together and touch nothing else, and what nothing
    touches but what rests on it.

    A prop may be several things that stand for themselves, as a left and a right one: they have the same parts, as many of
    each.
    """
    nodes = [(s.part, s.number) for s in solids]
    group = {node: {node} for node in nodes}
    rests, sharing = _rests(prop, solids), meant(prop.design)
    for one, other in [*(((c.a.part, c.a.copy), (c.b.part, c.b.copy)) for c in contacts.found), *rests]:
        if group[one] is not group[other]:
            merged = group[one] | group[other]
            for node in merged:
                group[node] = merged
    groups = sorted(
        {id(g): g for g in group.values()}.values(), key=lambda g: (-len(g), min(nodes.index(node) for node in g))
    )
    main = Counter(part for part, _ in groups[0]) if groups else Counter()
    faults = []
    for cluster in groups[1:]:
        if Counter(part for part, _ in cluster) == main:
            continue
        parts = {part for part, _ in cluster}
        names = {s.part for s in solids} - parts or main.keys()
        rest = [s for s in solids if s.part in names and (s.part, s.number) not in cluster]
        faults.append(_unheld(solids, nodes, cluster, rest, "", sharing))
    things = [cluster for cluster in groups if Counter(part for part, _ in cluster) == main]
    for thing in things:
        for alone, above in unsupported(prop, solids, contacts, rests, thing):
            rest = [s for s in solids if (s.part, s.number) not in alone | above]
            resting_there = ", ".join(dict.fromkeys(part for part, _ in sorted(above, key=nodes.index)))
            only = f"only what rests on it touches it ({resting_there}); " if above else ""
            faults.append(_unheld(solids, nodes, alone, rest, only, sharing))
    return faults


def _unheld(
    solids: Sequence[Solid],
    nodes: Sequence[Copy],
    cluster: Set[Copy],
    rest: Sequence[Solid],
    only: str,
    sharing: Set[frozenset[str]],
) -> str:
    """That nothing holds some copies, with the nearest of the `rest`, and what else there is to say before that; `sharing` are
    pairs of parts that are meant to share space."""
    near, nearest = _nearest([s for s in solids if (s.part, s.number) in cluster], rest, TO_HOLD_IT, sharing)
    if len(cluster) == 1:
        return f"nothing holds part {near.part}, copy {near.number}: {only}{nearest}"
    held = ", ".join(dict.fromkeys(part for part, _ in sorted(cluster, key=nodes.index)))
    return f"nothing holds {held} to the rest of the prop ({near.part}, copy {near.number}): {only}{nearest}"


def apart_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line where the prop is several things that stand for themselves, for whoever did not mean it so. What rests on another
    part is taken to belong to all copies of it."""
    if not prop.pieces or any(len(piece.placements) == 1 for piece in prop.pieces):
        return []
    group = hanging_together(prop, contacts)
    things = [sorted(part for part, _ in own) for own in group.subsets()]
    return [things_told(len(things), things[0])] if len(things) > 1 else []


def loosened_told(prop: Prop, contacts: Contacts, groups: Iterable[Set[tuple[str, int]]]) -> list[str]:
    """A line for each part that says both `rests_on` and `glue: none`, where the second leaves loose what stands on it as
    well, for whoever makes the design. `groups` are the copies that glue holds together. What belongs to that on which it
    rests touches it without glue in any case."""
    group_of = {copy: {part for part, _ in group} for group in groups for copy in group}
    loosened: dict[str, dict[str, None]] = {}
    for contact in contacts.found:
        for end in (contact.a, contact.b):
            above = contact.other(end)
            lid, other = prop.piece(end.part), prop.piece(above.part)
            rests = other.id in lid.rests_on or lid.id in other.rests_on
            if lid.glue != "none" or not lid.rests_on or other.glue == "none" or rests or glued(prop, contact):
                continue
            if not group_of[above.part, above.copy] & set(lid.rests_on):
                loosened.setdefault(lid.id, {})[other.id] = None
    return [
        f"part {lid} says glue: none, so that {', '.join(others)} only {'stands' if len(others) == 1 else 'stand'} on it "
        "without glue; rests_on is enough for a part that lifts off: leave glue: none out, or name the two under joins with "
        "their glue"
        for lid, others in loosened.items()
    ]


def _rests(prop: Prop, solids: Sequence[Solid]) -> list[tuple[tuple[str, int], tuple[str, int]]]:
    pairs = [pair for piece in prop.pieces for lower in piece.rests_on for pair in _rest_of(prop, piece, lower, solids)]
    return pairs + _hanging(prop, solids)


def _rest_of(prop: Prop, piece: Piece, lower: str, solids: Sequence[Solid]) -> list[tuple[Copy, Copy]]:
    """The copies of a part that rest on those of another, or sink into them, as the design declares."""
    found = resting(prop, piece, lower, solids)
    if found or frozenset((piece.id, lower)) not in meant(prop.design):
        return [((c.a.part, c.a.copy), (c.b.part, c.b.copy)) for c in found]
    upper_ones, lower_ones = ([s for s in solids if s.part == part] for part in (piece.id, lower))
    pairs = ((a, b) for a in upper_ones for b in lower_ones if distance(a, b) < _NO_GAP)
    return [((a.part, a.number), (b.part, b.number)) for a, b in pairs]


def _hanging(prop: Prop, solids: Sequence[Solid]) -> list[tuple[Copy, Copy]]:
    nodes = [(s.part, s.number) for s in solids]
    pairs = hanging([prop.piece(s.part) for s in solids], _boxes(solids))
    return [(nodes[one], nodes[other]) for one, other in pairs]


def _box(solid: Solid) -> np.ndarray:
    return box_of(_points(solid))


def _boxes(solids: Sequence[Solid]) -> np.ndarray:
    return np.array([_box(solid) for solid in solids]).reshape(-1, 2, 3)


def _points(solid: Solid) -> np.ndarray:
    """Its points (n, 3) in place."""
    return _whole(solid)[0] @ solid.matrix[:3, :3].T + solid.matrix[:3, 3]


def holders(prop: Prop, contacts: Contacts, part: str) -> dict[str, Contact]:
    """The parts that a part is glued to, in the order of the design, each with the largest contact."""
    holder_of: dict[str, Contact] = {}
    for contact in contacts.of(part):
        other = contact.other(_end(contact, part)).part
        if glued(prop, contact) and (other not in holder_of or contact.area > holder_of[other].area):
            holder_of[other] = contact
    order = [piece.id for piece in prop.pieces]
    return dict(sorted(holder_of.items(), key=lambda item: order.index(item[0])))


def _apart(solids: Sequence[Solid], pairs: Sequence[tuple[str, str]]) -> float | None:
    """How far off each other two parts are, or two wholes at their nearest; None if one of them is nowhere."""
    gaps = [
        distance(a, b)
        for upper, lower in pairs
        for a in solids
        for b in solids
        if a.part == upper and b.part == lower and a is not b
    ]
    return min(gaps, default=None)


def _nearest(
    mine: Sequence[Solid], others: Sequence[Solid], remedy: str = "", sharing: Set[frozenset[str]] = frozenset()
) -> tuple[Solid, str]:
    """Which of some solids comes nearest to one of others (the first of equals), and how far off it stays, in words, with the
    `remedy` where it does; `sharing` are pairs of parts that are meant to share space."""
    pairs = [(_boxes_apart(a, b), a, b) for a in mine for b in others if a is not b]
    if not pairs:
        return mine[0], "there is no other part"
    least, near, other = np.inf, mine[0], others[0]
    for apart, a, b in sorted(pairs, key=lambda pair: pair[0]):
        if apart >= least:
            break  # boxes that are further apart hold nothing that is nearer
        gap = distance(a, b)
        if gap < least:
            least, near, other = gap, a, b
    if least < _NO_GAP and frozenset((near.part, other.part)) in sharing:
        return near, f"it shares space with {other.part}, copy {other.number}, {SHARES_ONLY}"
    if least < _NO_GAP:
        return near, f"it meets {other.part}, copy {other.number}, {EDGE_ONLY}"
    return near, f"the nearest, {other.part}, copy {other.number}, is {least:.1f} mm away{remedy}"


def _boxes_apart(a: Solid, b: Solid) -> float:
    return float(boxes_apart(_box(a), _box(b)[None])[0])


def distance(a: Solid, b: Solid) -> float:
    """Least distance between two solids: from corners, and places 5 mm apart along the sides of triangles, of each to
    the other. 0 where they touch, or one reaches into the other."""
    return min(_nearest_to(a, b), _nearest_to(b, a))


def _nearest_to(a: Solid, b: Solid) -> float:
    back = np.linalg.inv(b.matrix) @ a.matrix
    own, sides = _whole(a)
    places = np.vstack([own, along_sides(own, sides, _SPACING)[0]]) @ back[:3, :3].T + back[:3, 3]
    points, triangles = _whole(b)
    winding = igl.FastWindingNumberBVH()
    winding.init(points, triangles)
    if (np.asarray(winding.winding_number(places)) > _WITHIN).any():
        return 0.0
    squared = igl.point_mesh_squared_distance(places, points, triangles)[0]
    return float(np.sqrt(np.min(squared)))


def _whole(solid: Solid) -> tuple[np.ndarray, np.ndarray]:
    starts = np.cumsum([0] + [len(face.points) for face in solid.faces[:-1]])
    triangles = np.vstack([face.triangles + start for face, start in zip(solid.faces, starts)])
    return np.vstack([face.points for face in solid.faces]), np.ascontiguousarray(triangles, dtype=np.int64)
