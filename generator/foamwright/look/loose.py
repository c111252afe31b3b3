"""Copies that nothing can hold, since nothing comes near enough to them. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence, Set

import manifold3d
import numpy as np
from scipy.cluster.hierarchy import DisjointSet
from scipy.spatial import KDTree

from foamwright.contacts.declared import meant
from foamwright.contacts.find import GLUE_REACH
from foamwright.contacts.hanging import hanging
from foamwright.contacts.joins import clearance_of
from foamwright.design.records import Design
from foamwright.geometry import box_of, boxes_apart
from foamwright.look.records import Copy, Loose

_SLACK = 0.5  # mm, for meshes that both stand off their true faces: what is told is loose on any account


def groups(
    design: Design,
    copies: Sequence[Copy],
    sharing: Iterable[tuple[int, int]],
    apart: Set[frozenset[int]],
    body: Callable[[int], manifold3d.Manifold],
) -> list[list[int]]:
    """The copies, by their numbers, that come near enough to each other to hang together, the largest group first.

    `sharing` are pairs that share space, `apart` such as nothing glues there (`unglued`), and `body` makes the solid of a copy.
    Less than a build asks: parts that come near each other may still touch with an edge only.
    """
    group = DisjointSet(range(len(copies)))
    for one, other in sharing:
        group.merge(one, other)
    boxes = boxes_of(copies)
    for one, other in hanging([copy.piece for copy in copies], boxes):
        group.merge(one, other)
    reach = GLUE_REACH + clearance_of(design) + _SLACK

    def first_near(one: int, other: int, far: float) -> bool:
        return corners_near(copies, boxes, one, other, far)

    def faces_near(one: int, other: int, far: float) -> bool:
        return bool(body(one).min_gap(body(other), far) < far)

    most = reach + max((c.piece.padding for c in copies), default=0.0)
    pairs = [
        (i, j)
        for i in range(len(copies))
        for j in np.flatnonzero(boxes_apart(boxes[i], boxes) <= most).tolist()
        if j > i and frozenset((i, j)) not in apart
    ]
    for near in (first_near, faces_near):  # most pairs are found by the first, which takes a tenth of the time
        for i, j in pairs:
            if not group.connected(i, j) and near(i, j, reach + _padding(copies[i], copies[j])):
                group.merge(i, j)
    return sorted(map(sorted, group.subsets()), key=lambda own: (-len(own), own[0]))


def corners_near(copies: Sequence[Copy], boxes: np.ndarray, one: int, other: int, far: float) -> bool:
    """Do corners of two copies come nearer to each other than `far`?"""
    low = np.maximum(boxes[one, 0], boxes[other, 0]) - far
    high = np.minimum(boxes[one, 1], boxes[other, 1]) + far
    a, b = (p[((p >= low) & (p <= high)).all(axis=1)] for p in (copies[one].mesh.points, copies[other].mesh.points))
    return bool(len(a) and len(b) and np.isfinite(KDTree(b).query(a, distance_upper_bound=far)[0]).any())


def loose(
    design: Design,
    copies: Sequence[Copy],
    groups: Sequence[Sequence[int]],
    body: Callable[[int], manifold3d.Manifold],
) -> tuple[Loose, ...]:
    """The groups that are no things of their own, each with the nearest of the others. A prop may be several things that stand
    for themselves, as a left and a right one: they have the same parts, as many of each."""
    boxes, found = boxes_of(copies), []
    for own in groups:
        if own not in alike(copies, groups):
            parts = {copies[number].piece.id for number in own}
            outside = [number for number in range(len(copies)) if number not in own]
            rest = [number for number in outside if copies[number].piece.id not in parts] or outside
            here, there, gap = nearest(copies, own, rest, boxes, body)
            shares = gap == 0.0 and {copies[here].piece.id, copies[there].piece.id} in meant(design)
            found.append(Loose(tuple(copies[number] for number in own), copies[here], copies[there], gap, shares))
    return tuple(found)


def alike(copies: Sequence[Copy], groups: Sequence[Sequence[int]]) -> list[Sequence[int]]:
    """The groups that have the same parts as the first one, as many of each; that itself is the first of them."""
    parts = [Counter(copies[number].piece.id for number in own) for own in groups]
    return [own for own, here in zip(groups, parts) if here == parts[0]]


def boxes_of(copies: Sequence[Copy]) -> np.ndarray:
    """(n, 2, 3) lowest and highest corner of each copy."""
    return np.array([box_of(c.mesh.points) for c in copies]).reshape(-1, 2, 3)


def _padding(one: Copy, other: Copy) -> float:
    """What lies between two parts, the one of which rests on the other."""
    pairs = ((one.piece, other.piece), (other.piece, one.piece))
    return max(upper.padding if lower.id in upper.rests_on else 0.0 for upper, lower in pairs)


def nearest(
    copies: Sequence[Copy],
    own: Sequence[int],
    rest: Sequence[int],
    boxes: np.ndarray,
    body: Callable[[int], manifold3d.Manifold],
) -> tuple[int, int, float]:
    """The copy of `own` and that of `rest` which come nearest to each other, and how near."""
    pairs = sorted(
        (float(gaps[other]), one, other) for one in own for gaps in (boxes_apart(boxes[one], boxes),) for other in rest
    )
    best = (own[0], rest[0], np.inf)
    for least, one, other in pairs:
        if least >= best[2]:
            break  # boxes that are further apart hold nothing that is nearer
        corners = KDTree(copies[other].mesh.points).query(copies[one].mesh.points)[0]
        gap = body(one).min_gap(body(other), float(corners.min()) + 1.0)
        if gap < best[2]:
            best = (one, other, float(gap))
    return best
