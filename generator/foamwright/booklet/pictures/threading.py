"""Straps as they are threaded: from outside through an opening of a panel, along its inside, and out through the next, with their
loose ends. Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.design.records import Bought
from foamwright.parts.records import PanelBody, PanelEdge

COLOUR = np.array([128.0, 152.0, 200.0])  # that no foam has, and dark paint neither
_THICK = 1.6  # of the strap: thicker than webbing is, so that it shows
_LOOSE = 1.8  # times as long as it is wide is a loose end
_RISE = 0.45  # of that it stands off what it comes out of
_OFF = 1.5  # off the inside of the panel


def threaded(bodies: Bodies, copies: Iterable[int], bought: Iterable[Bought]) -> Bodies:
    """The bodies and, behind them, a mesh for each strap that goes through openings of some copies."""
    found: list[tuple[np.ndarray, np.ndarray]] = []
    for copy in copies:
        body = bodies.pieces[copy].body
        own = {edge.cut: edge for edge in body.edges if edge.loop} if isinstance(body, PanelBody) else {}
        found += [
            _strap([own[name] for name in names], bodies.matrices[copy], one.size)
            for one in bought
            for names in one.through
            if one.size is not None and own.keys() >= {*names}
        ]
    points, triangles, spans = [bodies.points], [bodies.triangles], [bodies.spans]
    count, faces = len(bodies.points), len(bodies.triangles)
    for own_points, own_triangles in found:
        points.append(own_points)
        triangles.append(own_triangles + count)
        spans.append(np.array([[faces, faces + len(own_triangles)]]))
        count, faces = count + len(own_points), faces + len(own_triangles)
    return replace(bodies, points=np.vstack(points), triangles=np.vstack(triangles), spans=np.vstack(spans))


def _strap(edges: Sequence[PanelEdge], matrix: np.ndarray, width: float) -> tuple[np.ndarray, np.ndarray]:
    """A strap through two openings, as points (n, 3) and triangles (m, 3)."""
    middles = [edge.points.mean(axis=0) for edge in edges]
    lines, across = [], []
    for edge, middle, other in zip(edges, middles, middles[::-1]):
        off = edge.normals.mean(axis=0)
        off /= np.linalg.norm(off)
        inner, outer = (float(((side - middle) @ off).mean()) for side in (edge.inner, edge.outer))
        away = middle - other - ((middle - other) @ off) * off
        away *= _LOOSE * width / max(float(np.linalg.norm(away)), 1e-9)
        loose = away + (outer + _RISE * _LOOSE * width) * off
        lines.append(middle + np.array([loose, (outer + _OFF) * off, (inner - _OFF) * off]))
        across.append(np.linalg.svd(edge.points - middle, full_matrices=False)[2][0])
    if across[0] @ across[1] < 0.0:
        across[1] = -across[1]
    line, breadth = np.vstack([lines[0], lines[1][::-1]]), np.repeat(across, 3, axis=0)
    return _ribbon(line @ matrix[:3, :3].T + matrix[:3, 3], breadth @ matrix[:3, :3].T, width)


def _ribbon(line: np.ndarray, across: np.ndarray, width: float) -> tuple[np.ndarray, np.ndarray]:
    """A flat strap along a line (k, 3), its breadth along `across` (k, 3), closed."""
    along = np.gradient(line, axis=0)
    up = np.cross(across, along)
    up *= _THICK / 2.0 / np.maximum(np.linalg.norm(up, axis=1, keepdims=True), 1e-9)
    side = width / 2.0 * across
    points = np.stack([line - side - up, line + side - up, line + side + up, line - side + up], axis=1).reshape(-1, 3)
    faces = []
    for k in range(len(line) - 1):
        for i in range(4):
            a, b = 4 * k + i, 4 * k + (i + 1) % 4
            faces += [(a, b + 4, b), (a, a + 4, b + 4)]
    end = 4 * (len(line) - 1)
    faces += [(0, 1, 2), (0, 2, 3), (end, end + 2, end + 1), (end, end + 3, end + 2)]
    return points, np.array(faces)
