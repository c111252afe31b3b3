"""Ways in: how a part gets past what stands already. Lengths in mm.

A part is asked how it could be taken out again; its way in is that way backwards. Along a straight line two bodies meet
exactly if some line of sight in that direction meets the mover first and the other beyond it, so a grid of such lines
finds everything in the way of one motion at once (the blocking relations of R. H. Wilson and J.-C. Latombe, "Geometric
reasoning about mechanical assembly", Artificial Intelligence 71, 1994). Foam gives a little, so an overlap narrower
than `GIVE` does not count.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from math import ceil, inf, pi

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString

from foamwright.assembly import practice, raster
from foamwright.assembly.bodies import Bodies, Touch, frame, outward, spread, thickness
from foamwright.assembly.sight import Sight
from foamwright.parts.records import BandBody, FlatBody, PanelBody

GIVE = 1.6  # mm by which an edge of foam yields where a part is pushed past
STIFF_GIVE = 0.6  # mm, of wood and of bars
_SLACK = 0.7  # mm that triangles of parts that touch may overlap
_STEP = 1.0  # mm between lines of sight, closer for small and thin parts
_LEAST_LINES, _MOST_LINES = 26, 600
_SHEET = 1.5  # mm; thinner is paper or card
_ROLLED = 60.0  # mm; nothing narrower is rolled
_ASIDE = 30.0  # mm that a part is drawn off its place before it turns
_CHUNKS = 10
_AXES: tuple[tuple[float, float, float], ...] = (
    (0.0, 0.0, 1.0),
    (1.0, 0.0, 0.0),
    (-1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0),
    (0.0, -1.0, 0.0),
    (0.0, 0.0, -1.0),
)
_OBLIQUE = tuple(
    (x, y, z)
    for z in (1.0, 0.0, -1.0)
    for x in (-1.0, 0.0, 1.0)
    for y in (-1.0, 0.0, 1.0)
    if abs(x) + abs(y) + abs(z) > 1.5
)
_TURNS = (60.0, 90.0, 120.0, 150.0, 180.0)  # degrees by which a flat part is rolled to get through
_PUSH = 15.0  # mm of sliding at which cement grips before the part is home
_BESIDE = 4.5  # mm from the places that are spread over the other part
_FOLDS = (240.0, 300.0)  # a cushion, squeezed further
_LIFTS = (40.0, 80.0, 120.0)  # mm that a rolled cushion is lifted over a sill
_CUSHION = 0.1  # strain that only soft foam forgives
_CUSHION_BEND = 0.5  # of a face of soft foam: an inner radius of half its thickness
_LONG = 0.1  # what it costs to lead a part past all that stands
_SQUEEZED = 0.1  # what it costs where foam must give way
_AS_GOOD = 0.05  # of cost; so little is not worth looking further
_STANDS_OUT = 10.0  # mm of a bar beyond both faces of a part: so much cannot be passed by bending that on to it
_SLIDING = 0.2  # of a face and a motion nearly along it
RIGID = ("plywood", "wood", "card", "acrylic")


@dataclass(frozen=True)
class Leg:
    """A straight motion outwards along `towards` (unit) for `travel` mm; infinite: clear of everything."""

    towards: tuple[float, float, float]
    travel: float


@dataclass(frozen=True)
class Bend:
    """A flat part rolled about `axis` by `turn` degrees in all; its edges rise towards `rising`."""

    axis: tuple[float, float, float]
    rising: tuple[float, float, float]
    turn: float
    radius: float


@dataclass(frozen=True)
class Way:
    """One way out, backwards the way in. `blockers` are the copies that stand in it, as bits of a number.

    `laid` says that a curved part is laid on bit by bit, each bit square to its own face.
    """

    legs: tuple[Leg, ...]
    blockers: int
    bend: Bend | None = None
    laid: str = ""  # "outside", "inside" or ""
    oblique: bool = False  # along no face, axis or opening


_Seen = tuple[np.ndarray, np.ndarray, np.ndarray, tuple[int, int], np.ndarray, np.ndarray]  # a mover on a grid of lines


class Ways:
    """The ways in of every copy and of groups of them, found when they are asked for and remembered."""

    def __init__(self, bodies: Bodies, sharing: Sequence[tuple[str, str]] = ()):
        """`sharing`: ids of parts that reach into each other because the design says so; they bar no way to each other."""
        self.bodies = bodies
        self._sharing = {(a, b) for one, other in sharing for a, b in ((one, other), (other, one))}
        self.touches = bodies.touches
        self.sight = Sight(bodies)
        self.boxes = self.sight.boxes
        self.by_copy: dict[int, list[Touch]] = {}
        for (one, _), touch in self.touches.items():
            self.by_copy.setdefault(one, []).append(touch)
        self._places: dict[int, cKDTree] = {}
        self._known: dict[tuple[int, ...], list[Way]] = {}
        self._more: dict[tuple[int, ...], Iterator[Way]] = {}
        self._tight: dict[tuple[tuple[int, ...], tuple[Leg, ...]], int] = {}

    def free(self, group: tuple[int, ...], standing: int, most: float = inf) -> Way | None:
        """The way in for a group of copies, its lead first, past the copies in `standing`; None if there is none.

        Of straight ways the one that drags least cemented face along what it touches and squeezes past nothing, and of those
        one that is soon clear of what stands; ways that cost more than `most` are not looked for (see `cost`).
        """
        standing &= ~self.bodies.mask(group)
        best, least = None, inf
        for way in self._ways(group):
            floor = cost(way)
            if floor >= min(least - _AS_GOOD, most):
                break  # ways come in the order of their least costs
            if way.blockers & standing == 0:
                whole = floor + self.drag(group, way, standing) + _LONG * self._past(group, way, standing)
                if whole < least - 0.02 and self.tight(group, way, standing):
                    whole += _SQUEEZED
                if whole < least - 0.02:
                    best, least = way, whole
        return best

    def nearest(self, group: tuple[int, ...], standing: int) -> Way:
        """The way that fewest of the standing copies block."""
        standing &= ~self.bodies.mask(group)
        return min(self._ways(group), key=lambda way: (way.blockers & standing).bit_count())

    def straight(self, group: tuple[int, ...], standing: int) -> Iterator[int]:
        """The standing copies, as bits, that bar each of the ways on which nothing is bent."""
        standing &= ~self.bodies.mask(group)
        return (way.blockers & standing for way in takewhile(lambda way: not way.bend, self._ways(group)))

    def drag(
        self, group: tuple[int, ...], way: Way, standing: int, sewn: Collection[frozenset[str]] = frozenset()
    ) -> float:
        """Share of the area glued to standing parts which slides along them for more than a short push.

        Where two parts are `sewn`, by their ids, the seam is closed bit by bit and nothing slides.
        """
        if way.laid or way.bend:
            return 0.0
        towards = np.array(way.legs[0].towards)
        total = sliding = 0.0
        for touch in self.touches_of(group, standing):
            if not touch.glued:
                continue
            total += touch.area
            if frozenset((self.bodies.pieces[touch.a].id, self.bodies.pieces[touch.b].id)) in sewn:
                continue
            along = touch.normals @ towards < _SLIDING
            if along.any():
                on_the_way = touch.places[along] + _PUSH * towards
                near = self._surface(touch.b).query(on_the_way, distance_upper_bound=_BESIDE)[0] < _BESIDE
                sliding += float(touch.areas[along][near].sum())
        return sliding / total if total else 0.0

    def _past(self, group: tuple[int, ...], way: Way, standing: int) -> float:
        """How far the last leg leads past what stands, as a share of its size."""
        here = self.boxes[[i for i in range(len(self.bodies)) if standing >> i & 1]]
        if not len(here):
            return 0.0
        low, high = here[:, 0].min(axis=0), here[:, 1].max(axis=0)
        own = self.boxes[list(group)]
        towards = np.array(way.legs[-1].towards)
        end = np.where(towards > 0.0, high, low) @ towards
        start = np.where(towards > 0.0, own[:, 0].min(axis=0), own[:, 1].max(axis=0)) @ towards
        return float(max(end - start, 0.0) / np.linalg.norm(high - low))

    def _surface(self, copy: int) -> cKDTree:
        """Places spread over all faces of a copy, to search in."""
        if copy not in self._places:
            triangles = self.bodies.triangles[slice(*self.bodies.spans[copy])]
            self._places[copy] = cKDTree(spread(self.bodies.points, triangles)[0])
        return self._places[copy]

    def touches_of(self, group: tuple[int, ...], standing: int) -> list[Touch]:
        """The contacts between a group and what stands."""
        inside = self.bodies.mask(group)
        return [
            touch
            for one in group
            for touch in self.by_copy.get(one, ())
            if standing >> touch.b & 1 and not inside >> touch.b & 1
        ]

    def _ways(self, group: tuple[int, ...]) -> Iterator[Way]:
        """All ways, simplest first; each is worked out once."""
        known = self._known.setdefault(group, [])
        more = self._more.setdefault(group, self._search(group))
        index = 0
        while True:
            if index == len(known):
                try:
                    known.append(next(more))
                except StopIteration:
                    return
            yield known[index]
            index += 1

    def _search(self, group: tuple[int, ...]) -> Iterator[Way]:
        points, triangles = self.bodies.mesh(group)
        straight = self._directions(group, points)
        for towards in straight:
            yield self._moved(group, points, triangles, (Leg(towards, inf),))
        off = straight[:4]
        for first in off:
            for second in _AXES:
                if abs(np.dot(first, second)) < 0.95:
                    legs = (Leg(first, _ASIDE), Leg(second, inf))
                    yield self._moved(group, points, triangles, legs)
        lead = self.bodies.pieces[group[0]]
        soft = lead.stock.material_type not in RIGID
        if soft and len(group) == 1 and isinstance(lead.body, PanelBody | BandBody):
            yield from self._laid(group[0], points, triangles)
        for towards in _OBLIQUE:
            unit = np.array(towards) / np.linalg.norm(towards)
            yield self._moved(group, points, triangles, (Leg(_triple(unit), inf),), oblique=True)
        if soft and isinstance(lead.body, FlatBody):
            yield from self._bent(group, points, triangles)

    def _directions(self, group: tuple[int, ...], points: np.ndarray) -> list[tuple[float, float, float]]:
        """Straight ways to try: off the faces that touch, off the part's own face, along the axes."""
        lead = group[0]
        piece, matrix = self.bodies.pieces[lead], self.bodies.matrices[lead]
        directions: list[np.ndarray] = []
        axes = frame(piece, matrix)
        if axes is None:
            normal = outward(piece, matrix)[1].sum(axis=0)
            if np.linalg.norm(normal) > 1e-6:
                directions += [normal, -normal]
        else:
            directions += [axes[2], -axes[2]]
        touched = self.touches_of(group, (1 << len(self.bodies)) - 1)
        touched = [touch for touch in touched if touch.glued] or touched
        if touched:
            lean = sum((touch.areas[:, None] * touch.normals).sum(axis=0) for touch in touched)
            if np.linalg.norm(lean) > 1e-6 * sum(touch.area for touch in touched):
                directions.insert(0, lean)
        directions += [np.array(axis) for axis in _AXES]
        if axes is not None:
            directions += [axes[0], -axes[0], axes[1], -axes[1]]
        unit: list[np.ndarray] = []
        for direction in directions:
            size = np.linalg.norm(direction)
            direction = np.round(direction / size, 6) + 0.0
            if all(np.dot(direction, other) < 0.9995 for other in unit):
                unit.append(direction)
        return [_triple(direction) for direction in unit]

    def tight(self, group: tuple[int, ...], way: Way, standing: int) -> int:
        """The copies in `standing`, as bits, that foam must give way to on a straight way in: they would bar it otherwise."""
        if way.bend or way.laid:
            return 0
        if (group, way.legs) not in self._tight:
            points, triangles = self.bodies.mesh(group)
            met = 0
            for leg, shift in zip(way.legs, _starts(way.legs)):
                met |= self._met(group, points + shift, triangles, leg, STIFF_GIVE)
            self._tight[group, way.legs] = met
        return self._tight[group, way.legs] & standing & ~self.bodies.mask(group)

    def _moved(self, group, points, triangles, legs, bend=None, oblique=False) -> Way:
        blockers = 0
        for leg, shift in zip(legs, _starts(legs)):
            blockers |= self._met(group, points + shift, triangles, leg)
        return Way(tuple(legs), blockers, bend, "", oblique)

    def _met(
        self, group: tuple[int, ...], points: np.ndarray, triangles: np.ndarray, leg: Leg, most: float = inf
    ) -> int:
        """The copies in the way of one leg, as bits; foam gives way by no more than `most`."""
        thick = min(thickness(self.bodies.pieces[i]) for i in group)
        sheet = thick < _SHEET
        basis, low, step, shape = _grid(points, np.array(leg.towards), thick / 2.0 if sheet else _STEP)
        near, far = np.full(shape, inf), np.full(shape, -inf)
        raster.reach(points, triangles, basis, low, step, near, far)
        skip = np.zeros(len(self.bodies), bool)
        skip[list(group)] = True
        if self._sharing:
            own = {self.bodies.pieces[i].id for i in group}
            skip |= np.array([any((part, piece.id) in self._sharing for part in own) for piece in self.bodies.pieces])
        stiff = self.bodies.pieces[group[0]].stock.material_type in RIGID
        give = min(STIFF_GIVE if stiff else GIVE, most)
        # a sheet seen on its edge is too thin for a block of hits: there a share of all its samples tells
        least = max(0.03 * float(np.isfinite(near).sum()), 4.0) if sheet else inf
        return self._hits(leg, (basis, low, step, shape, near, far), skip, give, min(_SLACK, 0.3 + 0.3 * thick), least)

    def met_by(self, points: np.ndarray, triangles: np.ndarray, towards: tuple[float, float, float]) -> int:
        """The copies, as bits, in the way of something that is no part, as a figure is, straight out along `towards`."""
        leg = Leg(towards, inf)
        basis, low, step, shape = _grid(points, np.array(towards), _STEP)
        near, far = np.full(shape, inf), np.full(shape, -inf)
        raster.reach(points, triangles, basis, low, step, near, far)
        skip = np.zeros(len(self.bodies), bool)
        return self._hits(leg, (basis, low, step, shape, near, far), skip, GIVE, _SLACK, inf)

    def _hits(self, leg: Leg, seen: _Seen, skip: np.ndarray, give: float, slack: float, least: float) -> int:
        """The copies, but those to `skip`, that a mover which is `seen` along a leg meets, as bits."""
        basis, low, step, shape, near, far = seen
        wide = np.array(
            [ceil(min(give, 0.25 * shape[axis] * step[1 - axis]) / step[1 - axis]) + 1 for axis in (0, 1)], np.int64
        )
        bodies = self.bodies
        is_met = raster.met(
            bodies.points,
            bodies.triangles,
            bodies.spans,
            bodies.spheres,
            skip,
            basis,
            low,
            step,
            near,
            far,
            slack,
            leg.travel,
            wide,
            least,
        )
        return bodies.mask(np.flatnonzero(is_met).tolist())

    def _laid(self, copy: int, points: np.ndarray, triangles: np.ndarray) -> Iterator[Way]:
        """A curved part laid on bit by bit: every bit goes square to its own face, then out along an axis."""
        places, normals = outward(self.bodies.pieces[copy], self.bodies.matrices[copy])
        bits = _bits(points, triangles, places, normals)
        for side, sign in (("outside", 1.0), ("inside", -1.0)):
            for second in (None, *_AXES):
                blockers = 0
                for bit, normal in bits:
                    towards = _triple(sign * normal)
                    legs = (Leg(towards, inf),) if second is None else (Leg(towards, _ASIDE), Leg(second, inf))
                    for leg, shift in zip(legs, _starts(legs)):
                        blockers |= self._met((copy,), points + shift, bit, leg)
                mean = np.mean([normal for _, normal in bits], axis=0)
                first = _triple(sign * mean / max(float(np.linalg.norm(mean)), 1e-9))
                last = Leg(first, inf) if second is None else Leg(second, inf)
                yield Way((last,), blockers, None, side)

    def _bent(self, group: tuple[int, ...], points: np.ndarray, triangles: np.ndarray) -> Iterator[Way]:
        """A flat part of foam rolled about a line in its face, as far as the foam allows, then moved straight; what stands
        through a hole of it bars all of these."""
        lead = group[0]
        held = through_holes(self.bodies, lead)
        piece = self.bodies.pieces[lead]
        axes = frame(piece, self.bodies.matrices[lead])
        assert axes is not None
        soft = piece.stock.strain_limit >= _CUSHION
        tightest = thickness(piece) / (2.0 * (_CUSHION_BEND if soft else practice.COLD_BEND))
        lifts = (0.0, *_LIFTS) if soft else (0.0,)
        own = self.bodies.mesh((lead,))[0]
        fine = finer(points, triangles, max(float(np.ptp(own @ axis)) for axis in axes[:2]) / 16.0)
        for turn in (*_TURNS, *_FOLDS) if soft else _TURNS:
            for axis, across in ((axes[0], axes[1]), (axes[1], axes[0])):
                span = own @ across
                radius = float(np.ptp(span)) / (turn * pi / 180.0)
                if radius < tightest or np.ptp(span) < _ROLLED:
                    continue
                for rising in (axes[2], -axes[2]):
                    bend = Bend(_triple(axis), _triple(rising), turn, radius)
                    rolled = roll(fine[0], own, bend)
                    for lift in lifts:
                        for towards in (axis, -axis):
                            out = Leg(_triple(towards), inf)
                            up = (Leg(_triple(rising), lift),) if lift else ()
                            way = self._moved(group, rolled, fine[1], (*up, out), bend)
                            yield replace(way, blockers=way.blockers | held)


def through_holes(bodies: Bodies, copy: int) -> int:
    """The copies, as bits, that stand in a hole of a flat one and out of both its faces: it comes on to them along themselves
    alone."""
    piece = bodies.pieces[copy]
    body = piece.body
    if not isinstance(body, FlatBody) or not body.holes:
        return 0
    back = np.linalg.inv(bodies.matrices[copy])
    local = body.frame.to_frame(bodies.points @ back[:3, :3].T + back[:3, 3])
    holes = shapely.union_all([shapely.Polygon(hole) for hole in body.holes])
    starts, ends = local[bodies.triangles], local[np.roll(bodies.triangles, -1, axis=1)]
    both = ~0
    for level in (-_STANDS_OUT, thickness(piece) + _STANDS_OUT):
        from_start, to_end = starts[..., 2] - level, ends[..., 2] - level
        cut = from_start * to_end < 0.0
        share = (from_start[cut] / (from_start[cut] - to_end[cut]))[:, None]
        x, y = (starts[cut] + share * (ends[cut] - starts[cut]))[:, :2].T
        through = np.zeros(cut.shape, bool)
        through[cut] = shapely.contains_xy(holes, x, y)
        both &= bodies.mask(i for i, span in enumerate(bodies.spans) if through[slice(*span)].any())
    return both & ~bodies.mask((copy,))


def roll(points: np.ndarray, own: np.ndarray, bend: Bend) -> np.ndarray:
    """`points` (n, 3) carried along as the flat part with points `own` is rolled; its middle stays in place."""
    axis, rising = np.array(bend.axis), np.array(bend.rising)
    across = np.cross(rising, axis)
    level = float((own @ rising).min() + (own @ rising).max()) / 2.0
    middle = float((own @ across).min() + (own @ across).max()) / 2.0
    along, aside, height = points @ axis, points @ across - middle, points @ rising - level
    angle = aside / bend.radius
    out = (bend.radius - height) * np.sin(angle) + middle
    up = bend.radius - (bend.radius - height) * np.cos(angle) + level
    return np.outer(along, axis) + np.outer(out, across) + np.outer(up, rising)


def finer(points: np.ndarray, triangles: np.ndarray, size: float) -> tuple[np.ndarray, np.ndarray]:
    """The mesh with no side longer than `size`."""
    from trimesh.remesh import subdivide_to_size

    made, faces = subdivide_to_size(points, triangles, max_edge=size, max_iter=14)
    return np.ascontiguousarray(made), np.ascontiguousarray(faces, np.int64)


def cost(way: Way) -> float:
    """What a way costs by its sort alone, beside the share of cemented face that it drags: simple ways first."""
    if way.bend:
        return 2.0
    if way.laid:
        return 0.4
    return 0.3 if len(way.legs) > 1 else 0.0 if not way.oblique else 0.5


def _triple(vector: np.ndarray) -> tuple[float, float, float]:
    x, y, z = vector.tolist()
    return x, y, z


def _starts(legs) -> list[np.ndarray]:
    """How far the mover has come when each leg begins."""
    starts, here = [], np.zeros(3)
    for leg in legs:
        starts.append(here)
        if leg.travel < inf:
            here = here + leg.travel * np.array(leg.towards)
    return starts


def _grid(points: np.ndarray, towards: np.ndarray, fine: float):
    """Lines of sight along `towards` over the mover: basis rows, first line, distances, (rows, columns).

    The grid lies along the mover's own sides, so that a thin plate seen on its edge is met by as many lines as a
    broad one.
    """
    across = np.cross(towards, np.eye(3)[int(np.argmin(np.abs(towards)))])
    across /= np.linalg.norm(across)
    up = np.cross(towards, across)
    flat = np.column_stack([points @ across, points @ up])
    turned = LineString(flat).minimum_rotated_rectangle
    if turned.geom_type == "Polygon":
        corners = np.array(turned.exterior.coords)
        side = corners[1] - corners[0]
        if np.linalg.norm(side) > 1e-9:
            side = side / np.linalg.norm(side)
            across, up = side[0] * across + side[1] * up, -side[1] * across + side[0] * up
    basis = np.ascontiguousarray(np.vstack([across, up, towards]))
    local = points @ basis[:2].T
    low, span = local.min(axis=0), np.maximum(np.ptp(local, axis=0), 1e-6)
    count = np.clip(np.ceil(span / fine), _LEAST_LINES, _MOST_LINES)
    step = span / count
    return basis, low + step / 2.0, step, (int(count[1]), int(count[0]))


def _bits(points, triangles, places, normals) -> list[tuple[np.ndarray, np.ndarray]]:
    """A curved mesh in about equal bits, each with the direction off its outside face."""
    centres = points[triangles].mean(axis=1)
    seeds = [0]
    distance = np.linalg.norm(centres - centres[0], axis=1)
    while len(seeds) < min(_CHUNKS, len(centres)):
        seeds.append(int(np.argmax(distance)))
        distance = np.minimum(distance, np.linalg.norm(centres - centres[seeds[-1]], axis=1))
    owner = cKDTree(centres[seeds]).query(centres)[1]
    tree = cKDTree(places)
    bits = []
    for bit in range(len(seeds)):
        chosen = np.ascontiguousarray(triangles[owner == bit])
        if len(chosen):
            normal = normals[tree.query(centres[owner == bit])[1]].mean(axis=0)
            size = float(np.linalg.norm(normal))
            if size > 1e-6:
                bits.append((chosen, normal / size))
    return bits
