"""Parts as closed meshes straight from their bodies, as true as a first look asks: within a tenth of a millimetre or
so of their solids, at a fraction of the time. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import manifold3d
import numpy as np
from scipy.spatial import cKDTree

from foamwright.forms.remesh import divided
from foamwright.geometry import Mesh, signed_area
from foamwright.model.strips import band_mesh
from foamwright.parts.records import BandBody, FlatBody, PanelBody, PanelEdge, Piece, RodBody
from foamwright.registry import Kind, kind

_SIDES = 48  # of a round bar
_COARSE = 3  # of the points along an edge, so many are taken as one where it runs nearly straight
_REACH = 2.0  # thicknesses from a rim within which points of a face may be past it
_SAG, _HALVINGS = (
    0.1,
    2,
)  # mm that a surface may stand off a side of a panel's triangles, and how often that is halved for it
_NEAR_CORNER = 24  # points of an edge of which some may lie past what cuts it off
_NEARLY_STRAIGHT = np.radians(4.0)  # from one chord to the next


@dataclass(frozen=True, eq=False)
class Shape:
    """A closed mesh; `smooth` (m,) numbers the smooth faces that its triangles belong to, -1 for a flat one alone."""

    mesh: Mesh
    smooth: np.ndarray


def shape_of(piece: Piece) -> Shape:
    """The first copy of a part where it was modelled. Raises BuildError if no closed shape can be made of it."""
    thickness = piece.thickness
    body = piece.body
    if type(kind(piece.kind)).solid is not Kind.solid:
        return _own(piece)
    if isinstance(body, PanelBody):
        return _panel(body, thickness)
    if isinstance(body, BandBody):
        points, triangles, names = band_mesh(body, thickness)
        number = {name: i for i, name in enumerate(dict.fromkeys(names))}
        return Shape(Mesh(points, triangles), np.array([number[name] for name in names]))
    if isinstance(body, FlatBody):
        return _flat(body, thickness)
    return _rod(body)


def _own(piece: Piece) -> Shape:
    """Of a kind that makes its own solid: the solid's own triangles."""
    from foamwright.model.build import prototype

    mesh = Mesh(*prototype(piece).closed_mesh)
    return Shape(mesh, np.full(len(mesh.triangles), -1))


def _flat(body: FlatBody, thickness: float) -> Shape:
    holes = [hole if signed_area(hole) < 0.0 else hole[::-1] for hole in body.holes]
    below, above = ([face, *holes] for face in body.faces(thickness))
    cover = np.asarray(manifold3d.triangulate([np.ascontiguousarray(body.outline), *holes])).astype(np.int64)
    n = sum(map(len, below))
    low, high = (
        np.column_stack([np.vstack(rings), np.full(n, height)]) for rings, height in ((below, 0.0), (above, thickness))
    )
    here = np.arange(n)
    ends = np.cumsum([len(ring) for ring in below])
    ahead = here + 1
    ahead[ends - 1] = np.r_[0, ends[:-1]]
    walls = np.vstack([np.stack([here, ahead, ahead + n], 1), np.stack([here, ahead + n, here + n], 1)])
    triangles = np.vstack([cover[:, ::-1], cover + n, walls])
    smooth = np.r_[np.zeros(len(cover)), np.ones(len(cover)), np.full(len(walls), -1)].astype(int)
    return Shape(Mesh(body.frame.to_space(np.vstack([low, high])), triangles), smooth)


def _rod(body: RodBody) -> Shape:
    along = body.end - body.start
    axis = along / np.linalg.norm(along)
    across = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    across /= np.linalg.norm(across)
    turn = np.linspace(0.0, 2.0 * np.pi, _SIDES, endpoint=False)
    ring = body.diameter / 2.0 * (np.outer(np.cos(turn), across) + np.outer(np.sin(turn), np.cross(axis, across)))
    points = np.vstack([body.start + ring, body.end + ring, body.start, body.end])
    here = np.arange(_SIDES)
    ahead, n = np.roll(here, -1), _SIDES
    walls = [np.stack([here, ahead, ahead + n], 1), np.stack([here, ahead + n, here + n], 1)]
    ends = [np.stack([ahead, here, np.full(n, 2 * n)], 1), np.stack([here + n, ahead + n, np.full(n, 2 * n + 1)], 1)]
    return Shape(Mesh(points, np.vstack([*walls, *ends])), np.repeat([0, 1, 2], [2 * n, n, n]))


def _panel(body: PanelBody, thickness: float) -> Shape:
    """Both faces as fine as the chart, their edges where the panel's own are on either face."""
    used, faces = np.unique(body.chart.faces, return_inverse=True)
    faces = faces.reshape(-1, 3)
    coords, chart = body.chart.coords[used], body.chart.flat[used]
    for _ in range(_HALVINGS):
        finer = _halved(body, coords, chart, faces)
        if finer is None:
            break
        coords, chart, faces = finer
    sides = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    n = len(coords)
    inward = set((sides @ [n, 1]).tolist())
    rim = sides[[j * n + i not in inward for i, j in sides.tolist()]]
    inner, outer = (body.surface.offset(coords, body.inner_offset + d) for d in (0.0, thickness))
    rings, extra, square = [], [], []
    following: dict[int, tuple[np.ndarray, int]] = {}
    total = n
    for loop in _loops(dict(rim.tolist())):
        edges = _edges_of(body, chart[loop])
        flat, low, high = (np.vstack([line[k] for line in edges]) for k in range(3))
        is_square = np.concatenate([np.full(len(line[0]), line[3]) for line in edges])
        at = _places(chart[loop], flat)
        loop = np.roll(loop, -int(np.argmin(at)))
        at = np.maximum.accumulate(np.roll(at, -int(np.argmin(at))))
        inner[loop], outer[loop] = _between(low, at), _between(high, at)
        # the points of the edge strictly between two vertices of the chart go to the triangle beside them
        for i, j, a, b in zip(loop, np.roll(loop, -1), at, np.r_[at[1:], at[0] + len(flat)]):
            numbers = np.arange(int(np.floor(a + 0.02)) + 1, int(np.ceil(b - 0.02)))
            square.append(is_square[np.r_[int(a), numbers] % len(flat)])
            if len(numbers):
                extra.append((low[numbers % len(flat)], high[numbers % len(flat)]))
                following[i] = (total + np.arange(len(numbers)), j)
                total += len(numbers)
            else:
                following[i] = (np.zeros(0, int), j)
        rings.append(np.concatenate([np.r_[i, following[i][0]] for i in loop.tolist()]))
    inner = np.vstack([inner, *(low for low, _ in extra)])
    outer = np.vstack([outer, *(high for _, high in extra)])
    normals = body.surface.normal(coords)
    for face in (inner, outer):
        _keep_within(face, rings, np.concatenate(square), normals, thickness)
    cover = _fanned(faces, following)
    here = np.concatenate(rings)
    ahead = np.concatenate([np.roll(ring, -1) for ring in rings])
    walls = np.vstack([np.stack([here, ahead, ahead + total], 1), np.stack([here, ahead + total, here + total], 1)])
    smooth = np.r_[np.zeros(len(cover)), np.ones(len(cover)), np.full(len(walls), -1)].astype(int)
    return Shape(Mesh(np.vstack([inner, outer]), np.vstack([cover[:, ::-1], cover + total, walls])), smooth)


def _keep_within(
    face: np.ndarray, rings: Sequence[np.ndarray], square: np.ndarray, normals: np.ndarray, thickness: float
) -> None:
    """Lay the points of a face (n, 3) that are past its rim on it: along a mitre the rim of one face runs inside of that of the
    chart, and foam past it would stand in what is joined there. `rings` number the points of the rim, foam to the left of
    them; past those that are cut `square`, one after the other, there is none: where a part meets itself, foam lies on both
    sides of its rim. `normals` (m, 3) are those of the first m points, outwards."""
    rim = np.concatenate(rings)
    after, before = (np.concatenate([np.roll(ring, shift) for ring in rings]) for shift in (-1, 1))
    inside = np.setdiff1d(np.arange(len(normals)), rim)
    away, nearest = cKDTree(face[rim]).query(face[inside], distance_upper_bound=_REACH * thickness)
    inside, nearest = inside[np.isfinite(away)], nearest[np.isfinite(away)]
    point, at = face[inside], face[rim[nearest]]
    ends = np.stack([face[before[nearest]], face[after[nearest]]])
    inwards = np.cross(normals[inside], ends[1] - ends[0])
    past = (((point - at) * inwards).sum(axis=1) < 0.0) & ~square[nearest]
    along = ends - at
    share = ((point - at) * along).sum(axis=2) / np.maximum((along**2).sum(axis=2), 1e-18)
    feet = at + np.clip(share, 0.0, 1.0)[:, :, None] * along
    off = ((feet - point) ** 2).sum(axis=2)
    face[inside[past]] = np.where((off[0] < off[1])[:, None], *feet)[past]


def _halved(
    body: PanelBody, coords: np.ndarray, chart: np.ndarray, faces: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """The triangles with those sides in halves that the surface stands off by more than `_SAG`; None where there is none."""
    sides = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    keys, number = np.unique(sides @ [len(coords), 1], return_inverse=True)
    sides = np.column_stack([keys // len(coords), keys % len(coords)])
    middle = body.surface.blend(coords[sides], np.full((len(sides), 2), 0.5))
    points = body.surface.point(coords)
    halfway = body.surface.point(middle)
    off = np.linalg.norm(halfway - points[sides].mean(axis=1), axis=1) > _SAG
    if not off.any():
        return None
    added = np.where(off, len(coords) + np.cumsum(off) - 1, -1)
    finer = divided(np.vstack([points, halfway[off]]), faces, added[number.reshape(-1, 3)])
    return np.vstack([coords, middle[off]]), np.vstack([chart, chart[sides[off]].mean(axis=1)]), finer


def _loops(following: dict[int, int]) -> list[np.ndarray]:
    left, loops = dict(following), []
    while left:
        start = min(left)
        loop = [start]
        while (ahead := left.pop(loop[-1])) != start:
            loop.append(ahead)
        loops.append(np.array(loop))
    return loops


def _edges_of(body: PanelBody, loop: np.ndarray) -> list[tuple[np.ndarray, np.ndarray, np.ndarray, bool]]:
    """The panel's edges around a loop (N, 2) of its chart, each without its last point: in the chart, on the inner face
    and on the outer one, and whether it is cut square to the surface."""
    numbers = sorted({edge.loop for edge in body.edges})
    middle = {k: np.vstack([e.chart for e in body.edges if e.loop == k]) for k in numbers}
    box = np.r_[loop.min(axis=0), loop.max(axis=0)]
    own = min(numbers, key=lambda k: np.abs(np.r_[middle[k].min(axis=0), middle[k].max(axis=0)] - box).sum())
    edges = [edge for edge in body.edges if edge.loop == own]
    return [
        _trimmed(before, edge, after) for before, edge, after in zip([edges[-1], *edges], edges, [*edges[1:], edges[0]])
    ]


def _trimmed(before: PanelEdge, edge: PanelEdge, after: PanelEdge) -> tuple[np.ndarray, np.ndarray, np.ndarray, bool]:
    """An edge without its last point. A seam is cut square to the surface and ends on each face where the trim beside
    it runs, which is not the same place on both."""
    count = len(edge.points)
    step = _COARSE if _straight(edge.points) and count > 4 * _COARSE else 1
    keep = np.zeros(count, bool)
    keep[: count - 1 : step] = True
    inner, outer = edge.inner.copy(), edge.outer.copy()
    if edge.upright and edge is not before:
        if before.kind in ("trim", "mitre") and not before.upright:
            inner[0], outer[0] = before.inner[-1], before.outer[-1]
            for line, own in ((inner, edge.inner), (outer, edge.outer)):
                reach = _reach(own, line[0])
                keep[1:reach] &= (line[1:reach] - line[0]) @ (own[reach] - own[0]) > 0.0
        if after.kind in ("trim", "mitre") and not after.upright:
            for own, end in ((edge.inner, after.inner[0]), (edge.outer, after.outer[0])):
                reach = _reach(own[::-1], end)
                keep[-reach:] &= (own[-reach:] - end) @ (own[-reach - 1] - own[-1]) > 0.0
    return edge.chart[keep], inner[keep], outer[keep], edge.upright or edge.kind == "tip"


def _reach(line: np.ndarray, end: np.ndarray) -> int:
    """How many points of a line (N, 3) from its beginning are looked at for whether they lie past its true `end`: some, or
    those twice as far as that is, of a narrow strip with steep ends nearly all."""
    away = np.linalg.norm(line - line[0], axis=1)
    near = int(np.argmax(away > 2.0 * np.linalg.norm(end - line[0]))) or len(line) - 1
    return max(min(_NEAR_CORNER, len(line) // 3), near)


def _straight(points: np.ndarray) -> bool:
    chords = np.diff(points, axis=0)
    chords /= np.maximum(np.linalg.norm(chords, axis=1, keepdims=True), 1e-12)
    return bool((chords[1:] * chords[:-1]).sum(axis=1).min(initial=1.0) > np.cos(_NEARLY_STRAIGHT))


def _places(points: np.ndarray, ring: np.ndarray) -> np.ndarray:
    """(N,) where points (N, 2) lie along a closed line (M, 2): the number of its point, and the share to the next."""
    steps = np.roll(ring, -1, axis=0) - ring
    length = np.maximum((steps * steps).sum(axis=1), 1e-18)
    places = np.empty(len(points))
    for i, point in enumerate(points):
        share = np.clip(((point - ring) * steps).sum(axis=1) / length, 0.0, 1.0)
        away = ((ring + share[:, None] * steps - point) ** 2).sum(axis=1)
        k = int(np.argmin(away))
        places[i] = (k + share[k]) % len(ring)
    return places


def _between(line: np.ndarray, at: np.ndarray) -> np.ndarray:
    low = np.floor(at).astype(int)
    share = (at - low)[:, None]
    return line[low % len(line)] * (1.0 - share) + line[(low + 1) % len(line)] * share


def _fanned(faces: np.ndarray, following: Mapping[int, tuple[np.ndarray, int]]) -> np.ndarray:
    """The triangles, those at the rim divided by the points that lie on their sides."""
    triangles: list[tuple[int, int, int]] = []
    for a, b, c in faces.tolist():
        own = [(a, b, c)]
        for i, j in ((a, b), (b, c), (c, a)):
            points, end = following.get(i, (np.zeros(0, int), -1))
            if end != j or not len(points):
                continue
            t = next(k for k, (p, q, r) in enumerate(own) if (i, j) in ((p, q), (q, r), (r, p)))
            opposite = next(p for p in own.pop(t) if p not in (i, j))
            own += [(p, q, opposite) for p, q in pairwise([i, *points.tolist(), j])]
        triangles += own
    return np.array(triangles, np.int64)
