"""Panels as solids. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from OCP.Geom import Geom_Surface
from OCP.TopoDS import TopoDS_Solid

from generator.parts.records import PanelBody
from generator.solids import brep
from generator.solids.loops import Stretch, solid_between
from generator.solids.patch import Patch, patch, plane_map, start_points


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
        near = start_points(body, plane, edge.chart)
        feet = [face.patch.foot(points, near) for face, points in ((inner, edge.inner), (outer, edge.outer))]
        loops.setdefault(edge.loop, []).append(Stretch(edge.inner, edge.outer, *feet))
    return solid_between([_joined(loops[number]) for number in sorted(loops)], inner, outer)


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
    first = made.splines[0]
    (x_knots, y_knots), shape = first.get_knots(), None
    shape = (len(x_knots) - 4, len(y_knots) - 4)
    poles = np.stack([s.get_coeffs().reshape(shape) for s in made.splines], axis=-1)
    return PatchFace(made, brep.spline_surface(x_knots, y_knots, poles, 3, 3))
