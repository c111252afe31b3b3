"""Where an edge touches along a part of it only and then stands off: the wedge of air between. Lengths in mm."""

from __future__ import annotations

import numpy as np

from foamwright.contacts.curved import BESIDE, FACING, LEANING, Target
from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contacts, Face
from foamwright.geometry.mesh import along_sides
from foamwright.parts.records import Prop

_SPACING = 2.5  # between the places on an edge from which the gap is measured
_LIES_ALONG = 0.966  # cosine of 15 degrees: an edge that leans no more was to lie along the face
_ALONG = 0.5  # of its length that a bent edge must touch: else it only goes past, as a wheel on the ground


def opening(edge: Face, on: Target, back: np.ndarray, touched: float, thickness: float) -> float:
    """How far a face that a knife made, `edge`, stands off the face `on` that it touches, at most.

    Only places count that look at it within the angle at which faces count as facing. `back` (4, 4) takes places as
    `edge` is modelled to those as the other is; `touched` is the length that touches. 0 for a bent edge that only goes
    past the other, and for one that meets it with a corner: it leans steeply, and stands off by more than its thickness.
    """
    if edge.plane is None and touched * thickness < _ALONG * edge.size:
        return 0.0
    places, normals = _spread(edge)
    places, normals = places @ back[:3, :3].T + back[:3, 3], normals @ back[:3, :3].T
    _, triangle, foot = on.tree.squared_distance(on.points, on.triangles, np.ascontiguousarray(places))
    facing = on.normals[np.reshape(triangle, -1)]
    away = places - np.reshape(foot, (-1, 3))
    gap = (away * facing).sum(axis=1)
    beside = np.linalg.norm(away - gap[:, None] * facing, axis=1)
    looks = ((normals * facing).sum(axis=1) < FACING) & (beside <= BESIDE + LEANING * np.abs(gap))
    if not looks.any():
        return 0.0
    mouth = max(float(gap[looks].max()), 0.0)
    leans = float(-(normals[looks] * facing[looks]).sum(axis=1).mean())
    return mouth if leans > _LIES_ALONG or mouth < thickness else 0.0


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
