"""What patterns without strain have in common. Lengths in mm."""

from __future__ import annotations

from typing import Any

import numpy as np

from foamwright.flatten.records import Pattern, PatternEdge, Strain
from foamwright.parts.records import Piece

NO_STRAIN = Strain(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def exact_pattern(
    piece: Piece, outline: np.ndarray, edges: tuple[PatternEdge, ...], area: float, **more: Any
) -> Pattern:
    """A pattern without strain, darts or mesh, cut square; `more` gives the fields that are not as here."""
    plain: dict[str, Any] = {
        "holes": (),
        "darts": (),
        "strain": NO_STRAIN,
        "neutral_offset": 0.0,
        "mesh": None,
        "forward": None,
        "up": None,
        "strip": None,
        "warnings": (),
        "other_outline": outline,
        "other_holes": more.get("holes", ()),
    }
    return Pattern(piece=piece, outline=outline, edges=edges, area=float(area), **(plain | more))


def plain_edge(
    name: str,
    points: np.ndarray,
    length: float,
    bevel: tuple[float, ...] = (0.0,),
    joins: tuple[str, ...] = (),
) -> PatternEdge:
    """An edge that is no seam."""
    return PatternEdge(
        id=name,
        points=points,
        length=float(length),
        bevel=bevel,
        joins=joins,
        seam=None,
        ticks=np.zeros(0),
        tick_numbers=(),
    )
