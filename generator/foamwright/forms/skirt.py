"""Sheets of a mesh carried on past their rim, so that they can be cut to any mitre there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.geometry import Mesh

_ROWS = 3
_LONGEST_CORNER = 3.0  # of the reach: how far it is carried on at a corner of the rim
_MOST_TURN = 1.0  # radians by which it may bend on its way out
_FACING = 0.1  # cosine between ways that come towards each other: a little more than that of a right angle
_AT_ONCE = 1 << 20  # pairs of points of the rim


@dataclass(frozen=True, eq=False)
class Skirted:
    """`mesh` has the sheets' own triangles first; `normals` (M, 3, 3) are those at the corners of all, `sheet_of` (M,) the
    sheet that each belongs to. From the vertices `rim` (k,) of the whole form it goes on to `outermost` (k, 3)."""

    mesh: Mesh
    normals: np.ndarray
    sheet_of: np.ndarray
    rim: np.ndarray
    outermost: np.ndarray


def with_skirt(
    points: np.ndarray, faces: np.ndarray, normals: np.ndarray, sheet_of: np.ndarray, reach: float
) -> Skirted:
    """The sheets of triangles `faces` (m, 3), each of sheet `sheet_of` (m,), over `points` (n, 3) with `normals`
    (m, 3, 3) at their corners, carried on by `reach` mm past their common rim, with the bend that they have there.

    From each point of the rim it goes on along an arc of the curvature that the turn of the normals around the point
    shows, which is exact on planes, cylinders and spheres, and ends halfway to where the rim faces it, as across a small hole.
    Where a crease between two of the sheets runs into the rim, it runs on as a crease.
    """
    rim, within = _rim(faces)
    place, outward, normal, turn = _outward(points, faces, normals, rim)
    number = {int(v): k for k, v in enumerate(place)}
    used, renamed = np.unique(faces, return_inverse=True)
    own = points[used]
    at = {int(v): k for k, v in enumerate(used)}
    rows = [np.array([at[int(v)] for v in place])]
    made, made_normals = [own], [normal]
    unit = outward / np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-300)
    bend = (turn * unit).sum(1)
    length = np.minimum(reach * np.linalg.norm(outward, axis=1), _MOST_TURN / np.maximum(np.abs(bend), 1e-12))
    length = np.minimum(length, _halfway(points[place], unit))
    aside = np.cross(normal, unit)
    twist = (turn * aside).sum(1)
    count = len(own)
    for row in range(1, _ROWS + 1):
        s = length * row / _ROWS
        angle = bend * s
        safe = np.where(np.abs(angle) < 1e-9, 1.0, angle)
        along = np.where(np.abs(angle) < 1e-9, s, s * np.sin(safe) / safe)
        down = np.where(np.abs(angle) < 1e-9, 0.0, s * (1 - np.cos(safe)) / safe)
        made.append(points[place] + along[:, None] * unit - down[:, None] * normal)
        leaning = np.cos(angle)[:, None] * normal + np.sin(angle)[:, None] * unit + (twist * s)[:, None] * aside
        made_normals.append(leaning / np.linalg.norm(leaning, axis=1, keepdims=True))
        rows.append(count + np.arange(len(place)))
        count += len(place)
    triangles, corner_normals, sheets = [renamed.reshape(-1, 3)], [normals], [sheet_of]
    a, b = (np.array([number[int(v)] for v in rim[:, k]]) for k in (0, 1))
    own_a, own_b = (
        _in_sheet(faces, normals, sheet_of, rim[:, k], sheet_of[within]) - normal[n] for k, n in ((0, a), (1, b))
    )
    for row in range(_ROWS):
        inner, outer = rows[row], rows[row + 1]
        (in_a, in_b), (out_a, out_b) = (
            (_unit(n[a] + own_a), _unit(n[b] + own_b)) for n in (made_normals[row], made_normals[row + 1])
        )
        triangles += [
            np.column_stack([inner[b], inner[a], outer[a]]),
            np.column_stack([inner[b], outer[a], outer[b]]),
        ]
        corner_normals += [np.stack([in_b, in_a, out_a], axis=1), np.stack([in_b, out_a, out_b], axis=1)]
        sheets += 2 * [sheet_of[within]]
    mesh = Mesh(np.vstack(made), np.vstack(triangles))
    return Skirted(mesh, np.concatenate(corner_normals), np.concatenate(sheets), place, made[-1])


def _halfway(points: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """(k,) mm from each point (k, 3) of a rim along its way (k, 3) to where it is as far from another point whose way comes
    towards it; inf where none does. Further on it would come to lie on the sheet itself, across the hole."""
    found = np.full(len(points), np.inf)
    rows = max(1, _AT_ONCE // len(points))
    for first in range(0, len(points), rows):
        some = slice(first, first + rows)
        to = points - points[some, None]
        ahead = np.einsum("ijk,ik->ij", to, ways[some])
        facing = (ahead > 0) & (ways[some] @ ways.T < _FACING)
        found[some] = np.where(facing, (to**2).sum(2) / np.where(facing, 2 * ahead, 1.0), np.inf).min(axis=1)
    return found


def _rim(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(k, 2) sides of the faces that have no other face across, the sheet on their left, and the face (k,) of each."""
    directed = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    size = int(faces.max()) + 1
    lone = np.flatnonzero(~np.isin(directed @ [size, 1], directed @ [1, size]))
    return directed[lone], lone // 3


def _in_sheet(
    faces: np.ndarray, normals: np.ndarray, sheet_of: np.ndarray, vertices: np.ndarray, sheets: np.ndarray
) -> np.ndarray:
    """The unit normals (k, 3) at `vertices` (k,), each of one of the `sheets` (k,)."""
    size = int(sheet_of.max()) + 1
    keys, at = np.unique(faces * size + sheet_of[:, None], return_inverse=True)
    total = np.zeros((len(keys), 3))
    np.add.at(total, at.reshape(-1), normals.reshape(-1, 3))
    return _unit(total[np.searchsorted(keys, vertices * size + sheets)])


def _unit(vectors: np.ndarray) -> np.ndarray:
    """(k, 3) as long as 1."""
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-300))


def _outward(points: np.ndarray, faces: np.ndarray, normals: np.ndarray, rim: np.ndarray):
    """For each vertex of the rim (k,): its number, the way out (k, 3), longer at a corner so that the skirt keeps its
    width along both sides, its unit normal, and by how much that turns for each mm of the way out."""
    place, index = np.unique(rim, return_inverse=True)
    index = index.reshape(-1, 2)
    on_rim = np.isin(faces, place)
    face, corner = np.nonzero(on_rim)
    vertex = np.searchsorted(place, faces[face, corner])
    normal = np.zeros((len(place), 3))
    np.add.at(normal, vertex, normals[face, corner])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    along = points[rim[:, 1]] - points[rim[:, 0]]
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-300)
    outward = np.zeros_like(normal)
    for k in (0, 1):
        np.add.at(outward, index[:, k], np.cross(along, normal[index[:, k]]))
    outward -= (outward * normal).sum(1)[:, None] * normal
    sides = np.bincount(index.ravel(), minlength=len(place))
    half = np.linalg.norm(outward, axis=1) / np.maximum(sides, 1)  # cosine of half the turn of the rim
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-300)
    first = np.cross(normal, outward)
    # how the normal turns: the least-squares linear map over the sides that meet in each vertex
    moment, product = np.zeros((len(place), 2, 2)), np.zeros((len(place), 2, 3))
    for k in (1, 2):
        other = (corner + k) % 3
        step = points[faces[face, other]] - points[faces[face, corner]]
        change = normals[face, other] - normals[face, corner]
        flat = np.stack([(step * outward[vertex]).sum(1), (step * first[vertex]).sum(1)], axis=1)
        np.add.at(moment, vertex, flat[:, :, None] * flat[:, None, :])
        np.add.at(product, vertex, flat[:, :, None] * change[:, None, :])
    size = np.trace(moment, axis1=1, axis2=2)[:, None, None]
    turn = np.linalg.solve(moment + 1e-9 * size * np.eye(2), product)[:, 0]
    return place, outward / np.maximum(half, 1 / _LONGEST_CORNER)[:, None], normal, turn
