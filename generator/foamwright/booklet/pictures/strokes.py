"""What small drawings beside a step are made of: figures, short arrows, the way up, and the polygons and lines of a shape."""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Primitive, Text, Tick
from foamwright.flatten.records import Pattern
from foamwright.language import say
from foamwright.templates.heading import arrows

WORDS = 2.6  # height of figures
FOAM = "#cfc4ac"
HIGH = 2.0  # of words beside an arrow or a face
_ARROW, _HEAD = 5.0, 1.6  # the arrow up, and its head
_BESIDE = 1.2  # from it to its word


def figure(at: tuple[float, float], value: str, height: float = WORDS) -> Text:
    return Text(at, value, height, "note", "middle")


def pointed(start: np.ndarray, end: np.ndarray) -> list[Primitive]:
    """A short arrow."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = 0.6 * np.array([-along[1], along[0]])
    head = np.array([end, end - 1.6 * along + across, end - 1.6 * along - across])
    return [Path(np.array([start, end - 1.4 * along]), "bevel"), Path(head, "shade", True, "#111111")]


def arrow_up(x: float, y: float) -> list[Primitive]:
    """An arrow up with its word, the lower left corner of both at (x, y)."""
    middle, top = x + 0.4 * _HEAD, y + _ARROW
    head = np.array([(middle, top), (middle - 0.4 * _HEAD, top - _HEAD), (middle + 0.4 * _HEAD, top - _HEAD)])
    shaft = Tick((middle, y), (middle, top - _HEAD), "tick")
    word = Text((middle + _BESIDE, y + _ARROW / 2.0 - 0.36 * HIGH), say("up"), HIGH, "note", "start")
    return [shaft, Path(head, "shade", True, "#111111"), word]


def room_of_arrow_up() -> np.ndarray:
    """(2,) how wide and high it is with its word."""
    return np.array([0.4 * _HEAD + _BESIDE + text_width(say("up"), HIGH), _ARROW])


def turned_up(pattern: Pattern) -> np.ndarray | None:
    """The turn (2, 2), for rows, by which what is up in the prop is up on paper, of a flat part whose template tells that."""
    told = arrows(pattern).get(2)
    if told is None:
        return None
    x, y = np.array(told[1]) / np.hypot(*told[1])
    return np.array([[y, x], [-x, y]])


def polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and not part.is_empty]


def lines(shape: shapely.Geometry) -> list[shapely.LineString]:
    merged = shapely.line_merge(shape) if shape.geom_type in ("MultiLineString", "LineString") else shape
    return [part for part in shapely.get_parts(merged) if isinstance(part, shapely.LineString)]
