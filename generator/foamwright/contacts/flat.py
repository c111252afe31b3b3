"""Contact of two flat faces, exactly: what they share once one is laid on the other. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from foamwright.contacts.patch import Patch, strip_length
from foamwright.contacts.records import Face, Plane
from foamwright.contacts.rings import polygons

_PARALLEL = 1e-4  # sine of the angle between two planes that count as parallel
_LEAST = 0.05  # mm: what is narrower than twice this is two faces that only share a line


def parallel(a: Plane, b: Plane) -> bool:
    """Do two planes face each other, as near to parallel as two solids' arithmetic makes them?"""
    return float(a.normal @ b.normal) < 0.0 and float(np.linalg.norm(np.cross(a.normal, b.normal))) < _PARALLEL


def moved(plane: Plane, matrix: np.ndarray) -> Plane:
    return Plane(plane.origin @ matrix[:3, :3].T + matrix[:3, 3], matrix[:3, :3] @ plane.axes)


def flat_contact(
    a: Face, a_matrix: np.ndarray, b: Face, b_matrix: np.ndarray, reach: float, depth: float
) -> Patch | None:
    """What two parallel flat faces share; None if they are further apart than `reach`, deeper in each other than
    `depth`, or beside each other."""
    assert a.plane is not None and b.plane is not None and a.area is not None and b.area is not None
    here, there = moved(a.plane, a_matrix), moved(b.plane, b_matrix)
    gap = float((there.origin - here.origin) @ here.normal)
    if not -depth <= gap <= reach:
        return None
    turn = here.axes.T @ there.axes
    shift = (there.origin - here.origin) @ here.axes
    on_a = shapely.transform(b.area, lambda xy: xy @ turn[:2, :2].T + shift[:2])
    shared = a.area & on_a
    pieces = [piece for piece in polygons(shared).geoms if not shapely.buffer(piece, -_LEAST).is_empty]
    if not pieces:
        return None
    whole = MultiPolygon(pieces)
    rings = [ring for piece in pieces for ring in (piece.exterior, *piece.interiors)]
    outlines = tuple(
        here.origin + np.asarray(shapely.get_coordinates(ring)[:-1]) @ here.axes[:, :2].T for ring in rings
    )
    length = sum(strip_length(piece.area, piece.length, bool(piece.interiors)) for piece in pieces)
    corners = np.array([np.asarray(t.exterior.coords)[:3] for t in _triangles(whole)])
    if np.linalg.det(here.axes) < 0.0:  # the frame of a part that is placed as a mirror image
        corners = corners[:, ::-1]
    points = here.origin + corners.reshape(-1, 2) @ here.axes[:, :2].T
    return Patch(float(whole.area), length, gap, gap, outlines, points, np.arange(len(points)).reshape(-1, 3))


def _triangles(shape: MultiPolygon) -> list[Polygon]:
    """A shape cut into triangles, counter-clockwise."""
    cut = shapely.constrained_delaunay_triangles(shape)
    return [shapely.geometry.polygon.orient(piece) for piece in cut.geoms]
