"""Moving and clipping drawings. Texts are never mirrored, and labels never turned upside down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, Polygon, box

from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.labels import label_corners, upright
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Hatch, Label, Path, Primitive, Shading, Text, Tick


def translate(drawing: Drawing, dx: float, dy: float) -> Drawing:
    """`drawing` moved by (dx, dy) mm."""
    return place(drawing, 0.0, dx, dy)


def place(drawing: Drawing, angle: float, dx: float, dy: float) -> Drawing:
    """`drawing` turned by `angle` degrees about the origin, then moved by (dx, dy) mm."""
    return Drawing(tuple(map(_upright, turned(drawing.items, angle, dx, dy))))


def turned(items: Sequence[Primitive], angle: float, dx: float, dy: float) -> tuple[Primitive, ...]:
    """The items turned by `angle` degrees about the origin, words and all, then moved by (dx, dy) mm."""
    shift = np.array([dx, dy], float)
    return tuple(_placed(item, angle, shift) for item in items)


def _upright(item: Primitive) -> Primitive:
    match item:
        case Label():
            return upright(item)
        case Text():
            return upright(Label((item,))).texts[0]
    return item


def place_points(points: np.ndarray, angle: float, dx: float, dy: float) -> np.ndarray:
    """(N, 2) points turned by `angle` degrees about the origin, then moved by (dx, dy) mm."""
    return _turned(points, angle) + np.array([dx, dy])


def _turned(points: np.ndarray, angle: float) -> np.ndarray:
    points = np.asarray(points, float)
    if angle == 0.0:
        return points
    a = np.radians(angle)
    cos, sin = np.cos(a), np.sin(a)
    return points @ np.array([[cos, sin], [-sin, cos]])


def _placed(item: Primitive, angle: float, shift: np.ndarray) -> Primitive:
    match item:
        case Shading():
            if angle:
                raise ValueError("a picture in tones lies level")
            return replace(item, at=(item.at[0] + float(shift[0]), item.at[1] + float(shift[1])))
        case Path():
            return replace(item, points=_turned(item.points, angle) + shift)
        case Tick():
            start, end = _turned(np.array([item.start, item.end]), angle) + shift
            return Tick(_point(start), _point(end), item.layer)
        case Hatch():
            # Strokes are anchored to the origin, so a moved hatch shifts by less than one spacing.
            return replace(item, boundary=_turned(item.boundary, angle) + shift, angle=item.angle + angle)
        case Text():
            return _placed_text(item, angle, shift)
        case Label():
            return _placed_label(item, angle, shift)


def _placed_text(text: Text, angle: float, shift: np.ndarray) -> Text:
    return replace(text, at=_point(_turned(np.array([text.at]), angle)[0] + shift), angle=text.angle + angle)


def _placed_label(label: Label, angle: float, shift: np.ndarray) -> Label:
    return Label(tuple(_placed_text(text, angle, shift) for text in label.texts))


def moved_label(label: Label, dx: float, dy: float) -> Label:
    """`label` moved by (dx, dy) mm."""
    return _placed_label(label, 0.0, np.array([dx, dy], float))


def _point(at: np.ndarray) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def clip(drawing: Drawing, x0: float, y0: float, x1: float, y1: float) -> Drawing:
    """The part of `drawing` inside a rectangle. A label or text is kept only if it is wholly inside.

    A closed path that is cut becomes open pieces, so that no line is drawn along the rectangle; its fill, if
    any, is kept as a separate path on "shade". Hatches become strokes.
    """
    window = box(x0, y0, x1, y1)
    low, high = np.array([x0, y0]), np.array([x1, y1])
    kept: list[Primitive] = []
    for item in drawing.items:
        corners = _corners(item)
        if (corners.min(axis=0) >= low - 1e-9).all() and (corners.max(axis=0) <= high + 1e-9).all():
            kept.append(item)
        elif (corners.max(axis=0) >= low).all() and (corners.min(axis=0) <= high).all():
            kept += _clipped(item, window)
    return Drawing(tuple(kept))


def _corners(item: Primitive) -> np.ndarray:
    match item:
        case Path():
            return np.asarray(item.points, float)
        case Tick():
            return np.array([item.start, item.end], float)
        case Hatch():
            return np.asarray(item.boundary, float)
        case Text():
            return text_box(item)
        case Label():
            return label_corners(item)
    raise TypeError(f"no primitive: {item!r}")


def _clipped(item: Primitive, window: Polygon) -> list[Primitive]:
    match item:
        case Path():
            pieces: list[Primitive] = []
            if item.fill and item.closed:
                # a line that crosses itself fills all that it goes around: nothing of it is lost
                inside = shapely.make_valid(Polygon(item.points), method="structure", keep_collapsed=False) & window
                for part in shapely.get_parts(inside):
                    if part.geom_type == "Polygon" and not part.is_empty:
                        ring = np.array(part.exterior.coords)[:-1]
                        pieces.append(Path(ring, "shade", closed=True, fill=item.fill))
                if item.layer == "shade":
                    return pieces
            points = np.asarray(item.points, float)
            if item.closed:
                points = _started_outside(points, window)
            return pieces + [Path(p, item.layer) for p in _lines_inside(points, window)]
        case Tick():
            lines = _lines_inside(np.array([item.start, item.end], float), window)
            return [Tick(_point(p[0]), _point(p[-1]), item.layer) for p in lines]
        case Hatch():
            lines = [p for s in hatch_strokes(item) for p in _lines_inside(s, window)]
            return [Tick(_point(p[0]), _point(p[-1]), item.layer) for p in lines]
        case _:
            return []


def _started_outside(points: np.ndarray, window: Polygon) -> np.ndarray:
    """The closed polyline as an open one that begins outside the window, so that its seam cuts no piece."""
    x0, y0, x1, y1 = window.bounds
    outside = (points < (x0, y0)).any(axis=1) | (points > (x1, y1)).any(axis=1)
    first = int(np.argmax(outside))
    return np.vstack([points[first:], points[: first + 1]])


def _lines_inside(points: np.ndarray, window: Polygon) -> list[np.ndarray]:
    inside = LineString(points).intersection(window)
    parts = [g for g in getattr(inside, "geoms", [inside]) if g.geom_type == "LineString" and not g.is_empty]
    return [np.array(p.coords) for p in parts]
