"""An imported triangle mesh made fit to be a form, or refused with the reason in one line."""

from __future__ import annotations

import igl
import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.geometry import Mesh
from foamwright.geometry.mesh import connected

# All but the last two as shares of the mesh's diagonal.
_SAME = 1e-5  # corners closer than this are one
_ALMOST = 1e-4  # the same, of a mesh that is folded
_HOLE = 0.08  # an opening narrower than this is filled
_BESIDE = 1e-5  # how far beside a face it is asked what is inside
_FLAT = 1e-4  # of its longest side: the height of a triangle that has a corner on that side
_SPECK = 0.01  # of the area of the largest piece: a loose piece below it is dropped
_OVERLAP = 0.002  # of the area: more than this inside the form itself is refused


def repaired(mesh: Mesh) -> tuple[Mesh, tuple[str, ...]]:
    """One closed manifold, counter-clockwise from outside, from any triangles; with notes on what was done to it.

    Raises BuildError where that cannot be had."""
    vertices, faces = np.array(mesh.points), np.array(mesh.triangles)
    if not len(faces) or not np.isfinite(vertices[faces]).all():
        raise BuildError("no triangles in the file" if not len(faces) else "corners without a place (not a number)")
    size = float(np.linalg.norm(np.ptp(vertices[np.unique(faces)], axis=0)))
    try:
        return _one_skin(size, *_once(*_merged(vertices, faces, _SAME * size)))
    except BuildError as error:
        try:
            return _one_skin(size, *_without_folds(*_merged(vertices, faces, _ALMOST * size)))
        except BuildError:
            raise error from None


def _one_skin(size: float, vertices: np.ndarray, faces: np.ndarray) -> tuple[Mesh, tuple[str, ...]]:
    """As `repaired`, of a mesh `size` mm across whose corners and triangles are there once each."""
    notes: list[str] = []
    if not len(faces):
        raise BuildError("no triangle in the file has an area: the corners of each lie in one or two places")
    vertices, faces = _holes_apart(vertices, faces, notes)
    vertices, faces = _one_piece(vertices, faces, notes)
    faces = without_caps(vertices, _oriented(faces, notes))
    vertices, faces = _filled(vertices, faces, _HOLE * size, notes)
    if not igl.is_vertex_manifold(faces).all():
        raise BuildError("the mesh touches itself in single points; part them where it was made")
    if Mesh(vertices, faces).volume < 0:
        faces = faces[:, ::-1]
    made = Mesh(vertices, np.ascontiguousarray(faces))
    if (place := overlap(made)) is not None:
        raise BuildError(f"the mesh passes through itself near {place}; unite it into one skin")
    return made, tuple(notes)


def _merged(vertices, faces, distance):
    """Corners at one place made one, and what is left of the triangles after that."""
    vertices, inverse = np.unique(vertices, axis=0, return_inverse=True)
    faces = inverse.reshape(-1)[faces]
    i, j = cKDTree(vertices).query_pairs(distance, output_type="ndarray").T
    _, label = connected_components(coo_matrix((np.ones(len(i)), (i, j)), shape=(len(vertices),) * 2), directed=False)
    faces = label[faces]
    vertices = vertices[np.unique(label, return_index=True)[1]]
    a, b, c = faces.T
    return vertices, faces[(a != b) & (b != c) & (c != a)]


def _once(vertices, faces):
    """Each triangle once, whichever way round it is written."""
    return _compact(vertices, faces[np.sort(np.unique(np.sort(faces, axis=1), axis=0, return_index=True)[1])])


def _without_folds(vertices, faces):
    """Each triangle once, and none that is there both ways round: two such lie on each other, as mesh makers leave them where
    a solid's faces meet in a straight edge, and without them the skin goes on from one side of the fold to the other."""
    _, first, number = np.unique(np.sort(faces, axis=1), axis=0, return_index=True, return_inverse=True)
    number, clockwise = number.reshape(-1), _turn(faces)
    both = (np.bincount(number, clockwise) > 0) & (np.bincount(number, ~clockwise) > 0)
    return _compact(vertices, faces[np.sort(first[~both])])


def without_caps(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """The triangles (m, 3) of a skin, none with a corner on its own longest side, as mesh makers leave them at the tip of a
    cone: such a triangle faces nowhere. Its corner is joined to that of the triangle across that side instead."""
    flat, left = _caps(vertices, faces), 0
    if not flat:
        return faces
    made = faces.tolist()
    beyond = {(f[k], f[k - 2]): i for i, f in enumerate(made) for k in range(3)}
    while len(flat) != left:  # each turn of a side makes one fewer
        left, waiting = len(flat), []
        for number in flat:
            (is_flat,), (side,) = _on_longest(vertices, np.array([made[number]]))
            if not is_flat:  # it was across a side that was turned
                continue
            m, a, b = (made[number][(side + 2 + k) % 3] for k in range(3))
            other = beyond.get((b, a))
            c = next(v for v in made[other] if v not in (a, b)) if other is not None else m
            pair = [[a, c, m], [c, b, m]]
            if c == m or (m, c) in beyond or (c, m) in beyond or _caps(vertices, np.array(pair)):
                waiting.append(number)
                continue
            del beyond[(a, b)], beyond[(b, a)]
            for place, face in zip((number, other), pair):
                made[place] = face
                beyond |= {(face[k], face[k - 2]): place for k in range(3)}
        flat = waiting
    return np.array(made)


def _caps(vertices: np.ndarray, faces: np.ndarray) -> list[int]:
    """The numbers of the triangles with a corner on their own longest side."""
    return np.flatnonzero(_on_longest(vertices, faces)[0]).tolist()


def _on_longest(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(m,) whether a corner of each triangle lies on its longest side, and the number of that side."""
    corners = vertices[faces]
    along = np.roll(corners, -1, axis=1) - corners
    side = np.argmax((along**2).sum(2), axis=1)
    rows = np.arange(len(faces))
    longest, third = along[rows, side], along[rows, (side + 1) % 3]
    square = np.maximum((longest**2).sum(1), 1e-300)
    share = 1 + (longest * third).sum(1) / square
    off = np.linalg.norm(np.cross(longest, third), axis=1) / square
    return (off < _FLAT) & (share > _FLAT) & (share < 1 - _FLAT), side


def _holes_apart(vertices, faces, notes):
    """The mesh with one fan of triangles, the one of most, at each point where openings touch each other, as in ragged holes of
    scans: it cannot be told which sides are of one rim there, so the others are taken off."""
    before = len(faces)
    while (lesser := _lesser_fans(faces)).any():
        faces = faces[~lesser]
        if not len(faces):
            raise BuildError(
                "the mesh is open all over, its triangles touch each other in points; close it where it was made"
            )
    if taken := before - len(faces):
        notes.append(f"{_some(taken, 'triangle')} taken off where openings touched each other")
    return _compact(vertices, faces)


def _lesser_fans(faces):
    """(m,) whether a triangle is, at a point on the rim of an opening, of another fan than the one of most triangles there. A
    fan has the triangles at a point that go on into each other across sides."""
    corners = np.arange(faces.size).reshape(-1, 3)
    points = int(faces.max()) + 1
    sides, side, count = np.unique(_sides(faces) @ [points, 1], return_inverse=True, return_counts=True)
    # both corners of each side in the order of their points, those of triangles that share it one after the other
    ends = np.where((faces < np.roll(faces, -1, 1))[..., None], _beside(corners), _beside(corners)[..., ::-1])
    by_side = np.argsort(side, kind="stable")
    shared = np.diff(side[by_side]) == 0
    ends = ends.reshape(-1, 2)[by_side]
    joined = ends[:-1][shared].ravel(), ends[1:][shared].ravel()
    graph = coo_matrix((np.ones(len(joined[0])), joined), shape=(faces.size,) * 2)
    fan = connected_components(graph, directed=False)[1]
    point = np.empty(fan.max() + 1, int)
    point[fan] = faces.ravel()
    by_size = np.argsort(np.bincount(fan), kind="stable")
    most = np.zeros(points, int)
    most[point[by_size]] = by_size  # the last one written is the largest
    on_rim = np.zeros(points, bool)
    on_rim[np.concatenate(np.divmod(sides[count == 1], points))] = True
    return ((most[faces] != fan.reshape(-1, 3)) & on_rim[faces]).any(axis=1)


def _sides(faces):
    """(3 m, 2) the sides of all triangles, the lower number first."""
    return np.sort(_beside(faces).reshape(-1, 2), axis=1)


def _beside(corners):
    """(m, 3, 2) each corner of triangles and the next, from (m, 3)."""
    return np.stack([corners, np.roll(corners, -1, 1)], axis=-1)


def _one_piece(vertices, faces, notes):
    label = connected(faces, len(vertices))
    pieces = int(label.max(initial=-1)) + 1
    a, b, c = vertices[faces].transpose(1, 0, 2)
    area = np.bincount(label[faces[:, 0]], np.linalg.norm(np.cross(b - a, c - a), axis=1), pieces)
    large = area >= _SPECK * area.max()
    if large.sum() > 1:
        raise BuildError(
            f"the mesh is in {large.sum()} pieces; join them into one closed skin, or import one file for each"
        )
    if pieces > 1:
        notes.append(f"{_some(pieces - 1, 'loose speck')} dropped")
    return _compact(vertices, faces[large[label[faces[:, 0]]]])


def _oriented(faces, notes):
    """All triangles counter-clockwise from one side."""
    shared = np.unique(_sides(faces), axis=0, return_counts=True)[1]
    if shared.max() > 2:
        raise BuildError(
            f"the mesh is no single skin: {_some((shared > 2).sum(), 'side')} with three or more triangles; "
            "remove what lies inside it or doubled faces"
        )
    turned = np.asarray(igl.bfs_orient(np.ascontiguousarray(faces, np.int64))[0])
    directed = turned[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    if len(np.unique(directed, axis=0)) < len(directed):
        raise BuildError("the mesh has only one side, like a twisted loop; a form has an inside and an outside")
    changed = int((_turn(turned) != _turn(faces)).sum())
    changed = min(changed, len(faces) - changed)
    if changed:
        notes.append(f"{_some(changed, 'triangle')} turned over")
    return turned


def _turn(faces):
    """(m,) which way around each triangle is written."""
    a, b, c = faces.T
    return ((a < b).astype(int) + (b < c) + (c < a)) == 2


def _filled(vertices, faces, widest, notes):
    """Small openings closed by a fan of triangles about their middle."""
    loops = _open_loops(faces)
    for loop in loops:
        width = float(np.linalg.norm(np.ptp(vertices[loop], axis=0)))
        if width > widest:
            x, y, z = vertices[loop].mean(0)
            raise BuildError(
                f"the mesh is open: an opening {width:.0f} mm across near ({x:.0f}, {y:.0f}, {z:.0f}); "
                f"close all that are wider than {widest:.0f} mm"
            )
    for loop in loops:
        if len(loop) == 3:
            faces = np.vstack([faces, loop[::-1]])
            continue
        centre = len(vertices)
        vertices = np.vstack([vertices, vertices[loop].mean(0)])
        faces = np.vstack([faces, np.column_stack([np.roll(loop, -1), loop, np.full(len(loop), centre)])])
    if loops:
        notes.append(f"{_some(len(loops), 'hole')} filled")
    return vertices, faces


def _open_loops(faces) -> list[np.ndarray]:
    """The rims of the openings, none of which touch (`_holes_apart`), each in the direction of its faces."""
    directed = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    size = int(faces.max()) + 1
    open_ = directed[~np.isin(directed @ [size, 1], directed @ [1, size])].tolist()
    following = dict(open_)
    loops = []
    while following:
        loop = list(following.popitem())
        while loop[-1] != loop[0]:
            loop.append(following.pop(loop[-1]))
        loops.append(np.array(loop[:-1]))
    return loops


def overlap(mesh: Mesh) -> str | None:
    """Where a closed mesh passes through itself, as "(x, y, z)"; None where it does not. Just outside every face it must be
    outside, and inside just inside it: the winding number says."""
    vertices, faces = np.array(mesh.points), np.array(mesh.triangles)
    a, b, c = vertices[faces].transpose(1, 0, 2)
    normal = np.cross(b - a, c - a)
    double_area = np.linalg.norm(normal, axis=1)
    step = _BESIDE * mesh.diagonal * normal / np.maximum(double_area, 1e-300)[:, None]
    middle = (a + b + c) / 3
    winding = igl.fast_winding_number(vertices, faces, np.vstack([middle + step, middle - step])).reshape(2, -1)
    wrong = (np.abs(winding[0]) > 0.5) | (np.abs(winding[1] - 1) > 0.5)
    if double_area[wrong].sum() <= _OVERLAP * double_area.sum():
        return None
    x, y, z = middle[np.argmax(np.where(wrong, double_area, 0.0))]
    return f"({x:.0f}, {y:.0f}, {z:.0f})"


def _compact(vertices, faces):
    used, inverse = np.unique(faces, return_inverse=True)
    return vertices[used], inverse.reshape(-1, 3)


def _some(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
