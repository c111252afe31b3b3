"""Where a flat part of foam is so narrow between two of its edges that it tears: webs between holes, and necks. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import Polygon

from foamwright.parts.records import FlatBody, Piece

NARROW = 3.0  # mm of foam, or its thickness if that is less: it tears under the knife (common practice, no source)
_EXACT = 1e-6  # mm
_BESIDE = 0.02  # by which what is worn away and put on again stays short of curves and corners


def webs_told(pieces: Sequence[Piece]) -> Iterator[str]:
    """A line for each narrow place of each flat part of foam, for whoever makes the design."""
    for piece in pieces:
        if isinstance(piece.body, FlatBody) and piece.stock.material_type == "foam":
            for place, width in webs(piece.body, min(NARROW, piece.stock.thickness)):
                x, y = (f"{value:.0f}" for value in np.round(place) + 0.0)  # and no -0
                yield (
                    f"part {piece.id}: no more than {width:.1f} mm of foam is left between two of its edges, near x {x}, "
                    f"y {y} of its outline; leave {NARROW:g} mm or more"
                )


def webs(body: FlatBody, narrow: float) -> list[tuple[np.ndarray, float]]:
    """The middle (2,) and the width of every place narrower than `narrow` that joins two wider ones."""
    shape = Polygon(body.outline, body.holes)
    found = []
    for neck in _necks(shape, narrow):
        sides = shapely.get_parts(shapely.line_merge(shape.boundary & neck.buffer(_EXACT)))
        width = min((one.distance(other) for one, other in combinations(sides, 2)), default=None)
        if width is not None:
            found.append((shapely.get_coordinates(neck.centroid)[0], width))
    return found


def _necks(shape: Polygon, width: float) -> list[Polygon]:
    """What a shape loses where it is narrower than `width` and joins what it keeps at two places or more: not its corners
    and tips."""
    kept = shape.buffer(-width / 2.0).buffer(width / 2.0 + _BESIDE)
    lost = [part for part in shapely.get_parts(shape - kept) if isinstance(part, Polygon)]
    ends = [shapely.get_parts(shapely.line_merge(part.exterior & kept.buffer(_BESIDE))) for part in lost]
    return [part for part, met in zip(lost, ends) if len(met) > 1]
