"""How far what is glued on reaches beyond what it is glued to, where two flat faces lie on each other. Lengths in mm.

A post over a hole, a strip over the edge of a slope: the line for it is narrower than its foam, and whoever glues it wants
to know that this is meant, and by how much.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

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


def with_overhangs(contacts: Sequence[Contact], owners: Sequence[tuple[Owner, Owner]]) -> tuple[Contact, ...]:
    """The contacts, each of two flat faces with how far the one of which more lies on others reaches beyond; `owners` are the
    two faces of each."""
    on: dict[tuple[int, int], list[Contact]] = {}
    for contact, pair in zip(contacts, owners):
        for solid, face in pair:
            on.setdefault((id(solid), id(face)), []).append(contact)
    return tuple(_with_overhang(contact, pair, on) for contact, pair in zip(contacts, owners))


def _with_overhang(contact: Contact, pair: tuple[Owner, Owner], on: dict[tuple[int, int], list[Contact]]) -> Contact:
    planes = [moved(face.plane, solid.matrix) for solid, face in pair if face.plane is not None]
    if len(planes) < 2 or not parallel(*planes):
        return contact
    shares, beyond = [], []
    for (solid, face), plane in zip(pair, planes):
        assert face.area is not None

        def covered(met: Contact, origin: np.ndarray = plane.origin, axes: np.ndarray = plane.axes) -> shapely.Geometry:
            return _within([(loop - origin) @ axes[:, :2] for loop in met.outlines])

        carried = shapely.union_all([covered(met) for met in on[id(solid), id(face)]])
        shares.append(float((face.area & carried).area) / face.area.area)
        beyond.append(_reach(face.area - shapely.buffer(carried, _BESIDE / 2.0), covered(contact)))
    upper = int(shares[1] >= shares[0])
    if shares[upper] < _MOSTLY or beyond[upper] < _LEAST:
        return contact
    return replace(contact, overhang=beyond[upper], hangs=(contact.a, contact.b)[upper])


def _within(loops: Sequence[np.ndarray]) -> shapely.Geometry:
    """What closed outlines (N, 2) bound; a hole lies within what bounds it."""
    area: shapely.Geometry = Polygon()
    for loop in loops:
        area = area ^ shapely.make_valid(Polygon(LinearRing(loop)))
    return area


def _reach(free: shapely.Geometry, touched: shapely.Geometry) -> float:
    """How far what is free of a face reaches from what touches, of those pieces of it that begin there."""
    beside = [piece for piece in shapely.get_parts(free) if piece.distance(touched) < _BESIDE]
    places = [shapely.points(shapely.get_coordinates(shapely.segmentize(piece, _APART))) for piece in beside]
    return max((float(shapely.distance(own, touched).max()) for own in places), default=0.0)
