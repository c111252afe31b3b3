"""Free places for labels: boxes that touch no line that is drawn and no label that is placed already.

Every search walks its candidates in one fixed order and takes the first that is free, so a drawing comes out
the same each time. Lengths in mm, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
import shapely

from foamwright.drawing.labels import reading_angle
from foamwright.drawing.primitives import Path, Primitive
from foamwright.drawing.typesetting import Block

T = TypeVar("T")

CLEARANCE = 0.7  # white left around every label
BETWEEN = 2.0  # more of it before and after a line of words, or two that stand in one row are read as one
_GRID = 2000  # cells of the search grid over a part's bounding box
_FIRST_CHUNK, _CHUNK = 12, 200  # candidates tried at once: few at first, as one of the best is often free
_COARSE = 0.05  # how far lines are straightened before they are searched; well within the clearance
_RINGS = 12  # around a part, 4 mm apart, in which a label with a leader is sought
_NEAR = 40.0  # of its target, in which a label with a leader is sought on the foam
_FAR = 40.0  # from a part: a label that finds no place nearer along its sides may stand at its ends
_SHORT_OF = 0.6  # of the lines between which a dimension stands, its own shaft is looked at
_SHORTEST = 2.5  # leader that can carry its head
_BESIDE, _ALONG = 0.3, 2.0  # a leader runs along a line that is so near to it for longer
_SHARES = (-1.0, 1.0, -0.5, 0.5, 0.0, -0.75, 0.75, -0.25, 0.25)  # of half a block, where the room along it is looked at
_SLIM = 4.0  # times as long as it is high, and lines find room between the first four of these
_ON_MIDLINE = 12  # stretches between places along the middle of a region
_PITCH, _PLACES = 1.5, 600  # mm between places in a hole that are tried for a label, and how many there are at most
_HAIR = 1e-6  # by which lengths that are worked out in two ways may differ
_LONGISH = 1.3  # times as long as it is wide, and a part has sides and ends
_OVERHANG = 5.0  # past the ends of a part: what stands further out could keep it from fitting on a page


@dataclass(frozen=True, eq=False)
class Candidates:
    """Places to try, best first: box centres (C, 2) and the angle of each (C,)."""

    centres: np.ndarray
    angles: np.ndarray


def rectangles(centres: np.ndarray, angles: np.ndarray, width: float, height: float) -> np.ndarray:
    """(C,) shapely rectangles `width` x `height` about `centres` (C, 2), turned by `angles` (C,) degrees."""
    a = np.radians(angles)
    (x, y), cos, sin = centres.T, np.cos(a), np.sin(a)
    (along_x, along_y), (up_x, up_y) = (width / 2 * cos, width / 2 * sin), (height / 2 * -sin, height / 2 * cos)
    corners = np.empty((len(centres), 4, 2))
    for number, (right, high) in enumerate(((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))):
        corners[:, number, 0] = x + right * along_x + high * up_x
        corners[:, number, 1] = y + right * along_y + high * up_y
    return shapely.polygons(corners)


class Ground:
    """The foam of a part with all lines on it, in any turn: how much room there is anywhere. Never changed."""

    def __init__(self, material: shapely.Polygon, lines: Sequence[shapely.Geometry]):
        """`material`: the foam; `lines`: everything drawn that no label may cross, besides its outline."""
        self.material = shapely.simplify(material, _COARSE)
        shapely.prepare(self.material)
        drawn = [*shapely.simplify(list(lines), _COARSE), self.material.boundary]
        ways = [shapely.get_coordinates(part) for part in shapely.get_parts(shapely.get_parts(drawn))]
        # whole lines, since for each of them it is asked whether a point of it lies in a box
        self.lines = shapely.multilinestrings([shapely.linestrings(way) for way in ways])
        shapely.prepare(self.lines)
        self.segments = shapely.STRtree(_segments(ways))
        self._search_grid()
        self._rings: dict[float, np.ndarray] = {}
        self._kept: dict[Hashable, Any] = {}
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.material))
        sides = np.diff(corners[:3], axis=0)
        long = sides[int(np.argmax(np.hypot(*sides.T)))]
        self.long = long / np.hypot(*long)
        reach = corners @ self.long
        self.ends = reach.min() - _OVERHANG, reach.max() + _OVERHANG
        lengths = np.hypot(*sides.T)
        self.has_ends = bool(lengths.max() > _LONGISH * lengths.min())

    def _search_grid(self) -> None:
        """Lay a grid over the material: the distance of its points to any line, and their order.

        The order goes outwards from the pole of inaccessibility; where a whole ridge is as deep, as in a
        strip, from the point of the ridge that is nearest to the centroid.
        """
        x0, y0, x1, y1 = self.material.bounds
        self.step = step = max(np.sqrt((x1 - x0) * (y1 - y0) / _GRID), 0.6)
        pole = shapely.get_coordinates(shapely.maximum_inscribed_circle(self.material, step / 10))[0]
        low, high = np.floor(((x0, y0) - pole) / step), np.ceil(((x1, y1) - pole) / step)
        self.origin = pole + step * low
        shape = (high - low + 1).astype(int)
        points = self.origin + step * np.stack(np.meshgrid(*map(np.arange, shape), indexing="ij"), axis=-1)
        on = shapely.contains_xy(self.material, points[..., 0], points[..., 1])
        room = np.zeros(shape)  # off the material there is none
        room[on] = self.segments.query_nearest(shapely.points(points[on]), return_distance=True, all_matches=False)[1]
        centroid = shapely.get_coordinates(self.material.centroid)[0]
        ridge = points[room >= 0.95 * room.max()]
        middle = ridge[np.argmin(np.round(np.hypot(*(ridge - centroid).T), 6))]
        order = np.argsort(np.round(np.hypot(*(points[on] - middle).T), 6), kind="stable")
        self.points = points[on][order]
        self.depth = (
            room[on][order] + 0.75 * step
        )  # no less than the distance of each of the points to the nearest line
        self._room = np.pad(room, 1) + 0.75 * step  # with a rim for all that is beyond

    def room_at(self, points: np.ndarray) -> np.ndarray:
        """(C,) no less than the distance from each of `points` (C, 2) to the nearest line."""
        index = np.rint((points - self.origin) / self.step).astype(int) + 1
        width, height = self._room.shape
        column = np.minimum(np.maximum(index[:, 0], 0), width - 1)
        row = np.minimum(np.maximum(index[:, 1], 0), height - 1)
        return self._room[column, row]

    def kept(self, key: Hashable, make: Callable[[], T]) -> T:
        """What `make` makes, once for each key: what does not depend on the turn of the part is asked for in many."""
        if key not in self._kept:
            self._kept[key] = make()
        made: T = self._kept[key]
        return made

    def around(self, distance: float) -> np.ndarray:
        """Points (C, 2) so far off the foam, around it and in its holes; kept, as one part is lettered in many turns."""
        if distance not in self._rings:
            ring = shapely.buffer(self.material, distance, quad_segs=8).boundary
            self._rings[distance] = shapely.get_coordinates(_walk(ring, np.arange(0.0, ring.length, 2.5)))
        return self._rings[distance]


class Field:
    """What one part's drawing holds so far, and the room that is left on it and around it."""

    def __init__(self, ground: Ground, turn: float):
        """`turn`: the degrees by which the part is turned on its page, where words should read level."""
        self._turn = turn
        self._ground = ground
        self.kept = ground.kept
        self.level = self.upright(-turn)
        self.material = ground.material
        self._taken: list[shapely.Geometry] = []
        self._labels = shapely.STRtree([])

    def upright(self, angle: float) -> float:
        """The direction of a line as an angle at which words along it do not stand upside down on the page."""
        return _upright(float(angle), self._turn)

    def reading_angles(self, shape: shapely.Geometry) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The angles at which words in `shape` read best, level and along it, and the others to try."""
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
        sides = np.diff(corners[:3], axis=0)
        lengths = np.hypot(*sides.T)
        long = sides[int(np.argmax(lengths))]
        leaning = reading_angle(float(np.round(np.degrees(np.arctan2(long[1], long[0])) + self._turn, 3)))
        if lengths.max() < 1.3 * lengths.min() or abs(leaning) < 8.0:
            leaning = 0.0
        elif abs(leaning) > 82.0:
            leaning = 90.0
        best = dict.fromkeys((0.0, leaning))
        others = dict.fromkeys((reading_angle(leaning + 90.0), 90.0, 45.0, -45.0))
        here = {angle: self.upright(angle - self._turn) for angle in (*best, *others)}
        return tuple(here[a] for a in best), tuple(here[a] for a in others if a not in best)

    def _roomy(self, centres: np.ndarray, depth: np.ndarray, angle: float, block: Block) -> np.ndarray:
        """Indices of the centres where the block could stand: looks only along its middle, which rules most out.

        `depth` (C,) is the room at the centres.
        """
        half, reach = sorted((block.height / 2, block.width / 2))
        turn = np.radians(angle if block.width >= block.height else angle + 90.0)
        along = (reach - half) * np.array([np.cos(turn), np.sin(turn)])
        roomy = np.flatnonzero(depth >= half)
        for share in _SHARES if reach > _SLIM * half else _SHARES[:4]:
            if not len(roomy):
                break
            roomy = roomy[self._ground.room_at(centres[roomy] + share * along) >= half]
        return roomy

    def draw(self, *geometries: shapely.Geometry) -> None:
        """Keep later labels off these as well."""
        self._taken += geometries
        self._labels = shapely.STRtree(self._taken)

    def free(self, boxes: np.ndarray) -> np.ndarray:
        """(C,) which boxes cross no line and no label."""
        clear = ~self._on_lines(boxes)
        clear[clear] = ~self._on_labels(boxes[clear])
        return clear

    def _within_ends(self, block: Block, candidates: Candidates) -> Candidates:
        """Those where the block adds no more to the length of the part than the overhang, or than it must."""
        centres, angles = candidates.centres, candidates.angles
        turn = np.radians(angles)
        along = np.abs(np.cos(turn) * self._ground.long[0] + np.sin(turn) * self._ground.long[1]) * block.width / 2
        along += np.abs(np.cos(turn) * self._ground.long[1] - np.sin(turn) * self._ground.long[0]) * block.height / 2
        low, high = self._ground.ends
        slack = np.maximum(2 * along - (high - low), 0.0) / 2
        at, loose = centres @ self._ground.long, np.where(slack > 0.0, 2.0, 1e-9)  # places are tried in steps
        keep = (at - along >= low - slack - loose) & (at + along <= high + slack + loose)
        return Candidates(centres[keep], angles[keep])

    def _on_lines(self, shapes: np.ndarray) -> np.ndarray:
        return shapely.intersects(self._ground.lines, shapes)

    def _along_lines(self, leaders: np.ndarray) -> np.ndarray:
        """Do the `leaders` (L, 2, 2) run along a line, rather than cross it or end on it?

        What lies in a rectangle around a leader tells it of most; the round ends are asked for only where they matter.
        """
        near = shapely.buffer(shapely.linestrings(leaders), _BESIDE)
        segments = self._ground.segments  # asked one by one: all lines at once take seconds on parts of many points
        which, hit = segments.query(near, predicate="intersects")
        stretches = shapely.get_coordinates(segments.geometries[hit]).reshape(-1, 2, 2)
        least, most = (
            np.bincount(which, _within(stretches, leaders[which], past), len(leaders)) for past in (0.0, _BESIDE)
        )
        along = least > _ALONG + _HAIR
        for k in np.flatnonzero(~along & (most > _ALONG - _HAIR)):
            inside = shapely.length(shapely.intersection(segments.geometries[hit[which == k]], near[k]))
            along[k] = inside.sum() > _ALONG
        return along

    def _on_labels(self, shapes: np.ndarray) -> np.ndarray:
        hit = np.zeros(len(shapes), bool)
        hit[self._labels.query(shapes, predicate="intersects")[0]] = True
        return hit

    def first(self, block: Block, candidates: Candidates, inside: bool | None) -> tuple[Primitive, ...] | None:
        """The block at the first free candidate whose centre is on the foam (`inside`), off it, or on either
        (None); None if there is none. The place is taken from then on."""
        centres, angles = candidates.centres, candidates.angles
        if inside is not None:
            keep = shapely.contains_xy(self.material, centres[:, 0], centres[:, 1]) == inside
            centres, angles = centres[keep], angles[keep]
        start, tried = 0, _FIRST_CHUNK
        while start < len(centres):
            some = slice(start, start + tried)
            boxes = rectangles(centres[some], angles[some], block.width + 2 * CLEARANCE, block.height + 2 * CLEARANCE)
            free = np.flatnonzero(self.free(boxes))
            if len(free):
                at = start + free[0]
                self.draw(
                    rectangles(centres[at : at + 1], angles[at : at + 1], block.width + 2 * BETWEEN, block.height)[0]
                )
                return block.centred(centres[at], float(angles[at]))
            start, tried = start + tried, min(4 * tried, _CHUNK)
        return None

    def inside(
        self, blocks: Iterable[Block], angles: Sequence[float], region: shapely.Geometry | None = None
    ) -> tuple[Primitive, ...] | None:
        """The first of `blocks` that finds room on the foam (in `region` of it), the deepest place first."""
        grid, depth = self._ground.points, self._ground.depth
        if region is not None:
            within = np.flatnonzero(shapely.contains_xy(region, grid[:, 0], grid[:, 1]))
            within = within[np.argsort(-np.round(depth[within], 6), kind="stable")]
            middle = _midline(region)  # between points of the grid, which may all miss a strip, or lie at its rim
            grid = np.vstack([grid[within], middle])
            depth = np.concatenate([depth[within], self._ground.room_at(middle)])
        if not len(grid):
            return None
        for block in blocks:
            for angle in angles:
                centres = grid[self._roomy(grid, depth, angle, block)]
                placed = self.first(block, Candidates(centres, np.full(len(centres), angle)), inside=None)
                if placed is not None:
                    return placed
        return None

    def beside(self, block: Block, candidates: Candidates) -> tuple[Primitive, ...] | None:
        """The block at the first free candidate off the foam and not far past its ends."""
        return self.first(block, self._within_ends(block, candidates), inside=False)

    def aside(self, block: Block, angle: float) -> tuple[Primitive, ...]:
        """The block off the foam at a fixed angle, as near as it can stand, along its sides if it can; no leader."""
        distance = block.height / 2 + 2.0
        while True:
            centres = self._around(distance, self.material.boundary)
            places = Candidates(centres, np.full(len(centres), angle))
            if self._ground.has_ends and distance < _FAR:
                places = self._within_ends(block, places)
            placed = self.first(block, places, inside=False)
            if placed is not None:
                return placed
            distance += 3.0

    def pointing(
        self, block: Block, target: shapely.Geometry, over_lines: bool = False, off: shapely.Geometry | None = None
    ) -> tuple[Primitive, ...] | None:
        """The block on the foam near `target`, with a leader to it that crosses nothing, or with `over_lines` lines but no
        words; its middle `off` a region."""
        x0, y0, x1, y1 = target.bounds
        x, y = self._ground.points.T
        near = np.flatnonzero((x > x0 - _NEAR) & (x < x1 + _NEAR) & (y > y0 - _NEAR) & (y < y1 + _NEAR))
        away = np.round(shapely.distance(shapely.points(self._ground.points[near]), target), 6)
        near = near[np.argsort(away, kind="stable")[: int((away < _NEAR).sum())]]
        if off is not None:
            near = near[~shapely.contains_xy(off, *self._ground.points[near].T)]
        grid, depth = self._ground.points[near], self._ground.depth[near]
        for angle in self.reading_angles(self.material)[0]:
            centres = grid[self._roomy(grid, depth, angle, block)]
            clear = (self._on_labels,) if over_lines else (self._on_lines, self._on_labels)
            placed = self._with_leader(block, target, centres, angle, _shortest, clear)
            if placed is not None:
                return placed
        return None

    def hole_at(self, target: shapely.Geometry) -> shapely.Polygon | None:
        """The hole in the foam on the rim of which `target` lies; None where it lies on its outline."""
        parts = shapely.get_parts(self.material).tolist()
        outlines = [part.exterior for part in parts]
        holes = [ring for part in parts for ring in part.interiors]
        away = [round(float(ring.distance(target)), 3) for ring in (*outlines, *holes)]
        nearest = away.index(min(away)) - len(outlines)
        return shapely.Polygon(holes[nearest]) if nearest >= 0 else None

    def within(
        self, blocks: Iterable[Block], hole: shapely.Polygon, target: shapely.Geometry
    ) -> tuple[Primitive, ...] | None:
        """The first of `blocks` that finds room in a hole, with a leader to `target` on its rim that crosses no words, and no
        line if that can be."""
        x0, y0, x1, y1 = hole.bounds
        pitch = max(_PITCH, float(np.sqrt((x1 - x0) * (y1 - y0) / _PLACES)))
        grid = np.stack(np.meshgrid(np.arange(x0, x1, pitch), np.arange(y0, y1, pitch)), axis=-1).reshape(-1, 2)
        grid = grid[shapely.contains_xy(hole, *grid.T)]
        away = np.round(shapely.distance(shapely.points(grid), target), 6)
        grid = grid[np.argsort(away, kind="stable")]
        for block in blocks:
            for crossed in ((self._on_lines, self._on_labels), (self._on_labels,)):
                for angle in self.reading_angles(hole)[0]:
                    placed = self._with_leader(block, target, grid, angle, _shortest, crossed)
                    if placed is not None:
                        return placed
        return None

    def outside(self, block: Block, target: shapely.Geometry) -> tuple[Primitive, ...]:
        """The block off the foam, near `target` (on the outline), with a leader line to it, as `led` has it. Where labels are so
        crowded that none gets through at all, there is none, and it stands as near as it can."""
        placed = self.led(block, target)
        if placed is not None:
            return placed
        rings = [self._around(block.height / 2 + 2.0 + 3.0 * ring, target) for ring in range(_RINGS)]
        near = np.concatenate(rings)
        away = np.round(shapely.distance(shapely.points(near), target), 3)
        near = near[np.argsort(away, kind="stable")][: len(near) // 2]
        placed = self.first(block, Candidates(near, np.full(len(near), self.level)), inside=False)
        return placed or self.aside(block, self.level)

    def led(self, block: Block, target: shapely.Geometry) -> tuple[Primitive, ...] | None:
        """The block off the foam, near `target` (on an outline), with a leader line to it; None where none gets through.

        A leader ends on an outline with an arrowhead (after ISO 128-2, leader lines). It crosses no label,
        and no line either if that can be, and never runs along one. It stands past the ends of the part only where no
        leader gets through otherwise.
        """
        clear, across = (self._on_lines, self._on_labels), (self._on_labels,)
        tries = ((_shortest, clear), (_from_corners, clear), (_shortest, across))
        around = [self._around(distance, target) for distance in block.height / 2 + 4.0 + 4.0 * np.arange(_RINGS)]
        anywhere = Candidates(np.concatenate(around), np.full(sum(map(len, around)), self.level))
        for places in (self._within_ends(block, anywhere), anywhere):
            for leaders, crossed in tries:
                placed = self._with_leader(block, target, places.centres, self.level, leaders, crossed)
                if placed is not None:
                    return placed
        return None

    def _with_leader(self, block, target, centres, angle, leaders, crossed) -> tuple[Primitive, ...] | None:
        """The block at the one of `centres` (C, 2) that is free and leaves the least way to `target`, the first of those that
        are about as near, with one of the `leaders` from it to there: a longer one shuts out what comes after it."""
        boxes = rectangles(centres, np.full(len(centres), angle), block.width, block.height)
        order = np.argsort(np.round(shapely.distance(boxes, target)), kind="stable")
        for start in range(0, len(order), _CHUNK):
            some = centres[order[start : start + _CHUNK]]
            placed = self._led_from(block, target, some, angle, leaders, crossed)
            if placed is not None:
                return placed
        return None

    def _led_from(self, block, target, centres, angle, leaders, crossed) -> tuple[Primitive, ...] | None:
        """The block at the first of `centres` (C, 2) that is free and has one of the `leaders` from it to `target`
        that is long enough for its head, hits nothing `crossed` and runs along no line."""
        angles = np.full(len(centres), angle)
        padded = rectangles(centres, angles, block.width + 2 * CLEARANCE, block.height + 2 * CLEARANCE)
        free = np.flatnonzero(self.free(padded))
        places, lines = leaders(padded[free], target)
        long = np.hypot(*(lines[:, 1] - lines[:, 0]).T) >= _SHORTEST
        places, lines = places[long], lines[long]
        heads = _arrowheads(lines)
        shafts = shapely.linestrings(np.stack([lines[:, 0], heads[:, 1:].mean(axis=1)], axis=1))
        areas = shapely.polygons(heads)
        hit = self._on_labels(areas)
        for hits in crossed:
            hit[~hit] = hits(shafts[~hit])
        hit[~hit] = self._along_lines(lines[~hit])
        if hit.all():
            return None
        best = int(np.argmin(hit))
        at = free[places[best]]
        self.draw(padded[at], shafts[best], areas[best])
        head = Path(heads[best], "note", closed=True, fill="#000000")
        return (*block.centred(centres[at], angle), Path(lines[best], "note"), head)

    def between(self, block: Block, feet: np.ndarray, heads: np.ndarray) -> tuple[Primitive, ...] | None:
        """A line with an arrowhead at both ends from one of `feet` (K, 2) to its one of `heads` (K, 2), on lines that are
        drawn already, that crosses nothing between; the block beside its middle, level. None if there is no room."""
        along = heads - feet
        length = np.hypot(*along.T)
        along = along / length[:, None]
        inset = np.minimum(_SHORT_OF, length / 4)[:, None] * along
        shafts = shapely.linestrings(np.stack([feet + inset, heads - inset], axis=1))
        clear = np.flatnonzero(~(self._on_lines(shafts) | self._on_labels(shafts)))
        angle = self.level
        lie = np.radians(angle)
        for at in clear.tolist():
            square = np.array([-along[at, 1], along[at, 0]])
            reach = abs(np.cos(lie) * square[0] + np.sin(lie) * square[1]) * block.width / 2
            reach += abs(np.cos(lie) * square[1] - np.sin(lie) * square[0]) * block.height / 2
            middle = feet[at] + np.outer([0.5, 0.35, 0.65], length[at] * along[at])
            centres = np.vstack([middle + side * (reach + CLEARANCE + 0.2) * square for side in (1.0, -1.0)])
            placed = self.first(block, Candidates(centres, np.full(len(centres), angle)), inside=True)
            if placed is not None:
                ends = np.array([[heads[at], feet[at]], [feet[at], heads[at]]])
                self.draw(shafts[at])
                points = [Path(head, "note", closed=True, fill="#000000") for head in _arrowheads(ends)]
                return (*placed, Path(np.array([feet[at], heads[at]]), "note"), *points)
        return None

    def _around(self, distance: float, target: shapely.Geometry) -> np.ndarray:
        """Points (C, 2) so far off the foam, around it and in its holes, those nearest to `target` first."""
        points = self._ground.around(distance)
        away = np.round(shapely.distance(shapely.points(points), target), 6)
        return points[np.argsort(away, kind="stable")]


@lru_cache(maxsize=16384)  # few directions are asked for over and over
def _upright(angle: float, turn: float) -> float:
    return float(np.round(reading_angle(float(np.round(angle + turn, 6))) - turn, 6))


def _midline(region: shapely.Geometry) -> np.ndarray:
    """Places (C, 2) in a region along the middle of the least rectangle around it."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    if len(corners) < 4:  # nothing but a line
        return np.zeros((0, 2))
    middles = (corners[:4] + np.roll(corners[:4], -1, axis=0)) / 2.0  # of its sides
    start, end = max(middles[::2], middles[1::2], key=lambda ends: round(float(np.hypot(*(ends[1] - ends[0]))), 6))
    places = start + np.linspace(0.0, 1.0, _ON_MIDLINE)[1:-1, None] * (end - start)
    return np.asarray(places[shapely.contains_xy(region, *places.T)])


def _walk(ring: shapely.Geometry, steps: np.ndarray) -> np.ndarray:
    """Points at the distances `steps` along all the rings of `ring`, one after another."""
    parts = shapely.get_parts(ring)
    ends = np.cumsum(shapely.length(parts))
    which = np.minimum(np.searchsorted(ends, steps, side="right"), len(parts) - 1)
    return shapely.line_interpolate_point(parts[which], steps - (ends - shapely.length(parts))[which])


def _segments(ways: Iterable[np.ndarray]) -> np.ndarray:
    """Every straight stretch of lines, each (k, 2), as a geometry of its own, for a tight search tree."""
    return shapely.linestrings(np.concatenate([np.stack([way[:-1], way[1:]], axis=1) for way in ways]))


def _within(stretches: np.ndarray, leaders: np.ndarray, past: float) -> np.ndarray:
    """(P,) how much of each of `stretches` (P, 2, 2) lies near its one of `leaders` (P, 2, 2): in a rectangle on both
    sides of it that ends `past` its ends."""
    along = leaders[:, 1] - leaders[:, 0]
    long = np.hypot(*along.T)
    along = along / long[:, None]
    away = stretches - leaders[:, :1]
    up = np.einsum("pij,pj->pi", away, along)
    aside = away[..., 1] * along[:, :1] - away[..., 0] * along[:, 1:]
    begin, end = np.zeros(len(long)), np.ones(len(long))  # shares of the stretch
    for at, low, high in ((up, -past, long + past), (aside, -_BESIDE, _BESIDE)):
        step = at[:, 1] - at[:, 0]
        level = step == 0.0
        a, b = ((limit - at[:, 0]) / np.where(level, 1.0, step) for limit in (low, high))
        inside = (at[:, 0] >= low) & (at[:, 0] <= high)
        begin = np.where(level, np.where(inside, begin, 1.0), np.maximum(begin, np.minimum(a, b)))
        end = np.where(level, np.where(inside, end, 0.0), np.minimum(end, np.maximum(a, b)))
    return np.maximum(end - begin, 0.0) * np.hypot(*(stretches[:, 1] - stretches[:, 0]).T)


def _shortest(boxes: np.ndarray, target: shapely.Geometry) -> tuple[np.ndarray, np.ndarray]:
    """The shortest leader (B, 2, 2) from each box to `target`, and the index of its box."""
    return np.arange(len(boxes)), shapely.get_coordinates(shapely.shortest_line(boxes, target)).reshape(-1, 2, 2)


def _from_corners(boxes: np.ndarray, target: shapely.Geometry) -> tuple[np.ndarray, np.ndarray]:
    """Leaders (L, 2, 2) from corners of boxes to `target` that do not run through their box, and its index."""
    corners = shapely.get_coordinates(boxes).reshape(-1, 5, 2)[:, :4].reshape(-1, 2)
    places = np.repeat(np.arange(len(boxes)), 4)
    lines = shapely.shortest_line(shapely.points(corners), target)
    clear = ~shapely.intersects(lines, shapely.buffer(boxes, -0.1)[places])
    return places[clear], shapely.get_coordinates(lines[clear]).reshape(-1, 2, 2)


def _arrowheads(leaders: np.ndarray) -> np.ndarray:
    """(L, 3, 2) tip and back corners of the heads at the ends of leaders (L, 2, 2)."""
    along = leaders[:, 1] - leaders[:, 0]
    along = along / np.hypot(*along.T)[:, None]
    side = 0.45 * np.stack([-along[:, 1], along[:, 0]], axis=1)
    back = leaders[:, 1] - 1.8 * along
    return np.stack([leaders[:, 1], back + side, back - side], axis=1)
