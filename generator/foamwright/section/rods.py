"""The patterns of rods. Lengths in mm."""

from __future__ import annotations

import numpy as np

from foamwright.flatten.exact import exact_pattern, plain_edge
from foamwright.flatten.records import Pattern
from foamwright.parts.records import Piece, RodBody


def rod_pattern(piece: Piece) -> Pattern:
    """The strip that a laminated rod is built from, square so that it can be rounded; of a bought one its side."""
    body: RodBody = piece.body
    width = body.diameter if body.bought else max(body.diameter, piece.thickness)
    x, y = body.length / 2, width / 2
    outline = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    names = ("low", "end", "high", "start")
    corners = np.vstack([outline, outline[:1]])
    edges = tuple(
        plain_edge(name, corners[i : i + 2], float(np.ptp(corners[i : i + 2], axis=0).max()), (0.0,), ())
        for i, name in enumerate(names)
    )
    return exact_pattern(piece, outline, edges, 4 * x * y, strip=(float(2 * x), float(2 * y)))
