"""Places where what comes apart all but touches: a sail on a loose cap that turns a millimetre above a rail. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial

import igl
import manifold3d
import numpy as np

from foamwright.contacts.joins import Things
from foamwright.contacts.near_ends import Standing
from foamwright.geometry import box_of, boxes_apart
from foamwright.geometry.mesh import along_sides
from foamwright.model.overlap import solid
from foamwright.parts.records import Prop
from foamwright.store import Store

_NEAR = 1.2  # mm that foam cut by hand may be off at a joint; common practice, no source
_TOUCHES = 0.3  # mm: nearer, the two touch as far as meshes tell
_PADDED = 0.3  # mm by which a gap may differ from the padding that keeps it
_SPACING = 2.0  # mm between the places from which ways across a gap are measured
_OPPOSITE = -0.5  # cosine between gaps on opposite sides


@dataclass(frozen=True, eq=False)
class _Gap:
    """A gap between copies of two parts, by their ids: how narrow, where (3,), and unit ways (n, 3) across it from the second to
    the first, from all places where it is narrow."""

    one: str
    other: str
    width: float
    at: np.ndarray
    ways: np.ndarray


def near_misses_told(prop: Prop, copies: Sequence[Standing], store: Store | None = None) -> list[str]:
    """A line for each two parts that are held together without glue and come near each other where nothing says that they
    meet, for whoever makes the design. A gap that goes round, as of a rim within walls or a bar in its hole, is a fit.
    How near two copies come is taken from the `store` while they stay."""
    if not any(p.carried_by or p.glue == "none" for p in prop.pieces) and not any(x.glue == "none" for x in prop.laps):
        return []
    things = Things(prop)
    meant = {frozenset((piece.id, other)) for piece in prop.pieces for other in piece.carried_by}
    for pair in prop.design.expected_overlaps:
        things.touching(*pair)
    near: list[tuple[Standing, Standing, float]] = []
    for one, other, width in _close(copies, things, store or Store(None)):
        if width < _TOUCHES:
            things.touching(one.piece.id, other.piece.id)
            meant.add(frozenset((one.piece.id, other.piece.id)))
        else:
            near.append((one, other, width))
    gaps = [_gap(*pair) for pair in near if things.apart(pair[0].piece.id, pair[1].piece.id)]
    padding = {piece.padding for piece in prop.pieces if piece.padding}
    told: dict[tuple[str, str], _Gap] = {}
    for gap in gaps:
        kept = any(abs(gap.width - felt) < _PADDED for felt in padding)
        if kept or frozenset((gap.one, gap.other)) in meant or any(_opposite(gap, far, things) for far in gaps):
            continue
        pair = gap.one, gap.other
        told[pair] = min(told.get(pair, gap), gap, key=lambda found: found.width)
    return [
        f"part {one} comes within {gap.width:.1f} mm of {other}, near ({', '.join(f'{x:.0f}' for x in gap.at)}), and is not "
        "joined to it: foam cut by hand rubs or rests there; make more room, or let the two touch"
        for (one, other), gap in told.items()
    ]


def _close(copies: Sequence[Standing], things: Things, store: Store) -> Iterator[tuple[Standing, Standing, float]]:
    """Each two copies that touch or come near each other, and how near, but of parts that are known by then to be glued
    together."""
    boxes = np.array([box_of(copy.mesh.points) for copy in copies]).reshape(-1, 2, 3)

    @cache
    def body(number: int) -> manifold3d.Manifold:
        return solid(copies[number].mesh.points, copies[number].mesh.triangles)

    def apart(i: int, j: int) -> float:
        return float(body(i).min_gap(body(j), _NEAR))

    for i, copy in enumerate(copies):
        for j in np.flatnonzero(boxes_apart(boxes[i], boxes[:i]) < _NEAR).tolist():
            if not things.glued(copy.piece.id, copies[j].piece.id):
                width = store.kept("gap", (copy.mesh.digest, copies[j].mesh.digest), partial(apart, i, j))
                if width < _NEAR:
                    yield copy, copies[j], width


def _gap(one: Standing, other: Standing, width: float) -> _Gap:
    (mine, to_me), (theirs, to_them) = _ways(one, other), _ways(other, one)
    at, ways = np.vstack([mine, theirs]), np.vstack([to_me, -to_them])
    wide = np.linalg.norm(ways, axis=1)
    narrow = wide < wide.min() + _TOUCHES
    return _Gap(one.piece.id, other.piece.id, width, box_of(at[narrow]).mean(axis=0), ways[narrow] / wide[narrow, None])


def _ways(one: Standing, other: Standing) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 3) of a copy that may be near another, and the ways (n, 3) to them from the nearest place of that."""
    low, high = box_of(other.mesh.points)
    far = _NEAR + _SPACING  # of some place at least, where two sides cross
    places = np.vstack([one.mesh.points, along_sides(one.mesh.points, one.mesh.triangles, _SPACING)[0]])
    places = np.ascontiguousarray(places[((places > low - far) & (places < high + far)).all(axis=1)])
    if not len(places):
        return places, places
    feet = igl.point_mesh_squared_distance(places, other.mesh.points, other.mesh.triangles)[2]
    return places, places - np.reshape(feet, (-1, 3))


def _opposite(gap: _Gap, far: _Gap, things: Things) -> bool:
    """Do two gaps lie on opposite sides of one thing within another?"""
    if things.glued(gap.one, far.one) and things.glued(gap.other, far.other):
        turn = 1.0
    elif things.glued(gap.one, far.other) and things.glued(gap.other, far.one):
        turn = -1.0
    else:
        return False
    return bool((turn * gap.ways @ far.ways.T).min() < _OPPOSITE)
