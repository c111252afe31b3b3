"""Letters as plane shapes, and the bridges that keep the inside of a letter in a stencil. Lengths in mm."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from foamwright.drawing.fonts import face_file
from foamwright.errors import BuildError
from foamwright.parts.curves import flattened
from foamwright.parts.fill import filled

_CAPITAL = "H"  # its height is that of the capitals


@cache
def _face(bold: bool):
    from fontTools.ttLib import TTFont

    return TTFont(face_file(bold))


def lettering(value: str, height: float, bold: bool = False) -> shapely.Geometry:
    """One line of text as polygons, its capitals `height` high; the middle of what is seen lies at x = 0, and
    y = 0 at half the height of the capitals. Raises BuildError for a character that the face lacks.
    """
    face = _face(bold)
    names, advances = face.getBestCmap(), face["hmtx"]
    missing = [c for c in value if ord(c) not in names]
    if missing:
        raise BuildError(f"no letter for {missing[0]!r} (U+{ord(missing[0]):04X}) in {value!r}")
    capital = _glyph(_CAPITAL, bold, 1.0).bounds[3]
    scale = height / capital
    shapes, at = [], 0.0
    for c in value:
        shapes.append(affinity.translate(_glyph(c, bold, scale), at, 0.0))
        at += scale * advances[names[ord(c)]][0]
    whole = shapely.union_all(shapes)
    if whole.is_empty:
        raise BuildError(f"text {value!r} has nothing to cut")
    return affinity.translate(whole, -(whole.bounds[0] + whole.bounds[2]) / 2, -height / 2)


def _glyph(character: str, bold: bool, scale: float) -> shapely.Geometry:
    """One character with its origin on the baseline, filled as its face says: where its contours wind around."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    face = _face(bold)
    glyphs = face.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[face.getBestCmap()[ord(character)]].draw(pen)
    return filled(_contours(pen.value, scale), "nonzero")


def _contours(commands, scale: float) -> list[np.ndarray]:
    """The closed contours (N, 2) of a recorded TrueType outline, curves within the tolerance."""
    from fontTools.pens.basePen import decomposeQuadraticSegment

    rings: list[np.ndarray] = []
    ring: list[np.ndarray] = []
    for command, points in commands:
        points = [scale * np.asarray(p, float) for p in points if p is not None]
        if command == "moveTo":
            ring = [points[0][None]]
        elif command == "lineTo":
            ring.append(points[0][None])
        elif command == "qCurveTo":
            for control, end in decomposeQuadraticSegment(points):
                ring.append(_quadratic(ring[-1][-1], np.asarray(control), np.asarray(end))[1:])
        elif command == "closePath":
            rings.append(np.concatenate(ring))
    return rings


def _quadratic(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    return flattened(lambda t: ((1 - t) ** 2)[:, None] * a + (2 * t * (1 - t))[:, None] * b + (t**2)[:, None] * c)


def bridged(shape: shapely.Geometry, width: float) -> shapely.Geometry:
    """`shape` as openings of a stencil: bars `width` wide, one up and one down, hold whatever a hole leaves loose.

    Raises BuildError where a bridge would have to be wider than the hole it holds.
    """
    bars = []
    for part in shapely.get_parts(shape):
        for ring in part.interiors:
            island = Polygon(ring)
            x0, _, x1, _ = island.bounds
            if x1 - x0 < width:
                raise BuildError(f"a bridge of {width:g} mm at a hole of {x1 - x0:.2f} mm; make it narrower")
            x = float(np.clip(island.centroid.x, x0 + width / 2, x1 - width / 2))
            _, low, _, high = part.bounds
            bars.append(box(x - width / 2, low - 1.0, x + width / 2, high + 1.0))
    return shape.difference(shapely.union_all(bars)) if bars else shape
