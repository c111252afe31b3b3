"""A curved panel: the region of a form between its cuts, with exact edges on both faces and in between."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.surface import Surface
from foamwright.geometry import resampled
from foamwright.parts import region as regions
from foamwright.parts.guides import lines_across
from foamwright.parts.levels import SIGN, Level
from foamwright.parts.records import Chart, DartRequest, DartRules, PanelBody, PanelEdge
from foamwright.parts.rough_map import rough_map
from foamwright.parts.slit import FIRST_BIT, SECOND_BIT, HalfPlane, slit
from foamwright.parts.trace import slide_onto, slide_to_corner

_ENOUGH_FACES = 500
_SPACING = 1.0  # mm between the points of an edge
_LEAST, _MOST = 33, 801
_HOLE = -np.pi  # the turn of a loop that is the edge of a hole rather than the end of a tube
_EVEN_BEVEL = 1.5  # degrees: a bevel that varies less is given as one value


@dataclass(frozen=True, eq=False)
class Wall:
    """What bounds a panel. A seam is cut square to the surface, along the curve at the form's zero offset;
    a trim lies in the cutting surface itself, so its curve differs from face to face."""

    cut: str
    square: bool
    surface: Surface
    level: Level | None
    end: float | None = None  # of a form without a pole: the u of this end

    def at(self, offset: float):
        """The wall as a level over surface coordinates, met at `offset` from the form."""
        if self.end is not None:
            size = 100.0  # makes the level of the order of mm, as the others are
            return lambda coords: (coords[:, 0] - self.end) * size
        assert self.level is not None
        level, distance = self.level, 0.0 if self.square else offset
        return lambda coords: level(self.surface.offset(coords, distance))


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
    walls = [Wall(cut, cut in square_cuts, surface, levels[cut]) for cut in where]
    neutral = inner_offset + stock.k * stock.thickness
    region = _cut_out(spec, surface, walls, [SIGN[where[w.cut]] for w in walls], neutral, opened)
    bits = {i: wall for i, wall in enumerate(walls)}
    bits[regions.START_BIT] = Wall("start", True, surface, None, 0.0)
    bits[regions.END_BIT] = Wall("end", True, surface, None, 1.0)
    if opened is not None:
        bits[FIRST_BIT] = bits[SECOND_BIT] = Wall("opened", True, surface, opened.plane)
    space = surface.offset(region.coords, neutral)
    flat = rough_map(space, region.faces)
    loops = sorted(
        regions.boundary_loops(region.faces), key=lambda loop: -_perimeter(flat[loop])
    )  # the outer loop is the longest
    edges = _name(
        [
            _edge(
                region,
                bits,
                bit,
                chain,
                number,
                flat,
                (inner_offset, neutral, inner_offset + stock.thickness),
            )
            for number, loop in enumerate(loops)
            for bit, chain in _runs(region, bits, loop, neutral)
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


def _cut_out(spec, surface, walls, keep, neutral, opened) -> regions.Region:
    for finer in (1, 2, 4, 6):
        region = regions.whole_form(surface, finer)
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
    ends = np.bitwise_or.reduce(region.tags) >> np.array([regions.START_BIT, regions.END_BIT]) & 1
    if neutral <= 0 and np.any(np.array(getattr(surface, "tips", (False, False))) & (ends == 1)):
        raise BuildError(f"{who}: foam inside a cone does not reach its tip; cut the tip off with a plane")
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
    return region


def _perimeter(points: np.ndarray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def _runs(region, bits, loop, neutral):
    """The loop as (bit, chain of vertices with both corners), one for each wall it follows.

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
    starts = [i for i in range(len(loop)) if names[i] != names[i - 1] or pole[i]]
    if not starts:
        # a hole cut by one wall: begin where it reaches farthest in u, so that the start is always the same
        start = int(np.argmax(np.round(region.coords[loop, 0], 9)))
        chain = np.concatenate([loop[start:], loop[: start + 1]])
        return [(int(names[0]), chain)]
    runs = []
    for i, start in enumerate(starts):
        stop = starts[(i + 1) % len(starts)]
        count = (stop - start) % len(loop) or len(loop)
        index = (start + np.arange(count + 1)) % len(loop)
        runs.append((int(names[start]), loop[index]))
    return runs


def _edge(region, bits, bit, chain, number, flat, offsets):
    surface, wall = region.surface, bits[bit]
    inner_offset, neutral, outer_offset = offsets
    coords = _continuous(region, chain)
    poles = region.is_pole()[chain]
    closed = chain[0] == chain[-1]
    others = [None if closed else _other_wall(region, bits, bit, vertex) for vertex in (chain[0], chain[-1])]

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
    fine = np.linspace(0, share[-1], count)
    chart = np.column_stack([np.interp(fine, share, column) for column in on_chart.T])
    points = place(neutral, coords)
    if wall.square:
        inner, outer = place(inner_offset, coords), place(outer_offset, coords)
        bevel = (0.0,)
    else:
        coords_in, coords_out = settle(inner_offset, coords), settle(outer_offset, coords)
        bevel = _bevel(surface, coords, place(inner_offset, coords_in), place(outer_offset, coords_out), points)
        inner = _ordered(surface, coords_in, inner_offset, count, closed)
        outer = _ordered(surface, coords_out, outer_offset, count, closed)
    kind = "seam" if wall.square else "trim"
    return PanelEdge("", wall.cut, kind, number, chart, points, bevel, inner, outer, coords)


def _continuous(region, chain) -> np.ndarray:
    """Coordinates along a chain without jumps; a pole at an end is written as its neighbour is."""
    near, coords = region.surface.near, region.coords[chain].copy()
    coords[0] = near(coords[:1], coords[1:2])[0]
    for i in range(1, len(coords)):
        coords[i] = near(coords[i : i + 1], coords[i - 1 : i])[0]
    return coords


def _other_wall(region, bits, bit, vertex):
    mask = int(region.tags[vertex])
    options = [b for b in bits if (mask >> b) & 1 and b != bit]
    return bits[options[0]] if options else None


def _ordered(surface, coords, offset, count, closed) -> np.ndarray:
    """Points of one face's edge at equal distances; points that slid past a corner are left out."""
    points = surface.offset(coords, offset)
    if closed:
        return resampled(points, points, count)
    keep = np.ones(len(points), bool)
    for end, inward in ((0, 1), (-1, -1)):
        reach = 12 if end == 0 else -13
        way = points[reach] - points[end]
        way = way / np.linalg.norm(way)
        ahead = (points - points[end]) @ way
        near = np.arange(len(points)) < 12 if end == 0 else np.arange(len(points)) > len(points) - 13
        keep &= ~(near & (ahead <= 1e-6))
    keep[[0, -1]] = True
    points = points[keep]
    return resampled(points, points, count)


def _bevel(surface, coords, inner, outer, points) -> tuple[float, ...]:
    """Degrees from square at up to nine equal distances; positive where the inside face is cut shorter."""
    normal = surface.normal(coords)
    wall = outer - inner
    along = np.gradient(points, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    outward = np.cross(along, normal)  # the panel lies on the left of its boundary
    angle = np.degrees(np.arctan2((wall * outward).sum(1), (wall * normal).sum(1)))
    # corners slide along two walls at once, so the last few points do not show the bevel
    margin = min(3, (len(angle) - 1) // 4)
    angle = angle[margin : len(angle) - margin]
    if np.ptp(angle) < _EVEN_BEVEL:
        mean = float(angle.mean())
        return (0.0,) if abs(mean) < 0.5 else (mean,)
    at = np.linspace(0, len(angle) - 1, 9)
    return tuple(float(a) for a in np.interp(at, np.arange(len(angle)), angle))


def _name(edges):
    """Give each edge the id of its cut, numbered where one cut makes several edges."""
    import dataclasses

    count: dict[str, int] = {}
    total: dict[str, int] = {}
    for e in edges:
        total[e.cut] = total.get(e.cut, 0) + 1
    named = []
    for e in edges:
        count[e.cut] = count.get(e.cut, 0) + 1
        name = e.cut if total[e.cut] == 1 else f"{e.cut}.{count[e.cut]}"
        named.append(dataclasses.replace(e, id=name))
    return named
