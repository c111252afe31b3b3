"""What was built, held against the model: laid on it by the best motion, then measured face by face. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType

import igl
import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment
from scipy.spatial import Delaunay

from foamwright.contacts.records import Solid
from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Edge, Part, corners, nearest, ring_area
from foamwright.proof.bench.footings import is_bar
from foamwright.proof.bench.pieces import Placed, Sheet
from foamwright.proof.bench.records import Measured
from foamwright.proof.bench.rigid import Lines, Motion, all_round, best_motion, frame_of, lengths

_ROUND = 16  # points round a bar
_SPACING = 12.0  # between measured points of flat parts
_FEW, _ROUNDS = 6, 25
_TURNS, _KEPT = 24, 4
_SOME = 16  # points of a face that tell these turns from each other
_HINT = 0.02  # of the way that middles of faces are astray, in comparing turns
_ON_A_LINE = 0.1  # of how far they are spread along it: what lies nearer to it is a poor lever
_OFF_FOAM = 0.5  # mm
_SAME_FOAM = 0.05  # mm between lines that a knife cuts alike
_SIDES = ("inside", "outside")


@dataclass(frozen=True, eq=False)
class Surface:
    """Points (n, 3) and triangles (m, 3) of a face of the model."""

    points: np.ndarray
    triangles: np.ndarray

    @staticmethod
    def of(meshes: Sequence[tuple[np.ndarray, np.ndarray]]) -> Surface:
        starts = np.cumsum([0, *(len(points) for points, _ in meshes[:-1])])
        return Surface(
            np.ascontiguousarray(np.vstack([points for points, _ in meshes])),
            np.ascontiguousarray(np.vstack([t + k for (_, t), k in zip(meshes, starts)]).astype(np.int64)),
        )

    @cached_property
    def _tree(self) -> igl.AABB:
        tree = igl.AABB()
        tree.init(self.points, self.triangles)
        return tree

    @cached_property
    def middle(self) -> np.ndarray:
        """Of the area (3,)."""
        return _middle(self.points, self.triangles)

    @cached_property
    def area(self) -> float:
        """mm2"""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2

    @cached_property
    def bound(self) -> Lines:
        """The lines at which it ends."""
        points, number = np.unique(np.round(self.points, 4), axis=0, return_inverse=True)
        sides = number.reshape(-1)[self.triangles][:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
        key = np.sort(sides, axis=1)
        _, first, times = np.unique(key, axis=0, return_index=True, return_counts=True)
        lone = points[sides[first[times == 1]]]
        return Lines.between(lone[:, 0], lone[:, 1])

    def nearest(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Distances (n,) of points to it, and its nearest points (n, 3)."""
        square, _, near = self._found(points)
        return np.sqrt(np.maximum(square, 0.0)), near

    def feet(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Its nearest points (n, 3), and its unit normals there (n, 3)."""
        _, which, near = self._found(points)
        a, b, c = (self.points[self.triangles[which, k]] for k in range(3))
        normals = np.cross(b - a, c - a)
        return near, normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)

    def _found(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        found = self._tree.squared_distance(self.points, self.triangles, np.ascontiguousarray(points))[:3]
        return np.asarray(found[0]), np.asarray(found[1]).ravel(), np.asarray(found[2]).reshape(-1, 3)


@dataclass(frozen=True, eq=False)
class Model:
    """Faces of copies in their place, by name: points (n, 3) and triangles (m, 3)."""

    faces: Mapping[tuple[Copy, str], Surface]
    reflected: Mapping[Copy, bool]  # the copies that are mirror images of the part as it is modelled
    sharing: frozenset[Copy] = frozenset()  # the copies that share space with others

    @staticmethod
    def of(solids: Sequence[Solid], sharing: Iterable[tuple[str, int]] = ()) -> Model:
        pieces: dict[tuple[Copy, str], list[tuple[np.ndarray, np.ndarray]]] = {}
        for solid in solids:
            for face in solid.faces:
                points = face.points @ solid.matrix[:3, :3].T + solid.matrix[:3, 3]
                pieces.setdefault((Copy(solid.part, solid.number), face.id), []).append((points, face.triangles))
        reflected = {Copy(s.part, s.number): bool(np.linalg.det(s.matrix[:3, :3]) < 0.0) for s in solids}
        faces = {key: Surface.of(meshes) for key, meshes in pieces.items()}
        return Model(faces, reflected, frozenset(Copy(*copy) for copy in sharing))

    @property
    def size(self) -> float:
        """The longest side of the box that holds everything."""
        points = np.vstack([face.points for face in self.faces.values()])
        return float(np.ptp(points, axis=0).max())


def registered(placed: Mapping[Copy, Placed], model: Model, by: Sequence[Copy]) -> Motion:
    """The motion that lays what was built on the model, by the copies `by`: from the middles of their faces and edges,
    then by nearest points."""
    rows = [
        (points, model.faces[copy, name])
        for copy in by
        for name, points in [*_faces(placed[copy]), *_telling_edges(placed[copy])]
        if (copy, name) in model.faces
    ]
    starts = _starts(placed, model, by, rows)
    if len(starts) > 1:  # what is alike all round fits several ways, and what stands on it tells which
        points, onto = _middles(placed, model, list(placed))

        def astray(end: tuple[Motion, float]) -> float:
            return end[1] + _HINT * float(np.linalg.norm(end[0](points) - onto, axis=1).mean())

        some = [(points[:: max(1, len(points) // _SOME)], face) for points, face in rows]
        begun = sorted((_settled(start, some, 1) for start in starts), key=astray)[:_KEPT]
        starts = [min((_settled(start, rows, _FEW) for start, _ in begun), key=astray)[0]]
    return _settled(starts[0], rows, _ROUNDS)[0]


def _middles(placed: Mapping[Copy, Placed], model: Model, by: Sequence[Copy]) -> tuple[np.ndarray, np.ndarray]:
    """Of faces and edges (n, 3), and of the same ones of the model."""
    pairs = [
        (points.mean(axis=0), model.faces[copy, name].middle)
        for copy in by
        for name, points in _named(placed[copy])
        if (copy, name) in model.faces
    ]
    return np.array([p for p, _ in pairs]), np.array([g for _, g in pairs])


def _starts(
    placed: Mapping[Copy, Placed], model: Model, by: Sequence[Copy], rows: Sequence[tuple[np.ndarray, Surface]]
) -> list[Motion]:
    """By the middles of faces and edges; and where these lie on a line, so that they do not tell how it is turned about
    that, turned all round."""
    points, onto = _middles(placed, model, by)
    if all(placed[copy].part.bent and turned_end_for_end(placed[copy].part) for copy in by):  # one middle tells no axis
        there = _axis([(face.points, face.triangles) for _, face in rows])
        built = _axis([(placed[copy].points, placed[copy].sheet.triangles) for copy in by])
        starts = []
        for axis in (built, -built):
            turn = frame_of(there).T @ frame_of(axis)
            first = Motion(turn, onto.mean(axis=0) - turn @ points.mean(axis=0))
            starts += all_round(there, onto.mean(axis=0), first, _TURNS)
        return starts
    first = best_motion(points, onto)
    spread = np.linalg.svd(onto - onto.mean(axis=0), full_matrices=False)
    if spread[1][1] > _ON_A_LINE * spread[1][0]:
        return [first]
    return all_round(spread[2][0], onto.mean(axis=0), first, _TURNS)


def _axis(meshes: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
    """(3,) about which the area of points (n, 3) with triangles (m, 3) lies most evenly: the way along which it is spread most
    unlike the other two."""
    corners = np.vstack([points[triangles] for points, triangles in meshes])
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.sqrt((cross * cross).sum(axis=1))
    every = np.concatenate([corners, corners.sum(axis=1, keepdims=True)], axis=1)  # whose squares are the second moment
    every = every - np.array([1.0, 1.0, 1.0, 3.0])[:, None] * (area @ corners.mean(axis=1)) / area.sum()
    spread, ways = np.linalg.eigh(np.einsum("m,mki,mkj->ij", area, every, every))
    low, middle, high = np.sqrt(spread)
    axis: np.ndarray = ways[:, 2 if high - middle > middle - low else 0]
    return axis


def _settled(motion: Motion, rows: Sequence[tuple[np.ndarray, Surface]], rounds: int) -> tuple[Motion, float]:
    """By nearest points, and how far they are in the end on average."""
    points = np.vstack([p for p, _ in rows])
    last = np.inf
    for _ in range(rounds):
        near = np.vstack([face.nearest(motion(p))[1] for p, face in rows])
        motion = best_motion(points, near)
        off = float(lengths(motion(points) - near).mean())
        if last - off < 1e-4:
            break
        last = off
    return motion, off


def measured(placed: Mapping[Copy, Placed], motion: Motion, model: Model) -> list[Measured]:
    """Every copy against its own faces in the model, or those of another that is cut and marked alike: which of the two
    is which, no maker can tell."""
    rows = []
    stands = _told_apart(placed, motion, model)
    for copy, piece in placed.items():
        faces = _faces(piece)
        here = [(motion(points), model.faces.get((stands[copy], name))) for name, points in faces]
        if not here or any(face is None for _, face in here):
            continue
        away = [face.nearest(points)[0] for points, face in here if face is not None]
        if turns_over(piece.part):
            other = [face.nearest(points)[0] for (points, _), (_, face) in zip(here, here[::-1]) if face is not None]
            away = min(away, other, key=lambda a: float(np.concatenate(a).mean()))
        points = np.vstack([points for points, _ in here])
        if is_bar(piece.part):
            triangles = _over_bar(len(points))
        else:
            triangles = piece.sheet.triangles if piece.part.bent else _over(piece.part)
        edges = _either_way_round({stands[copy]: piece.moved(motion)}, model) if piece.part.bent else np.zeros(0)
        rows.append(Measured(*copy, stands[copy].number, points, np.concatenate(away), triangles, edges))
    return rows


def edges_away(
    placed: Mapping[Copy, Placed], model: Model, named: Mapping[str, str] = MappingProxyType({})
) -> np.ndarray:
    """(K,) how far points along the edges of copies are from those edges of the model, half way through the foam; from those
    that they are `named` instead."""
    away = [
        model.faces[copy, own].nearest(points)[0]
        for copy, piece in placed.items()
        for name, points in _edges(piece)
        if (copy, own := named.get(name, name)) in model.faces
    ]
    return np.concatenate([np.zeros(0), *away])


def _either_way_round(placed: Mapping[Copy, Placed], model: Model) -> np.ndarray:
    """The same of one copy, also where its other end is up, if that is the same foam."""
    found = edges_away(placed, model)
    (piece,) = placed.values()
    named = turned_end_for_end(piece.part)
    return min(found, edges_away(placed, model, named), key=lambda away: float(away.sum())) if named else found


@lru_cache(maxsize=512)
def turned_end_for_end(part: Part) -> Mapping[str, str]:
    """For each edge of a part that one which is in its place when the paper is turned half round, if it is the same foam then
    with the same lines on it, as a strip that goes round something is. Else nothing."""
    if part.darts or part.segments or any(edge.ticks or len(edge.stretches) > 1 for edge in part.edges):
        return {}
    middle = np.ptp(part.rings[0], axis=0) / 2 + part.rings[0].min(axis=0)
    for lines in (part.rings, part.other_rings, *(mark.lines for mark in part.marks)):
        turned = 2 * middle - np.vstack([*lines, np.zeros((0, 2))])
        if len(turned) and np.linalg.norm(nearest(turned, lines) - turned, axis=1).max() > _SAME_FOAM:
            return {}
    named = {}
    for edge in part.edges:
        ends = 2 * middle - edge.stretches[0][[0, -1]]
        own = [e.id for e in part.edges if np.abs(e.stretches[0][[0, -1]] - ends).max() < _SAME_FOAM]
        if len(own) != 1:
            return {}
        named[edge.id] = own[0]
    return named


def _told_apart(placed: Mapping[Copy, Placed], motion: Motion, model: Model) -> dict[Copy, Copy]:
    """For which copy of the model each stands: of those that are alike the nearest, each for one."""
    alike: dict[tuple[object, ...], list[Copy]] = {}
    for copy, piece in placed.items():
        marked = tuple(any(lower == copy.number for lower, _ in mark.of) for mark in piece.part.marks)
        alike.setdefault((copy.part, piece.mirrored, marked), []).append(copy)
    stands = {copy: copy for copy in placed}
    for copies in alike.values():
        sides = ("outside",) if is_bar(placed[copies[0]].part) else _SIDES
        if len(copies) > 1 and all((copy, name) in model.faces for copy in copies for name in sides):
            named = [dict(_named(placed[copy])) for copy in copies]
            built = np.array([[motion(own[name]).mean(axis=0) for name in sides] for own in named])
            there = np.array([[model.faces[copy, name].middle for name in sides] for copy in copies])
            away = np.linalg.norm(built[:, None] - there[None], axis=3).sum(axis=2)
            stands |= {copies[i]: copies[j] for i, j in zip(*linear_sum_assignment(np.round(away, 2)))}
    return stands


def _over(part: Part) -> np.ndarray:
    """Triangles over the measured points of a flat part's inside face."""
    rings = [_thinned(ring) for ring in part.face_rings(True)]
    points = np.vstack(rings)
    shape = shapely.Polygon(rings[0], rings[1:]).buffer(0.01)
    triangles = Delaunay(points, qhull_options="QJ").simplices
    return triangles[shapely.contains_xy(shape, *points[triangles].mean(axis=1).T)]


def turns_over(part: Part) -> bool:
    """Is the foam the same whichever face is up? So is a part that is cut square and has nothing drawn on it. A bar is the
    same from either end."""
    square = all(max(map(abs, edge.bevel)) < 1e-3 for edge in part.edges)
    return not part.bent and square and not part.marks


def _faces(piece: Placed) -> list[tuple[str, np.ndarray]]:
    """Points over both faces, of bent foam where its triangles meet; of a bar over its ends and between them."""
    part = piece.part
    if is_bar(part):
        return _bar(piece)
    named = []
    for name in _SIDES:
        depth = part.depth(name == "inside")
        if part.bent:
            flat = on_face(part, piece.sheet, name == "inside")
        else:
            flat = np.vstack([_thinned(ring) for ring in part.face_rings(name == "inside")])
        named.append((name, piece.place(flat, np.full(len(flat), depth))))
    return named


@lru_cache(maxsize=512)
def on_face(part: Part, sheet: Sheet, inside: bool) -> np.ndarray:
    """The points (n, 2) of a bent part's sheet, those on the line of its face that lie off this: a bevel takes one face far
    back from where the surface that keeps its lengths ends."""
    rings = part.face_rings(inside)
    face = shapely.Polygon(rings[0], rings[1:])
    face = face if face.is_valid else face.buffer(0.0)
    shapely.prepare(face)
    off = ~shapely.contains_xy(face, *sheet.flat.T)
    points = sheet.flat.copy()
    points[off] = nearest(points[off], rings)
    return points


def _ends(part: Part) -> list[np.ndarray]:
    """The middles (2,) of both ends of a bar on its paper; none if it has no such edges."""
    ends = [edge for name in ("start", "end") if (edge := part.edge(name)) is not None]
    return [np.vstack(edge.stretches).mean(axis=0) for edge in ends] if len(ends) == 2 else []


def axis_of(bar: Placed) -> np.ndarray:
    """(2, 3) the middles of its ends."""
    return bar.place(np.array(_ends(bar.part)), np.full(2, bar.part.thickness / 2))


def _bar(piece: Placed) -> list[tuple[str, np.ndarray]]:
    """Its two ends, and its round face between these in the order of them, by rings of points."""
    part, radius = piece.part, piece.part.thickness / 2
    ends = _ends(part)
    if not ends:
        return []
    first, last = ends
    way = (last - first) / max(float(np.linalg.norm(last - first)), 1e-9)
    across, angle = np.array([-way[1], way[0]]), np.linspace(0.0, 2 * np.pi, _ROUND, endpoint=False)

    def ring(at: np.ndarray, share: float) -> np.ndarray:
        flat = at + share * radius * np.outer(np.cos(angle), across)
        return piece.place(flat, radius * (1.0 + share * np.sin(angle)))

    rings = max(3, int(float(np.linalg.norm(last - first)) / _SPACING) + 1)
    between = np.vstack([ring(first + k * (last - first), 1.0) for k in np.linspace(0.0, 1.0, rings)])
    return [("start", ring(first, 0.7)), ("outside", between), ("end", ring(last, 0.7))]


def _over_bar(points: int) -> np.ndarray:
    """Triangles over the points of a bar's round face, which come after those of one end."""
    at = np.arange(_ROUND)
    following = np.roll(at, -1)
    one = np.vstack(
        [np.column_stack([at, following, at + _ROUND]), np.column_stack([following, following + _ROUND, at + _ROUND])]
    )
    return np.vstack([one + _ROUND * k for k in range(1, points // _ROUND - 2)])


def _telling_edges(piece: Placed) -> list[tuple[str, np.ndarray]]:
    """Those that tell where it lies: of a strip that is the same foam the other end up none do."""
    return [] if piece.part.bent and turned_end_for_end(piece.part) else _edges(piece)


def _edges(piece: Placed) -> list[tuple[str, np.ndarray]]:
    part = piece.part
    named = []
    for edge in part.edges:
        line = _halfway(part, edge)
        named.append((edge.id, piece.place(line, np.full(len(line), part.thickness / 2))))
    return named


@lru_cache(maxsize=2048)
def _halfway(part: Part, edge: Edge) -> np.ndarray:
    """Points (K, 2) along an edge, half way between the lines of both faces, where there is foam: the bevel of the next edge
    may end one face before the other."""
    line = np.vstack([_thinned(stretch, closed=False) for stretch in edge.stretches])
    halfway: np.ndarray = (line + part.across(line, edge)) / 2
    if not part.bent:
        return halfway
    foam = shapely.Polygon(part.neutral_rings[0])
    kept = shapely.distance(foam if foam.is_valid else foam.buffer(0.0), shapely.points(halfway)) < _OFF_FOAM
    return halfway[kept] if kept.any() else halfway


def _named(piece: Placed) -> list[tuple[str, np.ndarray]]:
    """Faces by one point in the middle of their area, edges by their lines."""
    part = piece.part
    named = []
    if is_bar(part):
        return _bar(piece)
    for name in _SIDES:
        depth = part.depth(name == "inside")
        if part.bent:
            sheet = piece.sheet
            corners = piece.place(sheet.flat, np.full(len(sheet.flat), depth))
            named.append((name, _middle(corners, sheet.triangles)[None]))
        else:
            flat = _centroid(part.face_rings(name == "inside"))[None]
            named.append((name, piece.place(flat, np.full(1, depth))))
    return [*named, *_telling_edges(piece)]


def _centroid(rings: Sequence[np.ndarray]) -> np.ndarray:
    """Of the area (2,) within the first less that within the others."""
    total = np.zeros(2)
    for number, ring in enumerate(rings):
        nxt = np.roll(ring, -1, axis=0)
        cross = ring[:, 0] * nxt[:, 1] - nxt[:, 0] * ring[:, 1]
        own = ((ring + nxt) * cross[:, None]).sum(axis=0) / 6.0 * np.sign(cross.sum())
        total += own if number == 0 else -own
    return total / ring_area(rings)


def _thinned(ring: np.ndarray, closed: bool = True) -> np.ndarray:
    line = np.vstack([ring, ring[:1]]) if closed else ring
    s = chord_length(line)
    at = np.linspace(0.0, s[-1], max(5, int(s[-1] / _SPACING) + 1))
    if closed:
        at = np.unique(np.concatenate([at, s[corners(ring)]]))[:-1]
    return np.column_stack([np.interp(at, s, column) for column in line.T])


def _middle(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Of the area (3,)."""
    corners = points[triangles]
    size = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    middle: np.ndarray = (corners.mean(axis=1) * size[:, None]).sum(axis=0) / size.sum()
    return middle
