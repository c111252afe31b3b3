"""Bands as solids. Lengths in mm."""

from __future__ import annotations

import numpy as np
from OCP.TopoDS import TopoDS_Face, TopoDS_Vertex

from foamwright.model import brep
from foamwright.model.curves import fit, split_at_corners
from foamwright.model.records import INSIDE, OUTSIDE, NamedSolid
from foamwright.model.strips import rails
from foamwright.parts.records import BandBody


def band_solid(body: BandBody, thickness: float) -> NamedSolid:
    """The band, without what is left on for trimming. Raises ShapeFailure.

    Its faces are `inside`, `outside`, `low`, `high`, and of one that is open `start` and `end`.
    """
    edges = rails(body, thickness)
    if body.closed:
        edges[:, -1] = edges[:, 0]
    start, end = ("end", "start") if _runs_backwards(body) else ("start", "end")
    if _runs_backwards(body):
        edges = edges[:, ::-1]
    pieces = [piece for stretch in _stretches(body) for piece in _pieces(edges, body, *stretch)]
    if body.closed and len(pieces) == 1:
        half = len(pieces[0][0]) // 2
        pieces = [tuple(p[: half + 1] for p in pieces[0]), tuple(p[half:] for p in pieces[0])]
    runs = [fit(np.hstack(piece), 12) for piece in pieces]
    sections = [_section(run.spline.c[0].reshape(4, 3)) for run in runs]
    sections.append(sections[0] if body.closed else _section(runs[-1].spline.c[-1].reshape(4, 3)))
    faces: list[tuple[str, TopoDS_Face]] = []
    for run, (corners, sides), (next_corners, next_sides) in zip(runs, sections, sections[1:]):
        knots, degree = run.spline.t, run.spline.k
        long = [brep.edge(knots, run.columns(3 * i, 3 * i + 3), degree, corners[i], next_corners[i]) for i in range(4)]
        walls = [brep.wall(long[i], long[(i + 1) % 4], sides[i], next_sides[i]) for i in range(4)]
        faces += zip(("low", OUTSIDE, "high", INSIDE), map(brep.flipped, walls))
    if not body.closed:
        faces += [(start, brep.flipped(_cap(sections[0][1]))), (end, _cap(sections[-1][1]))]
    return brep.solid(faces)


def _stretches(body: BandBody) -> list[tuple[int, int, bool]]:
    """First and last point of each stretch in the order of the rails, and whether it is flat."""
    stretches = [(run.start, run.stop, run.bend == "flat") for run in body.runs]
    if not _runs_backwards(body):
        return stretches
    last = len(body.curve) - 1
    return [(last - b, last - a, flat) for a, b, flat in reversed(stretches)]


def _pieces(edges: np.ndarray, body: BandBody, start: int, stop: int, flat: bool) -> list[tuple[np.ndarray, ...]]:
    """The four long edges (N, 3) over one stretch, cut where they have corners."""
    own = edges[:, start : stop + 1]
    if not flat:
        return split_at_corners(*own)
    if np.ptp(body.low) < 1e-9 and np.ptp(body.high) < 1e-9:  # planes from end to end
        own = own[:, [0, -1]]
    return [tuple(own)]


def _runs_backwards(body: BandBody) -> bool:
    tangent = np.diff(body.curve, axis=0)
    ahead = np.cross(body.normals[:-1], body.across)
    return float((tangent * ahead).sum()) < 0.0


def _section(points: np.ndarray) -> tuple[list[TopoDS_Vertex], list[brep.Edge]]:
    corners = [brep.vertex(p) for p in points]
    sides = [brep.straight(corners[i], points[i], corners[(i + 1) % 4], points[(i + 1) % 4]) for i in range(4)]
    return corners, sides


def _cap(sides: list[brep.Edge]) -> TopoDS_Face:
    """The flat end within four edges that run around it, normal along the tangent."""
    surface = brep.spline_surface(
        brep.STRAIGHT,
        brep.STRAIGHT,
        np.stack([[sides[0].poles[0], sides[3].poles[0]], [sides[1].poles[0], sides[2].poles[0]]]),
        1,
        1,
    )
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    for i, side in enumerate(sides):
        brep.put_on(surface, side, corners[[i, (i + 1) % 4]])
    return brep.face(surface, [[(side, True) for side in sides]])
