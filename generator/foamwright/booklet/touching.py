"""Where copies touch, as places spread over their faces. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.booklet.bodies import Bodies

GAP = 1.2  # mm: what glue, felt or the triangles of two curved faces leave between parts that touch
_SPACING = 5.0  # mm between the places that are looked at
_FACING = -0.85  # cosine between the two faces
_LEAST = 6.0  # mm2; less is a corner that grazes


@dataclass(frozen=True, eq=False)
class Touch:
    """One contact: places (k, 3) on copy `a`, directions (k, 3) from `b` to `a` there, and the area of each (k,)."""

    a: int
    b: int
    places: np.ndarray
    normals: np.ndarray
    areas: np.ndarray

    @property
    def area(self) -> float:
        return float(self.areas.sum())


def touching(bodies: Bodies) -> tuple[dict[tuple[int, int], Touch], list[cKDTree]]:
    """Every pair of copies that touch, by both orders of the pair, and places spread over each copy to search in."""
    samples = [_spread(bodies, i) for i in range(len(bodies))]
    trees = [cKDTree(places) for places, _, _ in samples]
    boxes = np.array([(*p.min(axis=0), *p.max(axis=0)) for p, _, _ in samples]).reshape(-1, 6)
    found: dict[tuple[int, int], Touch] = {}
    for i in range(len(bodies)):
        near = (boxes[i, :3] < boxes[i + 1 :, 3:] + GAP).all(axis=1) & (boxes[i + 1 :, :3] < boxes[i, 3:] + GAP).all(1)
        for j in (np.flatnonzero(near) + i + 1).tolist():
            one = _met(samples[i], trees[j], samples[j], boxes[j])
            other = _met(samples[j], trees[i], samples[i], boxes[i])
            # the finer of the two tells: a small face amid a large one is met by all of its own places
            if max(one[2].sum(), other[2].sum()) < _LEAST:
                continue
            found[i, j] = Touch(i, j, *(one if one[2].sum() else (other[0], -other[1], other[2])))
            found[j, i] = Touch(j, i, *(other if other[2].sum() else (one[0], -one[1], one[2])))
    return found, trees


def _met(sample, tree: cKDTree, other, box: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    near = ((sample[0] > box[:3] - GAP) & (sample[0] < box[3:] + GAP)).all(axis=1)
    places, normals, areas = (array[near] for array in sample)
    if not len(places):
        return places, normals, areas
    distance, index = tree.query(places, k=min(5, len(other[0])), distance_upper_bound=1.6 * _SPACING)
    distance, index = distance.reshape(len(places), -1), index.reshape(len(places), -1)
    close = np.isfinite(distance[:, 0])
    places, normals, areas, distance, index = (a[close] for a in (places, normals, areas, distance, index))
    index = np.where(np.isfinite(distance), index, 0)
    apart = np.abs(np.einsum("nkj,nj->nk", other[0][index] - places[:, None], normals))
    facing = np.einsum("nkj,nj->nk", other[1][index], normals)
    touch = (np.isfinite(distance) & (apart < GAP) & (facing < _FACING)).any(axis=1)
    return places[touch], -normals[touch], areas[touch]


def _spread(bodies: Bodies, copy: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places, normals and areas over the faces of a copy: every triangle in equal parts no longer than the spacing."""
    corners = bodies.points[bodies.triangles[slice(*bodies.spans[copy])]]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    parts = np.clip(np.ceil(longest / _SPACING), 1, 60).astype(int)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normal, axis=1) / 2.0
    keep = area > 1e-9
    places, normals, areas = [], [], []
    for n in np.unique(parts[keep]).tolist():
        chosen = keep & (parts == n)
        weights = _centres(n)
        places.append(np.einsum("wk,tkj->twj", weights, corners[chosen]).reshape(-1, 3))
        unit = normal[chosen] / (2.0 * area[chosen, None])
        normals.append(np.repeat(unit, len(weights), axis=0))
        areas.append(np.repeat(area[chosen] / len(weights), len(weights)))
    return np.vstack(places), np.vstack(normals), np.concatenate(areas)


def _centres(n: int) -> np.ndarray:
    """Barycentric centres (n * n, 3) of a triangle cut into n * n alike."""
    up = [((i + 1 / 3) / n, (j + 1 / 3) / n) for i in range(n) for j in range(n - i)]
    down = [((i + 2 / 3) / n, (j + 2 / 3) / n) for i in range(n - 1) for j in range(n - 1 - i)]
    pairs = np.array(up + down)
    return np.column_stack([1.0 - pairs.sum(axis=1), pairs])
