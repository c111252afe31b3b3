"""Panels as solids. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

import numpy as np
from OCP.Geom import Geom_Surface
from scipy.spatial import cKDTree

from foamwright.geometry import chord_length
from foamwright.geometry.frame import Frame
from foamwright.model import brep
from foamwright.model.fitted import fitted_patch, view_of
from foamwright.model.flat import PlaneFace, plane_face
from foamwright.model.loops import Stretch, solid_between
from foamwright.model.patch import Map, Patch, patch, plane_map
from foamwright.model.records import NamedSolid
from foamwright.parts.records import PanelBody, PanelEdge

LEAST_STEP = 0.1  # mm, from a corner to the next point of an edge
SAME = 1e-6  # mm: an end that is the corner


@dataclass(frozen=True, eq=False)
class PatchFace:
    patch: Patch
    geometry: Geom_Surface

    def at(self, plane: np.ndarray) -> np.ndarray:
        return self.patch.at(plane)


def panel_solid(body: PanelBody, thickness: float) -> NamedSolid:
    """The panel between its two faces. Raises ShapeFailure if it cannot be made exactly."""
    frame = body.plane
    if frame is not None:
        return _flat_panel(body, frame, thickness)
    # an imported form has no coordinates to unroll
    plane = plane_map(body) if body.chart.coords.shape[1] == 2 else None
    view = view_of(body)
    made = partial(fitted_patch, body, view) if plane is None else partial(patch, body, plane)
    inner, outer = (_face(made(distance, thickness)) for distance in (body.inner_offset, body.inner_offset + thickness))

    def foot(edge: PanelEdge, face: PatchFace, points: np.ndarray) -> np.ndarray:
        return face.patch.foot(points, view.flat(points, edge.chart) if plane is None else _near(body, plane, edge))

    return _between_faces(body, inner, outer, foot)


def _flat_panel(body: PanelBody, frame: Frame, thickness: float) -> NamedSolid:
    """A panel whose form is a plane there: its faces are planes."""
    inner, outer = (plane_face(frame, height) for height in (body.inner_offset, body.inner_offset + thickness))
    return _between_faces(body, inner, outer, lambda _edge, _face, points: frame.to_frame(points)[:, :2])


_Face = TypeVar("_Face", PatchFace, PlaneFace)


def _between_faces(
    body: PanelBody, inner: _Face, outer: _Face, foot: Callable[[PanelEdge, _Face, np.ndarray], np.ndarray]
) -> NamedSolid:
    """The solid between both faces; `foot` gives the parameters (N, 2) of an edge's points (N, 3) on a face."""
    stretches = [
        [
            Stretch(edge.id, below, above, foot(edge, inner, below), foot(edge, outer, above))
            for edge, below, above in loop
        ]
        for loop in rims(body)
    ]
    return solid_between([_joined(loop) for loop in stretches], inner, outer)


def rims(body: PanelBody) -> list[list[tuple[PanelEdge, np.ndarray, np.ndarray]]]:
    """Each loop of a panel, the outer one first: its edges, from corner to corner on the inner and on the outer face,
    (N, 3) each, point beside point."""
    loops: dict[int, list[PanelEdge]] = {}
    for edge in body.edges:
        loops.setdefault(edge.loop, []).append(edge)
    found = []
    for number in sorted(loops):
        loop = loops[number]
        joints = [_joint(a, b) for a, b in zip(loop[-1:] + loop[:-1], loop)]
        ends = zip(loop, joints, joints[1:] + joints[:1])
        found.append([(edge, *_between(edge, start, end)) for edge, start, end in ends])
    return found


def _joint(before: PanelEdge, after: PanelEdge) -> np.ndarray:
    """The corner on the inner and the outer face (2, 3) between two edges.

    A seam is cut square, and so is some of what else there is: beside a slanting trim or mitre its own ends fall short of the
    corner or go beyond it.
    """
    if after.upright and not before.upright:
        return np.stack([before.inner[-1], before.outer[-1]])
    return np.stack([after.inner[0], after.outer[0]])


def _between(edge: PanelEdge, start: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The edge from corner to corner on the inner and the outer face, point beside point, (N, 3) each."""
    inner, outer = edge.inner, edge.outer
    inner, outer = _begun_at(inner, outer, start)
    inner, outer = _begun_at(inner[::-1], outer[::-1], end)
    return inner[::-1], outer[::-1]


def _begun_at(inner: np.ndarray, outer: np.ndarray, corner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Both lines with their first point moved to the corner, one cut short, the other carried on to it.

    The change is spread over the first stretch of both. If all of it fell to the first step, one line would stand
    still there while the other runs on, and the curve through both would overshoot its own end.
    """
    if max(np.abs(inner[0] - corner[0]).max(), np.abs(outer[0] - corner[1]).max()) < SAME:
        return inner, outer
    count = len(inner)
    beyond = max(_first_inside(inner, corner[0]), _first_inside(outer, corner[1]))
    reach = int(np.clip(4 * beyond, max(2, count // 4), max(2, count // 2)))
    return _spread(inner, corner[0], reach), _spread(outer, corner[1], reach)


def _first_inside(points: np.ndarray, corner: np.ndarray) -> int:
    """The first point that a line which begins at the corner still has."""
    ahead = points[max(1, len(points) // 4)] - points[0]
    past = (points - corner) @ ahead > LEAST_STEP * np.linalg.norm(ahead)
    return max(1, int(np.argmax(past))) if past.any() else len(points) - 1


def _spread(points: np.ndarray, corner: np.ndarray, reach: int) -> np.ndarray:
    """The line from the corner on, with the points up to `reach` at even distances along it."""
    kept = min(_first_inside(points, corner), reach)
    line = np.vstack([corner, points[kept : reach + 1]])
    along = chord_length(line)
    even = np.linspace(0.0, along[-1], reach + 1)
    return np.vstack([np.column_stack([np.interp(even, along, c) for c in line.T]), points[reach + 1 :]])


def _near(body: PanelBody, plane: Map, edge: PanelEdge) -> np.ndarray:
    """Plane coordinates (N, 2) close to an edge: its own, or those of the nearest vertices of the chart."""
    if edge.coords is not None:
        return plane.to_plane(edge.coords)
    return plane.to_plane(body.chart.coords[cKDTree(body.chart.flat).query(edge.chart)[1]])


def _joined(loop: list[Stretch]) -> list[Stretch]:
    """The loop with every corner one place of the patch: the end of an edge is put where the next begins."""
    ends = loop[1:] + loop[:1]
    return [
        Stretch(a.name, *(np.vstack([mine[:-1], other[:1]]) for mine, other in zip(_sides(a), _sides(b))))
        for a, b in zip(loop, ends)
    ]


def _sides(s: Stretch) -> tuple[np.ndarray, ...]:
    return s.inner, s.outer, s.inner_plane, s.outer_plane


def _face(made: Patch) -> PatchFace:
    x_knots, y_knots = made.splines[0].get_knots()
    shape = (len(x_knots) - 4, len(y_knots) - 4)
    poles = np.stack([s.get_coeffs().reshape(shape) for s in made.splines], axis=-1)
    return PatchFace(made, brep.spline_surface(x_knots, y_knots, poles, 3, 3))
