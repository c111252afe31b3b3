"""The solids held against the geometry that the parts were built from: two ways to one line. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.flatten.bands import developed
from foamwright.flatten.records import Differences, Pattern, cut_square
from foamwright.model.brep import distinct
from foamwright.model.records import INSIDE, OUTSIDE, Model, Prototype
from foamwright.parts.records import BandBody, FlatBody, PanelBody
from foamwright.registry import Kind, kind

MOST = 0.2  # mm: a line further off than this is a wrong line
_SAMPLES = 150  # along each edge of a solid
_MIDDLE = 0.1  # share left out at both ends of a panel's edge, where it is cut short or carried on to its corner


def differences(model: Model, patterns: Sequence[Pattern]) -> Differences:
    """Compare all parts. Raises BuildError naming a flat part or a band that is further off than `MOST`."""
    largest: dict[type, float] = {FlatBody: 0.0, BandBody: 0.0, PanelBody: 0.0}
    for pattern in patterns:
        made = model.prototype(pattern.piece.id)
        body = pattern.piece.body
        if not made.exact or _made_by_its_kind(made):
            continue  # the one is said in the model's notes, the other is true by itself
        body_type: type
        if isinstance(body, FlatBody):
            body_type, off = FlatBody, section_difference(pattern, body)
        elif isinstance(body, BandBody):
            body_type, off = BandBody, strip_difference(made, body)
        elif isinstance(body, PanelBody):
            body_type, off = PanelBody, panel_edge_difference(made, body)
        else:
            continue
        if off > MOST and body_type is not PanelBody:
            raise BuildError(
                f"part {pattern.piece.id}: its solid and its outline differ by {off:.2f} mm; expected at most {MOST:g} mm"
            )
        largest[body_type] = max(largest[body_type], off)
    return Differences(largest[FlatBody], largest[BandBody], largest[PanelBody])


def _made_by_its_kind(made: Prototype) -> bool:
    """Has the kind of the part a solid or a pattern of its own, which owes nothing to its body?"""
    own = type(kind(made.piece.kind))
    return own.solid is not Kind.solid or own.pattern is not Kind.pattern


def section_difference(pattern: Pattern, body: FlatBody) -> float:
    """Greatest distance between the lines of the pattern and the outline that the part began with.

    Every side of that outline lies in the face that is the larger one there, so that of a bevelled part the middles
    of its sides are looked for on the lines of both faces.
    """
    assert pattern.frame is not None
    ring = pattern.frame.to_frame(body.frame.to_space(body.outline))[:, :2]
    if cut_square(pattern):
        return float(shapely.LinearRing(pattern.outline).hausdorff_distance(shapely.LinearRing(ring)))
    lines = shapely.MultiLineString([np.vstack([r, r[:1]]) for r in (pattern.outline, pattern.other_outline)])
    middles = shapely.points((ring + np.roll(ring, -1, axis=0)) / 2)
    return float(shapely.distance(middles, lines).max())


def strip_difference(made: Prototype, body: BandBody) -> float:
    """Between the length of the band in the middle of its thickness and that of its solid, by volume."""
    thickness = made.piece.thickness
    if body.corners:  # beside them the foam is not cut square: what it covers of its plane, by its thickness
        ahead = np.diff(body.curve + (body.inner_offset + thickness / 2) * body.normals, axis=0)
        through = (body.normals[1:] + body.normals[:-1]) / 2
        along = np.concatenate([[0.0], np.cumsum(np.cross(through, ahead) @ body.across)])
    else:
        along = developed(body, thickness, 0.5).places
    width = body.high - body.low
    area = float(np.trapezoid(width, along))
    return abs(made.volume / thickness - area) / float(width.mean())


def panel_edge_difference(made: Prototype, body: PanelBody) -> float:
    """Greatest distance of the traced edges from those of the solid, of both faces, away from corners."""
    worst = 0.0
    for name in (INSIDE, OUTSIDE):
        bounds = _by_wall(made, name)
        for edge in body.edges:
            points = edge.inner if name == INSIDE else edge.outer
            share = np.linspace(0.0, 1.0, len(points))
            middle = points[(share > _MIDDLE) & (share < 1.0 - _MIDDLE)]
            if len(middle) and edge.id in bounds:
                worst = max(worst, float(_distance(middle, bounds[edge.id]).max()))
    return worst


def _by_wall(made: Prototype, name: str) -> dict[str, list[np.ndarray]]:
    """The edges of a face as fine lines (N, 3), by the walls that stand on them."""
    own = [edge for face in made.named[name] for edge in _edges(face)]
    lines: dict[str, list[np.ndarray]] = {}
    for wall, faces in made.named.items():
        if wall not in (INSIDE, OUTSIDE):
            for edge in (e for face in faces for e in _edges(face) if any(e.IsSame(o) for o in own)):
                lines.setdefault(wall, []).append(_fine(edge))
    return lines


def _edges(face: TopoDS_Face) -> list[TopoDS_Edge]:
    return [TopoDS.Edge_s(edge) for edge in distinct(face, TopAbs_ShapeEnum.TopAbs_EDGE)]


def _fine(edge: TopoDS_Edge) -> np.ndarray:
    curve = BRepAdaptor_Curve(edge)
    at = np.linspace(curve.FirstParameter(), curve.LastParameter(), _SAMPLES)
    points = (curve.Value(parameter) for parameter in at.tolist())
    return np.array([(point.X(), point.Y(), point.Z()) for point in points])


def _distance(points: np.ndarray, lines: list[np.ndarray]) -> np.ndarray:
    """(N,) from points (N, 3) to the nearest of some fine lines."""
    best = np.full(len(points), np.inf)
    for line in lines:
        nearest = cKDTree(line).query(points)[1]
        for first in (np.maximum(nearest - 1, 0), np.minimum(nearest, len(line) - 2)):
            a, chord = line[first], line[first + 1] - line[first]
            share = np.clip(((points - a) * chord).sum(1) / np.maximum((chord**2).sum(1), 1e-12), 0.0, 1.0)
            best = np.minimum(best, np.linalg.norm(points - a - share[:, None] * chord, axis=1))
    return best
