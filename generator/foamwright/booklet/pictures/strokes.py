"""What small drawings beside a step are made of: figures, short arrows, and the polygons and lines of a shape."""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.drawing.primitives import Path, Primitive, Text

WORDS = 2.6  # height of figures
FOAM = "#cfc4ac"


def figure(at: tuple[float, float], value: str, height: float = WORDS) -> Text:
    return Text(at, value, height, "note", "middle")


def pointed(start: np.ndarray, end: np.ndarray) -> list[Primitive]:
    """A short arrow."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = 0.6 * np.array([-along[1], along[0]])
    head = np.array([end, end - 1.6 * along + across, end - 1.6 * along - across])
    return [Path(np.array([start, end - 1.4 * along]), "bevel"), Path(head, "shade", True, "#111111")]


def polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and not part.is_empty]


def lines(shape: shapely.Geometry) -> list[shapely.LineString]:
    merged = shapely.line_merge(shape) if shape.geom_type in ("MultiLineString", "LineString") else shape
    return [part for part in shapely.get_parts(merged) if isinstance(part, shapely.LineString)]
