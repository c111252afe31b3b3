"""Small drawings of what is done to single parts before any are joined: foam that cools over something round, foam that is
pressed hollow, and sheets that are glued up in layers. Lengths in mm on paper; true to the patterns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import cKDTree

from foamwright.booklet import bending
from foamwright.booklet.figures import INSET
from foamwright.booklet.records import Inset
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.flatten.records import FlatMesh, Pattern
from foamwright.language import length, listed, say

_FLAT = (24.0, 21.0)  # mm that the flat part may take; what it is bent over stands beside it
_ROUND = 5.6  # radius in mm at which something round is drawn, whatever its size
_FOAM = 1.5  # thickness in mm at which foam lies around it
_LINES = 5  # along which a part is not bent, beside each other through its middle,
_MORE_LINES = 8  # and where foam is bare of them, at most
_STEP = 0.012  # of the size of a part: how far a line is followed at once,
_SMOOTH = 0.06  # and from how far around its direction is taken
_NEAR = 24  # triangles that this is looked for among
_EVEN = 0.8  # of the greatest bend at a place that the least is; more, and it bends alike all ways there
_LOOKED_AT = 60  # places of a part, for that
_HOLLOW = 1.0  # mm that a part is hollow along such a line, to be told
_LAYERS = 4  # layers of one part that are drawn
_LOW = 0.42  # of its height that a flat thing seen from above its edge has
_SHEAR = 0.3
_HATCH = 2.6  # mm from stroke to stroke, level
_INK, _BALL, _GLUED = "#111111", "#dfe3e8", "#fbeceb"


def bent(pattern: Pattern) -> Inset | None:
    """A part as it lies flat, its drawn face up, with lines along which it stays straight, and how it lies over something
    round; None where it bends alike all ways."""
    lines = bend_lines(pattern)
    if not lines:
        return None
    low, high = pattern.outline.min(axis=0), pattern.outline.max(axis=0)
    turned = high[1] - low[1] > high[0] - low[0]

    def lying(points: np.ndarray) -> np.ndarray:
        return points[:, ::-1] * (1.0, -1.0) if turned else points

    outline = lying(pattern.outline)
    low, high = outline.min(axis=0), outline.max(axis=0)
    scale = float((np.array(_FLAT) / (high - low)).min())
    tall = max(scale * float(high[1] - low[1]), 2.0 * (_ROUND + _FOAM) + 1.0)
    middle = np.array([_FLAT[0] / 2.0, -tall / 2.0])
    shift = middle - scale * (low + high) / 2.0
    items: list[Primitive] = [Path(scale * outline + shift, "view", True, pattern.piece.stock.colour)]
    items += [Path(scale * lying(hole) + shift, "view", True, "#ffffff") for hole in pattern.holes]
    items += [Path(scale * lying(line) + shift, "way") for line in lines]
    across, wide = bending.round_about(pattern.piece)
    items += _over_round(np.array([INSET[0] - _ROUND - _FOAM - 1.0, -tall / 2.0]), pattern.piece.stock.colour, across)
    part = pattern.piece.label
    said = (
        say("{part}: its narrow end over the narrow end of what it is bent over.", part=part)
        if wide > across
        else say("{part}, lying on its drawn face over something round.", part=part)
    )
    deep = hollow(pattern, lines) if bending.is_pressed(pattern) else 0.0
    if deep >= _HOLLOW:
        said += " " + say("Later it is pressed {size} hollow along the middle line.", size=length(round(deep)))
    return Inset(tuple(items), tall, said)


def _over_round(middle: np.ndarray, colour: str, across: float) -> list[Primitive]:
    """Foam over something round, seen along it."""
    turn = np.radians(np.linspace(-5.0, 185.0, 40))
    ring = np.radians(np.linspace(0.0, 360.0, 48, endpoint=False))
    outer, inner = (
        middle + r * np.column_stack([np.cos(turn), np.sin(turn)]) for r in (_ROUND + 0.15 + _FOAM, _ROUND + 0.15)
    )
    return [
        Path(middle + _ROUND * np.column_stack([np.cos(ring), np.sin(ring)]), "view", True, _BALL),
        Path(np.vstack([outer, inner[::-1]]), "view", True, colour),
        Text((float(middle[0]), float(middle[1]) - 0.8), length(across), 2.2, "note", "middle"),
    ]


def pressed(patterns: Sequence[Pattern]) -> Inset:
    """The section of foam that is pressed hollow over something round from its inside, with both thumbs."""
    colour = patterns[0].piece.stock.colour
    middle, far = INSET[0] / 2.0, 17.0
    x = np.linspace(-15.0, 15.0, 41)
    bend = 5.5 * np.cos(x / 15.0 * np.pi / 2.0) ** 1.5  # a sketch and no shape of the prop
    upper = np.column_stack([x + middle, bend - far + 3.2])
    foam = np.vstack([upper, upper[::-1] - (0.0, 3.0)])
    ring = np.radians(np.linspace(0.0, 360.0, 60, endpoint=False))
    ball = np.column_stack([np.cos(ring), np.sin(ring)]) * 8.0 + (middle, bend.max() - far + 0.1 - 8.0)
    items: list[Primitive] = [Path(ball, "view", True, _BALL), Path(foam, "view", True, colour)]
    for sign in (-1.0, 1.0):
        top = np.array([middle + sign * 9.0, -1.0])
        items += _arrow(top, top - (0.0, 7.5))
    said = say(
        "Cut through {parts}, drawn face down: the warm middle is pressed over a ball with both hands.",
        parts=listed([pattern.piece.label for pattern in patterns]),
    )
    return Inset(tuple(items), 27.5, said)


def layered(pattern: Pattern) -> Inset:
    """The layers of a part one above the other, all with the drawn face up, and red where glue goes."""
    count = min(pattern.piece.layers, _LAYERS)
    low, high = pattern.outline.min(axis=0), pattern.outline.max(axis=0)
    flat = np.array([[1.0, 0.0], [_SHEAR, _LOW]])  # seen from above one edge
    turned = high[1] - low[1] > high[0] - low[0]

    def seen(points: np.ndarray) -> np.ndarray:
        points = points - (low + high) / 2.0
        return (points[:, ::-1] * (1.0, -1.0) if turned else points) @ flat

    outline, holes = seen(pattern.outline), [seen(hole) for hole in pattern.holes]
    span = np.ptp(outline, axis=0)
    gap = 6.0 + 3.0 * (2 - min(count, 2))
    scale = float(min((INSET[0] - 2.0) / span[0], 11.0 / span[1]))
    thick = float(np.clip(scale * pattern.piece.stock.thickness, 0.8, 2.4))
    apart = max(gap, thick + 4.5)
    height = scale * float(span[1]) + (count - 1) * apart + thick + 1.0
    middle = np.array([INSET[0] / 2.0, 0.0]) - scale * (outline.min(axis=0) + outline.max(axis=0)) / 2.0
    items: list[Primitive] = []
    for level in range(count):  # from the lowest up
        at = middle + (0.0, -height + thick + 0.5 + level * apart + scale * float(span[1]) / 2.0)
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
    if pattern.fittings.pins:
        said += " " + say("Pins go where the dashed lines are.")
    return Inset(tuple(items), height, said)


# Where a part stays straight as it is bent


def bend_lines(pattern: Pattern) -> list[np.ndarray]:
    """Lines (k, 2) on the flat part along which it bends least, the middle one first; none where it bends alike all ways.

    They follow the least principal curvature of its surface (M. do Carmo, "Differential Geometry of Curves and Surfaces",
    section 3-2, from memory), on a cylinder and a cone its generating lines.
    """
    if pattern.mesh is None:
        return []
    field = _Field(pattern.mesh)
    darts = [shapely.Polygon(np.vstack([dart.leg_a, dart.leg_b[::-1]])).buffer(0.1) for dart in pattern.darts]
    foam = shapely.union_all(
        [shapely.Polygon(pattern.outline).buffer(0.0), *darts]
    )  # across holes and closed darts as well
    spot = foam.centroid if foam.contains(foam.centroid) else foam.representative_point()
    middle = np.array(spot.coords[0])
    if field.evenness() > _EVEN:
        return []
    size = float(np.ptp(pattern.outline, axis=0).max())
    around = field.followed(middle, True, foam, size)
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(around, axis=0), axis=1))])
    seeds = [
        np.array([np.interp(at[-1] * (i + 0.5) / _LINES, at, around[:, k]) for k in (0, 1)]) for i in range(_LINES)
    ]
    apart = at[-1] / _LINES
    lines = []
    for seed in (middle, *(seed for seed in seeds if np.linalg.norm(seed - middle) > 0.5 * apart)):
        line = field.followed(seed, False, foam, size)
        if len(line) > 2:
            lines.append(line)
    return [*lines, *_of_bare_foam(lines, apart, field, foam, size)]


def _of_bare_foam(
    lines: Sequence[np.ndarray], apart: float, field: _Field, foam: shapely.Geometry, size: float
) -> Iterator[np.ndarray]:
    """More such lines where foam lies farther from all of them than they are `apart`: beside an opening, before which the others
    end, or at the far end of a part that turns a corner."""
    places = field.middles[shapely.contains_xy(foam, field.middles)]
    if not lines or not len(places):
        return
    far = np.min([_off(places, line) for line in lines], axis=0)
    for _ in range(_MORE_LINES):
        seed = int(far.argmax())
        if far[seed] < apart:
            return
        line = field.followed(places[seed], False, foam, size)
        if len(line) * _STEP * size > apart:  # in a corner there is nothing to bend
            yield line
        far = np.minimum(far, _off(places, line))


def _off(places: np.ndarray, line: np.ndarray) -> np.ndarray:
    """How far places (n, 2) lie from a line (k, 2)."""
    return np.asarray(
        shapely.distance(shapely.points(places), shapely.LineString(line if len(line) > 1 else [*line, *line]))
    )


def hollow(pattern: Pattern, lines: Sequence[np.ndarray]) -> float:
    """How far in mm the surface stands off a straight line from one end to the other of the first of `lines`, square to it."""
    assert pattern.mesh is not None
    surface = pattern.mesh.surface
    points = LinearNDInterpolator(pattern.mesh.flat, surface.points)(lines[0])
    points = points[~np.isnan(points).any(axis=1)]
    chord = points[-1] - points[0]
    half = points[len(points) // 2]
    nearest = int(np.linalg.norm(surface.corners.mean(axis=1) - half, axis=1).argmin())
    normal = surface.face_normals[nearest]
    normal = normal - (normal @ chord) / max(float(chord @ chord), 1e-9) * chord
    return float(np.abs((points - points[0]) @ normal / max(float(np.linalg.norm(normal)), 1e-9)).max())


class _Field:
    """How strongly a flat part is bent, and which way, at each place: the change of its normals as one goes over it."""

    def __init__(self, mesh: FlatMesh):
        surface, flat = mesh.surface, mesh.flat
        normals = np.zeros_like(surface.points)
        for corner in range(3):
            np.add.at(normals, surface.triangles[:, corner], surface.area_vectors)
        normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
        a, b, c = flat[surface.triangles].transpose(1, 0, 2)
        sides = np.stack([b - a, c - a], axis=2)  # (m, 2, 2), a side in each column
        area = np.abs(np.linalg.det(sides)) / 2.0
        sound = area > 1e-9
        na, nb, nc = normals[surface.triangles[sound]].transpose(1, 0, 2)
        change = np.stack([nb - na, nc - na], axis=2) @ np.linalg.inv(sides[sound])  # (m, 3, 2)
        self.tensors = change.transpose(0, 2, 1) @ change  # squares of the curvatures, (m, 2, 2)
        self.areas = area[sound]
        self.middles = ((a + b + c) / 3.0)[sound]
        self.tree = cKDTree(self.middles)
        self.reach = _SMOOTH * float(np.ptp(flat, axis=0).max())

    def _at(self, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        far, near = self.tree.query(place, min(_NEAR, len(self.middles)))
        weight = self.areas[near] * np.exp(-0.5 * (far / self.reach) ** 2)
        tensor = (weight[:, None, None] * self.tensors[near]).sum(axis=0) / max(float(weight.sum()), 1e-300)
        values, axes = np.linalg.eigh(tensor)
        return values, axes

    def ratio(self, place: np.ndarray) -> float:
        """The least bend by the greatest."""
        values, _ = self._at(place)
        return float(np.sqrt(max(values[0], 0.0) / max(values[1], 1e-300)))

    def evenness(self) -> float:
        """The median of that over the part: one place, beside an opening perhaps, does not tell how it is bent."""
        some = np.unique(np.linspace(0, len(self.middles) - 1, min(len(self.middles), _LOOKED_AT)).astype(int))
        return float(np.median([self.ratio(place) for place in self.middles[some]]))

    def followed(self, start: np.ndarray, most: bool, foam: shapely.Geometry, size: float) -> np.ndarray:
        """The line (k, 2) through a place that goes the way of the greatest or the least bend, as far as there is foam."""
        halves = []
        shapely.prepare(foam)
        for sign in (-1.0, 1.0):
            points = [start]
            way = sign * self._at(start)[1][:, int(most)]
            for _ in range(int(2.5 / _STEP)):
                there = points[-1] + _STEP * size * way
                if not foam.contains(shapely.Point(there)):
                    break
                points.append(there)
                turned = self._at(there)[1][:, int(most)]
                way = turned if turned @ way >= 0.0 else -turned
            halves.append(points)
        return np.array([*halves[0][:0:-1], *halves[1]])


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
