"""Shaded pictures of copies, line by line of a grid: foam in its colour, edges in ink. Compiled nowhere but in
`raster`."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.booklet import raster
from foamwright.booklet.bodies import Bodies

_LIGHT = np.array([-0.35, 0.55, 0.76])  # from the upper left of the page, a little in front
_DARKEST = 0.58  # of the colour where no light falls
_PALE = 0.78  # how far what stands already goes towards white
_CREASE = 0.90  # cosine between faces that meet in a drawn edge
_SMOOTH = 0.80  # cosine within which faces are shaded as one curve
_INK, _GREY = np.array([25, 25, 30]), np.array([120, 120, 125])
_GLUED = np.array([205, 40, 30])


@dataclass(frozen=True, eq=False)
class Scene:
    """What a grid of lines of sight meets first: distances, copies and triangles (rows, columns); -1 where nothing."""

    depth: np.ndarray
    owner: np.ndarray
    face: np.ndarray


@dataclass(frozen=True, eq=False)
class Window:
    """A view and its grid: rows of `frame` are across, up and along; samples `step` mm apart from `low`."""

    frame: np.ndarray  # (3, 3)
    low: np.ndarray  # (2,)
    step: float
    shape: tuple[int, int]  # rows, columns

    def pixel(self, place: np.ndarray) -> np.ndarray:
        """(column, row) of a place in space, rows counted upwards."""
        return (np.asarray(place) @ self.frame[:2].T - self.low) / self.step


def shifted(bodies: Bodies, shifts: Mapping[int, np.ndarray]) -> np.ndarray:
    """All points (n, 3) with some copies moved."""
    points = np.array(bodies.points)
    for copy, shift in shifts.items():
        points[np.unique(bodies.triangles[slice(*bodies.spans[copy])])] += shift
    return points


def window(
    points: np.ndarray, bodies: Bodies, shown: Sequence[int], frame: np.ndarray, cells: tuple[int, int]
) -> Window:
    """The grid that holds all copies shown, `cells` (columns, rows) at most."""
    used = np.unique(np.concatenate([bodies.triangles[slice(*bodies.spans[i])].ravel() for i in shown]))
    flat = points[used] @ frame[:2].T
    low, span = flat.min(axis=0), np.maximum(np.ptp(flat, axis=0), 1e-6)
    step = float(max(span[0] / (cells[0] - 6), span[1] / (cells[1] - 6)))
    shape = np.ceil(span / step).astype(int) + 6
    return Window(frame, low - 2.5 * step, step, (int(shape[1]), int(shape[0])))


def look(points: np.ndarray, bodies: Bodies, shown: Sequence[int], seen: Window) -> Scene:
    """What the grid meets first of the copies shown."""
    depth = np.full(seen.shape, np.inf)
    owner, face = np.full(seen.shape, -1, np.int64), np.full(seen.shape, -1, np.int64)
    if shown:
        numbers = [np.arange(*bodies.spans[i]) for i in shown]
        owners = np.repeat(np.array(shown, np.int64), [len(n) for n in numbers])
        index = np.concatenate(numbers)
        step = np.array([seen.step, seen.step])
        raster.picture(points, bodies.triangles[index], owners, seen.frame, seen.low, step, depth, owner, face)
        face = np.where(face >= 0, index[face], -1)
    return Scene(depth, owner, face)


def corner_normals(bodies: Bodies) -> np.ndarray:
    """Unit normals (m, 3, 3) at the corners of all triangles: the mean of the faces around that go on smoothly."""
    corners = bodies.points[bodies.triangles]
    raw = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    unit = raw / np.maximum(np.linalg.norm(raw, axis=1, keepdims=True), 1e-12)
    found = np.repeat(unit[:, None], 3, axis=1)
    flat = bodies.triangles.ravel()
    order = np.argsort(flat, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(flat[order]) > 0, True])
    count = np.diff(starts)
    for n in np.unique(count[count > 1]).tolist():
        at = starts[:-1][count == n]
        corner = order[at[:, None] + np.arange(n)]  # (k, n) corners that share a point
        faces = corner // 3
        near = np.einsum("kaj,kbj->kab", unit[faces], unit[faces]) > _SMOOTH
        mean = np.einsum("kab,kbj->kaj", near.astype(float), raw[faces])
        mean /= np.maximum(np.linalg.norm(mean, axis=2, keepdims=True), 1e-12)
        found[faces, corner % 3] = mean
    return found


def normals_of(points: np.ndarray, bodies: Bodies, corners: np.ndarray, scene: Scene, seen: Window) -> np.ndarray:
    """Unit normals (rows, columns, 3) of what is met, turned into the view; zero where nothing is."""
    hit = scene.face >= 0
    rows, columns = np.nonzero(hit)
    faces = scene.face[hit]
    flat = points[bodies.triangles[faces]] @ seen.frame[:2].T
    place = seen.low + seen.step * np.column_stack([columns, rows])
    a, b, p = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0], place - flat[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    area = np.where(np.abs(area) < 1e-12, 1e-12, area)
    s = (p[:, 0] * b[:, 1] - p[:, 1] * b[:, 0]) / area
    r = (a[:, 0] * p[:, 1] - a[:, 1] * p[:, 0]) / area
    weights = np.column_stack([1.0 - s - r, s, r])
    normal = np.einsum("nk,nkj->nj", weights, corners[faces])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    found = np.zeros((*scene.face.shape, 3))
    found[hit] = normal @ seen.frame.T
    return found


def paint(
    bodies: Bodies,
    scene: Scene,
    normal: np.ndarray,
    seen: Window,
    new: Collection[int],
    behind: Scene | None = None,
    glued: np.ndarray | None = None,
) -> np.ndarray:
    """Colours (rows, columns, 3), rows downwards: `new` copies in full colour with a bold outline, the others pale.

    `behind` is the same view with parts that were left out of it, drawn as thin lines; `glued` (rows, columns) is
    hatched.
    """
    base = np.array([[int(p.stock.colour[k : k + 2], 16) for k in (1, 3, 5)] for p in bodies.pieces], float)
    is_new = np.zeros(len(bodies) + 1, bool)
    is_new[list(new)] = True
    base[~is_new[:-1]] += _PALE * (255.0 - base[~is_new[:-1]])
    light = _LIGHT / np.linalg.norm(_LIGHT)
    view_light = np.array([light[0], light[1], -light[2]])
    tone = _DARKEST + (1.0 - _DARKEST) * np.clip(normal @ view_light, 0.0, 1.0)
    picture = np.full((*scene.owner.shape, 3), 255.0)
    hit = scene.owner >= 0
    weak = np.where(is_new[scene.owner], tone, 0.5 + 0.5 * tone)
    picture[hit] = np.minimum(base[scene.owner[hit]] * weak[hit, None], 255.0)
    if glued is not None:
        rows, columns = np.indices(scene.owner.shape)
        picture[glued & ((rows + columns) % 14 < 4)] = _GLUED
    fresh = is_new[scene.owner]
    edges, outline = _edges(scene, normal, seen)
    picture[edges & ~fresh] = _GREY
    if behind is not None:
        ghost = _borders(behind.owner) & ~fresh & ~edges
        picture[ghost] = 0.5 * picture[ghost] + 0.5 * _GREY
    picture[edges & fresh] = _INK
    around = _thick(outline & _by(fresh), 2)
    picture[around] = _INK
    return np.clip(np.round(picture[::-1]), 0, 255).astype(np.uint8)


def _edges(scene: Scene, normal: np.ndarray, seen: Window) -> tuple[np.ndarray, np.ndarray]:
    """Where an edge is drawn, and where it is the outline of a copy."""
    outline = _borders(scene.owner)
    crease = np.zeros_like(outline)
    along = np.where(np.isfinite(scene.depth), scene.depth, 0.0)
    for axis in (0, 1):
        one, two = _pair(axis)
        turned = np.einsum("ijk,ijk->ij", normal[one], normal[two]) < _CREASE
        slope = np.abs(normal[one][..., 2]) + 0.12
        jump = np.abs(along[one] - along[two]) > 6.0 * seen.step / slope
        crease[one] |= (turned | jump) & (scene.owner[one] >= 0) & (scene.owner[two] >= 0)
    return outline | crease, outline


def _borders(owner: np.ndarray) -> np.ndarray:
    found = np.zeros(owner.shape, bool)
    for axis in (0, 1):
        one, two = _pair(axis)
        found[one] |= owner[one] != owner[two]
    return found


def _pair(axis: int):
    return (
        ((slice(None, -1), slice(None)), (slice(1, None), slice(None)))
        if axis == 0
        else (
            (slice(None), slice(None, -1)),
            (slice(None), slice(1, None)),
        )
    )


def _by(mask: np.ndarray) -> np.ndarray:
    return _thick(mask, 1)


def _thick(mask: np.ndarray, cells: int) -> np.ndarray:
    """The mask grown by some cells on every side."""
    for _ in range(cells):
        grown = mask.copy()
        grown[1:] |= mask[:-1]
        grown[:-1] |= mask[1:]
        grown[:, 1:] |= mask[:, :-1]
        grown[:, :-1] |= mask[:, 1:]
        mask = grown
    return mask


def halved(picture: np.ndarray) -> np.ndarray:
    """Every two by two cells made one, so that edges are smooth."""
    rows, columns = (n // 2 * 2 for n in picture.shape[:2])
    cells = picture[:rows, :columns].reshape(rows // 2, 2, columns // 2, 2, 3).astype(np.uint16)
    return ((cells.sum(axis=(1, 3)) + 2) // 4).astype(np.uint8)


def png(picture: np.ndarray) -> bytes:
    """A PNG file (ISO/IEC 15948) of colours (rows, columns, 3), in tones of a sixteenth so that it stays small."""
    tones = (picture >> 3 << 3) | (picture >> 5)
    rows, columns = tones.shape[:2]
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), tones.reshape(rows, -1)], axis=1)
    up = lines.copy()
    up[1:, 1:] = lines[1:, 1:] - lines[:-1, 1:]
    up[:, 0] = 2  # each line as its difference from the one above
    up[0] = lines[0]

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    data = zlib.compress(up.tobytes(), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
