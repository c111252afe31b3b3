"""Flat foam that is glued by its face on a curved part: how far it stands off that towards its rim until it is pressed down."""

from __future__ import annotations

import igl
import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies, frame
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece

SANDED = 0.3  # of its thickness that thick foam is sanded hollow at most; more, and it is bent on to the curve as it is glued
_BENDS = practice.COLD_STRAIN  # of the faces of foam: where it bends by less, it is pressed on to the curve
_STEP = 0.05  # of a face, so far apart are the places at which it is asked
_ACROSS = 0.9  # cosine between the way to what lies below and the way off the face; less, and it lies beside it
_THICK = 2.0  # thicknesses off, at most: what is further away is another place


def is_sanded(piece: Piece, off: float, across: float) -> bool:
    """Is foam that stands `off` a curve, which is so wide `across`, both in mm, sanded hollow to lie on it?"""
    thick = piece.stock.thickness > practice.THIN
    return thick and off < SANDED * piece.thickness and piece.thickness > _BENDS * across


def lifted(bodies: Bodies, pair: tuple[int, int]) -> float:
    """How far in mm the face of the first copy that touches the second is from it at most; 0 unless the one is flat foam and the
    other is curved."""
    copy, other = pair
    piece, touch = bodies.pieces[copy], bodies.touches[pair]
    axes = frame(piece, bodies.matrices[copy])
    if axes is None or not isinstance(piece.body, FlatBody) or piece.stock.material_type != "foam":
        return 0.0
    if min(touch.broad) < 0.5 or not isinstance(bodies.pieces[other].body, PanelBody | BandBody):
        return 0.0
    points, triangles = bodies.mesh((copy,))
    off = axes[2] if float(touch.areas @ touch.normals @ axes[2]) > 0.0 else -axes[2]  # away from the other
    level = points @ off
    corners = points[triangles[(level[triangles] < level.min() + _STEP).all(axis=1)]]
    share = np.linspace(0.0, 1.0, round(1.0 / _STEP) + 1)[:, None]
    rim = np.vstack([a + share * (b - a) for a, b, c in corners for a, b in ((a, b), (b, c), (c, a))])
    mesh, faces = bodies.mesh((other,))
    tree = igl.AABB()
    tree.init(mesh, faces)
    squared, _, foot = tree.squared_distance(mesh, faces, np.ascontiguousarray(rim))
    gap = np.sqrt(np.reshape(squared, -1))
    below = (rim - np.reshape(foot, (-1, 3))) @ off > _ACROSS * np.maximum(gap, 1e-9)
    near = below & (gap < _THICK * piece.thickness)
    return float(gap[near].max(initial=0.0))
