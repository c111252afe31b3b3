"""The plain stand-in for a shape that cannot be made exactly: a solid of flat triangles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from OCP.Geom import Geom_Plane
from OCP.gp import gp_Dir, gp_Pnt
from scipy.spatial import cKDTree

from foamwright.geometry import chord_length
from foamwright.model import brep
from foamwright.model.panel import rims
from foamwright.model.records import INSIDE, OUTSIDE, NamedSolid
from foamwright.model.strips import band_mesh
from foamwright.parts.records import BandBody, PanelBody


def faceted(points: np.ndarray, triangles: np.ndarray, names: Sequence[str]) -> NamedSolid:
    """The solid within a closed mesh: points (n, 3), triangles (m, 3) counter-clockwise from outside, each named.

    Raises ShapeFailure.
    """
    triangles, kept = _without_points_twice(points, triangles)
    names = [names[i] for i in kept.tolist()]
    corners = [brep.vertex(p) for p in points]
    edges: dict[tuple[int, int], brep.Edge] = {}
    p, q, r = (points[triangles[:, k]] for k in range(3))
    normals = np.cross(q - p, r - p)
    faces = []
    for name, triangle, normal in zip(names, triangles.tolist(), normals.tolist()):
        loop = []
        for i, j in zip(triangle, triangle[1:] + triangle[:1]):
            key = (min(i, j), max(i, j))
            if key not in edges:
                a, b = key
                edges[key] = brep.straight(corners[a], points[a], corners[b], points[b])
            loop.append((edges[key], i < j))
        plane = Geom_Plane(gp_Pnt(*points[triangle[0]].tolist()), gp_Dir(*normal))
        faces.append((name, brep.face(plane, [loop])))
    return brep.solid(faces)


def _without_points_twice(points: np.ndarray, triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The triangles that are left once sides without length, as at a pole, have become points; and their rows."""
    sides = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    sides = np.unique(sides[np.linalg.norm(points[sides[:, 0]] - points[sides[:, 1]], axis=1) < 1e-6], axis=0)
    owner = np.arange(len(points))
    for kept, gone in sides.tolist():
        owner[owner == owner[gone]] = owner[kept]
    a, b, c = owner[triangles].T
    kept = np.flatnonzero((a != b) & (b != c) & (c != a))
    return owner[triangles][kept], kept


def panel_facets(body: PanelBody, thickness: float) -> NamedSolid:
    """The panel as fine as its chart, its edges cut as they are bevelled."""
    used, faces = np.unique(body.chart.faces, return_inverse=True)
    faces = faces.reshape(-1, 3)
    coords, flat = body.chart.coords[used], body.chart.flat[used]
    both_faces = [body.surface.offset(coords, body.inner_offset + d) for d in (0.0, thickness)]
    directed = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    both = {tuple(e) for e in directed.tolist()}
    rim = np.array([(i, j) for i, j in directed.tolist() if (j, i) not in both])
    n = len(used)
    i, j = rim.T
    walls = np.vstack([np.stack([i, j, j + n], axis=1), np.stack([i, j + n, i + n], axis=1)])
    edges = [edge for loop in rims(body) for edge in loop]
    lines = np.vstack([edge.chart for edge, *_ in edges])
    owner = np.repeat(np.arange(len(edges)), [len(edge.chart) for edge, *_ in edges])
    on_edge = owner[cKDTree(lines).query(flat[rim].mean(axis=1))[1]]
    for number, (edge, *rails) in enumerate(edges):
        here = np.unique(rim[on_edge == number])
        shares = _shares(edge.chart, flat[here])
        for points, rail in zip(both_faces, rails):
            along = chord_length(rail)
            points[here] = np.column_stack([np.interp(shares * along[-1], along, x) for x in rail.T])
    names = [INSIDE] * len(faces) + [OUTSIDE] * len(faces) + 2 * [edges[k][0].id for k in on_edge.tolist()]
    return faceted(np.vstack(both_faces), np.vstack([faces[:, ::-1], faces + n, walls]), names)


def _shares(line: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Which share (N,) of a line (M, 2) lies before the place of it that is nearest to each of the points (N, 2)."""
    steps = np.diff(line, axis=0)
    length = np.maximum(np.linalg.norm(steps, axis=1), 1e-12)
    t = np.clip(((points[:, None] - line[:-1]) * steps).sum(2) / length**2, 0.0, 1.0)
    gap = np.linalg.norm(points[:, None] - (line[:-1] + t[..., None] * steps), axis=2)
    best = np.argmin(gap, axis=1)
    before = np.concatenate([[0.0], np.cumsum(length)])
    return (before[best] + t[np.arange(len(points)), best] * length[best]) / before[-1]


def band_facets(body: BandBody, thickness: float) -> NamedSolid:
    """The band as fine as its curve."""
    return faceted(*band_mesh(body, thickness))
