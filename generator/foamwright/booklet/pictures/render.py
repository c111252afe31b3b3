"""Shaded pictures of copies, line by line of a grid: foam in its colour, edges in ink. Compiled nowhere but in
`raster`."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from foamwright.assembly import raster
from foamwright.assembly.bodies import Bodies

_LIGHT = np.array([-0.35, 0.55, 0.76])  # from the upper left of the page, a little in front
_SHADE = 0.36  # of the way to black, where no light falls
_WEAK_FIRST = 1.2  # how much sooner than the strongest channel the others go when a colour is darkened
_PALE = 0.70  # how far what stands already goes towards white, at least
_PALEST_DARK = 0.72  # luminance that it reaches, however dark its foam is
LIGHTEST_NEW = 0.50  # luminance that a new part keeps below, however light its foam is
_DARK = 0.10  # luminance below which lines within a part are drawn light
_CREASE = 0.90  # cosine between faces that meet in a drawn edge
_SMOOTH = 0.80  # cosine within which faces are shaded as one curve
_JUMP = 6.0  # cells: a step back of a face that is drawn as an edge
_INK, _GREY, _ON_DARK = np.array([20, 20, 25]), np.array([120, 120, 125]), np.array([150, 150, 155])
_AS_WELL = 0.7  # of what shows of the copy that shows best: no less, and a leader may end on it
_HARDLY = 0.1  # of a copy that shows: so little of it is a scrap
_HATCH = (16, 6)  # cells from stroke to stroke, and across a stroke
_GLUED = np.array([205, 40, 30])


@dataclass(frozen=True, eq=False)
class Scene:
    """What a grid of lines of sight meets first, of so many `copies`: distances, copies and triangles (rows, columns); -1 where
    nothing."""

    depth: np.ndarray
    owner: np.ndarray
    face: np.ndarray
    copies: int

    @cached_property
    def met(self) -> np.ndarray:
        """How many lines of sight meet each of the copies first (copies,)."""
        return np.bincount(self.owner.ravel() + 1, minlength=self.copies + 1)[1:]


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


@lru_cache(maxsize=4)
def points_of(bodies: Bodies) -> np.ndarray:
    """First point of each copy, and the one after its last (copies, 2): the points of a copy lie together."""
    ends = [bodies.triangles[slice(*span)] for span in bodies.spans]
    return np.array([(t.min(), t.max() + 1) for t in ends], np.int64).reshape(-1, 2)


def all_points(bodies: Bodies, copies: Sequence[int]) -> np.ndarray:
    """The points (n, 3) of some copies, one copy after the other."""
    return np.vstack([bodies.points[slice(*points_of(bodies)[i])] for i in copies])


def labels_of(bodies: Bodies, copies: Sequence[int]) -> str:
    """The letters of the parts of some copies, each once."""
    return ", ".join(dict.fromkeys(bodies.pieces[i].label for i in copies))


def shifted(bodies: Bodies, shifts: Mapping[int, np.ndarray]) -> np.ndarray:
    """All points (n, 3) with some copies moved."""
    points = np.array(bodies.points)
    for copy, shift in shifts.items():
        points[slice(*points_of(bodies)[copy])] += shift
    return points


def window(
    points: np.ndarray, bodies: Bodies, shown: Sequence[int], frame: np.ndarray, cells: tuple[int, int]
) -> Window:
    """The grid that holds all copies shown, `cells` (columns, rows) at most."""
    across = np.vstack([points[slice(*points_of(bodies)[i])] for i in shown]) @ frame[:2].T
    flat = np.ascontiguousarray(across.T)
    low = flat.min(axis=1)
    span = np.maximum(flat.max(axis=1) - low, 1e-6)
    step = float(max(span[0] / (cells[0] - 6), span[1] / (cells[1] - 6)))
    shape = np.ceil(span / step).astype(int) + 6
    return Window(frame, low - 2.5 * step, step, (int(shape[1]), int(shape[0])))


def look(points: np.ndarray, bodies: Bodies, shown: Sequence[int], seen: Window) -> Scene:
    """What the grid meets first of the copies shown."""
    depth = np.full(seen.shape, np.inf)
    owner, face = np.full(seen.shape, -1, np.int32), np.full(seen.shape, -1, np.int32)
    if shown:
        count = [int(bodies.spans[i][1] - bodies.spans[i][0]) for i in shown]
        numbers = np.concatenate([np.arange(*bodies.spans[i]) for i in shown])
        owners = np.repeat(np.array(shown, np.int64), count)
        flat = np.ascontiguousarray(points @ seen.frame.T)
        raster.picture(flat, bodies.triangles, numbers, owners, seen.low, seen.step, depth, owner, face)
    return Scene(depth, owner, face, len(bodies.spans))  # straps have spans and no piece


def alone(points: np.ndarray, bodies: Bodies, copy: int, seen: Window) -> int:
    """How many lines of sight meet a copy by itself."""
    flat = points[slice(*points_of(bodies)[copy])] @ seen.frame[:2].T
    first = np.clip(np.floor((flat.min(axis=0) - seen.low) / seen.step).astype(int), 0, None)
    last = np.ceil((flat.max(axis=0) - seen.low) / seen.step).astype(int)
    shape = (int(last[1] - first[1]) + 1, int(last[0] - first[0]) + 1)
    part = Window(seen.frame, seen.low + seen.step * first, seen.step, shape)
    return int((look(points, bodies, [copy], part).owner >= 0).sum())


def is_scrap(points: np.ndarray, bodies: Bodies, copy: int, scene: Scene, seen: Window) -> bool:
    """Does so little of a copy show, as through a porthole, that nobody could say what it is?"""
    return bool(scene.met[copy] <= _HARDLY * alone(points, bodies, copy, seen))


@lru_cache(maxsize=3)  # one picture after the other asks for the same bodies
def corner_normals(bodies: Bodies) -> np.ndarray:
    """Unit normals (m, 3, 3) at the corners of all triangles, read-only: the mean of the faces around that go on
    smoothly."""
    corners = bodies.points[bodies.triangles]
    raw = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    unit = raw / np.maximum(np.linalg.norm(raw, axis=1, keepdims=True), 1e-12)
    normals = np.repeat(unit[:, None], 3, axis=1)
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
        normals[faces, corner % 3] = mean
    normals.setflags(write=False)
    return normals


def normals_of(points: np.ndarray, bodies: Bodies, corners: np.ndarray, scene: Scene, seen: Window) -> np.ndarray:
    """Unit normals (rows, columns, 3) of what is met, turned into the view; zero where nothing is."""
    normals = np.zeros((*scene.face.shape, 3), np.float32)  # nothing is written where nothing is met
    flat = np.ascontiguousarray(points @ seen.frame.T)
    raster.normals(flat, bodies.triangles, corners, scene.face, seen.frame, seen.low, seen.step, normals)
    return normals


def touched(
    scene: Scene,
    normal: np.ndarray,
    seen: Window,
    places: np.ndarray,
    faces: np.ndarray,
    copies: np.ndarray,
    radius: float,
) -> np.ndarray:
    """Where (rows, columns) what is met lies within `radius` mm of a place (n, 3) on its own copy, on the face that
    looks along `faces` (n, 3) there."""
    is_touched = np.zeros(scene.owner.shape, bool)
    if len(places):
        flat, along = (np.ascontiguousarray(array @ seen.frame.T) for array in (places, faces))
        raster.spotted(flat, along, copies, scene.owner, scene.depth, normal, seen.low, seen.step, radius, is_touched)
    return is_touched


def light_of(colours: np.ndarray) -> np.ndarray:
    """Relative luminance (n,) of colours (n, 3) in 0..255, as WCAG 2.1 defines it for sRGB."""
    part = np.asarray(colours, float) / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return linear @ (0.2126, 0.7152, 0.0722)


def pale(colours: np.ndarray) -> np.ndarray:
    """Colours (n, 3) of what stands already: so far towards white that they stand apart from any new part in grey."""
    return _as_far_as(np.asarray(colours, float), whitened, _PALE, _PALEST_DARK, 1)


def full(colours: np.ndarray, lightest: float) -> np.ndarray:
    """Colours (n, 3) of what is new: the foam's own, but no lighter than a luminance."""
    return _as_far_as(np.asarray(colours, float), darkened, 0.0, lightest, -1)


def darkened(colours: np.ndarray, share: float) -> np.ndarray:
    """Colours (n, 3) a `share` of the way to black, the weakest of their channels first: mixed with black alone, yellow turns
    olive, which no yellow foam looks like in the shade; so it turns a golden brown. Greys stay greys."""
    own = np.asarray(colours, float)
    return np.asarray(
        (1.0 - share) * own * (own / np.maximum(own.max(axis=-1, keepdims=True), 1.0)) ** (_WEAK_FIRST * share)
    )


def whitened(colours: np.ndarray, share: float) -> np.ndarray:
    """Colours (n, 3) a `share` of the way to white."""
    return colours + share * (255.0 - colours)


def _as_far_as(
    colours: np.ndarray, mixed: Callable[[np.ndarray, float], np.ndarray], least: float, bound: float, sense: int
) -> np.ndarray:
    """Each colour mixed by the share, `least` at least, that takes its luminance to `bound`."""
    steps = np.stack([mixed(colours, share) for share in np.linspace(least, 1.0, 101).tolist()], axis=1)
    enough = sense * (light_of(steps.reshape(-1, 3)).reshape(steps.shape[:2]) - bound) >= 0.0
    return steps[np.arange(len(colours)), np.where(enough.any(axis=1), enough.argmax(axis=1), 100)]


def foam_colours(bodies: Bodies) -> np.ndarray:
    """Colours (copies, 3) of the foam of all copies, 0..255."""
    return np.array([[int(p.stock.colour[k : k + 2], 16) for k in (1, 3, 5)] for p in bodies.pieces], float)


def best_seen(bodies: Bodies, copies: Sequence[int], scene: Scene) -> list[tuple[str, int]]:
    """The letter of each part among some copies, with its copy that shows best."""
    best: dict[str, int] = {}
    for copy in copies:
        label = bodies.pieces[copy].label
        if label not in best or scene.met[copy] > scene.met[best[label]]:
            best[label] = copy
    return list(best.items())


def alike_as_one(bodies: Bodies, scene: Scene, named: Collection[int], among: Collection[int]) -> Scene:
    """The scene for letters: copies `among` these that are seen nearly as well as the one of their part that is `named` count as
    that, so that the leader of its letter may end on any of them, and is short and crosses no other."""
    one = np.arange(scene.copies)
    for best in named:
        alike = {*bodies.of(bodies.pieces[best].id)} & {*among}
        one[[i for i in alike if scene.met[i] >= _AS_WELL * scene.met[best]]] = best
    return replace(scene, owner=np.where(scene.owner >= 0, one[scene.owner], -1))


def paint(
    own: np.ndarray,
    scene: Scene,
    normal: np.ndarray,
    seen: Window,
    new: Collection[int],
    behind: Scene | None = None,
    glued: np.ndarray | None = None,
    bold: int = 2,
    lightest: float = LIGHTEST_NEW,
    lines: np.ndarray | None = None,
    prints: tuple[np.ndarray, np.ndarray] | None = None,
) -> np.ndarray:
    """Colours (rows, columns, 3), rows downwards: `new` copies in full colour with an outline `bold` cells to both
    sides, the others pale; `own` (copies, 3) are their colours.

    `behind` is the same view with parts that were left out of it, drawn as thin lines; `glued` (rows, columns) is
    hatched; `lines` (rows, columns) are drawn as edges within a part are; `prints` are the numbers (rows, columns) of the
    colours (k, 3) that lie on new copies, -1 where none does. The lightest new ones are drawn no lighter than
    the luminance `lightest`, so that they differ from pale ones.
    The colours are worked out in the place of `normal`, which is gone afterwards: both together would take the most memory
    of a whole pack.
    """
    is_new = np.zeros(len(own) + 1, bool)
    is_new[list(new)] = True
    base = np.where(is_new[:-1, None], full(own, lightest), pale(own))
    shade = darkened(base, _SHADE)
    shade[~is_new[:-1]] = (base[~is_new[:-1]] + shade[~is_new[:-1]]) / 2.0  # what is pale stays so all over
    dark = np.append(light_of(base) < _DARK, False)
    light = _LIGHT / np.linalg.norm(_LIGHT)
    view_light = np.array([light[0], light[1], -light[2]])
    outline, inner, ghost, around = (np.zeros(scene.owner.shape, bool) for _ in range(4))
    raster.drawn_edges(scene.owner, scene.depth, normal, seen.step, _CREASE, _JUMP, outline, inner)
    if lines is not None:
        inner |= lines
    if behind is not None:
        raster.around(behind.owner, np.ones(len(own), bool), 1, ghost)
    raster.around(scene.owner, is_new, bold, around)
    surface = scene.owner
    if prints is not None:
        which, over = prints[0], full(prints[1], lightest)
        surface = np.where(which >= 0, len(base) + which, surface).astype(surface.dtype)
        base, shade = np.vstack([base, over]), np.vstack([shade, darkened(over, _SHADE)])
    raster.coloured(surface, normal, base, shade, view_light, normal)
    strokes = np.zeros_like(outline) if glued is None else glued
    ink = np.where(dark[:, None], _ON_DARK, _INK).astype(np.uint8)
    inks = (_INK.astype(np.uint8), _GREY.astype(np.uint8), _GLUED.astype(np.uint8))
    colours = np.empty((*scene.owner.shape, 3), np.uint8)
    raster.inked(scene.owner, is_new, normal, strokes, _HATCH, outline, inner, ghost, around, ink, inks, colours)
    return colours


def halved(picture: np.ndarray) -> np.ndarray:
    """Every two by two cells made one, so that edges are smooth."""
    rows, columns = (n // 2 for n in picture.shape[:2])
    half = np.empty((rows, columns, 3), np.uint8)
    raster.halved(picture, half)
    return half


def framed(colours: np.ndarray, seen: Window) -> tuple[bytes, tuple[float, float, float, float]]:
    """A PNG file of colours (rows, columns, 3) at half their number, and the box of the view's plane that it fills."""
    rows, columns = (n // 2 * 2 for n in seen.shape)
    x, y = (seen.low - seen.step / 2.0).tolist()
    top = y + seen.step * seen.shape[0]
    return png(halved(colours)), (x, top - seen.step * rows, x + seen.step * columns, top)


def png(picture: np.ndarray) -> bytes:
    """A PNG file (ISO/IEC 15948) of colours (rows, columns, 3), in 64 tones of each so that it stays small."""
    tones = (picture >> 2 << 2) | (picture >> 6)
    rows, columns = tones.shape[:2]
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), tones.reshape(rows, -1)], axis=1)
    up = lines.copy()
    up[1:, 1:] = lines[1:, 1:] - lines[:-1, 1:]
    up[:, 0] = 2  # each line as its difference from the one above
    up[0] = lines[0]

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    data = zlib.compress(up.tobytes(), 6)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
