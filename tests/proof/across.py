"""Bent parts across their paper: straight from one point of the outline to another it is as far as along the foam of the solid.

A pattern is a development, so a straight line on the paper is a geodesic of the surface that keeps its lengths. That surface is
taken from the solid of the written STEP file (its broad side, moved into the foam along the solid's own normals), and the
geodesics on it are found by libigl (Mitchell, Mount and Papadimitriou 1987), so nothing of the program's flattening has a part in it.
Lines that cross a dart, a hole or the outline are left out. Lengths in mm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

import cadquery as cq
import igl
import numpy as np
import shapely
from scipy.spatial import cKDTree

from tests.proof.foam import (
    BENT,
    Off,
    border,
    length_of,
    normals_on,
    parted,
    points_on,
    sides_of,
    solids,
)

_EVERY = 4  # points on each line between two corners, at least
_SPACING = 40.0  # between them, on long lines
_FINE = 0.01, 0.04  # mm and radians by which triangles stand off the surface
_ONE = 1e-4  # points that are nearer are one
_SHORT = 20.0  # lines that are shorter tell little
_BESIDE = 0.2  # from an edge that two faces share
_ON = 0.02  # from a line, of what is a vertex of it
_ITSELF = 0.5  # from another line of the border
_ALIKE = 0.03  # of the longest line, by which ways of laying the outline on the border may differ and both be tried


def across(files: Mapping[str, bytes], record: Mapping[str, Any], folder) -> Iterator[Off]:
    """Of the first copy of every bent part without cut: by how much each line differs, and what its strain allows."""
    bodies = solids(files["model/prop.step"], folder)
    for part in record["parts"]:
        named = re.compile(rf"{re.escape(part['label'])} {re.escape(part['name'])} \(\d+\)$")
        own = [body for name, body in bodies.items() if named.match(name)]
        if own and part["kind"] in BENT:
            yield from of_part(part, own[0])


def of_part(part: Mapping[str, Any], solid: cq.Shape) -> list[Off]:
    """Nothing if its outline has no corners by which it could be laid on the border of the solid's side."""
    strain = part["strain"]["max"]
    best: list[tuple[float, float]] | None = None
    sides = sides_of(solid, part["thickness"])
    for side in sides if all(sides) else ():
        for found in _ways(part, side):
            if best is None or _worst(found) < _worst(best):
                best = found
    return [
        Off(
            part["id"],
            f"across, a line of {far:.1f}",
            by,
            0.2 + (2.0 * strain + 1e-4) * far,
        )
        for by, far in best or ()
    ]


def _worst(found: list[tuple[float, float]]) -> float:
    return max((by for by, _ in found), default=np.inf)


def _ways(part: Mapping[str, Any], side: list[cq.Face]) -> Iterator[list[tuple[float, float]]]:
    """For each way in which the outline may be laid on the border: differences, and the lengths on the paper."""
    loops = border(side, part["neutral_offset"])
    there = max(loops, key=lambda loop: sum(map(length_of, loop)))
    here = _lines(part)
    if len(here) < 2 or len(here) != len(there):
        return
    foam = shapely.Polygon(part["outline"], part["holes"]).buffer(1e-3)
    shapely.prepare(foam)
    surface = _surface(side, part["neutral_offset"])
    ways = []
    for turned in (False, True):
        lines = [line[::-1] * (1, 1, -1) + (0, 0, line[-1, 2]) for line in here[::-1]] if turned else here
        for k in range(len(lines)):
            own = lines[k:] + lines[:k]
            ways.append((max(abs(a[-1, 2] - length_of(b)) for a, b in zip(own, there)), own))
    least = min(off for off, _ in ways)
    long = max(line[-1, 2] for line in here)
    for off, own in ways:
        if off <= least + _ALIKE * long:
            yield _compared(own, there, foam, *surface)


def _lines(part: Mapping[str, Any]) -> list[np.ndarray]:
    """The outline from corner to corner, the mouths of darts closed: points and how far along they are (N, 3)."""
    ring = np.asarray(part["outline"], float)
    lines = parted(ring)
    tips = [np.asarray(dart["tip"], float) for dart in part["darts"]]
    mouths = [np.asarray(end, float) for dart in part["darts"] for end in dart["mouth"]]
    kept = [np.column_stack([line, _running(line)]) for line in lines if not any(_at(line[k], tips) for k in (0, -1))]
    joined: list[np.ndarray] = []
    for line in kept:
        if joined and _at(line[0], mouths) and _at(joined[-1][-1], mouths):
            joined[-1] = np.vstack([joined[-1], line + (0, 0, joined[-1][-1, 2])])
        else:
            joined.append(line)
    if len(joined) > 1 and _at(joined[0][0], mouths) and _at(joined[-1][-1], mouths):
        last = joined.pop()
        joined[0] = np.vstack([last, joined[0] + (0, 0, last[-1, 2])])
    return joined


def _at(point: np.ndarray, places: list[np.ndarray]) -> bool:
    return any(float(np.linalg.norm(point[:2] - place)) < 0.05 for place in places)


def _surface(side: list[cq.Face], away: float) -> tuple[np.ndarray, np.ndarray]:
    """The surface that keeps its lengths: points (n, 3) and triangles (m, 3). Faces hang together along the edges they share, not
    where a part that goes all round meets itself."""
    points, on, triangles, start = [], [], [], 0
    for face in side:
        vertices, own = face.tessellate(*_FINE)
        at = np.array([v.toTuple() for v in vertices])
        points.append(at)
        on.append(at - away * np.vstack([normals_on(face, point[None]) for point in at]))
        triangles.append(np.array(own) + start)
        start += len(at)
    whole, moved = np.vstack(points), np.vstack(on)
    number = np.arange(len(whole))
    starts = np.cumsum([0, *map(len, points)])
    for i, one in enumerate(side):
        for j in range(i + 1, len(side)):
            edges = [e for e in one.Edges() if any(e.isSame(o) for o in side[j].Edges())]
            if not edges:
                continue
            line = cKDTree(np.vstack([points_on(e, max(40, int(4 * e.Length()))) for e in edges]))
            near = cKDTree(points[j]).query(points[i])
            for k in np.flatnonzero((near[0] < _ONE) & (line.query(points[i])[0] < _BESIDE)):
                number[starts[j] + near[1][k]] = number[starts[i] + k]
    used, number = np.unique(number, return_inverse=True)
    made = number[np.vstack(triangles)]
    return moved[used], made[(made != np.roll(made, 1, axis=1)).all(axis=1)].astype(np.int64)


def _compared(
    here: list[np.ndarray],
    there: list[np.ndarray],
    foam: shapely.Polygon,
    points: np.ndarray,
    triangles: np.ndarray,
) -> list[tuple[float, float]]:
    tree = cKDTree(points)
    flat, vertex = [], []
    for number, (own, other) in enumerate(zip(here, there)):
        s, t = own[:, 2], _running(other)
        others = [line for k, line in enumerate(there) if k not in (number, (number - 1) % len(there))]
        rest = cKDTree(np.vstack(others)) if others else None
        for share in np.linspace(0.0, 1.0, max(_EVERY, int(t[-1] / _SPACING)), endpoint=False):
            place = np.array([np.interp(share * t[-1], t, column) for column in other.T])
            near = int(tree.query(place)[1])
            # the vertex is taken where it is, at its own share of the line; none where a part meets itself: it may be of either end
            at, off = _along(other, t, points[near])
            if off > _ON or (rest is not None and rest.query(points[near])[0] < _ITSELF):
                continue
            flat.append([np.interp(at / t[-1] * s[-1], s, column) for column in own[:, :2].T])
            vertex.append(near)
    flat_, vertex_ = np.array(flat), np.array(vertex, dtype=np.int64)
    none = np.zeros(0, dtype=np.int64)
    found = []
    for k in range(len(flat_) - 1):
        rest = np.arange(k + 1, len(flat_))
        far = np.linalg.norm(flat_[rest] - flat_[k], axis=1)
        lines = shapely.linestrings(np.stack([np.broadcast_to(flat_[k], (len(rest), 2)), flat_[rest]], axis=1))
        clear = (far > _SHORT) & shapely.covers(foam, lines)
        if clear.any():
            along = np.asarray(
                igl.exact_geodesic(
                    points,
                    triangles,
                    vertex_[k : k + 1],
                    none,
                    vertex_[rest[clear]],
                    none,
                )
            )
            found += [(abs(a - b), b) for a, b in zip(along.ravel().tolist(), far[clear].tolist())]
    return found


def _along(line: np.ndarray, running: np.ndarray, point: np.ndarray) -> tuple[float, float]:
    """How far along a line the place is that is nearest to a point, and how far off that is."""
    step = np.diff(line, axis=0)
    share = np.clip(
        ((point - line[:-1]) * step).sum(1) / np.maximum((step * step).sum(1), 1e-18),
        0.0,
        1.0,
    )
    away = np.linalg.norm(line[:-1] + share[:, None] * step - point, axis=1)
    k = int(away.argmin())
    return float(running[k] + share[k] * np.linalg.norm(step[k])), float(away[k])


def _running(line: np.ndarray) -> np.ndarray:
    return np.append(0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1)))
