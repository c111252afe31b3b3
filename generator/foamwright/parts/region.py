"""The region of a form between cuts, as triangles in surface coordinates.

The whole form starts as triangles. Each cut moves nearby vertices onto itself and splits the
triangles that it still crosses; what lies on the wrong side is dropped. Vertices remember which cuts they
lie on, so that the boundary falls into named edges by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import breadth_first_order, connected_components

from foamwright.errors import BuildError
from foamwright.forms.remesh import divided
from foamwright.forms.surface import Surface
from foamwright.geometry.mesh import connected

# A vertex closer to the cut than this share of an edge is moved onto it instead of splitting the edge.
_SNAP = 0.22
# A vertex closer to a line than this share of a side is moved onto it, so that no cut later moves it elsewhere.
_BESIDE = 0.25
_LINE_STEPS = 60
_AROUND = 12  # vertices nearest to a place
_LEAST_LEFT = 0.05  # of a triangle, where one of its corners is moved
_ON_SIDE = 0.02  # share of a triangle beyond which a place lies on one of its sides
_BESIDE_CORNER = np.array([0.6, 0.2, 0.2])  # of the corners of a triangle, for a place in it beside the first
_ON_LINE = 1e-9  # mm
_FACES = 11520  # of a whole form at its coarsest
_HALVINGS = 8
# Bits for the open start and the open end of a form that has no pole there; cuts count from 0.
START_BIT, END_BIT = 61, 60
HELD_BIT = 59  # of a vertex that no cut moves: a corner of one, or a place on its legs beside the corner

_HELD = np.int64(1) << np.int64(HELD_BIT)

CoordLevel = Callable[[np.ndarray], np.ndarray]  # (N, k) surface coordinates -> (N,) level


@dataclass(frozen=True, eq=False)
class Region:
    """`coords` (n, k), `faces` (m, 3) counter-clockwise from outside, `tags` (n,) bit i set on cut i."""

    surface: Surface
    coords: np.ndarray
    faces: np.ndarray
    tags: np.ndarray

    def is_pole(self) -> np.ndarray:
        return self.surface.at_pole(self.coords)


def whole_form(surface: Surface, finer: int = 1) -> Region:
    """The whole form, cut nowhere; `finer` divides the sides of its triangles."""
    start = surface.triangulation(_FACES * finer**2)
    tags = np.zeros(len(start.coords), np.int64)
    tags[start.start] |= np.int64(1) << np.int64(START_BIT)
    tags[start.end] |= np.int64(1) << np.int64(END_BIT)
    return Region(surface, start.coords, start.faces, tags)


def finer_along(region: Region, level: CoordLevel, longest: float) -> Region:
    """The region with sides halved until none that comes near the zero line of `level` is longer than `longest` mm."""
    surface = region.surface
    coords, faces, tags = region.coords, region.faces, region.tags
    for _ in range(_HALVINGS):
        edges, outer = _edges(faces)
        points, away = surface.point(coords), np.abs(level(coords))
        length = np.linalg.norm(points[edges[:, 0]] - points[edges[:, 1]], axis=1)
        long = (length > longest) & (away[edges].min(axis=1) < length) & ~surface.at_pole(coords)[edges].any(axis=1)
        if not long.any():
            break
        size = len(coords)
        number = np.full(len(edges), -1)
        number[long] = size + np.arange(np.count_nonzero(long))
        keys = edges @ [size, 1]
        sides = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]], axis=2) @ [size, 1]
        middle = number[np.searchsorted(keys, sides)]
        half = np.full(np.count_nonzero(long), 0.5)
        coords = np.vstack([coords, _between(surface, coords[edges[long, 0]], coords[edges[long, 1]], half)])
        common = np.where(outer[long], tags[edges[long, 0]] & tags[edges[long, 1]], 0)
        tags = np.concatenate([tags, common])
        faces = divided(surface.point(coords), faces, middle)
    return Region(surface, coords, faces, tags)


def with_vertices(region: Region, places: Sequence[np.ndarray]) -> Region:
    """The region with a vertex at each of `places` (k,), so that a corner of a cut is not cut off: of those around it
    that lie on no cut the nearest is moved there, or, where that would turn a triangle over, a new one is put in. A
    place on which a vertex lies already stays as it is."""
    surface = region.surface
    for at in places:
        place = surface.point(at[None])[0]
        distance = np.linalg.norm(surface.point(region.coords) - place, axis=1)
        order = np.argsort(distance, kind="stable")[:_AROUND]
        free = [int(v) for v in order if not region.tags[v] and not surface.at_pole(region.coords[[v]])[0]]
        moved = _with_moved(region, free[0], at) if free else None
        region = moved if moved is not None else _with_new(region, order, at)
    return region


def _with_moved(region: Region, vertex: int, at: np.ndarray) -> Region | None:
    """The region with a vertex moved to `at` (k,) and held there; None if a triangle would turn over or vanish."""
    surface, coords, tags = region.surface, region.coords.copy(), region.tags.copy()
    coords[vertex] = surface.near(at[None], coords[[vertex]])[0]
    fan = region.faces[(region.faces == vertex).any(axis=1)]
    before, after = (_doubled(surface.point(c[fan.ravel()]).reshape(-1, 3, 3)) for c in (region.coords, coords))
    if ((before * after).sum(axis=1) < _LEAST_LEFT * (before * before).sum(axis=1)).any():
        return None
    tags[vertex] |= _HELD
    return Region(surface, coords, region.faces, tags)


def _with_new(region: Region, around: np.ndarray, at: np.ndarray) -> Region:
    """The region with a new vertex at `at` (k,), in that of the triangles at the vertices `around` that holds it."""
    surface = region.surface
    near = np.flatnonzero(np.isin(region.faces, around).any(axis=1))
    corners = surface.point(region.coords[region.faces[near].ravel()]).reshape(-1, 3, 3)
    place = surface.point(at[None])[0]
    whole = _doubled(corners)
    parts = np.stack(
        [_doubled(np.where(np.arange(3)[None, :, None] == k, place, corners)) for k in range(3)], axis=1
    )  # (m, 3, 3): of the triangle with its corner k put at the place
    shares = (parts * whole[:, None]).sum(axis=2) / np.maximum((whole * whole).sum(axis=1), 1e-300)[:, None]
    best = int(np.argmax(shares.min(axis=1)))
    face, share = region.faces[near[best]], shares[best]
    k = int(np.argmin(share))
    at = surface.near(at[None], region.coords[face[:1]])[0]
    if share[k] < _ON_SIDE:  # in a side, which its neighbour has as well
        return divided_side(region, at, int(face[(k + 1) % 3]), int(face[(k + 2) % 3]))
    made = np.array([np.where(face == corner, len(region.coords), face) for corner in face])
    faces = np.vstack([np.delete(region.faces, near[best], axis=0), made])
    return Region(surface, np.vstack([region.coords, at]), faces, np.append(region.tags, _HELD))


def divided_side(region: Region, at: np.ndarray, a: int, b: int) -> Region:
    """The region with a new vertex at `at` (k,), the last, on the side from `a` to `b`, held there."""
    faces, tags, number = region.faces, region.tags, len(region.coords)
    both = ((faces == a).any(axis=1)) & ((faces == b).any(axis=1))
    halves = [np.where(faces[both] == gone, number, faces[both]) for gone in (a, b)]
    common = tags[a] & tags[b] if np.count_nonzero(both) == 1 else np.int64(0)
    coords = np.vstack([region.coords, at])
    return Region(region.surface, coords, np.vstack([faces[~both], *halves]), np.append(tags, common | _HELD))


def _doubled(corners: np.ndarray) -> np.ndarray:
    """Normals (m, 3) of triangles (m, 3, 3), twice as long as their areas."""
    return np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])


def with_line(
    region: Region, start: np.ndarray, line: CoordLevel, end: np.ndarray, far: float
) -> tuple[Region, list[int]]:
    """The region with sides along the zero line of `line` from the vertex at `start` (k,) towards `end` (3,) in space,
    for `far` mm or a little more, and never beyond `end`; and the vertices at their ends, that at `start` first. A cut whose
    legs leave a corner close beside each other would else be lost between two vertices.

    It goes from triangle to triangle; a vertex hard by the line is moved onto it, elsewhere a side is divided.
    """
    surface = region.surface
    corner = surface.point(start[None])[0]
    here = int(np.argmin(np.linalg.norm(surface.point(region.coords) - corner, axis=1)))
    direction = (end - corner) / np.linalg.norm(end - corner)
    last, at, passed = float((end - corner) @ direction), 0.0, [here]
    for _ in range(_LINE_STEPS):
        fan = region.faces[(region.faces == here).any(axis=1)]
        sides = np.array([np.roll(face, -int(np.flatnonzero(face == here)[0]))[1:] for face in fan])
        ends = np.unique(sides)
        value = np.zeros(len(region.coords))
        value[ends] = line(region.coords[ends])
        value[np.abs(value) < _ON_LINE] = 0.0
        sides = sides[value[sides[:, 0]] * value[sides[:, 1]] < 0]
        a, b = region.coords[sides[:, 0]], region.coords[sides[:, 1]]
        share = _roots(surface, line, a, b, value[sides[:, 0]])
        on = ends[value[ends] == 0.0]
        places = np.vstack([_between(surface, a, b, share), region.coords[on]])
        ahead = (surface.point(places) - corner) @ direction if len(places) else np.zeros(0)
        if not len(ahead) or ahead.max() <= at:
            break
        k = int(np.argmax(ahead))
        at = float(ahead[k])
        if at > last + _ON_LINE:
            break
        if k < len(sides):
            region, here = _vertex_on_side(region, sides[k], float(share[k]), places[k])
        else:
            here = int(on[k - len(sides)])
        passed.append(here)
        if at > far:
            break
    return region, passed


def _vertex_on_side(region: Region, side: np.ndarray, share: float, place: np.ndarray) -> tuple[Region, int]:
    """The region with a vertex at `place` (k,) on the side between two vertices, and its number."""
    a, b = (int(v) for v in side)
    for vertex, near in ((a, share), (b, 1 - share)):
        if near < _BESIDE and not region.tags[vertex] and not region.surface.at_pole(region.coords[[vertex]])[0]:
            moved = _with_moved(region, vertex, place)
            if moved is not None:
                return moved, vertex
    return divided_side(region, place, a, b), len(region.coords)


def above(region: Region, flat: np.ndarray, place: np.ndarray) -> list[np.ndarray]:
    """Coordinates (k,) of the region over a place (2,) of a view in which its vertices lie at `flat` (n, 2)."""
    a, b, c = flat[region.faces].transpose(1, 0, 2)
    u, v, p = b - a, c - a, place - a
    det = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (p[:, 0] * v[:, 1] - p[:, 1] * v[:, 0]) / det
        t = (u[:, 0] * p[:, 1] - u[:, 1] * p[:, 0]) / det
        over = np.flatnonzero((s >= -1e-9) & (t >= -1e-9) & (s + t <= 1 + 1e-9))
    weights = np.column_stack([1 - s[over] - t[over], s[over], t[over]])
    return list(region.surface.blend(region.coords[region.faces[over]], weights)) if len(over) else []


def _between(surface: Surface, a: np.ndarray, b: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Coordinates at share t (N,) from a to b (N, k)."""
    return surface.blend(np.stack([a, b], axis=1), np.column_stack([1 - t, t]))


def clip(region: Region, level: CoordLevel, bit: int, keep: int) -> Region:
    """The part of the region where the sign of `level` is `keep` (+1 or -1); new boundary gets tag `bit`."""
    surface = region.surface
    coords, faces, tags = region.coords.copy(), region.faces, region.tags.copy()
    values = level(coords)
    scale = np.max(np.abs(values))
    values[np.abs(values) < 1e-9 * scale] = 0.0
    edges, on_boundary = _edges(faces)
    flag = np.int64(1) << np.int64(bit)

    a, b = edges.T
    crossing = values[a] * values[b] < 0
    t = _roots(surface, level, coords[a[crossing]], coords[b[crossing]], values[a[crossing]])
    movable = ~region.is_pole()
    best: dict[int, tuple[float, np.ndarray]] = {}
    place = _between(surface, coords[a[crossing]], coords[b[crossing]], t)
    for i, j, ti, p, outer in zip(a[crossing], b[crossing], t, place, on_boundary[crossing]):
        for vertex, other, share in ((i, j, ti), (j, i, 1 - ti)):
            fits = (tags[vertex] & ~tags[other]) == 0 and (tags[vertex] == 0 or outer)
            if share < _SNAP and movable[vertex] and fits and share < best.get(vertex, (1.0,))[0]:
                best[vertex] = (share, p)
    vertices = np.array(sorted(best), int)
    places = np.array([best[v][1] for v in vertices.tolist()]).reshape(-1, coords.shape[1])
    unfolded = _without_folds(surface, coords, faces, vertices, places)
    coords[vertices[unfolded]], values[vertices[unfolded]] = places[unfolded], 0.0
    tags[values == 0.0] |= flag

    crossing = values[a] * values[b] < 0
    ca, cb = a[crossing], b[crossing]
    t = _roots(surface, level, coords[ca], coords[cb], values[ca])
    new_coords = _between(surface, coords[ca], coords[cb], t)
    inherited = np.where(on_boundary[crossing], tags[ca] & tags[cb], 0)
    middle = {(min(i, j), max(i, j)): len(coords) + k for k, (i, j) in enumerate(zip(ca, cb))}
    coords = np.vstack([coords, new_coords])
    tags = np.concatenate([tags, inherited | flag])
    values = np.concatenate([values, np.zeros(len(ca))])

    sign = np.sign(values[faces]).astype(int) * keep
    low, high = sign.min(1), sign.max(1)
    kept = [faces[(low >= 0) & (high > 0)]]
    lying = (low == 0) & (high == 0)
    if lying.any():
        # between two legs of a cut a bulging leg may reach over the middle: of places beside the corners that furthest off tells
        shares = [np.tile(np.roll(_BESIDE_CORNER, k), (int(np.count_nonzero(lying)), 1)) for k in range(3)]
        beside = np.array([level(surface.blend(coords[faces[lying]], share)) for share in shares])
        furthest = np.take_along_axis(beside, np.abs(beside).argmax(axis=0)[None], axis=0)[0]
        kept.append(faces[lying][furthest * keep > 0])
    extra = []
    for face, s in zip(faces[(low < 0) & (high > 0)], sign[(low < 0) & (high > 0)]):
        extra.extend(_split(face, s, middle))
    if extra:
        kept.append(np.array(extra))
    faces = np.vstack(kept)
    return compact(Region(surface, coords, faces, tags))


def _without_folds(
    surface: Surface, coords: np.ndarray, faces: np.ndarray, vertices: np.ndarray, places: np.ndarray
) -> np.ndarray:
    """Which (k,) of the vertices (k,) may be moved to their places (k, c) without a triangle that turns over or vanishes:
    the boundary of a region with such a triangle touches itself."""
    kept = np.ones(len(vertices), bool)
    rows = faces[np.isin(faces, vertices).any(axis=1)]
    before = surface.point(coords)
    after, there = before.copy(), surface.point(places)
    whole = _doubled(before[rows])
    while kept.any():
        after[vertices] = np.where(kept[:, None], there, before[vertices])
        left = (whole * _doubled(after[rows])).sum(axis=1) >= _LEAST_LEFT * (whole * whole).sum(axis=1)
        wrong = np.isin(vertices, rows[~left]) & kept
        if not wrong.any():
            break
        kept &= ~wrong
    return kept


def _edges(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unique edges (k, 2) in sorted order and whether each is on the boundary."""
    pairs = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    size = int(faces.max()) + 1
    keys, count = np.unique(pairs[:, 0] * size + pairs[:, 1], return_counts=True)
    return np.column_stack([keys // size, keys % size]), count == 1


def _roots(surface: Surface, level: CoordLevel, a: np.ndarray, b: np.ndarray, value_a: np.ndarray) -> np.ndarray:
    """Where the level is 0 between a and b, as a share, by bisection in steps that regula falsi shortens."""
    low, high = np.zeros(len(a)), np.ones(len(a))
    f_low, f_high = value_a.copy(), level(b) if len(a) else value_a.copy()
    for i in range(60):
        with np.errstate(divide="ignore", invalid="ignore"):
            t = low - f_low * (high - low) / (f_high - f_low)
        bad = ~np.isfinite(t) | (i % 3 == 2)
        t = np.where(bad, (low + high) / 2, t)
        f = level(_between(surface, a, b, t)) if len(a) else t
        same = f * f_low > 0
        low, f_low = np.where(same, t, low), np.where(same, f, f_low)
        high, f_high = np.where(same, high, t), np.where(same, f_high, f)
        if not len(a) or np.max(np.minimum(high - low, np.abs(f))) < 1e-13:
            break
    return np.where(np.abs(f_low) < np.abs(f_high), low, high)


def _split(face, sign, middle) -> list[tuple[int, int, int]]:
    """The triangles of `face` on its positive side."""

    def mid(p, q):
        return middle[(min(p, q), max(p, q))]

    for k in range(3):
        i, j, m = (face[(k + n) % 3] for n in range(3))
        si, sj, sm = (sign[(k + n) % 3] for n in range(3))
        if si > 0 and sj < 0 and sm < 0:
            return [(i, mid(i, j), mid(i, m))]
        if si < 0 and sj > 0 and sm > 0:
            return [(mid(i, j), j, m), (mid(i, j), m, mid(i, m))]
        if si == 0 and sj > 0 and sm < 0:
            return [(i, j, mid(j, m))]
        if si == 0 and sj < 0 and sm > 0:
            return [(i, mid(j, m), m)]
    raise AssertionError("a triangle that is not crossed")


def compact(region: Region) -> Region:
    used, inverse = np.unique(region.faces, return_inverse=True)
    return Region(region.surface, region.coords[used], inverse.reshape(-1, 3), region.tags[used])


def components(region: Region) -> list[Region]:
    """The connected pieces of a region, largest number of triangles first."""
    f = region.faces
    label = connected(f, len(region.coords))[f[:, 0]]
    groups = sorted((f[label == i] for i in np.unique(label)), key=len, reverse=True)
    return [compact(Region(region.surface, region.coords, g, region.tags)) for g in groups]


def boundary_loops(faces: np.ndarray) -> list[np.ndarray]:
    """Vertex loops of the boundary, in the direction of the faces (the region on the left)."""
    directed = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    size = int(faces.max()) + 1
    lonely = ~np.isin(directed[:, 0] * size + directed[:, 1], directed[:, 1] * size + directed[:, 0])
    outgoing: dict[int, list[int]] = {}
    for i, j in directed[lonely].tolist():
        outgoing.setdefault(i, []).append(j)
    if any(len(targets) > 1 for targets in outgoing.values()):
        raise BuildError("a panel touches itself in one point; move a cut a little")
    loops = []
    left = dict(sorted((k, v[0]) for k, v in outgoing.items()))
    while left:
        start = next(iter(left))
        loop = [start]
        here = left.pop(start)
        while here != start:
            loop.append(here)
            here = left.pop(here)
        loops.append(np.array(loop))
    return loops


def unwrap(region: Region) -> Region:
    """The region with coordinates that do not jump from vertex to vertex, as far as its shape allows."""
    surface, coords, pole = region.surface, region.coords.copy(), region.is_pole()
    edges, _ = _edges(region.faces)
    i, j = edges[~pole[edges].any(axis=1)].T
    graph = coo_matrix((np.ones(len(i)), (i, j)), shape=(len(coords), len(coords))).tocsr()
    _, label = connected_components(graph, directed=False)
    for root in np.unique(label[~pole], return_index=True)[1]:
        order, before = breadth_first_order(graph, np.flatnonzero(~pole)[root], directed=False)
        depth = np.zeros(len(coords), int)
        for vertex in order[1:]:
            depth[vertex] = depth[before[vertex]] + 1
        for ring in np.split(order[1:], np.flatnonzero(np.diff(depth[order[1:]])) + 1):
            coords[ring] = surface.near(coords[ring], coords[before[ring]])
    return Region(surface, coords, region.faces, region.tags)


def turning(space: np.ndarray, faces: np.ndarray, loop: np.ndarray) -> float:
    """By how much a boundary loop turns within the surface, in radians: about 2 pi around a flat sheet,
    -2 pi around a hole in it, 0 around the end of a tube (the total geodesic curvature)."""
    inside = np.zeros(len(space))
    for k in range(3):
        here, ahead, behind = (space[faces[:, (k + n) % 3]] for n in range(3))
        a, b = ahead - here, behind - here
        cosine = (a * b).sum(1) / np.maximum(np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1), 1e-300)
        np.add.at(inside, faces[:, k], np.arccos(np.clip(cosine, -1.0, 1.0)))
    return float((np.pi - inside[loop]).sum())
