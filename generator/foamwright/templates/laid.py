"""How a part that is laid on another lies there: a V at its edge comes to lie on a V beside its line on the other.

A line alone does not say where along it a part lies that reaches beyond both its ends, nor which of two edges that look alike
goes where, nor where the middle is of a strip that is bent to stand along it. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity

from foamwright.contacts.records import FACES, Contacts
from foamwright.flatten.bands import developed
from foamwright.flatten.records import Pattern, Patterns
from foamwright.parts.records import BandBody, RodBody
from foamwright.templates.heading import turns_freely
from foamwright.templates.landing import land
from foamwright.templates.marks import face_on
from foamwright.templates.records import Mark

_ALL = 0.98  # share of a part that lies on another from which all of it does
_ROOM = 4.0  # from a V beside a line to the edge of the part that it is drawn on
_CORNER = 3.0  # of an edge that is seen on the other part as a line: less is the corner of another edge
_LONG = 12.0  # of an edge on the other part that can carry a V
_AS_LONG = 0.5  # by which two stretches may differ and the first be taken
_SAME = 0.3  # by which a line that is turned may lie beside itself: less than a knife errs
_THERE = 1.5  # from the V of a part to the place on its rim that meets the other part
_MISTAKEN = 6.0  # by which a part that is turned lies beside itself where an eye takes one for the other (no source),
_BENT = 0.02  # radians or so that a strip turns in all, to be laid on from its middle
_LONG_EDGES = ("low", "high")  # of a strip
_OF_SIZE = 0.08  # and share of its length that this is at most

MarksOn = Callable[[Pattern], tuple[Mark, ...]]


@dataclass(frozen=True, eq=False)
class Meet:
    """A V that opens at `at` (2,) of a pattern, on a line that runs `along` (2,), and has its tip where `tip` (2,) points."""

    at: np.ndarray
    along: np.ndarray
    tip: np.ndarray


@dataclass(frozen=True, eq=False)
class Laid:
    """The Vs of a part that is laid on others: its `own`, and on each `mark` of it, which is on the part `lower`."""

    own: tuple[Meet, ...]
    others: tuple[tuple[str, Mark, Meet], ...]


NONE = Laid((), ())


def laid(patterns: Patterns, upper: Pattern, contacts: Contacts, marks_on: MarksOn) -> Laid:
    """Where the Vs of a part stand, one at an edge at most. `marks_on` gives the marks on a pattern.

    There are some where one edge alone shows on the other part, so that a line says nothing of its place along it, where
    a part that is turned looks the same and is not, and in the middle of a bent strip that stands on its edge.
    """
    body = upper.piece.body
    if isinstance(body, RodBody) or (isinstance(body, BandBody) and body.closed):
        return NONE
    touched = [
        (end.face, contact.other(end).part)
        for contact in contacts.found
        for end in (contact.a, contact.b)
        if end.part == upper.piece.id and contact.other(end).broad and contact.other(end).part != end.part
    ]
    below = dict.fromkeys(part for face, part in touched if face in FACES)
    if isinstance(body, BandBody) and not below and is_bent(body):
        on = dict.fromkeys(part for face, part in touched if face in _LONG_EDGES)
        return _on_edge(upper, body, [patterns.pattern(name) for name in on], marks_on)
    if turns_freely(upper, marks_on(upper)):
        return NONE
    laps = {(lap.upper, lap.lower) for lap in patterns.prop.laps}
    carrying = [
        lower
        for lower in (patterns.pattern(name) for name in below)
        if (upper.piece.id, lower.piece.id) in laps
        or ((lower.piece.id, upper.piece.id) not in laps and upper.area < lower.area)
    ]
    mistaken = bool(carrying) and _mistaken(upper, marks_on(upper))
    own: dict[int, Meet] = {}
    others: list[tuple[str, Mark, Meet]] = []
    for lower in carrying:
        for mark in marks_on(lower):
            if mark.upper.id != upper.piece.id or not mark.glued:
                continue
            if not mistaken and mark.region.area > _ALL * upper.area:
                continue  # with all of its edges on the other part it cannot slide
            rim = _Rim.of(upper, lower, mark)
            if rim is None or not (mistaken or rim.slides):
                continue
            for edge, middle in rim.longest():
                here = own.get(edge) or rim.own(edge, middle)
                there = rim.other(here, mark.region)
                if there is not None:
                    own[edge] = here
                    others.append((lower.piece.id, mark, there))
                    break
    return Laid(tuple(own.values()), tuple(others))


def is_bent(strip: BandBody) -> bool:
    """Is it bent and not folded, so that it is laid on from its middle?"""
    return bool(np.abs(np.diff(strip.normals, axis=0)).sum() > _BENT) and not strip.corners


def _mistaken(pattern: Pattern, marks: Sequence[Mark]) -> bool:
    """Does a part that is turned by a quarter or half look like itself, and is not, with all that is marked on it?"""
    foam = shapely.Polygon(pattern.outline, pattern.holes)
    fields: dict[tuple[str, bool], shapely.Geometry] = {}
    for mark in marks:
        key = mark.upper.id, mark.on_inside
        fields[key] = fields.get(key, shapely.Polygon()) | mark.region
    middle = foam.centroid
    x0, y0, x1, y1 = foam.bounds
    mistaken = min(_MISTAKEN, _OF_SIZE * max(x1 - x0, y1 - y0))
    for angle in (180.0, 90.0):
        off = [shape ^ affinity.rotate(shape, angle, middle) for shape in (foam, *fields.values())]
        same = [bool(shapely.buffer(differ, -_SAME / 2.0).is_empty) for differ in off]
        if all(same):
            return False
        image = affinity.rotate(foam, angle, middle)
        if shapely.hausdorff_distance(image.boundary, foam.boundary) < mistaken:
            return True
    return False


def _on_edge(upper: Pattern, body: BandBody, below: Iterable[Pattern], marks_on: MarksOn) -> Laid:
    """The Vs in the middle of a bent strip, at each of its two long edges that stands on another part."""
    places = developed(body, upper.piece.thickness, upper.piece.stock.k).places
    half = places[-1] / 2.0
    at, out, low, high = (_between(half, places, of) for of in (body.curve, body.normals, body.low, body.high))
    foam = shapely.Polygon(upper.outline, upper.holes)
    own: dict[str, Meet] = {}
    others: list[tuple[str, Mark, Meet]] = []
    for name, off in zip(_LONG_EDGES, (low, high), strict=True):
        rim = at + off * body.across
        faces = rim + np.outer([body.inner_offset, body.inner_offset + upper.piece.thickness], out)
        line = shapely.LineString(next(edge.points for edge in upper.edges if edge.id == name))
        place, along = _on_line(line, float(line.project(shapely.Point(land(upper, faces[:1]).flat[0]))))
        for lower in below:
            for mark in marks_on(lower):
                there = _beside(lower, mark, upper, faces) if mark.upper.id == upper.piece.id and mark.glued else None
                if there is not None:
                    own[name] = Meet(place, along, _side(place, along, foam))
                    others.append((lower.piece.id, mark, there))
    return Laid(tuple(own.values()), tuple(others))


def _between(half: float, places: np.ndarray, of: np.ndarray) -> np.ndarray:
    """What belongs to each place (N,) along a strip, (N,) or (N, 3), at `half` of it."""
    after = int(np.clip(np.searchsorted(places, half), 1, len(places) - 1))
    share = (half - places[after - 1]) / (places[after] - places[after - 1])
    return np.asarray(of[after - 1] * (1.0 - share) + of[after] * share)


def _beside(lower: Pattern, mark: Mark, upper: Pattern, faces: np.ndarray) -> Meet | None:
    """The V on a part at the line of a mark, where the edge of another comes that ends at `faces` (2, 3) of its foam, the inside
    first; None where it does not come there."""
    copy, number = mark.of[0]
    matrix = np.linalg.inv(lower.piece.placements[copy - 1].matrix) @ upper.piece.placements[number - 1].matrix
    landing = land(lower, faces @ matrix[:3, :3].T + matrix[:3, 3])
    off = np.minimum(np.abs(landing.height), np.abs(landing.height - lower.piece.thickness))
    away = landing.flat - landing.flat[::-1]  # from each face to where the V beside it is drawn
    drawn = landing.flat + _ROOM * away / max(float(np.linalg.norm(away[0])), 1e-9)
    foam = shapely.Polygon(lower.outline, lower.holes)
    well = shapely.contains_xy(foam, *drawn.T) & landing.near & (off < _THERE)
    spot = landing.flat[int(np.argmax(well))]
    rings = [ring for part in shapely.get_parts(mark.region) for ring in (part.exterior, *part.interiors)]
    ring = min(rings, key=lambda ring: ring.distance(shapely.Point(spot)), default=None)
    if not well.any() or ring is None or ring.distance(shapely.Point(spot)) > _THERE:
        return None
    place, along = _on_line(ring, float(ring.project(shapely.Point(spot))))
    return Meet(place, along, -_side(place, along, mark.region))


@dataclass(frozen=True, eq=False)
class _Rim:
    """The rim of a part where it lies on another, as points: on its own pattern and on the other one, the edge of the part
    that each belongs to, and whether it lies well within the other part."""

    upper: Pattern
    flat: np.ndarray  # (N, 2)
    other_flat: np.ndarray  # (N, 2)
    edge: np.ndarray  # (N,) number of an edge of the part
    within: np.ndarray  # (N,) bool
    loop: np.ndarray  # (N,) number of the rim that it is on

    @staticmethod
    def of(upper: Pattern, lower: Pattern, mark: Mark) -> _Rim | None:
        copy, number = mark.of[0]
        back = upper.piece.placements[number - 1].matrix
        matrix = np.linalg.inv(lower.piece.placements[copy - 1].matrix) @ back
        face = face_on(lower, upper.piece, matrix)
        if face is None:
            return None
        home = np.linalg.inv(matrix)
        room = shapely.buffer(shapely.Polygon(lower.outline, lower.holes), -_ROOM)
        lines = [shapely.LineString(edge.points) for edge in upper.edges]
        flat, other, within, loop = [], [], [], []
        for count, (rim, landing) in enumerate(zip(face.rims, face.landings)):
            flat.append(land(upper, rim[:, :3] @ home[:3, :3].T + home[:3, 3]).flat)
            other.append(landing.flat)
            within.append(landing.near & shapely.contains_xy(room, *landing.flat.T))
            loop.append(np.full(len(rim), count))
        own = np.vstack(flat)
        edge = np.argmin([shapely.distance(line, shapely.points(own)) for line in lines], axis=0)
        return _Rim(upper, own, np.vstack(other), edge, np.concatenate(within), np.concatenate(loop))

    @property
    def slides(self) -> bool:
        """Does one edge alone show on the other part, and leave it at both ends?"""
        lengths: dict[int, float] = {}
        for edge, run in self._runs():
            lengths[edge] = lengths.get(edge, 0.0) + self._length(run)
        return sum(length > _CORNER for length in lengths.values()) == 1 and not self.within.all()

    def longest(self) -> list[tuple[int, int]]:
        """The edges that can carry a V, the longest there first, each with the point in the middle of its longest stretch."""
        best: dict[int, tuple[float, int]] = {}
        for edge, run in self._runs():
            length = self._length(run)
            if length > max(_LONG, best.get(edge, (0.0, 0))[0] + _AS_LONG):
                steps = np.hypot(*np.diff(self.flat[run], axis=0).T)
                middle = int(run[np.argmin(np.abs(np.append(0.0, np.cumsum(steps)) - length / 2.0))])
                best[edge] = length, middle
        order = sorted(best, key=lambda edge: (-round(best[edge][0] / _AS_LONG), edge))
        return [(edge, best[edge][1]) for edge in order]

    def own(self, edge: int, point: int) -> Meet:
        """The V at an edge of the part, opposite a point of the rim."""
        line = shapely.LineString(self.upper.edges[edge].points)
        at = float(shapely.line_locate_point(line, shapely.Point(self.flat[point])))
        place, along = _on_line(line, at)
        foam = shapely.Polygon(self.upper.outline, self.upper.holes)
        return Meet(place, along, _side(place, along, foam))

    def other(self, own: Meet, region: shapely.Geometry) -> Meet | None:
        """The V on the other part that the part's own comes to lie on; None where that does not lie well within it, or not on the
        line that is drawn there, as where a flat part stands off a curve."""
        off = np.hypot(*(self.flat - own.at).T)
        point = int(np.argmin(np.where(self.within, off, np.inf)))
        apart = off[point] if self.within[point] else np.inf
        if apart > max(_THERE, 1.5 * float(off.min())):
            return None
        last = len(self.flat) - 1
        step = self.other_flat[min(point + 1, last)] - self.other_flat[max(point - 1, 0)]
        along = step / max(float(np.hypot(*step)), 1e-9)
        at = self.other_flat[point]
        if shapely.distance(region.boundary, shapely.Point(at)) > _ROOM:
            return None
        return Meet(at, along, -_side(at, along, region))

    def _runs(self) -> Iterator[tuple[int, np.ndarray]]:
        """Points, in turn, of each stretch of an edge that lies well within the other part."""
        for count in range(int(self.loop.max()) + 1):
            points = np.flatnonzero(self.loop == count)
            kind = np.where(self.within[points], self.edge[points], -1)
            new = np.flatnonzero(np.diff(kind)) + 1
            if len(new):  # a rim is closed: begin where a stretch does
                points, kind = np.roll(points, -new[0]), np.roll(kind, -new[0])
            for run in np.split(np.arange(len(points)), np.flatnonzero(np.diff(kind)) + 1):
                if kind[run[0]] >= 0 and len(run) > 1:
                    yield int(kind[run[0]]), points[run]

    def _length(self, run: np.ndarray) -> float:
        return float(np.hypot(*np.diff(self.flat[run], axis=0).T).sum())


def _on_line(line: shapely.LineString, at: float) -> tuple[np.ndarray, np.ndarray]:
    """The point (2,) of a line at a distance along it, and the way (2,) it runs there."""
    spread = [shapely.line_interpolate_point(line, min(max(at + off, 0.0), line.length)) for off in (-0.5, 0.0, 0.5)]
    before, place, after = (np.array(point.coords[0]) for point in spread)
    return place, (after - before) / max(float(np.hypot(*(after - before))), 1e-9)


def _side(at: np.ndarray, along: np.ndarray, area: shapely.Geometry) -> np.ndarray:
    """The unit normal (2,) of a line that points into an area which it bounds."""
    left = np.array([-along[1], along[0]])
    votes = [shapely.distance(area, shapely.Point(at + side * left)) for side in (1.0, -1.0)]
    return left if votes[0] <= votes[1] else -left
