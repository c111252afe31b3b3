"""Points of one part carried to the pattern of another, along the normal of that. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.spatial import cKDTree

from foamwright.flatten.bands import developed, grooves
from foamwright.flatten.records import FlatMesh, Pattern
from foamwright.geometry.drawn import seen_from_inside
from foamwright.parts.records import BandBody, FlatBody, PanelBody, RodBody
from foamwright.templates.records import mesh_of

STEP = 1.0  # outlines are carried over point by point, so far apart
_AT_ONCE = 2000  # points: those of a large contact by all that they are compared with would take hundreds of MB
_NEAREST = 6  # triangles looked at for each point


@dataclass(frozen=True, eq=False)
class Landing:
    """Points carried to a pattern: `flat` (N, 2), `height` (N,) above the inside face, which are near."""

    flat: np.ndarray
    height: np.ndarray
    near: np.ndarray  # (N,) bool
    around: float | None  # length of a closed band, whose pattern comes round on itself along x
    stride: float = (
        4 * STEP
    )  # the longest step of a line that stays on the foam: over the groove of a fold it is longer


def land(pattern: Pattern, points: np.ndarray) -> Landing:
    """Carry points in space (N, 3), given at the place of the part as modelled, to its pattern.

    A point is near when it is no further from either face than the part is thick.
    """
    body = pattern.piece.body
    depth = pattern.piece.thickness
    around, stride = None, Landing.stride
    if isinstance(body, FlatBody):
        if pattern.frame is None:
            raise ValueError(f"{pattern.piece.id} is flat and its pattern has no frame")
        local = pattern.frame.to_frame(points)  # its z points away from the foam, at one who looks at the inside
        flat, height, over = local[:, :2], -local[:, 2], np.zeros(len(points), bool)
    elif isinstance(body, RodBody):  # nothing is marked on a bar that is rounded
        flat, height, over = np.zeros((len(points), 2)), np.zeros(len(points)), np.ones(len(points), bool)
    elif isinstance(body, BandBody):
        flat, height, over = _land_on_band(pattern, body, points)
        if body.closed:
            around = float(developed(body, depth, pattern.piece.stock.k).places[-1])
        wide = [b - a for inside in (True, False) for a, b in grooves(pattern.piece, inside)]
        stride += max(wide, default=0.0)
    else:
        flat, height, over = _land_on_panel(pattern, body, points, reach=2 * depth)
    return Landing(flat, height, ~over & (height > -depth) & (height < 2 * depth), around, stride)


def _land_on_band(pattern: Pattern, body: BandBody, points: np.ndarray) -> tuple[np.ndarray, ...]:
    """Along the neutral curve from its start, and along `across` from the curve."""
    neutral = body.curve + body.normals * (body.inner_offset + pattern.neutral_offset)
    rise = neutral @ body.across
    plane = neutral - rise[:, None] * body.across
    step = np.diff(plane, axis=0)
    start = developed(body, pattern.piece.thickness, pattern.piece.stock.k).places
    length = np.diff(start)
    across = points @ body.across
    shadow = points - across[:, None] * body.across
    spans = range(0, max(len(points), 1), _AT_ONCE // 8)
    near = [_nearest(shadow[first : first + spans.step], plane, step) for first in spans]
    best, part, gap = (np.concatenate(own) for own in zip(*near))
    normal = body.normals[best] * (1 - part)[:, None] + body.normals[best + 1] * part[:, None]
    foot = plane[best] + part[:, None] * step[best]
    above = np.einsum("nk,nk->n", shadow - foot, normal)
    along = start[best] + part * length[best]
    flat = seen_from_inside(np.column_stack([along, across - np.interp(along, start, rise)]))
    past_the_end = gap > np.abs(above) + 0.5
    return flat, above + pattern.neutral_offset, past_the_end


def _nearest(points: np.ndarray, line: np.ndarray, step: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """On which of the stretches `step` of a line points (n, 3) are nearest to it, at which share of that, and how far off."""
    x, y, z = (np.subtract.outer(points[:, k], line[:-1, k]) for k in range(3))  # one by one: a third of the time
    dx, dy, dz = step.T
    share = np.clip((x * dx + y * dy + z * dz) / (step**2).sum(axis=1), 0.0, 1.0)
    x, y, z = x - share * dx, y - share * dy, z - share * dz
    gap = np.sqrt(x * x + y * y + z * z)
    best, row = np.argmin(gap, axis=1), np.arange(len(points))
    return best, share[row, best], gap[row, best]


def _land_on_panel(pattern: Pattern, body: PanelBody, points: np.ndarray, reach: float) -> tuple[np.ndarray, ...]:
    """Through the pattern's mesh; heights are measured along the mesh's normal, outwards."""
    flat, height, over = through_mesh(mesh_of(pattern), points, reach)
    return flat, _outwards(mesh_of(pattern), body, reach) * height + pattern.neutral_offset, over


@lru_cache(maxsize=256)
def _outwards(mesh: FlatMesh, body: PanelBody, reach: float) -> float:
    """1 where the mesh's normals point outwards, -1 where they point inwards."""
    first = body.edges[0]
    _, inner, _ = through_mesh(mesh, first.inner, reach)
    _, outer, _ = through_mesh(mesh, first.outer, reach)
    return -1.0 if np.median(outer - inner) < 0 else 1.0


@lru_cache(maxsize=64)
def _around(mesh: FlatMesh) -> tuple[np.ndarray, np.ndarray, cKDTree]:
    """Twice the area vector (m, 3) of each triangle, the unit normal (n, 3) at each point, and a tree of the middles."""
    space, faces = mesh.surface.points, mesh.surface.triangles
    cross = np.cross(space[faces[:, 1]] - space[faces[:, 0]], space[faces[:, 2]] - space[faces[:, 0]])
    normals = np.zeros_like(space)
    for corner in range(3):
        np.add.at(normals, faces[:, corner], cross)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return cross, normals, cKDTree(space[faces].mean(axis=1))


def through_mesh(mesh: FlatMesh, points: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Flat positions (N, 2), heights over the mesh along its normals (N,), and which points lie beyond it.

    For each point, of the triangles nearby, the one whose copy offset to the point's height holds it; beyond
    the rim, the flat position is carried on straight from the nearest triangle.
    """
    if len(points) > _AT_ONCE:
        spans = (points[start : start + _AT_ONCE] for start in range(0, len(points), _AT_ONCE))
        flat, height, beyond = zip(*(through_mesh(mesh, some, reach) for some in spans))
        return np.concatenate(flat), np.concatenate(height), np.concatenate(beyond)
    space, faces = mesh.surface.points, mesh.surface.triangles
    cross, normals, tree = _around(mesh)
    count = min(_NEAREST, len(faces))
    away, near = tree.query(points, k=count)
    away, near = away.reshape(len(points), count), near.reshape(len(points), count)
    far = away[:, 0] > reach + 3 * np.sqrt(np.linalg.norm(cross, axis=1).max())
    if far.any():
        flat, height, beyond = (
            mesh.flat[faces[near[:, 0], 0]],
            np.full(len(points), np.inf),
            np.full(len(points), True),
        )
        if not far.all():
            flat[~far], height[~far], beyond[~far] = through_mesh(mesh, points[~far], reach)
        return flat, height, beyond
    numbers = np.moveaxis(faces[near], -1, 0)
    corners, lifts = (np.ascontiguousarray(of.T)[:, numbers].swapaxes(0, 1) for of in (space, normals))
    target = points.T[:, :, None]
    height = np.zeros(near.shape)
    for _ in range(3):  # height along blended normals: a few fixed-point steps settle it
        share, normal, rest = _foot(corners + height * lifts, target)
        slant = sum(part * _dot(lift, normal) for part, lift in zip(share, lifts))
        height = height + rest / np.where(np.abs(slant) < 0.2, 1.0, slant)
    size = np.sqrt(np.linalg.norm(cross, axis=1))[near]
    beyond = np.maximum(-share.min(axis=0), 0.0) * size
    score = beyond + np.where(np.abs(height) > reach, 1e6 + np.abs(height), 0.0)
    best = np.argmin(np.round(score, 9), axis=1)
    row = np.arange(len(points))
    flat = np.einsum("in,nij->nj", share[:, row, best], mesh.flat[faces[near[row, best]]])
    return flat, height[row, best], beyond[row, best] > 4 * STEP


def _foot(corners: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of points (3, N, 1) over triangles, `corners` (3, 3, N, K) with their coordinates second: the shares (3, N, K) of the
    corners in the foot of each point on the plane of each triangle, the unit normal (3, N, K) of that, and the height (N, K)
    over it. Numbers that are worked with together lie together, which takes a third of the time."""
    a, b, p = corners[1] - corners[0], corners[2] - corners[0], points - corners[0]
    normal = np.stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
    normal /= np.sqrt(_dot(normal, normal))
    aa, ab, bb = _dot(a, a), _dot(a, b), _dot(b, b)
    pa, pb = _dot(p, a), _dot(p, b)
    det = aa * bb - ab * ab
    v, w = (bb * pa - ab * pb) / det, (aa * pb - ab * pa) / det
    return np.stack([1 - v - w, v, w]), normal, _dot(p, normal)


def _dot(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])
