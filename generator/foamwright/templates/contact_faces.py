"""The faces of a part by which it can lie on another, as rims of points. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody

_CORNER = 0.2  # mm, and share of the usual step along a rim, between points that stand for one corner
INSET = 1.0  # from a rim to the points that tell on which side of it the part is


def contact_faces(piece: Piece) -> list[list[np.ndarray]]:
    """The rims of a part's two broad faces, inside first: for each face closed loops (N, 2, 3).

    Each point of a rim comes with a second one, `INSET` away from it on the face.
    """
    body = piece.body
    if isinstance(body, FlatBody):
        thick = piece.thickness
        inside, outside = body.faces(thick)
        return [_flat_rims(body, inside, 0.0), _flat_rims(body, outside, thick)]
    if isinstance(body, PanelBody):
        return [_panel_rims(body, "inner"), _panel_rims(body, "outer")]
    if isinstance(body, RodBody):
        return [[_end_rim(body, end)] for end in (body.start, body.end)]
    return [_band_rims(body, offset) for offset in (body.inner_offset, body.inner_offset + piece.thickness)]


def _flat_rims(body: FlatBody, outline: np.ndarray, z: float) -> list[np.ndarray]:
    rims = []
    for ring, is_hole in ((outline, False), *((hole, True) for hole in body.holes)):
        ring = ring if shapely.LinearRing(ring).is_ccw != is_hole else ring[::-1]  # the part is to the left
        ring = np.column_stack([np.concatenate([ring, ring[:1]]), np.full(len(ring) + 1, z)])
        rim = np.stack([ring, ring + INSET * _left_of(ring, np.array([0.0, 0.0, 1.0]))], axis=1)
        rims.append(body.frame.to_space(rim.reshape(-1, 3)).reshape(-1, 2, 3))
    return rims


def _panel_rims(body: PanelBody, face: str) -> list[np.ndarray]:
    rims = []
    for number in sorted({edge.loop for edge in body.edges}):
        edges = [edge for edge in body.edges if edge.loop == number]
        ring = np.concatenate([getattr(edge, face) for edge in edges])
        outwards = np.concatenate([edge.outer - edge.inner for edge in edges])
        steps = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1)
        fresh = steps > min(_CORNER, _CORNER * float(np.median(steps)))  # corners belong to two edges
        ring, outwards = ring[fresh], outwards[fresh]
        ring, outwards = np.concatenate([ring, ring[:1]]), np.concatenate([outwards, outwards[:1]])
        side = 1.0 if number == 0 else -1.0  # every loop runs counter-clockwise, holes too
        rims.append(np.stack([ring, ring + side * INSET * _left_of(ring, outwards)], axis=1))
    return rims


def _band_rims(body: BandBody, offset: float) -> list[np.ndarray]:
    curve = body.curve + body.normals * offset
    low, low_in = (curve + (body.low + inset)[:, None] * body.across for inset in (0.0, INSET))
    high, high_in = (curve + (body.high - inset)[:, None] * body.across for inset in (0.0, INSET))
    low, high = np.stack([low, low_in], axis=1), np.stack([high, high_in], axis=1)
    return [low, high] if body.closed else [np.concatenate([low, high[::-1], low[:1]])]


def _end_rim(body: RodBody, end: np.ndarray) -> np.ndarray:
    """The circle in which a rod ends."""
    along = (body.end - body.start) / body.length
    side = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    side /= np.linalg.norm(side)
    angle = np.linspace(0.0, 2.0 * np.pi, 97)
    ring = np.outer(np.cos(angle), side) + np.outer(np.sin(angle), np.cross(along, side))
    ring[-1] = ring[0]
    radius = body.diameter / 2
    return np.stack([end + radius * ring, end + (radius - min(INSET, radius / 2)) * ring], axis=1)


def _left_of(ring: np.ndarray, up: np.ndarray) -> np.ndarray:
    """(N, 3) unit vectors to the left of a closed ring (N, 3), seen from where `up` points."""
    along = np.roll(ring[:-1], -1, axis=0) - np.roll(ring[:-1], 1, axis=0)
    left = np.cross(up, np.concatenate([along, along[:1]]))
    return left / np.maximum(np.linalg.norm(left, axis=1, keepdims=True), 1e-12)
