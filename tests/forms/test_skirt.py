"""Sheets carried on past their rim."""

import numpy as np
import pytest
import shapely
from scipy.spatial import Delaunay

from foamwright.forms.skirt import Skirted, with_skirt
from foamwright.geometry import Mesh

REACH = 24.0
OUTSIDE = shapely.segmentize(shapely.box(-60.0, -60.0, 60.0, 60.0), 10.0)


def carried_on(hole: shapely.Polygon) -> tuple[Skirted, np.ndarray]:
    """A flat sheet with a hole, and of each point of its rim whether it is of the hole."""
    rings = [np.asarray(shape.exterior.coords)[:-1] for shape in (hole, OUTSIDE)]
    points = np.vstack(rings)
    faces = Delaunay(points).simplices
    faces = faces[shapely.contains_xy(OUTSIDE - hole, *points[faces].mean(axis=1).T)]
    flat = np.column_stack([points, np.zeros(len(points))])
    faces = np.where((Mesh(flat, faces).face_normals[:, 2] < 0)[:, None], faces[:, ::-1], faces)
    made = with_skirt(flat, faces, np.tile([0.0, 0.0, 1.0], (len(faces), 3, 1)), np.zeros(len(faces), int), REACH)
    return made, made.rim < len(rings[0])


@pytest.mark.parametrize("steps", [3, 24])
def test_across_a_small_hole_a_sheet_ends_where_it_comes_from_all_sides(steps):
    made, inner = carried_on(shapely.Point(0.0, 0.0).buffer(7.5, quad_segs=steps))
    assert np.linalg.norm(made.outermost[inner], axis=1) == pytest.approx(0.0, abs=0.05)
    # at its outer rim, which faces nothing, it has its whole reach
    assert shapely.Polygon(made.outermost[~inner][:, :2]).convex_hull.area == pytest.approx((120.0 + 2 * REACH) ** 2)


def test_across_a_slot_it_ends_in_the_middle():
    """The parallel curve of a rectangle at half its width is its middle line."""
    made, inner = carried_on(shapely.segmentize(shapely.box(-40.0, -4.0, 40.0, 4.0), 2.0))
    along, across = np.abs(made.outermost[inner][:, :2]).T
    assert across[along < 35.0] == pytest.approx(0.0, abs=0.01)
    assert along.max() < 40.0 and across.max() < 4.0
