"""The room that a template takes on paper: its cut outline and everything drawn or written around it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from foamwright.drawing.labels import label_corners
from foamwright.drawing.primitives import Drawing
from foamwright.drawing.shapes import ink
from foamwright.drawing.transform import place, place_points, translate
from foamwright.layout.packing import Mask, mask_of
from foamwright.parts.records import Piece
from foamwright.templates.records import Template

_LINE_REACH = 0.35  # mm from a line's middle to its edge, for the widest line type
_STEPS = tuple(map(float, sorted(range(-75, 91, 15), key=abs)))
_ROUND = 1.1  # times as long as wide: below that, no side of a part asks to stand upright
_SQUARE = 0.25  # degrees, 1.2 mm over the length of a page: a part that leans by less stands as it is drawn
_SMOOTH = 0.1  # mm that the room is larger than the foam, so that it can be stated with fewer points


Letterer = Callable[[Template, float, tuple[BaseGeometry, ...]], Template]
"""From a template, the degrees by which it is turned on its page and the joins of pages that part it, in its own
coordinates, to the same with words that read there and stand on no join."""


def as_drawn(template: Template, turn: float, joins: tuple[BaseGeometry, ...] = ()) -> Template:
    """The lettering that leaves all words where they are, so that they lean with the part."""
    return template


class Worded:
    """A template in every turn in which it may lie on a page. What has been worked out is kept."""

    def __init__(self, template: Template, letter: Letterer):
        self.template = template
        self._letter = letter
        self._foam = shapely.make_valid(Polygon(template.footprint, template.pattern.holes))
        self._room = _room(template, self._foam)
        self.spills = not self._foam.buffer(2.0 * _LINE_REACH).covers(self._room)
        self._set: dict[float, tuple[Template, BaseGeometry]] = {0.0: (template, self._room)}

    def drawing(self, turn: float) -> Drawing:
        """Turned about the origin, its words set for that."""
        return place(self._at(turn)[0].drawing, turn, 0.0, 0.0)

    def room(self, turn: float) -> BaseGeometry:
        """What the drawing covers. Words that all stand on the foam stay on it, and add nothing in any turn."""
        return rotate(self._at(turn)[1] if self.spills else self._room, turn, origin=(0, 0))

    def footprint(self, turn: float) -> BaseGeometry:
        return rotate(self._foam, turn, origin=(0, 0))

    def clear_of(self, joins: tuple[BaseGeometry, ...], turn: float) -> Worded:
        """One for this turn only, with words that stand on none of the joins."""
        freed = copy(self)
        anew = self._letter(self.template, turn, joins)
        freed.spills = True
        freed._set = {turn: (anew, _room(anew, self._foam))}
        return freed

    def _at(self, turn: float) -> tuple[Template, BaseGeometry]:
        if turn not in self._set:
            anew = self._letter(self.template, turn, ())
            room = _room(anew, self._foam)
            kept = self.spills or self._room.buffer(_SMOOTH).covers(room)
            self._set[turn] = (anew, room) if kept else (self.template, self._room)
        return self._set[turn]


@dataclass(frozen=True, eq=False)
class Placed:
    """A template turned by `turn` degrees about its origin and then moved."""

    worded: Worded
    turn: float
    shift: tuple[float, float]

    def clear_of(self, joins: Sequence[BaseGeometry]) -> Placed:
        """With words that stand on none of the joins, which are where this is."""
        back = [rotate(_shifted(j, (-self.shift[0], -self.shift[1])), -self.turn, origin=(0, 0)) for j in joins]
        return replace(self, worded=self.worded.clear_of(tuple(back), self.turn))

    @property
    def drawing(self) -> Drawing:
        return translate(self.worded.drawing(self.turn), *self.shift)

    @property
    def label_corners(self) -> list[np.ndarray]:
        """As those of an item."""
        labels = self.worded.template.drawing.labels
        return [place_points(label_corners(label), self.turn, *self.shift) for label in labels]

    @property
    def room(self) -> BaseGeometry:
        return _shifted(self.worded.room(self.turn), self.shift)

    @property
    def footprint(self) -> BaseGeometry:
        return _shifted(self.worded.footprint(self.turn), self.shift)


@dataclass(frozen=True, eq=False)
class Item:
    """One or several templates that are laid out as one."""

    placed: tuple[Placed, ...]

    @cached_property
    def drawing(self) -> Drawing:
        return Drawing(tuple(i for p in self.placed for i in p.drawing.items))

    @cached_property
    def shapes(self) -> tuple[BaseGeometry, ...]:
        """The room of each template: its foam and everything drawn or written around it."""
        return tuple(p.room for p in self.placed)

    @cached_property
    def shape(self) -> BaseGeometry:
        """The room of all."""
        return self.shapes[0] if len(self.shapes) == 1 else shapely.union_all(self.shapes)

    @cached_property
    def mask(self) -> Mask:
        """The cells that it takes."""
        return mask_of(self.shape)

    @cached_property
    def label_corners(self) -> tuple[np.ndarray, ...]:
        """(N, 2) corners of each label as it is drawn on the template, before words are set for the page."""
        return tuple(corners for p in self.placed for corners in p.label_corners)

    @cached_property
    def main_angles(self) -> tuple[float, ...]:
        """Those of its angles that are no mere steps; what is about as wide as long has no lean of its own."""
        hull = self.footprint.convex_hull.minimum_rotated_rectangle
        corners = shapely.get_coordinates(hull)
        (x0, y0), (x1, y1) = corners[:2]
        sides = np.hypot(*np.diff(corners[:3], axis=0).T)
        if len(self.placed) == 1 and sides.max() < _ROUND * sides.min():
            return 0.0, 90.0
        lean = round(-float(np.degrees(np.arctan2(y1 - y0, x1 - x0))), 3)
        leaning = [half_turn(lean), half_turn(lean + 90.0)] if abs(_off_square(lean)) > _SQUARE else []
        return 0.0, *sorted(leaning, key=abs), 90.0

    @cached_property
    def turns(self) -> dict[float, Item]:
        """The item in the turns that were asked for, kept."""
        return {}

    @cached_property
    def footprint(self) -> BaseGeometry:
        """The foam of all."""
        return shapely.union_all([p.footprint for p in self.placed])

    @property
    def pieces(self) -> tuple[Piece, ...]:
        return tuple(p.worded.template.pattern.piece for p in self.placed)

    @property
    def label(self) -> str:
        return "+".join(p.label for p in self.pieces)

    @property
    def name(self) -> str:
        return ", ".join(p.name for p in self.pieces)


def item_of(template: Template, letter: Letterer) -> Item:
    """The template as it is drawn, in pattern coordinates."""
    return Item((Placed(Worded(template, letter), 0.0, (0.0, 0.0)),))


def _room(template: Template, foam: BaseGeometry) -> BaseGeometry:
    inside = foam.buffer(-_LINE_REACH)
    shapely.prepare(inside)
    around = [g for g in map(ink, template.drawing.items) if not inside.contains(g)]
    room = shapely.union_all([foam.buffer(_SMOOTH), *(g.buffer(_LINE_REACH) for g in around)])
    return room.simplify(_SMOOTH)


def _shifted(shape: BaseGeometry, shift: tuple[float, float]) -> BaseGeometry:
    return shapely.transform(shape, lambda points: points + shift)


def turned(item: Item, angle: float) -> Item:
    """`item` turned by `angle` degrees about the origin."""
    if not angle:
        return item
    if angle not in item.turns:
        item.turns[angle] = Item(tuple(_turned(p, angle) for p in item.placed))
    return item.turns[angle]


def _turned(placed: Placed, angle: float) -> Placed:
    (shift,) = place_points(np.array([placed.shift]), angle, 0.0, 0.0)
    return Placed(placed.worded, placed.turn + angle, (float(shift[0]), float(shift[1])))


def moved(item: Item, dx: float, dy: float) -> Item:
    """`item` moved by (dx, dy) mm."""
    return Item(tuple(Placed(p.worded, p.turn, (p.shift[0] + dx, p.shift[1] + dy)) for p in item.placed))


def joined(items: Sequence[Item]) -> Item:
    """Several items, where they are, as one."""
    return Item(tuple(p for i in items for p in i.placed))


def angles(item: Item) -> tuple[float, ...]:
    """Angles in (-90, 90] worth trying, the most readable first.

    As drawn, then along the sides of the smallest rectangle around it, then in steps of 15 degrees. Half of
    the circle is enough.
    """
    return (*item.main_angles, *(a for a in _STEPS if a not in item.main_angles))


def worth_trying(item: Item) -> tuple[float, ...]:
    """The angles of an item; few for one with words beside its foam, which are set anew for each."""
    return item.main_angles if any(p.worded.spills for p in item.placed) else angles(item)


def _off_square(angle: float) -> float:
    """By how many degrees, in (-45, 45], a line is off the nearer of level and upright."""
    return 45.0 - (45.0 - angle) % 90.0


def half_turn(angle: float) -> float:
    """The same direction of a line as an angle in (-90, 90]."""
    return 90.0 - (90.0 - angle) % 180.0
