"""A curved panel: the region of a form between its cuts, with exact edges on both faces and in between."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.parametric import Frustum, Revolution
from foamwright.forms.surface import Surface
from foamwright.geometry import arc_lengths, resampled
from foamwright.parts import region as regions
from foamwright.parts.guides import lines_across
from foamwright.parts.leg_levels import LegLevel
from foamwright.parts.levels import SIGN, Level, PrismLevel
from foamwright.parts.lines import CurveLevel
from foamwright.parts.records import Chart, DartRequest, DartRules, PanelBody, PanelEdge
from foamwright.parts.rough_map import rough_map
from foamwright.parts.sheets import Mitre, own_sheet
from foamwright.parts.slit import FIRST_BIT, SECOND_BIT, HalfPlane, slit
from foamwright.parts.trace import slide_onto, slide_to_corner

_ENOUGH_FACES = 500
_SPACING = 1.0  # mm between the points of an edge
_LEAST, _MOST = 33, 801
_OF_NARROWEST = 0.4  # of a narrow opening: how long the sides of triangles beside it may be
_AT_CORNER = 1e-6  # mm
_SIZES_APART = 3.0  # sides of triangles by which the legs of a corner are apart where they need no sides of their own
_FINE_TURN = math.radians(10.0)  # from one chord of an edge to the next
_HOLE = -np.pi  # the turn of a loop that is the edge of a hole rather than the end of a tube


@dataclass(frozen=True, eq=False)
class Wall:
    """What bounds a panel. A seam is cut square to the surface, along the curve at the form's zero offset;
    a trim lies in the cutting surface itself, and a mitre between two sheets of the form, so that the curve differs
    from face to face."""

    cut: str
    square: bool
    surface: Surface
    level: Level | None
    end: float | None = None  # of a form without a pole: the u of this end
    mitre: Mitre | None = None

    def legs(self) -> tuple[Wall, ...]:
        """The smooth stretches of the wall between its corners, each as a wall; none where it has no corner."""
        if self.mitre is not None:
            across = self.mitre.across
            single = [replace(self, mitre=replace(self.mitre, across=(one,))) for one in across]
            return tuple(single) if len(across) > 1 else ()
        if not isinstance(self.level, PrismLevel | CurveLevel):
            return ()
        return tuple(replace(self, level=leg) for leg in self.level.legs)

    @property
    def kind(self) -> str:
        return "mitre" if self.mitre else "tip" if self.is_tip else "seam" if self.square else "trim"

    @property
    def is_tip(self) -> bool:
        return self.end is not None and isinstance(self.surface, Frustum) and self.surface.to_tip[int(self.end)]

    def at(self, offset: float):
        """The wall as a level over surface coordinates, met at `offset` from the form."""
        if self.end is not None:
            size = 100.0  # makes the level of the order of mm, as the others are
            return lambda coords: (coords[:, 0] - self.end) * size
        if self.mitre is not None:
            return self.mitre.at(self.surface, offset)
        assert self.level is not None
        level, surface = self.level, self.surface
        if self.square and isinstance(surface, Frustum):
            return lambda coords: level(surface.offset(coords, surface.clear_of_axis(coords)))
        distance = 0.0 if self.square else offset
        return lambda coords: level(surface.offset(coords, distance))


@dataclass(frozen=True, eq=False)
class WallCorner:
    """Where a wall passes from one of its legs to the next: surface coordinates (k,) at the neutral surface."""

    coords: np.ndarray
    before: Wall
    after: Wall


def wall_corners(region: regions.Region, wall: Wall, neutral: float) -> list[WallCorner]:
    """The corners of one wall."""
    surface, legs = region.surface, wall.legs()
    starts: list[tuple[Wall, Wall, np.ndarray]] = []
    if wall.mitre is not None:
        pairs = [(legs[i], legs[j], at) for i, j, at in wall.mitre.corners()] if legs else []
        starts += [(a, b, NearestPoint(surface).coords(at[None])[0]) for a, b, at in pairs]
    elif legs:
        space = surface.offset(region.coords, 0.0 if wall.square else neutral)
        for leg, following in zip(legs, (*legs[1:], legs[0])):
            one, next_one = leg.level, following.level
            assert isinstance(one, LegLevel) and isinstance(next_one, LegLevel)
            if np.allclose(one.line[-1], next_one.line[0]):  # not past the end of an open line
                flat = space[:, list(one.columns)]
                starts += [(leg, following, c) for c in regions.above(region, flat, one.line[-1])]
    corners: list[WallCorner] = []
    for before, after, start in starts:
        coords = slide_to_corner(surface, start, before.at(neutral), after.at(neutral))
        if abs(float(wall.at(neutral)(coords[None])[0])) < _AT_CORNER:
            place = surface.offset(np.array([coords, *(corner.coords for corner in corners)]), neutral)
            if (np.linalg.norm(place[1:] - place[0], axis=1) > _AT_CORNER).all():
                corners.append(WallCorner(coords, before, after))
    return corners


def _with_legs(region: regions.Region, corner: WallCorner, neutral: float) -> regions.Region:
    """The region with sides along both legs of a corner, as far as they are no further apart than its triangles are
    large."""
    legs = [leg.level for leg in (corner.before, corner.after) if isinstance(leg.level, LegLevel)]
    if len(legs) < 2:
        return region
    surface, at = region.surface, corner.coords
    here = surface.point(at[None])[0]
    columns = list(legs[0].columns)
    away = [leg.line[k] - here[columns] for leg, k in zip(legs, (-2, 1))]
    directions = [leaving / np.linalg.norm(leaving) for leaving in away]
    half = math.acos(np.clip(float(directions[0] @ directions[1]), -1.0, 1.0)) / 2
    near = np.linalg.norm(surface.point(region.coords) - here, axis=1)
    size = float(np.sort(near)[1:7].mean())  # of the sides around it
    for wall, leaving in zip((corner.before, corner.after), away):
        end = here.copy()
        end[columns] += leaving
        region = regions.with_line(region, at, wall.at(neutral), end, _SIZES_APART * size / (2 * math.tan(half)))
    return region


def panel_body(
    spec: PartSpec,
    stock: Stock,
    surface: Surface,
    levels: Mapping[str, Level],
    square_cuts: frozenset[str],
    inner_offset: float,
    opened: HalfPlane | None = None,
) -> PanelBody:
    """Builds the panel of `spec`.

    `levels` holds the cuts of its form, `square_cuts` those that are seams; along `opened` it is parted from
    itself. Raises BuildError if nothing is
    left of the form between the cuts, if it falls apart, or if it closes on itself.
    """
    where = spec.values["where"]
    neutral = inner_offset + stock.k * stock.thickness
    farthest = max(abs(inner_offset), abs(inner_offset + stock.thickness))
    try:
        surface, mitres = own_sheet(surface, {cut: (levels[cut], SIGN[where[cut]]) for cut in where}, farthest)
    except BuildError as error:
        raise BuildError(f"{spec.where}: panel {spec.id}: {error}") from None
    if isinstance(surface, Revolution):
        surface = surface.tipped(neutral)
    walls = [
        Wall(cut, cut in square_cuts and cut not in mitres, surface, levels[cut], mitre=mitres.get(cut))
        for cut in where
    ]
    keep = [-1 if w.mitre else SIGN[where[w.cut]] for w in walls]
    region, corners = _cut_out(spec, surface, walls, keep, neutral, opened)
    bits = dict(enumerate(walls))
    bits[regions.START_BIT] = Wall("start", True, surface, None, 0.0)
    bits[regions.END_BIT] = Wall("end", True, surface, None, 1.0)
    if opened is not None:
        bits[FIRST_BIT] = bits[SECOND_BIT] = Wall("opened", True, surface, opened.plane)
    space = surface.offset(region.coords, neutral)
    flat = rough_map(space, region.faces)
    loops = sorted(
        regions.boundary_loops(region.faces), key=lambda loop: -_perimeter(flat[loop])
    )  # the outer loop is the longest
    edges = numbered(
        [
            _edge(region, run, number, flat, (inner_offset, neutral, inner_offset + stock.thickness))
            for number, loop in enumerate(loops)
            for run in _runs(region, bits, loop, neutral, corners)
        ]
    )
    stated, automatic = _darts(spec.values["darts"])
    return PanelBody(
        form=spec.values["form"],
        surface=surface,
        chart=Chart(flat, region.coords, region.faces),
        edges=tuple(edges),
        inner_offset=inner_offset,
        darts=stated,
        automatic=automatic,
        forward=direction("x"),
        up=direction("z"),
        guides=tuple(
            line
            for cut in (automatic.along if automatic else ())
            for line in lines_across(flat, region.faces, levels[cut](surface.point(region.coords)))
        ),
    )


def _darts(given) -> tuple[tuple[DartRequest, ...], DartRules | None]:
    if given == "auto":
        return (), DartRules()
    if isinstance(given, Mapping):
        rules = DartRules(
            tuple(given["edges"]),
            tuple(given["avoid"]),
            int(given.get("count", 0)),
            tuple(given["at"]),
            tuple(given["along"]),
        )
        return (), rules
    return tuple(DartRequest(d["edge"], d["at"], d["depth"]) for d in given), None


def _cut_out(spec, surface, walls, keep, neutral, opened) -> tuple[regions.Region, np.ndarray]:
    """The panel's region at its neutral surface, and the corners (C, 3) of the single cuts there."""
    for finer in (1, 2, 4, 6):
        region = regions.whole_form(surface, finer)
        for wall in walls:
            if isinstance(wall.level, PrismLevel) and wall.mitre is None:
                region = regions.finer_along(region, wall.at(neutral), _OF_NARROWEST * wall.level.narrowest)
        corners = [corner for wall in walls for corner in wall_corners(region, wall, neutral)]
        places = [corner.coords for corner in corners]
        region = regions.with_vertices(region, places)
        for corner in corners:
            region = _with_legs(region, corner, neutral)
        for bit, (wall, sign) in enumerate(zip(walls, keep)):
            region = regions.clip(region, wall.at(neutral), bit, sign)
            if not len(region.faces):
                break
        if len(region.faces) >= _ENOUGH_FACES:
            break
    who = f"{spec.where}: panel {spec.id}"
    if not len(region.faces):
        raise BuildError(f"{who}: nothing of the form lies on the stated sides of its cuts")
    pieces = regions.components(region)
    crumbs = [p for p in pieces[1:] if len(p.faces) > 0.01 * len(pieces[0].faces)]
    if crumbs:
        raise BuildError(f"{who}: it falls into {len(crumbs) + 1} pieces; add a cut that keeps one of them")
    region = regions.unwrap(pieces[0] if opened is None else slit(pieces[0], surface, opened, neutral))
    loops = regions.boundary_loops(region.faces)
    if not loops:
        raise BuildError(f"{who}: the form is closed and uncut; add cuts that open it")
    euler = len(region.coords) - len(regions._edges(region.faces)[0]) + len(region.faces)
    if euler != 2 - len(loops):
        raise BuildError(f"{who}: it is not a sheet with holes (Euler number {euler}, {len(loops)} edges)")
    space = surface.offset(region.coords, neutral)
    holes = sorted(loops, key=lambda loop: -_perimeter(space[loop]))[1:]
    if any(regions.turning(space, region.faces, loop) > _HOLE for loop in holes):
        raise BuildError(
            f"{who}: it closes on itself like a tube; add `opened`, or a plane through the axis that cuts it open"
        )
    return region, surface.offset(np.array(places), neutral) if places else np.zeros((0, 3))


def _perimeter(points: np.ndarray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


@dataclass(frozen=True, eq=False)
class _Run:
    """A stretch of a boundary loop along one smooth wall: the chain of vertices with both corners, and the walls
    that it meets there; None for a closed one, which has no corners."""

    wall: Wall
    chain: np.ndarray
    before: Wall | None
    after: Wall | None


def _runs(region, bits, loop, neutral, corners) -> list[_Run]:
    """The loop as one run for each wall it follows, parted also at the corners (C, 3) of a wall itself.

    A pole on the boundary counts as a corner: coordinates jump there.
    """
    following = np.roll(loop, -1)
    common = region.tags[loop] & region.tags[following]
    names = np.empty(len(loop), int)
    sides = region.coords[np.column_stack([loop, following])]
    middle = region.surface.blend(sides, np.full((len(loop), 2), 0.5))
    for i, mask in enumerate(common):
        options = [b for b in bits if (int(mask) >> b) & 1]
        if not options:
            raise BuildError("a panel's edge lies on no cut; move the cuts apart a little")
        names[i] = options[0]
        if len(options) > 1:  # between two corners: the wall that the middle of the side lies on
            away = {b: abs(float(bits[b].at(neutral)(middle[i : i + 1])[0])) for b in options}
            # of two that it lies on the form's own end counts: in a tip every cut through it seems to be met
            names[i] = min(options, key=lambda b: (round(away[b], 9), -b))
    pole = region.is_pole()[loop]
    sharp = np.zeros(len(loop), bool)
    if len(corners):
        gap, _ = cKDTree(corners).query(region.surface.offset(region.coords[loop], neutral))
        sharp = gap < _AT_CORNER
    starts = [i for i in range(len(loop)) if names[i] != names[i - 1] or pole[i] or sharp[i]]
    if not starts:
        # a hole cut by one wall: begin where it reaches farthest in u, so that the start is always the same
        start = int(np.argmax(np.round(region.coords[loop, 0], 9)))
        chain = np.concatenate([loop[start:], loop[: start + 1]])
        return [_Run(bits[int(names[0])], chain, None, None)]
    chains = []
    for i, start in enumerate(starts):
        stop = starts[(i + 1) % len(starts)]
        count = (stop - start) % len(loop) or len(loop)
        index = (start + np.arange(count + 1)) % len(loop)
        chains.append((int(names[start]), loop[index]))
    walls = [_leg(region, bits[bit], chain, neutral) for bit, chain in chains]
    runs = []
    for i, (bit, chain) in enumerate(chains):
        beside: list[Wall | None] = []
        for end, neighbour in ((0, i - 1), (-1, (i + 1) % len(chains))):
            same_wall = chains[neighbour][0] == bit
            if chain[0] == chain[-1]:
                beside.append(None)
            elif same_wall and walls[neighbour] is not walls[i]:
                beside.append(walls[neighbour])  # the next leg of the same cut
            else:
                other = _other_bit(region, bits, bit, chain[end])
                beside.append(None if other is None else _leg(region, bits[other], chain[[end, end]], neutral))
        runs.append(_Run(walls[i], chain, *beside))
    return runs


def _leg(region, wall: Wall, chain: np.ndarray, neutral: float) -> Wall:
    """Of a wall with corners the leg that a chain of vertices lies on; else the wall."""
    legs = wall.legs()
    if not legs:
        return wall
    middle = chain[1:-1] if len(chain) > 2 else chain
    return min(legs, key=lambda leg: float(np.abs(leg.at(neutral)(region.coords[middle])).max()))


def _edge(region, run: _Run, number, flat, offsets):
    surface, wall, chain = region.surface, run.wall, run.chain
    inner_offset, neutral, outer_offset = offsets
    coords = _continuous(region, chain)
    poles = region.is_pole()[chain]
    closed = chain[0] == chain[-1]
    others = (run.before, run.after)

    def corners(at: float, coords: np.ndarray) -> np.ndarray:
        coords = coords.copy()
        for end, other, pole in zip((0, -1), others, (poles[0], poles[-1])):
            if pole:
                continue
            if other is not None:
                coords[end] = slide_to_corner(surface, coords[end], wall.at(at), other.at(at))
        return coords

    def settle(at: float, coords: np.ndarray) -> np.ndarray:
        inside = slice(0 if closed else 1, None if closed else -1)
        moved = corners(at, coords)
        moved[inside] = slide_onto(surface, coords[inside], wall.at(at))
        if closed:
            moved[-1] = surface.near(moved[:1], coords[-1:])[0]
        return moved

    def place(at: float, coords: np.ndarray) -> np.ndarray:
        return surface.offset(coords, at)

    coords = settle(neutral, coords)
    length = float(np.linalg.norm(np.diff(place(neutral, coords), axis=0), axis=1).sum())
    count = int(np.clip(math.ceil(length / _SPACING), _LEAST, _MOST))
    share = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(place(neutral, coords), axis=0), axis=1))])
    on_chart = flat[chain]
    for _ in range(2):
        coords = settle(neutral, resampled(place(neutral, coords), coords, count))
    finer = min(4, math.ceil(_sharpest(place(neutral, coords), surface.normal(coords)) / _FINE_TURN))
    if finer > 1:  # a slot's round ends, between points 1 mm apart
        count = min(finer * (count - 1), _MOST - 1) + 1
        coords = settle(neutral, resampled(place(neutral, coords), coords, count))
    fine = np.linspace(0, share[-1], count)
    chart = np.column_stack([np.interp(fine, share, column) for column in on_chart.T])
    points = place(neutral, coords)
    if wall.square:
        inner, outer = place(inner_offset, coords), place(outer_offset, coords)
        slope, inner_shift, outer_shift = np.zeros(count), np.zeros((count, 2)), np.zeros((count, 2))
        if wall.is_tip:  # each face has its own; the pattern runs to that of the neutral surface
            inner, outer = (
                place(
                    at,
                    np.column_stack([np.full(count, surface.ends_at(at)[0 if wall.end == 0.0 else 1]), coords[:, 1]]),
                )
                for at in (inner_offset, outer_offset)
            )
    else:
        coords_in, coords_out = settle(inner_offset, coords), settle(outer_offset, coords)
        along = _along(points, closed)
        feet = [
            _clear_of_corners(surface, coords, settled, wall.at(at), poles[[0, -1]])
            for at, settled in ((inner_offset, coords_in), (outer_offset, coords_out))
        ]
        slope = _slope(surface, coords, place(inner_offset, feet[0]), place(outer_offset, feet[1]), along)
        inner, inner_feet = _ordered(surface, coords_in, inner_offset, neutral, count, closed)
        outer, outer_feet = _ordered(surface, coords_out, outer_offset, neutral, count, closed)
        inner_shift, outer_shift = (
            _shift(points, along, surface.normal(coords), *feet) for feet in (inner_feet, outer_feet)
        )
    on_form = surface.point(settle(0.0, coords) if wall.kind == "mitre" else coords)
    return PanelEdge(
        id="",
        cut=wall.cut,
        kind=wall.kind,
        loop=number,
        chart=chart,
        points=points,
        slope=slope,
        inner=inner,
        outer=outer,
        coords=coords,
        on_form=on_form,
        inner_shift=inner_shift,
        outer_shift=outer_shift,
        normals=surface.normal(coords),
    )


def _sharpest(points: np.ndarray, normals: np.ndarray) -> float:
    """The greatest turn within the surface from one chord of a line to the next, in radians."""
    chords = np.diff(points, axis=0)
    before, after, normal = chords[:-1], chords[1:], normals[1:-1]
    sine = (np.cross(before, after) * normal).sum(1)
    return float(np.abs(np.arctan2(sine, (before * after).sum(1))).max(initial=0.0))


def _continuous(region, chain) -> np.ndarray:
    """Coordinates along a chain without jumps; a pole at an end is written as its neighbour is."""
    near, coords = region.surface.near, region.coords[chain].copy()
    coords[0] = near(coords[:1], coords[1:2])[0]
    for i in range(1, len(coords)):
        coords[i] = near(coords[i : i + 1], coords[i - 1 : i])[0]
    return coords


def _other_bit(region, bits, bit, vertex) -> int | None:
    mask = int(region.tags[vertex])
    return next((b for b in bits if (mask >> b) & 1 and b != bit), None)


def _ordered(surface, coords, offset, neutral, count, closed) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray]]:
    """Points of one face's edge at equal distances, and their feet on the neutral surface with the normals there.

    Points that slid past a corner are left out.
    """
    points = surface.offset(coords, offset)
    with_feet = np.hstack([points, surface.offset(coords, neutral), surface.normal(coords)])
    if not closed:
        keep = np.ones(len(points), bool)
        for end, _inward in ((0, 1), (-1, -1)):
            reach = 12 if end == 0 else -13
            direction = points[reach] - points[end]
            direction = direction / np.linalg.norm(direction)
            ahead = (points - points[end]) @ direction
            near = np.arange(len(points)) < 12 if end == 0 else np.arange(len(points)) > len(points) - 13
            keep &= ~(near & (ahead <= 1e-6))
        keep[[0, -1]] = True
        with_feet = with_feet[keep]
    even = resampled(with_feet[:, :3], with_feet, count)
    normals = even[:, 6:] / np.linalg.norm(even[:, 6:], axis=1, keepdims=True)
    return even[:, :3], (even[:, 3:6], normals)


def _along(points, closed) -> np.ndarray:
    """(N, 3) unit, along an edge at each of its points; a closed edge repeats its first."""
    if closed:
        around = np.vstack([points[-2], points[:-1], points[:2]])
        along = around[2:] - around[:-2]
    else:
        along = np.gradient(points, axis=0)
    return along / np.linalg.norm(along, axis=1, keepdims=True)


def _shift(points, along, normals, feet, feet_normals) -> np.ndarray:
    """(N, 2) from points of the edge to the feet of a face's edge, along the edge and outwards, as long as in the
    surface."""
    shift = feet - points
    flat = np.column_stack([(shift * along).sum(1), (shift * np.cross(along, normals)).sum(1)])
    length = arc_lengths(points, feet, normals, feet_normals)
    return flat * (length / np.maximum(np.hypot(*flat.T), 1e-12))[:, None]


def _clear_of_corners(surface, coords, settled, level, poles) -> np.ndarray:
    """Where an edge's points, settled on a face, come to lie if its ends slide along its own wall only, as its other
    points do: at corners they slid along two. An end at a pole stays."""
    ends = np.array([0, -1])[~poles]
    feet = settled.copy()
    feet[ends] = slide_onto(surface, coords[ends], level)
    return feet


def _slope(surface, coords, inner, outer, along) -> np.ndarray:
    """(N,) degrees from square at each point; positive where the inside face is cut shorter."""
    normal = surface.normal(coords)
    wall = outer - inner
    outward = np.cross(along, normal)  # the panel lies on the left of its boundary
    return np.degrees(np.arctan2((wall * outward).sum(1), (wall * normal).sum(1)))


def numbered(edges: Sequence[PanelEdge]) -> list[PanelEdge]:
    """Edges with the id of their cut, numbered where one cut makes several."""
    total, count = Counter(edge.cut for edge in edges), Counter[str]()
    named = []
    for edge in edges:
        count[edge.cut] += 1
        name = edge.cut if total[edge.cut] == 1 else f"{edge.cut}.{count[edge.cut]}"
        named.append(replace(edge, id=name))
    return named
