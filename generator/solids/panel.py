"""Panels as solids. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from OCP.Geom import Geom_Surface
from OCP.TopoDS import TopoDS_Solid
from scipy.spatial import cKDTree

from generator.parts.records import PanelBody, PanelEdge
from generator.solids import brep
from generator.solids.loops import Stretch, solid_between
from generator.solids.patch import Map, Patch, patch, plane_map


@dataclass(frozen=True, eq=False)
class PatchFace:
    patch: Patch
    geometry: Geom_Surface

    def at(self, plane: np.ndarray) -> np.ndarray:
        return self.patch.at(plane)


def panel_solid(body: PanelBody, thickness: float) -> TopoDS_Solid:
    """The panel between its two faces. Raises ShapeFailure if it cannot be made exactly."""
    plane = plane_map(body)
    inner, outer = (
        _face(patch(body, plane, distance, thickness))
        for distance in (body.inner_offset, body.inner_offset + thickness)
    )
    loops: dict[int, list[Stretch]] = {}
    for edge in body.edges:
        near = _near(body, plane, edge)
        feet = [face.patch.foot(points, near) for face, points in ((inner, edge.inner), (outer, edge.outer))]
        loops.setdefault(edge.loop, []).append(Stretch(edge.inner, edge.outer, *feet))
    return solid_between([_joined(loops[number]) for number in sorted(loops)], inner, outer)


def _near(body: PanelBody, plane: Map, edge: PanelEdge) -> np.ndarray:
    """Plane coordinates (N, 2) close to an edge: its own, or those of the nearest vertices of the chart."""
    if edge.coords is not None:
        return plane.to_plane(edge.coords)
    return plane.to_plane(body.chart.coords[cKDTree(body.chart.flat).query(edge.chart)[1]])


def _joined(loop: list[Stretch]) -> list[Stretch]:
    """The loop with every corner one point: the end of an edge is put where the next begins."""
    ends = loop[1:] + loop[:1]
    return [
        Stretch(*(np.vstack([mine[:-1], other[:1]]) for mine, other in zip(_sides(a), _sides(b))))
        for a, b in zip(loop, ends)
    ]


def _sides(s: Stretch) -> tuple[np.ndarray, ...]:
    return s.inner, s.outer, s.inner_plane, s.outer_plane


def _face(made: Patch) -> PatchFace:
    x_knots, y_knots = made.splines[0].get_knots()
    shape = (len(x_knots) - 4, len(y_knots) - 4)
    poles = np.stack([s.get_coeffs().reshape(shape) for s in made.splines], axis=-1)
    return PatchFace(made, brep.spline_surface(x_knots, y_knots, poles, 3, 3))
