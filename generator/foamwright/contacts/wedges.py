"""Where an edge touches along a part of it only and then stands off: the wedge of air between. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.contacts.curved import BESIDE, FACING, LEANING, Field
from foamwright.contacts.footing import nearest_on
from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contacts, Face
from foamwright.geometry.mesh import along_sides
from foamwright.parts.records import Prop

_SPACING = 2.5  # between the places on an edge from which the gap is measured
_LIES_ALONG = 0.966  # cosine of 15 degrees: an edge that leans no more was to lie along the face


def opening(
    edge: Face, own_rims: Sequence[np.ndarray], face: Face, back: np.ndarray, touching: Field, thickness: float
) -> float:
    """How far a face that a knife made, `edge`, stands off the `face` that it touches, at most; `touching` tells
    where it is touched.

    Only places count that look at it within the angle at which faces count as facing. `back` (4, 4) takes places as
    `edge` is modelled to those as the other is. A straight edge was to lie along the face, and all of it counts; 0 if it
    meets that with a corner: it leans steeply, and stands off by more than its thickness. Where an edge is bent, its
    own or the one that it touches, only what leans across the foam counts, between the edge's rims: past a rounded
    corner, or the place where a wheel stands, it was never to lie along the other.
    """
    places, normals = _spread(edge)
    places, normals = places @ back[:3, :3].T + back[:3, 3], normals @ back[:3, :3].T
    gap, facing, beside = touching.beside(places)
    looks = ((normals * facing).sum(axis=1) < FACING) & (beside <= BESIDE + LEANING * np.abs(gap))
    if edge.plane is None or not (face.broad or face.plane is not None):
        return _across(places, normals, looks, own_rims, back, touching)
    if not looks.any():
        return 0.0
    mouth = max(float(gap[looks].max()), 0.0)
    leans = float(-(normals[looks] * facing[looks]).sum(axis=1).mean())
    return mouth if leans > _LIES_ALONG or mouth < thickness else 0.0


def _across(
    places: np.ndarray,
    normals: np.ndarray,
    looks: np.ndarray,
    own_rims: Sequence[np.ndarray],
    back: np.ndarray,
    touching: Field,
) -> float:
    """How much further off the one rim of an edge is than the other where one of them touches, at most."""
    if len(own_rims) != 2 or not looks.any():
        return 0.0
    over, out = places[looks], normals[looks]
    rims = [nearest_on(rim @ back[:3, :3].T + back[:3, 3], over) for rim in own_rims]
    touch, gaps = zip(*(touching(places, out) for places in rims))
    near = np.any(touch, axis=0)
    return float(np.ptp(gaps, axis=0)[near].max()) if near.any() else 0.0


def wedges_told(prop: Prop, contacts: Contacts) -> list[str]:
    """A line for each pair of which one is glued by an edge and leaves a wedge of air, for whoever makes the design."""
    widest: dict[tuple[str, str], float] = {}
    for contact in contacts.found:
        if contact.wedge and glued(prop, contact):
            edge, other = (contact.b, contact.a) if contact.a.broad else (contact.a, contact.b)
            key = edge.part, other.part
            widest[key] = max(widest.get(key, 0.0), contact.wedge)
    return [
        f"part {part}: the edge that meets {other} leans away from it and stands up to {gap:.1f} mm off; "
        "bevel or lean it, or cut it to fit"
        for (part, other), gap in widest.items()
    ]


def _spread(face: Face) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) of a face and places along the sides of its triangles, each with its normal (n, 3)."""
    places, ends = along_sides(face.points, face.triangles, _SPACING)
    between = face.normals[ends].sum(axis=1)
    between /= np.maximum(np.linalg.norm(between, axis=1, keepdims=True), 1e-300)
    return np.vstack([face.points, places]), np.vstack([face.normals, between])
