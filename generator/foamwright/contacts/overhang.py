"""How far what is glued on reaches beyond what it is glued to, where two flat faces lie on each other. Lengths in mm.

A post over a hole, a strip over the edge of a slope: the line for it is narrower than its foam, and whoever glues it wants
to know that this is meant, and by how much.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon

from foamwright.contacts.flat import moved, parallel
from foamwright.contacts.records import Contact, Face, Solid

_MOSTLY = 0.5  # share of a face that lies on others: what lies on less only crosses them
_BESIDE = 0.1  # between the border of what lies on another part and what reaches beyond it
_APART = 1.0  # between places of an edge: over a round hole its middle reaches further than its ends
_LEAST = 0.5  # that a face reaches beyond: less is the error of both borders

Owner = tuple[Solid, Face]
Owned = tuple[Contact, tuple[Owner, Owner]]  # a contact and the two faces of it


def with_overhangs(met: Sequence[Owned]) -> tuple[Contact, ...]:
    """The contacts, each of two flat faces with how far the one of which more lies on others reaches beyond. What lies on
    several parts reaches beyond none of them between these: it bridges what is open there."""
    on: dict[tuple[int, int], list[Contact]] = {}
    for contact, pair in met:
        for solid, face in pair:
            on.setdefault((id(solid), id(face)), []).append(contact)
    carried: dict[tuple[int, int], _Carried] = {}  # once for a face, however many lie on it
    for _, pair in met:
        for solid, face in pair:
            key = id(solid), id(face)
            if face.plane is not None and key not in carried:
                carried[key] = _carried(solid, face, on[key])
    return tuple(_with_overhang(contact, pair, carried) for contact, pair in met)


@dataclass(frozen=True, eq=False)
class _Carried:
    """Of a flat face the share that lies on others, that itself with what is between them, and what reaches beyond all that."""

    share: float
    held: shapely.Geometry
    free: shapely.Geometry


def _carried(solid: Solid, face: Face, met: Sequence[Contact]) -> _Carried:
    assert face.area is not None
    on = shapely.union_all([_on_face(solid, face, contact) for contact in met])
    held = on.convex_hull if len(met) > 1 else on
    free = face.area - shapely.buffer(held, _BESIDE / 2.0)
    return _Carried(float((face.area & on).area) / face.area.area, held, free)


def _with_overhang(contact: Contact, pair: tuple[Owner, Owner], carried: Mapping[tuple[int, int], _Carried]) -> Contact:
    planes = [moved(face.plane, solid.matrix) for solid, face in pair if face.plane is not None]
    if len(planes) < 2 or not parallel(*planes):
        return contact
    both = [carried[id(solid), id(face)] for solid, face in pair]
    upper = int(both[1].share >= both[0].share)
    if both[upper].share < _MOSTLY:
        return contact
    beyond = _reach(both[upper], _on_face(*pair[upper], contact))
    return replace(contact, overhang=beyond, hangs=(contact.a, contact.b)[upper]) if beyond >= _LEAST else contact


def _on_face(solid: Solid, face: Face, contact: Contact) -> shapely.Geometry:
    """What of a contact lies in the plane of a flat face, in its axes."""
    assert face.plane is not None
    plane = moved(face.plane, solid.matrix)
    return _within([(loop - plane.origin) @ plane.axes[:, :2] for loop in contact.outlines])


def _within(loops: Sequence[np.ndarray]) -> shapely.Geometry:
    """What closed outlines (N, 2) bound; a hole lies within what bounds it."""
    area: shapely.Geometry = Polygon()
    for loop in loops:
        area = area ^ shapely.make_valid(Polygon(LinearRing(loop)))
    return area


def _reach(face: _Carried, touched: shapely.Geometry) -> float:
    """How far what is free of a face reaches from all that carries it, of those pieces of it that begin at what is touched."""
    beside = [piece for piece in shapely.get_parts(face.free) if piece.distance(touched) < _BESIDE]
    places = [shapely.points(shapely.get_coordinates(shapely.segmentize(piece, _APART))) for piece in beside]
    return max((float(shapely.distance(own, face.held).max()) for own in places), default=0.0)
