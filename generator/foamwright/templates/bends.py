"""Where a panel stays straight while it is bent: the ends of one line, to lay a rule along. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.ops import substring

from foamwright.drawing.primitives import Path
from foamwright.flatten.bend_lines import bend_lines
from foamwright.flatten.records import Pattern

_LONG, _SHARE = 12.0, 0.25  # of each end, at most: in mm, and of the line
_OFF = 2.0  # from the edge of the foam
_THIN = 3.0  # mm: thinner foam follows what it is laid on (common practice, no source)
_SHORTEST = 16.0  # line that has ends to tell apart


def bend_marks(pattern: Pattern) -> list[Path]:
    """Both ends of the line through the middle along which a panel bends least, on the foam; none of thin foam, where it bends
    alike all ways, or where the line is hardly longer than its marks."""
    lines = bend_lines(pattern) if pattern.piece.stock.thickness > _THIN else []
    if not lines:
        return []
    line = shapely.LineString(lines[0])
    if line.length < _SHORTEST:
        return []
    long = min(_LONG, _SHARE * line.length)
    foam = shapely.Polygon(pattern.outline, pattern.holes).buffer(-_OFF / 2.0)
    ends = (substring(line, _OFF, _OFF + long), substring(line, -_OFF - long, -_OFF))
    # what is cut out of a line may come in stretches that meet
    inside = [shapely.line_merge(end & foam) for end in ends]
    pieces = [part for end in inside for part in shapely.get_parts(end) if part.length > long / 2.0]
    return [Path(np.asarray(shapely.get_coordinates(part)), "bend") for part in pieces]
