"""Bent parts that are joined along seams: their flat sheets glued tick to tick, started twice and brought to rest.

No start knows the model. One spreads the points of all parts by how far apart they are along the foam (classical scaling,
Torgerson 1952, Psychometrika 17, 401); the other sets every part out flat, where the middles of the parts would be
by those distances, turned so that its edges face its neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import dijkstra
from scipy.sparse.linalg import eigsh

from foamwright.proof.bench.foam import Copy, Foam, Sewn, ring_area
from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.pieces import Placed, Sheet, plain_sheet
from foamwright.proof.bench.rigid import best_motion
from foamwright.proof.bench.seams import Glue, glue
from foamwright.proof.bench.shell import Rested, Sheets, Spots, at_rest, inner_sides, joined

_COARSE, _MIDDLE, _FINE = 400, 1200, 3000  # triangles of a body, about: both starts settle by the first two
_THICK = 0.8  # times as thick as the foam: no triangles need be smaller
_ONE_SHAPE = 0.02  # of the side of a triangle: two ends of which no points are further apart are one shape
_PRESSED = (1.25, 0.8, 0.9)
_FLAT = 300.0  # how much stiffer a part that stays flat is than its foam would be


@dataclass(frozen=True, eq=False)
class Net:
    """The sheets of a body numbered through: `first` is the number of each copy's first vertex."""

    foam: Foam
    copies: tuple[Copy, ...]
    sheets: Mapping[Copy, Sheet]
    first: Mapping[Copy, int]
    glues: tuple[Glue, ...]
    made: Sheets
    sewn: tuple[Sewn, ...]
    spacing: float

    def spots(self, copy: Copy, flat: np.ndarray, depth: np.ndarray) -> Spots:
        """Points (K, 2) of a copy's paper at depths (K,) as points of the net."""
        return _spots(self.foam, self.sheets, self.first, copy, flat, depth)

    def placed(self, x: np.ndarray) -> dict[Copy, Placed]:
        placed = {}
        for copy in self.copies:
            part = self.foam.part(copy)
            sheet = self.sheets[copy]
            begin = self.first[copy]
            placed[copy] = Placed(part, self.foam.mirrored(copy), sheet, x[begin : begin + len(sheet.flat)])
        return placed


def net(foam: Foam, copies: Sequence[Copy], sewn: Sequence[Sewn], spacing: float, frames: Sequence[Copy] = ()) -> Net:
    """The copies as sheets of triangles of side `spacing`, glued along the seams and the legs of their darts.

    `frames` are flat copies beside them, which come last.
    """
    sheets = {copy: sheet_of(foam.part(copy), spacing) for copy in copies}
    sheets |= {copy: plain_sheet(foam.part(copy)) for copy in frames}
    copies = (*copies, *frames)
    first, count = {}, 0
    for copy in copies:
        first[copy] = count
        count += len(sheets[copy].flat)
    flat, triangles, thickness, stiff, piece = [], [], [], [], []
    for number, copy in enumerate(copies):
        part, sheet = foam.part(copy), sheets[copy]
        side = foam.mirrored(copy)
        flat.append(sheet.flat * ((-1.0, 1.0) if side else (1.0, 1.0)))
        triangles.append((sheet.triangles[:, ::-1] if side else sheet.triangles) + first[copy])
        thickness.append(np.full(len(sheet.triangles), part.thickness))
        piece.append(np.full(len(sheet.triangles), number))
        stiff.append(np.full(len(sheet.triangles), 1.0 if part.bent else _FLAT))
    glues = [g for joint in sewn if (g := glue(foam, joint, 0.5 * spacing))]
    glues += [g for copy in copies for g in _darts(foam, copy, 0.5 * spacing)]
    a, b, share = [], [], [np.zeros(0)]
    for g in glues:
        a.append(_spots(foam, sheets, first, g.sewn.a, g.a, g.depth_a))
        b.append(_spots(foam, sheets, first, g.sewn.b, g.b, g.depth_b))
        half = len(g.a) // 2
        length = float(np.linalg.norm(np.diff(g.a[:half], axis=0), axis=1).sum())
        share.append(np.full(half, length / half))
    halves = [_halves(spots) for spots in a], [_halves(spots) for spots in b]
    ends = [joined([h[0] for h in side] + [h[1] for h in side]) for side in halves]
    made = Sheets(
        np.vstack(flat),
        np.vstack(triangles),
        np.concatenate(thickness),
        np.concatenate(stiff),
        np.concatenate(piece),
        ends[0],
        ends[1],
        np.concatenate(share),
    )
    return Net(foam, copies, sheets, first, tuple(glues), made, tuple(sewn), spacing)


def stiffened(bent: Net, frames: Sequence[Copy]) -> Net:
    """The same sheets with flat copies beside them, joined along the seams between these."""
    between = [joint for joint in bent.foam.sewn if joint.a in frames and joint.b in frames]
    return net(bent.foam, bent.copies, [*bent.sewn, *between], bent.spacing, frames)


def _halves(spots: Spots) -> tuple[Spots, Spots]:
    half = len(spots.lift) // 2
    return spots[:half], spots[half:]


def _spots(
    foam: Foam, sheets: Mapping[Copy, Sheet], first: Mapping[Copy, int], copy: Copy, flat: np.ndarray, depth: np.ndarray
) -> Spots:
    sheet, part = sheets[copy], foam.part(copy)
    which, weights = sheet.located(flat)
    corners = sheet.triangles[which]
    if foam.mirrored(copy):
        corners, weights = corners[:, ::-1], weights[:, ::-1]
    return Spots(corners + first[copy], weights, part.neutral - depth)


def _darts(foam: Foam, copy: Copy, spacing: float) -> list[Glue]:
    """The legs of a part's darts, glued to each other from the mouth to the tip."""
    part = foam.part(copy)
    darts = []
    for dart in part.darts:
        lengths = [
            np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(leg, axis=0), axis=1))])
            for leg in (dart.first, dart.second)
        ]
        count = max(2, int(np.ceil(lengths[0][-1] / spacing)))
        shares = np.linspace(0.0, 1.0, count + 1)[:-1]
        legs = [
            np.column_stack([np.interp(shares * s[-1], s, column) for column in leg.T])
            for leg, s in zip((dart.first, dart.second), lengths)
        ]
        depth = np.repeat([0.0, part.thickness], count)
        own = Sewn("dart", copy, "", copy, "")
        darts.append(Glue(own, np.vstack([legs[0]] * 2), depth, np.vstack([legs[1]] * 2), depth))
    return darts


@dataclass(frozen=True, eq=False)
class Body:
    """A closed round of bent parts at rest. `apart` is how far the two starts came to lie from each other: the mean
    and the largest distance of their points, in mm, after the best motion of one onto the other. `finer` is the mean
    distance by which smaller triangles came to lie elsewhere; infinite if one of the ends was not at rest."""

    net: Net
    rested: Rested
    apart: tuple[float, float]
    finer: float

    @property
    def placed(self) -> dict[Copy, Placed]:
        return self.net.placed(self.rested.points)


def bent_body(foam: Foam, copies: Sequence[Copy], sewn: Sequence[Sewn]) -> Body:
    """The copies, all of them joined to each other by the seams, bent and glued."""
    coarse, middle, *finest = (net(foam, copies, sewn, spacing) for spacing in _spacings(foam, copies))
    rough = [at_rest(coarse.made, start, steps=80, enough=0.5).points for start in _starts(coarse)]
    apart = _apart(*rough[::-1])
    if max(apart) < _ONE_SHAPE * coarse.spacing:  # what lies alike goes on alike
        rough = rough[:1]
    rough = [_carried(coarse, middle, points) for points in rough]
    ends = [at_rest(middle.made, points) for points in rough]
    begun, end = min(zip(rough, ends), key=lambda both: both[1].energy)
    still, own = all(other.still for other in ends), middle
    if len(ends) > 1:
        apart = _apart(ends[1].points, ends[0].points)
    for fine in finest:
        begun = _carried(own, fine, end.points)
        end, own = at_rest(fine.made, begun), fine
    finer = _apart(begun, end.points)[0] if still and end.still else np.inf
    return Body(own, end, apart, finer)


def _spacings(foam: Foam, copies: Sequence[Copy]) -> list[float]:
    """Sides of triangles in mm, two or three of them: the last is left out where it would be less than the foam is thick,
    some times."""
    area = sum(_area(foam, copy) for copy in copies)
    sides = [float(np.sqrt(area / count / 0.433)) for count in (_COARSE, _MIDDLE, _FINE)]
    return sides[: 3 if sides[2] > _THICK * max(foam.part(copy).thickness for copy in copies) else 2]


def _starts(body: Net) -> tuple[np.ndarray, np.ndarray]:
    far = distances(body)
    return spread(body, far), set_out(body, far)


def _apart(points: np.ndarray, onto: np.ndarray) -> tuple[float, float]:
    """The mean and the largest distance, after the best motion."""
    away = np.linalg.norm(best_motion(points, onto)(points) - onto, axis=1)
    return float(away.mean()), float(away.max())


def _area(foam: Foam, copy: Copy) -> float:
    return ring_area(foam.part(copy).rings)


def _carried(coarse: Net, fine: Net, x: np.ndarray) -> np.ndarray:
    """Vertices of the fine net on the triangles of the coarse one."""
    carried = []
    for copy in fine.copies:
        sheet, begin = coarse.sheets[copy], coarse.first[copy]
        which, weights = sheet.located(fine.sheets[copy].flat)
        carried.append(np.einsum("ki,kij->kj", weights, x[begin + sheet.triangles[which]]))
    return np.vstack(carried)


def spread(body: Net, far: np.ndarray) -> np.ndarray:
    """A start (n, 3): points as far apart in space as they are along the foam (n, n), as nearly as that goes."""
    x = _scaled(far)
    return _inside_in(body, x)


def set_out(body: Net, far: np.ndarray) -> np.ndarray:
    """A start (n, 3): every part flat, its middle where it lies among the others, facing outwards.

    Where the parts are too few to tell how they lie, the other start, pressed out of shape.
    """
    guide = spread(body, far)
    middles = []
    for copy in body.copies:
        own = _own(body, copy)
        middles.append(own[int(far[np.ix_(own, own)].max(axis=1).argmin())])
    x = np.zeros((len(far), 3))
    if len(body.copies) < 3:
        return guide * _PRESSED
    spot = _scaled(far[np.ix_(middles, middles)])
    spot = spot - spot.mean(axis=0)
    if np.linalg.matrix_rank(spot, tol=0.05 * np.abs(spot).max()) < 3:
        return guide * _PRESSED
    place = dict(zip(body.copies, spot))
    motion = best_motion(spot, guide[middles])
    other = best_motion(spot * (-1.0, 1.0, 1.0), guide[middles])
    errors = [
        float(np.linalg.norm(m(s) - guide[middles])) for m, s in ((motion, spot), (other, spot * (-1.0, 1.0, 1.0)))
    ]
    if errors[1] < errors[0]:  # so that both starts have their inside faces within
        place = dict(zip(body.copies, spot * (-1.0, 1.0, 1.0)))
    for copy, middle in zip(body.copies, middles):
        own = _own(body, copy)
        flat = body.made.flat[own] - body.made.flat[middle]
        local = np.column_stack([flat, np.zeros(len(flat))])
        drawn, goals, weights = [np.zeros(3)], [np.zeros(3)], [1.0]
        for g in body.glues:
            for here, there, points in ((g.sewn.a, g.sewn.b, g.a), (g.sewn.b, g.sewn.a, g.b)):
                if here == copy and there != copy:
                    at = points.mean(axis=0) * ((-1.0, 1.0) if body.foam.mirrored(copy) else (1.0, 1.0))
                    drawn.append(np.append(at - body.made.flat[middle], 0.0))
                    goals.append((place[there] - place[copy]) / 2)
                    weights.append(1.0)
        outward = place[copy] / max(float(np.linalg.norm(place[copy])), 1e-9)
        size = float(np.abs(local).max())
        inside_up = body.foam.part(copy).drawn_inside
        drawn.append(np.array([0.0, 0.0, size]))  # the drawn face looks inwards
        goals.append(-outward * size if inside_up else outward * size)
        weights.append(2.0)
        turn = best_motion(np.array(drawn), np.array(goals), np.array(weights)).turn
        x[own] = local @ turn.T + place[copy]
    return x


def _own(body: Net, copy: Copy) -> np.ndarray:
    begin = body.first[copy]
    return np.arange(begin, begin + len(body.sheets[copy].flat))


def distances(body: Net) -> np.ndarray:
    """(n, n) along the foam from vertex to vertex, over glued edges as if they met."""
    made = body.made
    pairs, lengths = [], []
    triangles = made.triangles
    sides = np.unique(np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1), axis=0)
    pairs.append(sides)
    lengths.append(np.linalg.norm(made.flat[sides[:, 0]] - made.flat[sides[:, 1]], axis=1))
    beyond = inner_sides(triangles)[[3, 5]].T
    pairs.append(beyond)
    lengths.append(np.linalg.norm(made.flat[beyond[:, 0]] - made.flat[beyond[:, 1]], axis=1))
    half = len(made.share)
    a, b = made.a[:half], made.b[:half]
    for corner in range(3):
        for other in range(3):
            ends = np.column_stack([a.corners[:, corner], b.corners[:, other]])
            path = np.linalg.norm(_path(made, a, corner), axis=1) + np.linalg.norm(_path(made, b, other), axis=1)
            pairs.append(ends)
            lengths.append(np.maximum(path, 1e-3))
    ends, cost = np.vstack(pairs), np.concatenate(lengths)
    order = np.argsort(cost, kind="stable")
    keys, kept = np.unique(np.sort(ends[order], axis=1), axis=0, return_index=True)
    cost = cost[order][kept]
    n = len(made.flat)
    graph = sparse.csr_matrix((cost, (keys[:, 0], keys[:, 1])), shape=(n, n))
    return dijkstra(graph, directed=False)


def _path(made: Sheets, spots: Spots, corner: int) -> np.ndarray:
    """From the glued point to a corner of its triangle, on the paper."""
    foot = np.einsum("ki,kij->kj", spots.weights, made.flat[spots.corners])
    return made.flat[spots.corners[:, corner]] - foot


def _scaled(far: np.ndarray) -> np.ndarray:
    """Points (n, 3) whose distances are as nearly `far` (n, n) as three dimensions allow."""
    square = far**2
    middle = square - square.mean(axis=0) - square.mean(axis=1)[:, None] + square.mean()
    values, vectors = _largest(-middle / 2)
    places = vectors * np.sqrt(np.maximum(values, 0.0))
    signs = np.sign(places[np.abs(places).argmax(axis=0), np.arange(3)])
    return places * np.where(signs == 0.0, 1.0, signs)


def _largest(matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The three largest eigenvalues, rising, and their vectors as columns."""
    if len(matrix) < 8:
        values, vectors = np.linalg.eigh(matrix)
        return values[-3:], vectors[:, -3:]
    values, vectors = eigsh(matrix, k=3, which="LA", v0=np.linspace(1.0, 2.0, len(matrix)))
    order = np.argsort(values)
    return values[order], vectors[:, order]


def _inside_in(body: Net, x: np.ndarray) -> np.ndarray:
    """`x`, or its mirror image, so that the inside faces look inwards."""
    triangles = body.made.triangles
    corners = x[triangles]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    out = (cross * (corners.mean(axis=1) - x.mean(axis=0))).sum(axis=1)
    drawn = np.concatenate(
        [np.full(len(body.sheets[c].triangles), 1.0 if body.foam.part(c).drawn_inside else -1.0) for c in body.copies]
    )
    return x if float((out * drawn).sum()) <= 0.0 else x * (-1.0, 1.0, 1.0)
