"""Whether a pattern can be cut at all: lines that enclose foam, all of it and once."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from foamwright.errors import BuildError
from foamwright.flatten.records import Pattern
from foamwright.parts.curves import SAGITTA
from foamwright.parts.fill import place_of

_CHORDS = SAGITTA  # mm of area for each mm of line: a round part's is that of its circle, the drawn one of its chords


def check_foam(pattern: Pattern) -> None:
    """Raises BuildError for a pattern without foam, one whose lines cross or touch themselves, one whose stated area is
    not what its lines enclose, and one whose segments are more or less than the whole."""
    name = f"part {pattern.piece.id}"
    drawn = _foam(pattern.outline, pattern.holes, f"{name}: its cut line")
    _foam(pattern.other_outline, pattern.other_holes, f"{name}: the cut line of its other face")
    length = Polygon(pattern.outline, pattern.holes).length
    if abs(drawn - pattern.area) > _CHORDS * length + 0.01:
        raise BuildError(f"{name}: its area is told as {pattern.area:.1f} mm2, and its lines enclose {drawn:.1f} mm2")
    if pattern.split is None:
        return
    total = sum(_foam(s.outline, s.holes, f"{name}: segment {i}") for i, s in enumerate(pattern.split.segments, 1))
    lost = drawn - total
    if lost > 1e-3 * drawn or (pattern.split.joint != "scarf" and -lost > 1e-3 * drawn + 0.01):
        raise BuildError(f"{name}: its segments have {total:.1f} mm2 of foam, the whole {drawn:.1f} mm2")


def _foam(outline: np.ndarray, holes: tuple[np.ndarray, ...], what: str) -> float:
    """The area of one face in mm2."""
    shape = Polygon(outline, holes)
    if not shape.is_valid:
        raise BuildError(f"{what} crosses or touches itself{place_of(shape)}")
    if not shape.area > 0.0:
        raise BuildError(f"{what} encloses nothing")
    return float(shape.area)
