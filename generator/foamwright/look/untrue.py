"""What a design says of parts that touch, where their meshes stay apart. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence, Set

import manifold3d

from foamwright.contacts.declared import declared, edge_only, untrue, wholes
from foamwright.contacts.find import GLUE_REACH, nearest_needed
from foamwright.contacts.hanging import hung_too_high, too_high_told
from foamwright.contacts.joins import clearance_of
from foamwright.design.records import Design
from foamwright.geometry import boxes_apart
from foamwright.look.loose import boxes_of, corners_near, nearest
from foamwright.look.on_faces import lies_flat
from foamwright.look.records import Copy, Untrue
from foamwright.parts.build import laps_of
from foamwright.parts.records import FlatBody
from foamwright.registry import kind

_SLACK = 0.25  # mm that the mesh of a bent part may stand off its true faces: what is told is untrue on any account


def untrue_seen(
    design: Design,
    copies: Sequence[Copy],
    sharing: Collection[tuple[int, int]],
    apart: Set[frozenset[int]],
    body: Callable[[int], manifold3d.Manifold],
) -> tuple[Untrue, ...]:
    """Pairs that are said to lie, be over, join or rest and are further apart than a build lets pass, copies that touch none of
    the parts that they lie on, and such as hang above what carries them.

    `sharing` are pairs of copies, by their numbers, that share space, `apart` such as nothing glues there (`unglued`), and `body`
    makes the solid of one. Less than a build asks:
    parts that come near each other may still meet at a corner, and of panels with an edge only.
    """
    pieces = {copy.piece.id: copy.piece for copy in copies}
    numbers: dict[str, list[int]] = {}
    for number, copy in enumerate(copies):
        numbers.setdefault(copy.piece.id, []).append(number)
    boxes, meeting = boxes_of(copies), {frozenset(pair) for pair in sharing}
    slack = [0.0 if isinstance(copy.piece.body, FlatBody) else _SLACK for copy in copies]
    clearance, whole = clearance_of(design), wholes(design)

    def touch(some: Sequence[int], others: Sequence[int], reach: float) -> bool:
        if any(frozenset((i, j)) in meeting for i in some for j in others):
            return True
        near: list[tuple[int, int, float]] = []
        for i in some:
            gaps = boxes_apart(boxes[i], boxes)
            reached = ((j, reach + slack[i] + slack[j]) for j in others if j != i)
            near += [(i, j, far) for j, far in reached if gaps[j] <= far and frozenset((i, j)) not in apart]
        return any(corners_near(copies, boxes, *pair) for pair in near) or any(
            body(i).min_gap(body(j), far) < far for i, j, far in near
        )

    found = []
    for said in declared(design, tuple(pieces.values()), laps_of(tuple(pieces.values()), design)):
        reach = GLUE_REACH + clearance + said.padding if said.rests else nearest_needed(clearance)
        pairs = [(numbers[upper], numbers[lower]) for upper, lower in said.pairs if {upper, lower} <= numbers.keys()]
        if pairs and not any(touch(some, others, reach) for some, others in pairs):
            gap = min(nearest(copies, some, others, boxes, body)[2] for some, others in pairs)
            found.append(Untrue(said.upper, said.lower, gap, untrue(design, said, gap)))
        for upper, lower in said.pairs if said.lies else ():
            near = [(i, j) for i in numbers[upper] for j in numbers[lower] if i != j and touch([i], [j], reach)]
            rim_only = kind(pieces[upper].kind).rim_only
            if near and not rim_only and not any(lies_flat(copies[i], body(j), reach) for i, j in near):
                found.append(Untrue(upper, lower, 0.0, edge_only(pieces[upper], pieces[lower])))
    told = {each.part for each in found}
    for piece in pieces.values():
        lowers = [number for name in piece.lies_on for number in numbers.get(name, ())]
        if not lowers or whole[piece.id] != piece.id or piece.id in told or len(numbers[piece.id]) < 2:
            continue
        for number in numbers[piece.id]:
            if not touch([number], lowers, nearest_needed(clearance)):
                _, other, gap = nearest(copies, [number], lowers, boxes, body)
                lower = copies[other].piece.id
                words = (
                    f"part {piece.id}, copy {copies[number].number}, touches none of those that it lies on: the nearest"
                )
                found.append(Untrue(piece.id, lower, gap, f"{words}, {lower}, is {gap:.1f} mm away"))
                break
    own, points = [copy.piece for copy in copies], [copy.mesh.points for copy in copies]
    for one, other in hung_too_high(design, own, points, boxes):
        words = too_high_told(own[one].id, own[other].id, copies[one].number)
        found.append(Untrue(own[one].id, own[other].id, 0.0, words))
    return tuple(found)
