"""Small drawings of what is done to single parts before any are joined: foam that cools over something round, foam that is
pressed hollow, and sheets that are glued up in layers. Lengths in mm on paper; true to the patterns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.strokes import arrow_up, room_of_arrow_up, turned_up
from foamwright.booklet.words import bending, saddles
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.flatten.bend_lines import bend_lines, hollow
from foamwright.flatten.records import Pattern
from foamwright.language import length, listed, say
from foamwright.templates.bends import bend_marks

_FLAT = (24.0, 21.0)  # mm that the flat part may take; what it is bent over stands beside it,
_OFF_ARROW = 0.8  # as the arrow up does
_ROUND = 5.6  # radius in mm at which something round is drawn, whatever its size
_FOAM = 1.5  # thickness in mm at which foam lies around it
_LEAST_WRAP, _MOST_WRAP = 15.0, 330.0  # degrees of something round that a drawing of foam around it goes round
_HOLLOW = 1.0  # mm that a part is hollow along such a line, to be told
# Of foam that is pressed hollow: the radius that it gets, which is that of the ball, its thickness, degrees that it goes round to
# either side of the top, and how far the hands come down on it.
_BOWL, _PRESSED = (15.0, 2.4, 55.0), 7.0
_CLOSEST = 2.2  # mm on paper between lines along which a part stays straight: nearer, they are one black patch
_LAYERS = 4  # layers of one part that are drawn
_LOW = 0.42  # of its height that a flat thing seen from above its edge has
_SHEAR = 0.3
_HATCH = 2.6  # mm from stroke to stroke, level
_INK, _BALL, _GLUED = "#111111", "#dfe3e8", "#fbeceb"


def bent(pattern: Pattern) -> Inset | None:
    """A part as it lies flat, its drawn face up, with lines along which it stays straight, and how it lies over something
    round, if there is such a thing; None where it bends alike all ways."""
    lines = bend_lines(pattern)
    if not lines:
        return None
    upright = turned_up(pattern)
    turn = _lying(pattern.outline) if upright is None else upright
    outline = pattern.outline @ turn
    low, high = outline.min(axis=0), outline.max(axis=0)
    beside = 0.0 if upright is None else room_of_arrow_up()[0] + _OFF_ARROW
    room = np.array([_FLAT[0] - beside, _FLAT[1]])
    scale = float((room / (high - low)).min())
    tall = max(scale * float(high[1] - low[1]), 2.0 * (_ROUND + _FOAM) + 1.0)
    middle = np.array([room[0] / 2.0, -tall / 2.0])
    shift = middle - scale * (low + high) / 2.0
    items: list[Primitive] = [Path(scale * outline + shift, "view", True, pattern.piece.stock.colour)]
    items += [Path(scale * hole @ turn + shift, "view", True, "#ffffff") for hole in pattern.holes]
    foam = shapely.Polygon(outline, [hole @ turn for hole in pattern.holes])
    for number, line in enumerate(_told_apart([line @ turn for line in lines], scale)):
        layer = "way" if number else "view-new"  # the first is the one that the template tells
        items += [Path(scale * part + shift, layer) for part in _on(foam, [line])]
    if upright is not None:
        items += arrow_up(room[0] + _OFF_ARROW, -(tall + room_of_arrow_up()[1]) / 2.0)
    part, over = pattern.piece.label, bending.is_bent(pattern.piece)
    across, wide = bending.round_about(pattern.piece) if over else (0.0, 0.0)
    if over:
        round_at = np.array([INSET[0] - _ROUND - _FOAM - 1.0, -tall / 2.0])
        colour = pattern.piece.stock.colour
        items += _over_round(round_at, colour, across, _wrapped(pattern, lines[0], (across + wide) / 2.0))
    inwards = bending.main(pattern.piece).inwards
    said = (
        say("{part}, its drawn face up, the bend line bold: it is bent by hand.", part=part)
        if not over
        else say("{part}: its narrow end over the narrow end of what it is bent over.", part=part)
        if wide > across
        else say("{part}, lying on its drawn face over something round.", part=part)
        if inwards
        else say("{part}, lying on its other face over something round.", part=part)
    )
    if not inwards and (wide > across or not over):
        said += " " + say("The drawn face comes outside.")
    if bend_marks(pattern):
        said += " " + say("Its template has the ends of the bold line.")
    deep = hollow(pattern, lines) if bending.is_pressed(pattern) else 0.0
    if deep >= _HOLLOW:
        size = length(round(deep))
        said += " " + (
            say("Along the bend line darts make it {size} hollow.", size=size)
            if pattern.darts
            else say("Later it is pressed {size} hollow along the bend line.", size=size)
            if over
            else say("It is pressed {size} hollow along the bend line.", size=size)
        )
    back = hollow(pattern, lines) if saddles.is_bent_back(pattern) else 0.0
    if back >= _HOLLOW:
        said += " " + say("Along the bend line it is bent the opposite way, {size} deep.", size=length(round(back)))
    return Inset(tuple(items), tall, said)


def _lying(outline: np.ndarray) -> np.ndarray:
    """The turn (2, 2), for rows, by which an outline that is higher than it is wide lies down."""
    wide, high = np.ptp(outline, axis=0)
    return np.array([[0.0, -1.0], [1.0, 0.0]]) if high > wide else np.eye(2)


def _on(foam: shapely.Polygon, lines: Sequence[np.ndarray]) -> list[np.ndarray]:
    """The stretches (k, 2) of lines that run on the foam: along a hole nothing can be bent."""
    parts = shapely.get_parts(shapely.intersection([shapely.LineString(line) for line in lines], foam))
    return [np.array(part.coords) for part in parts if part.geom_type == "LineString" and not part.is_empty]


def _told_apart(lines: Sequence[np.ndarray], scale: float) -> list[np.ndarray]:
    """The lines (k, 2), the first of them before others, that on paper, `scale` times as large, do not run close beside one drawn
    already: those of a cone may meet at its tip."""
    drawn: list[shapely.LineString] = []
    for line in map(shapely.LineString, lines):
        if all(line.intersection(other.buffer(_CLOSEST / scale)).length <= line.length / 2.0 for other in drawn):
            drawn.append(line)
    return [np.array(line.coords) for line in drawn]


def _wrapped(pattern: Pattern, line: np.ndarray, across: float) -> float:
    """How many degrees of something `across` mm across a part goes round, which stays straight along such a `line` (k, 2) from
    one of its edges to the other: by its mean breadth square to that."""
    breadth = shapely.Polygon(pattern.outline).area / max(
        float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()), 1e-9
    )
    middle = across / 2.0 + pattern.piece.stock.k * pattern.piece.stock.thickness
    return float(np.clip(np.degrees(breadth / middle), _LEAST_WRAP, _MOST_WRAP))


def _over_round(middle: np.ndarray, colour: str, across: float, degrees: float) -> list[Primitive]:
    """Foam over something round, seen along it, round so many degrees of it."""
    turn = np.radians(np.linspace(90.0 - degrees / 2.0, 90.0 + degrees / 2.0, 40))
    ring = np.radians(np.linspace(0.0, 360.0, 48, endpoint=False))
    outer, inner = (
        middle + r * np.column_stack([np.cos(turn), np.sin(turn)]) for r in (_ROUND + 0.15 + _FOAM, _ROUND + 0.15)
    )
    return [
        Path(middle + _ROUND * np.column_stack([np.cos(ring), np.sin(ring)]), "view", True, _BALL),
        Path(np.vstack([outer, inner[::-1]]), "view", True, colour),
        Text((float(middle[0]), float(middle[1]) - 0.8), length(across), 2.2, "note", "middle"),
    ]


def pressed(patterns: Sequence[Pattern], inwards: bool) -> Inset:
    """The section of foam that is pressed hollow over something round, with both thumbs: on its drawn face if it is so `inwards`,
    else on the other."""
    colour = patterns[0].piece.stock.colour
    middle = np.array(
        [INSET[0] / 2.0, -_PRESSED - _BOWL[0] - _BOWL[1]]
    )  # of the ball, in the plane that it is cut off at
    turn = np.radians(np.linspace(-_BOWL[2], _BOWL[2], 41))
    arc = np.column_stack([np.sin(turn), np.cos(turn)])  # a sketch and no shape of the prop
    foam = middle + np.vstack([(_BOWL[0] + _BOWL[1]) * arc, _BOWL[0] * arc[::-1]])
    half = np.radians(np.linspace(0.0, 180.0, 60))
    ball = middle + (_BOWL[0] - 0.1) * np.column_stack([np.cos(half), np.sin(half)])
    items: list[Primitive] = [Path(ball, "view", True, _BALL), Path(foam, "view", True, colour)]
    for sign in (-1.0, 1.0):
        top = np.array([middle[0] + sign * 7.0, -0.5])
        items += _arrow(top, top - (0.0, _PRESSED))
    labels = listed([pattern.piece.label for pattern in patterns])
    said = (
        say(
            "Section of {parts}, drawn face down: the warm middle is pressed lightly over a ball or an upturned bowl with both "
            "hands, to an even shallow bowl.",
            parts=labels,
        )
        if inwards
        else say(
            "Section of {parts}, drawn face up: the warm middle is pressed lightly over a ball or an upturned bowl with both "
            "hands, to an even shallow bowl.",
            parts=labels,
        )
    )
    return Inset(tuple(items), -float(middle[1]) + 0.5, said)


def layered(pattern: Pattern) -> Inset:
    """The layers of a part one above the other, all with the drawn face up, and red where glue goes."""
    count = min(pattern.piece.layers, _LAYERS)
    middle = (pattern.outline.min(axis=0) + pattern.outline.max(axis=0)) / 2.0
    flat = _lying(pattern.outline) @ np.array([[1.0, 0.0], [_SHEAR, _LOW]])  # seen from above one edge

    def seen(points: np.ndarray) -> np.ndarray:
        return np.asarray((points - middle) @ flat)

    outline, holes = seen(pattern.outline), [seen(hole) for hole in pattern.holes]
    span = np.ptp(outline, axis=0)
    gap = 6.0 + 3.0 * (2 - min(count, 2))
    scale = float(min((INSET[0] - 2.0) / span[0], 11.0 / span[1]))
    thick = float(np.clip(scale * pattern.piece.stock.thickness, 0.8, 2.4))
    apart = max(gap, thick + 4.5)
    height = scale * float(span[1]) + (count - 1) * apart + thick + 1.0
    place = np.array([INSET[0] / 2.0, 0.0]) - scale * (outline.min(axis=0) + outline.max(axis=0)) / 2.0
    items: list[Primitive] = []
    for level in range(count):  # from the lowest up
        at = place + (0.0, -height + thick + 0.5 + level * apart + scale * float(span[1]) / 2.0)
        top = shapely.Polygon(scale * outline + at, [scale * hole + at for hole in holes]).buffer(0.0)
        down = _swept(top, thick)
        items += [Path(ring, "view", True, pattern.piece.stock.colour) for ring in _rings(down)]
        glued = level < count - 1
        items += [Path(ring, "view", True, _GLUED if glued else pattern.piece.stock.colour) for ring in _rings(top)]
        inner = [np.array(ring.coords)[:-1] for p in _parts(top) for ring in p.interiors]
        items += [Path(ring, "view", True, "#ffffff") for ring in inner]
        if glued:
            items += [Path(line, "glue") for line in _hatched(top)]
        for x, y in pattern.fittings.pins:
            hole = scale * seen(np.array([[x, y]]))[0] + at
            if level:
                items.append(Path(np.array([hole, hole - (0.0, apart)]), "way"))
    spot = np.array(max(_parts(top), key=lambda p: p.area).representative_point().coords[0])
    turn = np.radians(np.linspace(0.0, 360.0, 24, endpoint=False))
    items.append(Path(spot + 2.1 * np.column_stack([np.cos(turn), np.sin(turn)]), "tick", True, "#ffffff"))
    items.append(Text((float(spot[0]), float(spot[1]) - 0.8), pattern.piece.label, 2.2, "note", "middle"))
    said = say(
        "The layers of {part}, each with its drawn face up. Glue goes where it is red, and on the back of the layer above.",
        part=pattern.piece.label,
    )
    if count < pattern.piece.layers:
        said += " " + say("Drawn are {some} of the {all} layers.", some=count, all=pattern.piece.layers)
    if pattern.fittings.pins:
        said += " " + say("Pins go where the dashed lines are.")
    return Inset(tuple(items), height, said)


# Pieces of drawings


def _swept(top: shapely.Geometry, deep: float) -> shapely.Geometry:
    """A face with what it sweeps over on its way down."""
    parts = [top]
    for polygon in _parts(top):
        for ring in (polygon.exterior, *polygon.interiors):
            corners = np.array(ring.coords)
            sides = np.stack([corners[:-1], corners[1:], corners[1:] - (0.0, deep), corners[:-1] - (0.0, deep)], axis=1)
            parts += [side.buffer(0.0) for side in shapely.polygons(sides)]
    return shapely.union_all(parts)


def _hatched(face: shapely.Geometry) -> list[np.ndarray]:
    """Strokes over a face."""
    x0, y0, x1, y1 = face.bounds
    starts = np.arange(x0 - (y1 - y0), x1, _HATCH)
    strokes = shapely.linestrings([[(x, y0), (x + y1 - y0, y1)] for x in starts])
    cut = shapely.get_parts(shapely.intersection(strokes, face))
    return [np.array(line.coords) for line in cut if line.length > 0.3]


def _parts(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and not part.is_empty]


def _rings(shape: shapely.Geometry) -> Iterator[np.ndarray]:
    for polygon in _parts(shape):
        yield np.array(polygon.simplify(0.03).exterior.coords)[:-1]


def _arrow(start: np.ndarray, end: np.ndarray) -> list[Primitive]:
    along = (end - start) / np.linalg.norm(end - start)
    across = np.array([-along[1], along[0]])
    head = np.array([end, end - 2.2 * along + 0.9 * across, end - 2.2 * along - 0.9 * across])
    return [Path(np.array([start, end - 2.0 * along]), "view-new"), Path(head, "shade", True, _INK)]
