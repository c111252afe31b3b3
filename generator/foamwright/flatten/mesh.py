"""Fine triangle meshes of panels, laid out in the panel's rough map and lifted exactly onto its surface."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from scipy.spatial import Delaunay
from shapely.geometry import LineString, Polygon

from foamwright.errors import BuildError
from foamwright.forms.parametric import Frustum
from foamwright.forms.surface import Surface
from foamwright.geometry import Mesh, arc_length, arc_lengths, unfolded_lengths
from foamwright.parts.records import PanelBody, PanelEdge

_CLEAR = 0.62  # of the spacing: how far interior points keep from the boundary and from darts
_RECOVERY_ROUNDS = 8
_TIGHT = np.radians(30.0)  # between two vertices on an edge: where it turns more they stand closer together
_OVER_CREASES = 24  # parts of a side of a triangle by which its length is measured where it may run over a crease
_MOST_BOWED = 1.2  # an edge from vertex to vertex, over the shortest line: a corner between them is no bow


@dataclass(frozen=True, eq=False)
class DartLine:
    """The line along which a panel is slit before it is laid flat: `line` (K, 2) in the chart, edge to tip."""

    edge: str
    share: float  # where along the edge, 0 to 1
    line: np.ndarray


@dataclass(frozen=True, eq=False)
class DartLegs:
    """Vertices of both sides of a slit from the edge to the tip (which both share)."""

    edge: str
    share: float
    first: np.ndarray  # the leg met first along the edge
    second: np.ndarray


@dataclass(frozen=True, eq=False)
class PanelMesh:
    """`surface` is the neutral surface with unit `normals` (n, 3) at its points; `chart` (n, 2) are their places in the
    panel's rough map. `lengths` (m, 3) are those within the surface of the sides of its triangles, column i opposite
    corner i.

    `chains` holds for each edge of the body its stretches of vertices (one more than it has darts) and
    `shares` where they stand along the edge, 0 to 1 of its length in space.
    """

    surface: Mesh
    normals: np.ndarray
    chart: np.ndarray
    lengths: np.ndarray
    chains: tuple[tuple[np.ndarray, ...], ...]
    shares: tuple[tuple[np.ndarray, ...], ...]
    darts: tuple[DartLegs, ...]
    tight: tuple[bool, ...]  # of each edge, whether its vertices stand closer together where it turns
    bows: tuple[tuple[np.ndarray, ...], ...]  # of each stretch, how many times longer it is than straight on, (K - 1,)


class PanelMesher:
    """Made once for a panel; makes meshes of it at any spacing, with any darts."""

    def __init__(self, body: PanelBody, offset: float):
        self.body, self.offset = body, offset
        self._edges = [_EdgeCurve(body, edge, offset) for edge in body.edges]
        self.edge_lengths = {e.id: c.length for e, c in zip(body.edges, self._edges)}
        triangles = body.chart.flat[body.chart.faces]
        self._tree = shapely.STRtree(shapely.polygons(triangles))
        self._triangles = triangles
        loops = _loops(body.edges)
        self.shape = Polygon(
            np.vstack([body.edges[i].chart[:-1] for i in loops[0]]),
            [np.vstack([body.edges[i].chart[:-1] for i in loop]) for loop in loops[1:]],
        )
        if not self.shape.is_valid:
            raise BuildError(self._overlapping(loops))

    def _overlapping(self, loops: list[list[int]]) -> str:
        """Why the rough map overlaps itself, and what to do. What curves both ways is squeezed somewhere when it lies flat, and a
        narrow opening closes there first."""
        for loop, ring in zip(loops[1:], self.shape.interiors):
            if not ring.is_simple:
                named = ", ".join(dict.fromkeys(self.body.edges[i].id for i in loop))
                return f"the opening at {named} is so narrow that its sides cross when it is laid flat; make it wider"
        return "it overlaps itself when it is laid flat; divide it with another cut"

    def edge(self, edge_id: str) -> PanelEdge:
        return next(e for e in self.body.edges if e.id == edge_id)

    def at_edge(self, edge_id: str, share: float) -> tuple[np.ndarray, np.ndarray]:
        """Chart position and inward direction (unit) at a share of an edge."""
        index = [e.id for e in self.body.edges].index(edge_id)
        curve = self._edges[index]
        a, b = curve.chart(np.array([max(share - 0.01, 0), min(share + 0.01, 1)]))
        along = (b - a) / np.linalg.norm(b - a)
        return curve.chart(np.array([share]))[0], np.array([-along[1], along[0]])

    def nearest_edge(self, point: np.ndarray) -> tuple[str, float]:
        """The outer edge nearest to a chart position, and the share of it."""
        best = (np.inf, "", 0.0)
        for edge, curve in zip(self.body.edges, self._edges):
            if edge.loop == 0:
                shares = curve.shares(curve.length / 400)
                distance = np.linalg.norm(curve.chart(shares) - point, axis=1)
                i = int(np.argmin(distance))
                best = min(best, (float(distance[i]), edge.id, float(shares[i])))
        return best[1], best[2]

    def lift(self, chart: np.ndarray) -> np.ndarray:
        """Chart positions (N, 2) to surface coordinates (N, k)."""
        body = self.body
        points = shapely.points(chart)
        point, triangle = self._tree.query(points, predicate="intersects")
        which = -np.ones(len(chart), int)
        which[point[::-1]] = triangle[::-1]
        lost = np.flatnonzero(which < 0)
        if len(lost):  # beside a curved edge of the rough map: the nearest triangle goes on a little
            which[lost] = self._tree.nearest(points[lost])
        corners = self._triangles[which]
        bary = _barycentric(corners, chart)
        return body.surface.blend(body.chart.coords[body.chart.faces[which]], bary)

    def lifted(self, chart: np.ndarray) -> np.ndarray:
        """Chart positions (N, 2) to points in space (N, 3) on the neutral surface."""
        return self.body.surface.offset(self.lift(chart), self.offset)

    def _shortest(self, coords: np.ndarray, points: np.ndarray, normals: np.ndarray) -> np.ndarray:
        """Lengths (...) in the neutral surface of the lines between two places each, (..., 2, k) by their coordinates and
        (..., 2, 3) in space with the normals there. Where the surface has creases, a chord over one would fall short;
        beside the tip of a cone a triangle reaches so far around it that only the cone laid flat tells them."""
        surface = self.body.surface
        if isinstance(surface, Frustum):
            return surface.lengths(coords[..., 0, :], coords[..., 1, :], self.offset)
        if not surface.creases():
            return arc_lengths(points[..., 0, :], points[..., 1, :], normals[..., 0, :], normals[..., 1, :])
        share = np.tile(np.linspace(0.0, 1.0, _OVER_CREASES + 1), coords[..., 0, 0].size)
        ends = np.repeat(coords.reshape(-1, 2, coords.shape[-1]), _OVER_CREASES + 1, axis=0)
        between = surface.blend(ends, np.column_stack([1 - share, share]))
        return _unfolded(surface, between.reshape(*coords.shape[:-2], _OVER_CREASES + 1, -1), self.offset)

    def mesh(self, spacing: float, darts: tuple[DartLine, ...] = ()) -> PanelMesh:
        """A mesh of about equilateral triangles of side `spacing` mm, slit along the darts."""
        shares = [curve.shares(spacing) for curve in self._edges]
        for dart in darts:
            index = [e.id for e in self.body.edges].index(dart.edge)
            shares[index] = _with(shares[index], dart.share)
        lines = [_spaced(dart.line, spacing) for dart in darts]
        for _ in range(_RECOVERY_ROUNDS):
            built = self._triangulate(spacing, shares, darts, lines)
            if not isinstance(built, tuple):
                return self._slit(built, darts)
            shares, lines = built
        raise BuildError("it is too narrow somewhere for the mesh to follow its edges; widen it")

    def _triangulate(self, spacing, shares, darts, lines):
        """A `_Flat` mesh, or finer (shares, lines) where an edge did not come out as sides of triangles."""
        edges = self.body.edges
        loops = _loops(edges)
        chart, coords, segments, chains = [], [], [], [None] * len(edges)
        count = 0
        for loop in loops:
            first = count
            for position, i in enumerate(loop):
                s = shares[i][:-1]
                chart.append(self._edges[i].chart(s))
                coords.append(self._edges[i].coords(s))
                last = position == len(loop) - 1
                index = np.arange(count, count + len(s) + 1)
                if last:
                    index[-1] = first
                chains[i] = index
                segments += [(int(a), int(b), i, k) for k, (a, b) in enumerate(itertools.pairwise(index))]
                count += len(s)
        ring = np.vstack(chart)
        shape = Polygon(
            ring[np.concatenate([chains[i][:-1] for i in loops[0]])],
            [ring[np.concatenate([chains[i][:-1] for i in loop])] for loop in loops[1:]],
        )
        dart_chains = []
        for number, (dart, line) in enumerate(zip(darts, lines)):
            i = [e.id for e in edges].index(dart.edge)
            base = chains[i][int(np.argmin(np.abs(shares[i] - dart.share)))]
            inner = line[1:]
            chart.append(inner)
            coords.append(self.lift(inner))
            index = np.concatenate([[base], np.arange(count, count + len(inner))])
            count += len(inner)
            dart_chains.append(index)
            segments += [(int(a), int(b), -1 - number, k) for k, (a, b) in enumerate(itertools.pairwise(index))]
        inside = _lattice(shape, spacing, [LineString(line) for line in lines])
        chart.append(inside)
        coords.append(self.lift(inside))
        chart, coords = np.vstack(chart), np.vstack(coords)
        faces = Delaunay(chart, qhull_options="Qbb Qc Qz Q12").simplices
        a, b, c = (chart[faces[:, k]] for k in range(3))
        area = _cross(b - a, c - a)
        faces = np.where((area < 0)[:, None], faces[:, ::-1], faces)
        faces = faces[np.abs(area) > 1e-9 * spacing**2]
        faces = faces[shapely.contains_xy(shape, *chart[faces].mean(1).T)]
        sides = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        wanted = np.sort(np.array([s[:2] for s in segments], np.int64), axis=1)
        there = np.isin(wanted @ [len(chart), 1], sides.astype(np.int64) @ [len(chart), 1])
        missing = [s for s, is_there in zip(segments, there) if not is_there]
        if not missing:
            return _Flat(chart, coords, faces, chains, shares, dart_chains)
        shares, lines = [s.copy() for s in shares], [line.copy() for line in lines]
        for owner in {s[2] for s in missing}:
            at = sorted(s[3] for s in missing if s[2] == owner)
            if owner >= 0:
                s = shares[owner]
                shares[owner] = np.sort(np.concatenate([s, [(s[k] + s[k + 1]) / 2 for k in at]]))
            else:
                line = lines[-1 - owner]
                extra = [(line[k] + line[k + 1]) / 2 for k in at]
                lines[-1 - owner] = np.insert(line, [k + 1 for k in at], extra, axis=0)
        return shares, lines

    def _slit(self, flat: _Flat, darts) -> PanelMesh:
        faces = flat.faces.copy()
        doubled = list(flat.coords)
        charts: list[np.ndarray] = []
        chains = [[chain] for chain in flat.chains]
        shares = [[s] for s in flat.shares]
        legs = []
        for dart, line in zip(darts, flat.dart_chains):
            twin = _slit_along(faces, line, len(doubled))
            charts.append(flat.chart[line[:-1]])
            doubled.extend(flat.coords[v] for v in line[:-1])
            first = np.array([twin[v] for v in line[:-1]] + [line[-1]])
            i = [e.id for e in self.body.edges].index(dart.edge)
            for k, chain in enumerate(chains[i]):
                at = np.flatnonzero(chain == line[0])
                if len(at):
                    p = int(at[0])
                    before, after = chain[: p + 1].copy(), chain[p:]
                    before[-1] = first[0]
                    s = shares[i][k]
                    chains[i][k : k + 1] = [before, after]
                    shares[i][k : k + 1] = [s[: p + 1], s[p:]]
                    break
            legs.append(DartLegs(dart.edge, dart.share, first, line))
        coords = np.array(doubled)
        surface = self.body.surface
        points, normals = surface.offset(coords, self.offset), surface.normal(coords)
        chart = np.vstack([flat.chart, *charts])

        def shortest(ends: np.ndarray) -> np.ndarray:
            return self._shortest(coords[ends], points[ends], normals[ends])

        tight = tuple(curve.tight(at) for curve, at in zip(self._edges, flat.shares))
        return PanelMesh(
            Mesh(points, faces),
            normals,
            chart,
            shortest(faces[:, [[1, 2], [2, 0], [0, 1]]]),
            tuple(tuple(c) for c in chains),
            tuple(tuple(s) for s in shares),
            tuple(legs),
            tight,
            tuple(
                tuple(
                    curve.bow(shortest(np.column_stack([chain[:-1], chain[1:]])), share, straight)
                    for chain, share in zip(*stretches)
                )
                for curve, straight, stretches in zip(self._edges, tight, zip(chains, shares))
            ),
        )


@dataclass(frozen=True, eq=False)
class _Flat:
    chart: np.ndarray
    coords: np.ndarray
    faces: np.ndarray
    chains: list
    shares: list
    dart_chains: list


class _EdgeCurve:
    """An edge by its share of length in space."""

    def __init__(self, body: PanelBody, edge: PanelEdge, offset: float):
        s = arc_length(edge.points)
        self.length = float(s[-1])
        self._at = s / s[-1]
        self._over_creases = bool(body.surface.creases())
        self._reached = _reached(body.surface, edge.coords, offset) if self._over_creases else s
        self._coords = CubicSpline(self._at, edge.coords) if len(edge.coords) > 3 else None
        self._edge = edge
        self._chart = edge.chart
        self._turned = _turned(edge.points, body.surface.normal(edge.coords))

    def coords(self, shares: np.ndarray) -> np.ndarray:
        if self._coords is not None:
            return self._coords(shares)
        return np.column_stack([np.interp(shares, self._at, c) for c in self._edge.coords.T])

    def chart(self, shares: np.ndarray) -> np.ndarray:
        return np.column_stack([np.interp(shares, self._at, c) for c in self._chart.T])

    def shares(self, spacing: float) -> np.ndarray:
        """Shares at about `spacing` mm, closer together where the edge turns more than a mesh so wide could follow."""
        closed = np.linalg.norm(self._edge.points[0] - self._edge.points[-1]) < 1e-9
        count = max(8 if closed else 1, int(np.ceil(self.length / spacing)))
        even = np.linspace(0, 1, count + 1)
        turns = np.diff(np.interp(even, self._at, self._turned))
        if turns.max() < _TIGHT:
            return even
        parts = np.maximum(1, np.ceil(turns / (_TIGHT / 3))).astype(int)
        return np.concatenate([*(np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(even, even[1:], parts)), [1.0]])

    def bow(self, shortest: np.ndarray, shares: np.ndarray, straight: bool) -> np.ndarray:
        """How many times longer the edge is between its `shares` (N,) than the `shortest` line in the surface, (N - 1,);
        1 where it is taken as `straight` between them."""
        if straight:
            return np.ones(len(shortest))
        # a vertex hard by a crease may be told on one side of it or on the other, which evens out from stretch to stretch
        least = 1 / _MOST_BOWED if self._over_creases else 1.0
        return np.clip(np.diff(np.interp(shares, self._at, self._reached)) / shortest, least, _MOST_BOWED)

    def tight(self, shares: np.ndarray) -> bool:
        """Does the edge turn so much that its shares stand closer together somewhere?"""
        steps = np.diff(shares)
        return bool(np.interp(shares, self._at, self._turned)[-1] > _TIGHT and steps.max() > 1.9 * steps.min())


def _unfolded(surface: Surface, coords: np.ndarray, offset: float) -> np.ndarray:
    """(...) how long lines from place to place (..., K, k) close together on a surface with creases are when what lies at
    the offset from it is laid flat."""
    flat, shape = coords.reshape(-1, coords.shape[-1]), coords.shape[:-1]
    points, normals, sheet = surface.unbent(flat)
    over = np.diff(sheet.reshape(shape), axis=-1) != 0
    points, normals, leaning = (v.reshape(*shape, 3) for v in (points, normals, surface.normal(flat)))
    return unfolded_lengths(points, normals, over, leaning, offset)


def _reached(surface: Surface, coords: np.ndarray, offset: float) -> np.ndarray:
    """(N,) how far along a line (N, k) on a surface with creases each of its points is, when it is laid flat."""
    steps = _unfolded(surface, np.stack([coords[:-1], coords[1:]], axis=1), offset)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _turned(points: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """(N,) radians by which a line has turned within its surface, either way, up to each of its points."""
    chords = np.diff(points, axis=0)
    before, after, normal = chords[:-1], chords[1:], normals[1:-1]
    flat = [c - (c * normal).sum(1)[:, None] * normal for c in (before, after)]
    cosine = (flat[0] * flat[1]).sum(1) / np.maximum(
        np.linalg.norm(flat[0], axis=1) * np.linalg.norm(flat[1], axis=1), 1e-300
    )
    turned = np.cumsum(np.arccos(np.clip(cosine, -1.0, 1.0)))
    return np.concatenate([[0.0], turned, turned[-1:]])


def _loops(edges: tuple[PanelEdge, ...]) -> list[list[int]]:
    loops: dict[int, list[int]] = {}
    for i, edge in enumerate(edges):
        loops.setdefault(edge.loop, []).append(i)
    return [loops[k] for k in sorted(loops)]


def _with(shares: np.ndarray, share: float) -> np.ndarray:
    """Move the nearest inner share to `share`, so that a dart begins at a vertex; neighbours stay even."""
    shares = shares.copy()
    inner = shares[1:-1]
    if len(inner):
        k = 1 + int(np.argmin(np.abs(inner - share)))
        if abs(shares[k] - share) < 0.51 * (shares[1] - shares[0]):
            shares[k] = share
            return shares
    return np.sort(np.append(shares, share))


def _spaced(line: np.ndarray, spacing: float) -> np.ndarray:
    s = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    count = max(2, int(np.ceil(s[-1] / spacing)))
    at = np.linspace(0, s[-1], count + 1)
    return np.column_stack([np.interp(at, s, c) for c in line.T])


def _lattice(shape: Polygon, spacing: float, lines) -> np.ndarray:
    """Points of a triangular lattice inside the shape, clear of its edge and of the dart lines."""
    x0, y0, x1, y1 = shape.bounds
    rows = np.arange(y0 + spacing / 2, y1, spacing * np.sqrt(3) / 2)
    points = np.vstack(
        [
            np.column_stack([x, np.full(len(x), y)])
            for i, y in enumerate(rows)
            for x in [np.arange(x0 + (i % 2) * spacing / 2, x1, spacing)]
        ]
        or [np.zeros((0, 2))]
    )
    inside = shape.buffer(-_CLEAR * spacing)
    for line in lines:
        inside = inside.difference(line.buffer(_CLEAR * spacing))
    shapely.prepare(inside)
    return points[shapely.contains_xy(inside, points[:, 0], points[:, 1])]


def _barycentric(corners: np.ndarray, points: np.ndarray) -> np.ndarray:
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    area = _cross(b - a, c - a)
    u = _cross(b - points, c - points) / area
    v = _cross(c - points, a - points) / area
    return np.column_stack([u, v, 1 - u - v])


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Twice the signed area (N,) between vectors (N, 2)."""
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _slit_along(faces: np.ndarray, line: np.ndarray, next_index: int) -> dict[int, int]:
    """Open the mesh along a line of vertices; the faces on its left get new vertices. Changes `faces`."""
    slit = {(int(min(p)), int(max(p))) for p in itertools.pairwise(line)}
    twin = {int(v): next_index + k for k, v in enumerate(line[:-1])}
    changes = []
    for k, v in enumerate(line[:-1]):
        around = np.flatnonzero((faces == v).any(1))
        ahead = int(line[k + 1])
        start = next(f for f in around if _has_side(faces[f], int(v), ahead))
        seen, stack = {int(start)}, [int(start)]
        while stack:
            f = stack.pop()
            for w in faces[f]:
                w = int(w)
                if w == v or (min(v, w), max(v, w)) in slit:
                    continue
                for g in around:
                    if int(g) not in seen and w in faces[g]:
                        seen.add(int(g))
                        stack.append(int(g))
        changes += [(f, int(v)) for f in seen]
    for f, v in changes:
        faces[f][faces[f] == v] = twin[v]
    return twin


def _has_side(face: np.ndarray, a: int, b: int) -> bool:
    return any(face[k] == a and face[(k + 1) % 3] == b for k in range(3))
