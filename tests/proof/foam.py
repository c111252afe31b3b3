"""Foam cut by the written lines of a pack, held against the solids of its written STEP file. Lengths in mm.

Only files are read: the STEP file through CadQuery, the lines of the drawn face from the SVG files, those of the other
face and the thickness from the record. Flat parts are laid on the faces of their solids, which are not told, by trying
all turns; the foam between the lines of both faces is swept straight from one to the other and compared with the walls.
Of bent parts the lines along the edges are compared in their developed lengths.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import cadquery as cq
import igl
import numpy as np
import shapely
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.GeomLProp import GeomLProp_SLProps
from OCP.gp import gp_Pnt
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.TopAbs import TopAbs_Orientation
from scipy.spatial import cKDTree

from foamwright.proof.read import svg

BENT = ("panel", "cover", "band")
NO_SHEET = ("rod",)
_STEP = 0.5
_CHORDS = 4  # for each stretch between two points of a curve
_CORNER = 15.0  # degrees
_FITS = 0.05
_FACING = 0.05  # of the thickness: triangles stand for curved faces


@dataclass(frozen=True)
class Off:
    """By how much the foam of a part differs from its solid; what is compared, and how much it may."""

    part: str
    what: str
    by: float
    may: float


def solids(step: bytes, folder) -> dict[str, cq.Shape]:
    """Every component by its name, in its place."""
    path = folder / "prop.step"
    path.write_bytes(step)
    return {c.name: c.obj.moved(c.loc) for c in cq.Assembly.importStep(str(path)).children}


def compared(files: Mapping[str, bytes], record: Mapping[str, Any], folder) -> Iterator[Off]:
    """Of the first copy of every part that stands in the prop."""
    bodies = solids(files["model/prop.step"], folder)
    for part in record["parts"]:
        named = re.compile(rf"{re.escape(part['label'])} {re.escape(part['name'])} \(\d+\)$")
        own = [body for name, body in bodies.items() if named.match(name)]
        if not own or part["kind"] in NO_SHEET:
            continue
        if part["kind"] in BENT:
            yield from _bent(part, own[0])
            continue
        layers = max(1, (part["quantity"] - part.get("loose", 0)) // len(own))
        yield from _flat(part, _written(part, files), own[0], part["thickness"] * layers)


def _written(part: Mapping[str, Any], files: Mapping[str, bytes]) -> list[np.ndarray]:
    """The lines of the drawn face: from the SVG where the part is drawn as one piece."""
    recorded = [np.asarray(ring, float) for ring in (part["outline"], *part["holes"])]
    path = f"templates/{part['label']}-{part['id'].replace('_', '-')}.svg"
    if path not in files:
        return recorded
    rings = svg(files[path]).rings
    lines = [*rings["cut"], *rings.get("cut-inner", ())]
    shift = recorded[0].min(axis=0) - rings["cut"][0].min(axis=0)
    return [line + shift for line in lines]


def _flat(part: Mapping[str, Any], drawn: list[np.ndarray], solid: cq.Shape, thickness: float) -> Iterator[Off]:
    other = [np.asarray(ring, float) for ring in (part["other_outline"], *part["other_holes"])]
    best = None
    for a, b in _broad(solid, thickness):
        normal = a[0]
        x = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
        x /= np.linalg.norm(x)
        axes = np.column_stack([x, np.cross(normal, x), normal])
        faces = _rings(a[2], a[1], axes), _rings(b[2], a[1], axes)
        found = _laid((drawn, other), faces)
        if best is None or found[2] < best[0][2]:
            best = found, faces, (a, b), axes
        if best[0][2] < _FITS:
            break
    if best is None:
        yield Off(part["id"], "has no two faces as far apart as it is thick", np.inf, 0.0)
        return
    (turn, shift, _), faces, (a, b), axes = best
    lines = [[ring @ turn.T + shift for ring in rings] for rings in (drawn, other)]
    yield Off(part["id"], "the drawn face", _apart(lines[0], faces[0]), 0.2)
    yield Off(part["id"], "the other face", _apart(lines[1], faces[1]), 0.2)
    if all(len(p) == len(q) for p, q in zip(*lines)):
        yield Off(
            part["id"],
            "the walls",
            _walls(*lines, thickness, solid, (*a[2], *b[2]), a[1], axes),
            0.2,
        )


def _broad(solid: cq.Shape, thickness: float) -> list[tuple]:
    """Pairs of parallel flat sides as far apart as the part is thick, the larger first, either one first."""
    groups: list[list] = []  # [normal, place, faces, area]
    for face in solid.Faces():
        if face.geomType() != "PLANE":
            continue
        normal, place = (np.array(v.toTuple()) for v in (face.normalAt(), face.Center()))
        same = (g for g in groups if g[0] @ normal > 1 - 1e-6 and abs((place - g[1]) @ normal) < 1e-3)
        group = next(same, None)
        if group is None:
            groups.append([normal, place, [face], face.Area()])
        else:
            group[2].append(face)
            group[3] += face.Area()
    pairs = [
        (g, h)
        for g in groups
        for h in groups
        if g[0] @ h[0] < -1 + 1e-6 and abs((g[1] - h[1]) @ g[0] - thickness) < 1e-3
    ]
    return sorted(pairs, key=lambda pair: -(pair[0][3] + pair[1][3]))[:6]


def _rings(faces: list[cq.Face], origin: np.ndarray, axes: np.ndarray) -> list[np.ndarray]:
    """The boundary of a flat side, (N, 2) each."""
    shapes = []
    for face in faces:
        rings = [(_around(wire) - origin) @ axes[:, :2] for wire in (face.outerWire(), *face.innerWires())]
        shapes.append(shapely.Polygon(rings[0], rings[1:]))
    whole = shapes[0] if len(shapes) == 1 else shapely.union_all([s.buffer(1e-5) for s in shapes])
    polygons = shapely.get_parts(whole)
    return [np.asarray(ring.coords)[:-1] for p in polygons for ring in (p.exterior, *p.interiors)]


def _along(edge: cq.Edge) -> np.ndarray:
    return points_on(
        edge,
        1 if edge.geomType() == "LINE" else max(8, int(np.ceil(edge.Length() / _STEP))),
    )


def points_on(edge: cq.Edge, count: int) -> np.ndarray:
    """(count + 1, 3) on an edge, about equally far apart along it.

    Every point is of the curve itself; only how far it is along it comes from a row of chords. `Edge.positions` measures
    the length of the curve anew for each point.
    """
    curve = BRepAdaptor_Curve(edge.wrapped)
    ends = curve.FirstParameter(), curve.LastParameter()
    if count > 1:
        even = np.linspace(*ends, _CHORDS * count + 1)
        along = np.cumsum(np.append(0.0, np.linalg.norm(np.diff(_on(curve, even), axis=0), axis=1)))
        return _on(curve, np.interp(np.linspace(0.0, along[-1], count + 1), along, even))
    return _on(curve, np.array(ends))


def _on(curve: BRepAdaptor_Curve, parameters: np.ndarray) -> np.ndarray:
    return np.array([(p.X(), p.Y(), p.Z()) for p in map(curve.Value, parameters.tolist())])


def _chained(lines: list[np.ndarray]) -> list[np.ndarray]:
    """Lines put end to end, turned as need be; starts with the first."""
    left, made = list(lines[1:]), [lines[0]]
    while left:
        tips = (made[0][::-1], made[0]) if len(made) == 1 else (made[-1],)
        gaps = [(min(np.linalg.norm(l[k] - t[-1]) for k in (0, -1)), n, t) for n, l in enumerate(left) for t in tips]
        _, number, tip = min(gaps, key=lambda found: (round(found[0], 6), found[1]))
        made[-1] = tip
        line = left.pop(number)
        near = np.linalg.norm(line[0] - tip[-1]) <= np.linalg.norm(line[-1] - tip[-1])
        made.append(line if near else line[::-1])
    return made


def _around(wire: cq.Wire) -> np.ndarray:
    return np.vstack([line[:-1] for line in _chained([_along(edge) for edge in wire.Edges()])])


def _laid(foam: tuple, faces: tuple) -> tuple[np.ndarray, np.ndarray, float]:
    """The turn, the shift and the worst distance with which lines of foam lie best on a solid's faces."""
    source = [np.vstack([_dense(ring, 1.0) for ring in rings]) for rings in foam]
    goal = [np.vstack([_dense(ring, 1.0) for ring in rings]) for rings in faces]
    trees = [cKDTree(points) for points in goal]
    borders = [_border(rings) for rings in faces]
    middle, there = np.vstack(source).mean(axis=0), np.vstack(goal).mean(axis=0)
    fine = [cKDTree(np.vstack([_dense(ring, 0.1) for ring in rings])) for rings in faces]
    thin = [points[:: max(1, len(points) // 400)] for points in source]
    few = [points[:: max(1, len(points) // 150)] - middle for points in source]
    tried = []
    for angle in np.linspace(0.0, 2 * np.pi, 144, endpoint=False):
        turn = _turn(angle)
        off = max(float((tree.query(points @ turn.T + there)[0] ** 2).mean()) for tree, points in zip(trees, few))
        tried.append((off, angle))
    hollows = [
        now for before, now, after in zip(tried[-1:] + tried, tried, tried[1:] + tried[:1]) if now <= min(before, after)
    ]
    best = None
    for _, angle in sorted(hollows)[:8]:
        turn, shift = _turn(angle), there - _turn(angle) @ middle
        # nearest points of a fine row at first, which is quick; then nearest places on the lines themselves
        turn, shift = _settled(thin, lambda k, p: fine[k].data[fine[k].query(p)[1]], turn, shift, 60)
        turn, shift = _settled(source, lambda k, p: _nearest(p, borders[k]), turn, shift, 40)
        worst = max(_apart([r @ turn.T + shift for r in rings], face) for rings, face in zip(foam, faces))
        if best is None or worst < best[2]:
            best = turn, shift, worst
        if worst < _FITS:
            break
    assert best is not None
    return best


def _settled(
    source: list[np.ndarray],
    nearest: Callable[[int, np.ndarray], np.ndarray],
    turn: np.ndarray,
    shift: np.ndarray,
    most: int,
) -> tuple[np.ndarray, np.ndarray]:
    """The turn and the shift after at most so many rounds of iterated closest points, Besl and McKay 1992."""
    a = np.vstack(source)
    for _ in range(most):
        b = np.vstack([nearest(k, p @ turn.T + shift) for k, p in enumerate(source)])
        u, _, v = np.linalg.svd((a - a.mean(axis=0)).T @ (b - b.mean(axis=0)))
        new = v.T @ np.diag([1.0, np.sign(np.linalg.det(v.T @ u.T))]) @ u.T
        moved = b.mean(axis=0) - new @ a.mean(axis=0)
        still = max(np.abs(new - turn).max() * 100, np.abs(moved - shift).max()) < 1e-4
        turn, shift = new, moved
        if still:
            break
    return turn, shift


def _turn(angle: float) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s], [s, c]])


def _dense(ring: np.ndarray, step: float = _STEP) -> np.ndarray:
    return shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), step))[:-1]


def _border(rings: list[np.ndarray]) -> shapely.Geometry:
    lines = shapely.MultiLineString([np.vstack([r, r[:1]]) for r in rings])
    shapely.prepare(lines)
    return lines


def _nearest(points: np.ndarray, border: shapely.Geometry) -> np.ndarray:
    """(N, 2) the place of a border nearest to each point (N, 2)."""
    return shapely.get_coordinates(shapely.shortest_line(shapely.points(points), border))[1::2]


def _apart(some: list[np.ndarray], others: list[np.ndarray]) -> float:
    """Greatest distance of the lines of either from those of the other."""
    one, two = _border(some), _border(others)
    return max(
        float(shapely.distance(shapely.points(np.vstack([_dense(r) for r in rings])), line).max())
        for rings, line in ((some, two), (others, one))
    )


def _walls(drawn, other, thickness, solid, broad, origin, axes) -> float:
    """Greatest distance of the solid's walls from what is swept straight between the lines of the two faces."""
    points, triangles, start = [], [], 0
    for p, q in zip(drawn, other):
        q = q if shapely.LinearRing(p).is_ccw == shapely.LinearRing(q).is_ccw else q[::-1]
        q = np.roll(
            q,
            -min(
                range(len(q)),
                key=lambda k: np.linalg.norm(np.roll(q, -k, axis=0) - p, axis=1).sum(),
            ),
            0,
        )
        here, count = np.arange(len(p)), len(p)
        ahead = np.roll(here, -1)
        points += [
            np.column_stack([p, np.zeros(count)]),
            np.column_stack([q, np.full(count, thickness)]),
        ]
        made = (
            np.column_stack([here, ahead, count + here]),
            np.column_stack([ahead, count + ahead, count + here]),
        )
        triangles += [start + t for t in made]
        start += 2 * count
    seen = []
    for face in solid.Faces():
        if any(face.isSame(known) for known in broad):
            continue
        vertices, faces = face.tessellate(0.05, 0.1)
        own = np.array([v.toTuple() for v in vertices])
        # the middles of triangles lie off a curved wall: the places of the wall nearest to them
        wall = ShapeAnalysis_Surface(BRep_Tool.Surface_s(face.wrapped))
        for x, y, z in own[np.array(faces)].mean(axis=1).tolist():
            place = wall.ValueOfUV(gp_Pnt(x, y, z), 1e-6)
            on = wall.Value(place.X(), place.Y())
            seen.append(np.array([[on.X(), on.Y(), on.Z()]]))
        seen.append(own)
    local = (np.vstack(seen) - origin) @ axes * (1.0, 1.0, -1.0)
    squared = igl.point_mesh_squared_distance(
        np.ascontiguousarray(local),
        np.vstack(points),
        np.vstack(triangles).astype(np.int64),
    )[0]
    return float(np.sqrt(squared.max()))


def _bent(part: Mapping[str, Any], solid: cq.Shape) -> Iterator[Off]:
    """Every edge of the solid's faces, brought to the neutral surface, has a line of its length on the pattern.

    A panel of double curvature gives way along its edges, by more than its strain, which is a mean over a thickness:
    there a line may differ by twice the strain. A dart parts a line: of such a part the whole way around is compared.
    """
    thickness, neutral = part["thickness"], part["neutral_offset"]
    sides = sides_of(solid, thickness)
    if not all(sides):
        yield Off(part["id"], "has no two faces", np.inf, 0.0)
        return
    legs = sum(sum(dart["legs"]) for dart in part["darts"])
    best = None
    for inner, outer in (sides, sides[::-1]):
        found = []
        for face, rings, away in (
            (inner, (part["outline"], *part["holes"]), neutral),
            (outer, (part["other_outline"], *part["other_holes"]), thickness - neutral),
        ):
            loops = _loops(solid, face, sides, away)
            written = [[length_of(line) for line in parted(np.asarray(ring, float))] for ring in rings]
            found.append(_differences(loops, written, legs, part["kind"] == "band"))
        worst = max((by for pairs in found for by, _ in pairs), default=0.0)
        if best is None or worst < best[0]:
            best = worst, found
    assert best is not None
    strain = part["strain"]["max"]
    for name, pairs in zip(("the drawn face", "the other face"), best[1]):
        for by, length in pairs:
            yield Off(
                part["id"],
                f"{name}, an edge of {length:.1f}",
                by,
                0.2 + (2.0 * strain + 1e-4) * length,
            )


def _differences(loops, written, legs: float, hoop: bool) -> list[tuple[float, float]]:
    """For every edge of the solid by how much the nearest line differs, and the edge's length."""
    if legs:
        around = sorted((sum(lines) for lines in loops), reverse=True)
        lines = sorted((sum(lines) for lines in written), reverse=True)
        lines[0] -= legs
        whole = sum(around)
        return [(max(abs(sum(lines) - whole) - 1.0 * len(loops), 0.0), whole)]  # a mouth is a chord
    left = [line for lines in written for line in lines]
    found = []
    for edge in sorted((edge for lines in loops for edge in lines), reverse=True):
        nearest = min(left, key=lambda line: abs(line - edge), default=np.inf)
        if hoop and nearest > edge:  # what is left on to be trimmed
            continue
        found.append((abs(nearest - edge), edge))
        if nearest in left:
            left.remove(nearest)
    return found


def sides_of(solid: cq.Shape, thickness: float) -> tuple[list[cq.Face], list[cq.Face]]:
    """The two broad sides of a bent part: of each face most lies as far from another as the part is thick."""
    faces = solid.Faces()
    meshes = [face.tessellate(0.05, 0.1) for face in faces]
    points = [np.array([v.toTuple() for v in vertices]) for vertices, _ in meshes]
    starts = np.cumsum([0, *map(len, points[:-1])])
    triangles = np.vstack([np.array(t) + start for (_, t), start in zip(meshes, starts)]).astype(np.int64)
    owner = np.repeat(np.arange(len(faces)), [len(t) for _, t in meshes])
    whole = np.vstack(points)
    corners = whole[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normal, axis=1) / 2
    normal /= np.maximum(2 * area[:, None], 1e-15)
    if (corners[:, 0] * np.cross(corners[:, 1], corners[:, 2])).sum() < 0:
        normal = -normal
    probe = np.ascontiguousarray(corners.mean(axis=1) - thickness * normal)
    squared, hit, _ = igl.point_mesh_squared_distance(probe, whole, triangles)
    facing = (np.sqrt(squared) < _FACING * thickness) & ((normal * normal[hit]).sum(axis=1) < -0.9)
    broad = [
        i for i in range(len(faces)) if area[(owner == i) & facing].sum() > 0.5 * max(area[owner == i].sum(), 1e-12)
    ]
    side: dict[int, int] = {}
    for first in sorted(broad, key=lambda i: -area[owner == i].sum()):
        if first in side:
            continue
        across = [side[int(o)] for o in owner[hit[(owner == first) & facing]] if int(o) in side]
        stack, number = [first], 1 - max(set(across), key=across.count) if across else 0
        while stack:
            i = stack.pop()
            if i in side:
                continue
            side[i] = number
            mine = faces[i].Edges()
            stack += [j for j in broad if j not in side and any(e.isSame(o) for e in mine for o in faces[j].Edges())]
    return tuple([faces[i] for i in broad if side[i] == number] for number in (0, 1))  # type: ignore[return-value]


def _loops(solid, side, sides, away: float) -> list[list[float]]:
    """The lengths of the lines between corners along the border of one side, moved into the foam by `away`."""
    return [[length_of(line) for line in loop] for loop in border(side, away)]


def border(side: list[cq.Face], away: float) -> list[list[np.ndarray]]:
    """The lines (N, 3) between corners along the border of one side, moved into the foam by `away`, loop by loop."""
    own = [(face, edge) for face in side for edge in face.Edges()]
    lines = []
    for face, edge in own:
        if sum(edge.isSame(other) for _, other in own) > 1 or edge.Length() < 1e-3:
            continue
        count = max(40, int(edge.Length()))
        points = points_on(edge, count)
        lines.append(points - away * normals_on(face, points))
    loops = []
    while lines:
        loop = [lines.pop(0)]
        while lines:
            tip = loop[-1][-1]
            gaps = [min(np.linalg.norm(line[k] - tip) for k in (0, -1)) for line in lines]
            nearest = int(np.argmin(gaps))
            if np.linalg.norm(loop[0][0] - tip) <= gaps[nearest]:
                break
            line = lines.pop(nearest)
            loop.append(line if np.linalg.norm(line[0] - tip) <= np.linalg.norm(line[-1] - tip) else line[::-1])
        loops.append(_between_corners(loop))
    return loops


def _between_corners(loop: list[np.ndarray]) -> list[np.ndarray]:
    """Lines that follow each other, as lines from corner to corner; only where two of them meet is a corner."""
    ways = [(line[1] - line[0], line[-1] - line[-2]) for line in loop]
    cosine = [
        before[1] @ after[0] / np.linalg.norm(before[1]) / np.linalg.norm(after[0])
        for before, after in zip(ways[-1:] + ways[:-1], ways)
    ]
    starts = [i for i, c in enumerate(cosine) if c < np.cos(np.radians(_CORNER))]
    ends = [*starts[1:], starts[0] + len(loop)] if starts else []
    runs = [range(a, b) for a, b in zip(starts, ends)] or [range(len(loop))]
    return [np.vstack([loop[k % len(loop)] for k in run]) for run in runs]


def normals_on(face: cq.Face, points: np.ndarray) -> np.ndarray:
    surface = BRep_Tool.Surface_s(face.wrapped)
    look = ShapeAnalysis_Surface(surface)
    found, place = [], None
    for point in points.tolist():
        place = (
            look.ValueOfUV(gp_Pnt(*point), 1e-6) if place is None else look.NextValueOfUV(place, gp_Pnt(*point), 1e-6)
        )
        at = GeomLProp_SLProps(surface, place.X(), place.Y(), 1, 1e-9)
        normal = at.Normal() if at.IsNormalDefined() else None
        found.append([normal.X(), normal.Y(), normal.Z()] if normal else [np.nan] * 3)
    array = np.array(found)
    known = np.flatnonzero(~np.isnan(array).any(axis=1))
    array = array[[known[np.abs(known - i).argmin()] for i in range(len(array))]]
    return -array if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else array


def parted(ring: np.ndarray) -> list[np.ndarray]:
    """A closed line parted at its corners."""
    ring = ring[np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1) > 1e-4]
    ahead, behind = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    cosine = (ahead * behind).sum(1) / np.linalg.norm(ahead, axis=1) / np.linalg.norm(behind, axis=1)
    corners = np.flatnonzero(cosine < np.cos(np.radians(_CORNER)))
    if not len(corners):
        return [np.vstack([ring, ring[:1]])]
    ends = np.append(corners[1:], corners[0] + len(ring))
    return [ring[np.arange(a, b + 1) % len(ring)] for a, b in zip(corners, ends)]


def length_of(line: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
