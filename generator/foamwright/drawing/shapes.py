"""Primitives as shapes: the room that they take, and their ink alone. In mm."""

from __future__ import annotations

import shapely

from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.labels import label_corners
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Hatch, Label, Path, Primitive, Text, Tick


def room(item: Primitive) -> shapely.Geometry:
    """What is better left free of other things: a line, or the area of words, of a hatch and of a filled path."""
    match item:
        case Hatch():
            return shapely.Polygon(item.boundary)
        case Path(fill=str()):
            return shapely.Polygon(item.points)
    return ink(item)


def ink(item: Primitive) -> shapely.Geometry:
    """The lines of it, without their width and without fills, and the boxes of words."""
    match item:
        case Path():
            return shapely.LinearRing(item.points) if item.closed else shapely.LineString(item.points)
        case Tick():
            return shapely.LineString([item.start, item.end])
        case Hatch():
            return shapely.multilinestrings(hatch_strokes(item))
        case Text():
            return shapely.Polygon(text_box(item))
        case Label():
            corners = label_corners(item).reshape(-1, 4, 2)
            boxes = shapely.polygons(corners)
            return shapely.multipolygons(boxes) if len(boxes) > 1 else boxes[0]
    raise TypeError(f"no primitive: {item!r}")


def bounds(items: tuple[Primitive, ...]) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of all their ink."""
    boxes = shapely.bounds([ink(item) for item in items])
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)
