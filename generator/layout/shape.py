"""The room that a template takes on paper: its cut outline and everything drawn or written around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from generator.drawing.hatch import hatch_strokes
from generator.drawing.metrics import text_box
from generator.drawing.primitives import Drawing, Hatch, Path, Primitive, Text, Tick
from generator.drawing.transform import place
from generator.parts.records import Piece
from generator.templates.records import Template

_LINE_REACH = 0.35  # mm from a line's middle to its edge, for the widest line type
_SMOOTH = 0.1  # mm that the room is larger than the foam, so that it can be stated with fewer points


@dataclass(frozen=True, eq=False)
class Item:
    """One or several templates that are laid out as one: `shapes` is the room of each, `footprint` the foam."""

    templates: tuple[Template, ...]
    drawing: Drawing
    shapes: tuple[BaseGeometry, ...]
    footprint: BaseGeometry

    @cached_property
    def shape(self) -> BaseGeometry:
        """The room of all."""
        return self.shapes[0] if len(self.shapes) == 1 else shapely.union_all(self.shapes)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        return tuple(t.pattern.piece for t in self.templates)

    @property
    def label(self) -> str:
        return "+".join(p.label for p in self.pieces)

    @property
    def name(self) -> str:
        return ", ".join(p.name for p in self.pieces)


def item_of(template: Template) -> Item:
    """The template with its room, in pattern coordinates."""
    footprint = shapely.make_valid(Polygon(template.footprint, template.pattern.holes))
    inside = footprint.buffer(-_LINE_REACH)
    shapely.prepare(inside)
    around = [g for g in map(outline, template.drawing.items) if not inside.contains(g)]
    shape = shapely.union_all([footprint.buffer(_SMOOTH), *(g.buffer(_LINE_REACH) for g in around)])
    return Item((template,), template.drawing, (shape.simplify(_SMOOTH),), footprint)


def outline(item: Primitive) -> BaseGeometry:
    """What one primitive covers."""
    match item:
        case Path():
            points = np.asarray(item.points, float)
            return LineString(np.vstack([points, points[:1]]) if item.closed else points)
        case Tick():
            return LineString([item.start, item.end])
        case Hatch():
            return shapely.union_all(shapely.linestrings(hatch_strokes(item)))
        case Text():
            return Polygon(text_box(item))


def turned(item: Item, angle: float) -> Item:
    """`item` turned by `angle` degrees about the origin."""
    if angle == 0.0:
        return item
    return replace(
        item,
        drawing=place(item.drawing, angle, 0.0, 0.0),
        shapes=tuple(rotate(shape, angle, origin=(0, 0)) for shape in item.shapes),
        footprint=rotate(item.footprint, angle, origin=(0, 0)),
    )


def moved(item: Item, dx: float, dy: float) -> Item:
    """`item` moved by (dx, dy) mm."""
    return replace(
        item,
        drawing=place(item.drawing, 0.0, dx, dy),
        shapes=tuple(shapely.transform(shape, lambda p: p + (dx, dy)) for shape in item.shapes),
        footprint=shapely.transform(item.footprint, lambda p: p + (dx, dy)),
    )


def joined(items: Sequence[Item]) -> Item:
    """Several items, where they are, as one."""
    return Item(
        tuple(t for i in items for t in i.templates),
        Drawing(tuple(p for i in items for p in i.drawing.items)),
        tuple(shape for i in items for shape in i.shapes),
        shapely.union_all([i.footprint for i in items]),
    )


def angles(shape: BaseGeometry) -> tuple[float, ...]:
    """Angles in (-90, 90] worth trying, the most readable first.

    As drawn, then along the sides of the smallest rectangle around it, then in steps of 15 degrees. Half of
    the circle is enough, and keeps the lines of a text in their order.
    """
    hull = shape.convex_hull.minimum_rotated_rectangle
    (x0, y0), (x1, y1) = hull.exterior.coords[:2]
    lean = round(-float(np.degrees(np.arctan2(y1 - y0, x1 - x0))), 3)
    steps = sorted(range(-75, 91, 15), key=abs)
    tried = [0.0, *sorted((half_turn(lean), half_turn(lean + 90.0)), key=abs), 90.0, *map(float, steps)]
    return tuple(dict.fromkeys(tried))


def half_turn(angle: float) -> float:
    """The same direction of a line as an angle in (-90, 90]."""
    return 90.0 - (90.0 - angle) % 180.0
