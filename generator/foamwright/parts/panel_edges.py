"""The boundary of a curved panel as edges: each a stretch along one smooth wall, traced exactly on both faces and on
the neutral surface."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.geometry import arc_lengths, chord_length, resampled, tangents
from foamwright.parts.panel_walls import AT_CORNER, Wall
from foamwright.parts.records import PanelEdge
from foamwright.parts.trace import onwards, slide_onto, slide_to_corner

_SPACING = 1.0  # mm between the points of an edge
_LEAST, _MOST = 33, 801
_FINE_TURN = math.radians(10.0)  # from one chord of an edge to the next
_PAST = 1e-6  # mm behind a corner: a point that is not further on slid past it
_NO_LENGTH = 1e-6  # mm
_ASTRAY = 1.0  # mm: what settles by less lies on its leg
_NOTHING = 0.05  # mm: an edge that is shorter on one face is a point there


@dataclass(frozen=True, eq=False)
class _Run:
    """A stretch of a boundary loop along one smooth wall: the chain of vertices with both corners, and the walls
    that it meets there; None for a closed one, which has no corners."""

    wall: Wall
    chain: np.ndarray
    before: Wall | None
    after: Wall | None


def runs_of(region, bits, loop, neutral, corners) -> list[_Run]:
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
        sharp = gap < AT_CORNER
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


def edge_of(region, run: _Run, number, flat, offsets):
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

    rough, coords = place(neutral, coords), settle(neutral, coords)
    _refuse_astray(rough, place(neutral, coords), wall.cut)
    kept = onwards(place(neutral, coords))
    coords, chain = coords[kept], chain[kept]
    share = chord_length(place(neutral, coords))
    if share[-1] < _NO_LENGTH:
        raise BuildError(f"its edge {wall.cut} is a point; move {wall.cut} a little")
    count = int(np.clip(math.ceil(share[-1] / _SPACING), _LEAST, _MOST))
    on_chart = flat[chain]
    # along the chords at first: through vertices that lie close together a spline swings out
    even = np.linspace(0.0, share[-1], count)
    coords = settle(neutral, np.column_stack([np.interp(even, share, column) for column in coords.T]))
    coords = settle(neutral, resampled(place(neutral, coords), coords, count))
    finer = min(4, math.ceil(_sharpest(place(neutral, coords), surface.normal(coords)) / _FINE_TURN))
    if finer > 1:  # a slot's round ends, between points 1 mm apart
        count = min(finer * (count - 1), _MOST - 1) + 1
        coords = settle(neutral, resampled(place(neutral, coords), coords, count))
    fine = np.linspace(0, share[-1], count)
    chart = np.column_stack([np.interp(fine, share, column) for column in on_chart.T])
    points = place(neutral, coords)
    if wall.square or wall.upright_at is not None:
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
        along = tangents(points)
        feet = [
            _clear_of_corners(surface, coords, settled, wall.at(at), poles[[0, -1]])
            for at, settled in ((inner_offset, coords_in), (outer_offset, coords_out))
        ]
        slope = _slope(surface, coords, place(inner_offset, feet[0]), place(outer_offset, feet[1]), along)
        inner, inner_feet = _ordered(surface, coords_in, inner_offset, neutral, count, closed, wall.cut)
        outer, outer_feet = _ordered(surface, coords_out, outer_offset, neutral, count, closed, wall.cut)
        inner_shift, outer_shift = (
            _shift(points, along, surface.normal(coords), *feet) for feet in (inner_feet, outer_feet)
        )
    on_form = surface.point(_on_crease(surface, run, coords, settle(0.0, coords)) if wall.kind == "mitre" else coords)
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


def _refuse_astray(rough: np.ndarray, settled: np.ndarray, cut: str) -> None:
    """BuildError: some vertices (N, 3) of an edge do not lie on the leg of its cut that they should, and end further off than
    they are from each other. Where two legs touch, as half circles side by side, no triangle tells one from the other."""
    away = np.linalg.norm(settled - rough, axis=1)
    if away.max() > max(np.diff(chord_length(rough)).max(), _ASTRAY):
        x, y, z = rough[int(np.argmax(away > 0.5 * away.max()))]
        raise BuildError(
            f"its edge {cut} cannot be told near ({x:.0f}, {y:.0f}, {z:.0f}), where two lines of {cut} touch side by "
            "side; leave a gap of some mm between them, or let them meet at an angle"
        )


def _on_crease(surface, run: _Run, coords: np.ndarray, settled: np.ndarray) -> np.ndarray:
    """The crease under a mitred edge, point under point. What goes straight through the foam, as an opening, is further along
    the crease on one face than on another: there the crease ends square to where the edge itself does."""
    for end, beside in ((0, run.before), (-1, run.after)):
        if beside is not None and beside.kind == "trim":
            settled[end] = slide_onto(surface, coords[[end]], run.wall.at(0.0))[0]
    return settled


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


def _ordered(surface, coords, offset, neutral, count, closed, cut) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray]]:
    """Points of one face's edge at equal distances, and their feet on the neutral surface with the normals there.

    Points that slid past a corner, or past each other where a small opening turns, are left out. Raises BuildError for an
    edge that this face has nothing of.
    """
    points = surface.offset(coords, offset)
    with_feet = np.hstack([points, surface.offset(coords, neutral), surface.normal(coords)])
    if not closed:
        between, beyond = _between_corners(points)
        if beyond > _NOTHING:
            face = "outside" if offset > neutral else "inside"
            raise BuildError(
                f"its edge {cut} is there in the middle of the foam and not on its {face}, where the edges beside it meet "
                f"{beyond:.1f} mm before it begins; move {cut} by more than that, so that the edge is longer or not there"
            )
        with_feet = with_feet[between]
    with_feet = with_feet[onwards(with_feet[:, :3])]
    even = resampled(with_feet[:, :3], with_feet, count)
    normals = even[:, 6:] / np.linalg.norm(even[:, 6:], axis=1, keepdims=True)
    return even[:, :3], (even[:, 3:6], normals)


def _between_corners(points: np.ndarray) -> tuple[np.ndarray, float]:
    """The numbers of those points (N, 3) of a line that lie between its ends, and of the ends, where the others slid past
    them; and by how many mm its end comes before its start."""
    middle = points[1:-1]
    ahead = np.diff(points[:-1], axis=0) if len(middle) < 2 else np.diff(middle, axis=0)
    ahead = np.vstack([ahead, ahead[-1:]])[: len(middle)]
    ahead = ahead / np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-12)
    after = ((middle - points[0]) * ahead).sum(1) > _PAST
    before = ((points[-1] - middle) * ahead).sum(1) > _PAST
    first = int(np.argmax(after)) if after.any() else len(middle)
    last = len(middle) - int(np.argmax(before[::-1])) if before.any() else 0
    kept = np.r_[0, np.arange(first, last) + 1, len(points) - 1]
    if first < last:
        return kept, 0.0
    return kept, float((points[0] - points[-1]) @ ahead[min(first, len(middle) - 1)])


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
