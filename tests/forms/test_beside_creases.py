"""On which side of a form with creases a point lies, and how far: against the planes of convex solids, and winding numbers
(A. Jacobson and others, "Robust inside-outside segmentation using generalized winding numbers", 2013, libigl) for all. What is placed onto such a form comes to the face that looks its way."""

import igl
import numpy as np
import pytest
import trimesh

from foamwright.errors import BuildError
from foamwright.forms.mesh import MeshSurface
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.parametric import Revolution
from foamwright.geometry import Mesh
from foamwright.parts.placing import frame_at


def frustum(low=80.0, high=40.0, height=240.0, sides=8):
    turn = (np.arange(sides) + 0.5) * 2.0 * np.pi / sides
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(sides)])
    return trimesh.convex.convex_hull(np.vstack([low * ring, high * ring + [0, 0, height]]))


def ridge():
    """A roof whose ridge turns by 150 degrees, so that a point beside it lies behind the plane of either face."""
    return trimesh.convex.convex_hull(
        [[-200, -20, 0], [200, -20, 0], [200, 20, 0], [-200, 20, 0], [-200, 0, 75], [200, 0, 75]]
    )


def corner_block():
    """An L: a block out of which one corner is taken, with a hollow crease."""
    import shapely

    outline = shapely.Polygon([(0, 0), (120, 0), (120, 40), (40, 40), (40, 120), (0, 120)])
    return trimesh.creation.extrude_polygon(outline, 60.0)


def surface_of(mesh, scale=1.0):
    return MeshSurface(Mesh(scale * mesh.vertices, mesh.faces))


def around(mesh, count=3000, far=4.0):
    low, high = mesh.bounds
    middle, size = (low + high) / 2, high - low
    return middle + far * size * np.random.default_rng(3).uniform(-0.5, 0.5, (count, 3))


@pytest.mark.parametrize("mesh", [frustum(), frustum(20.0, 60.0), frustum(sides=3), ridge(), corner_block()])
@pytest.mark.parametrize("scale", [0.05, 1.0, 20.0])
def test_a_point_is_inside_where_the_solid_is(mesh, scale):
    near = np.vstack([around(mesh), around(mesh, far=1.2)])
    inside = igl.winding_number(np.array(mesh.vertices), np.array(mesh.faces), near) > 0.5
    told = NearestPoint(surface_of(mesh, scale)).signed_distance(scale * near) < 0.0
    sure = igl.point_mesh_squared_distance(near, np.array(mesh.vertices), np.array(mesh.faces))[0] > 0.01**2
    assert inside.any() and (told == inside)[sure].all()


def test_what_lies_beside_a_box_lies_beside_the_face_that_it_is_farthest_from():
    """The faces of a box carried on straight: what is 6 mm outside of them all is a box that is 12 mm larger, corners and all."""
    half = np.array([90.0, 40.0, 25.0])
    points = around(trimesh.creation.box(2 * half))
    told = NearestPoint(surface_of(trimesh.creation.box(2 * half))).signed_distance(points)
    assert told == pytest.approx((np.abs(points) - half).max(axis=1), abs=1e-9)


@pytest.mark.parametrize("slope", [0.2, 1.0, 5.0])
def test_a_disc_of_two_cones_has_an_outside_beyond_its_rim(slope):
    """Of |z| / slope + r = 100 the outside is where that is more."""
    lens = Revolution("z", (0, 0, 0), [(-80 * slope, 20), (0, 100), (80 * slope, 20)], smooth=False)
    rng = np.random.default_rng(5)
    z, r, turn = slope * rng.uniform(-60, 60, 2000), rng.uniform(40, 400, 2000), rng.uniform(0, 2 * np.pi, 2000)
    points = np.column_stack([r * np.cos(turn), r * np.sin(turn), z])
    excess = np.abs(z) / slope + r - 100.0
    told = NearestPoint(lens).signed_distance(points)
    assert ((told > 0.0) == (excess > 0.0))[np.abs(excess) > 0.5].all()


@pytest.mark.parametrize("scale", [0.1, 1.0, 10.0])
@pytest.mark.parametrize("start", [-1.3, 0.2, 0.7, 9.0])
def test_what_is_placed_onto_a_leaning_wall_comes_to_that_wall_from_anywhere(scale, start):
    """The front wall of a frustum of eight sides leans by the atan of what its inner radius loses over its height."""
    low, high = 80.0 * np.cos(np.pi / 8), 40.0 * np.cos(np.pi / 8)
    lean = np.arctan((low - high) / 240.0)
    surface = surface_of(frustum(), scale)
    for y, z in ((17.0, 28.0), (-17.0, 28.0), (0.0, 28.0), (10.0, 53.0), (5.0, 200.0)):
        at = {
            "origin": [start * scale * 80.0, scale * y, scale * z],
            "normal": "x",
            "onto": {"form": "f", "offset": 0.0, "turned": True},
        }
        frame = frame_at(at, lambda _: surface)
        assert frame.origin == pytest.approx(scale * np.array([low - z * np.tan(lean), y, z]), abs=1e-3 * scale)
        assert frame.axes[:, 2] == pytest.approx([np.cos(lean), 0.0, np.sin(lean)], abs=1e-6)


def test_a_line_through_an_open_tube_meets_no_wall():
    tube = Revolution("z", (0, 0, 0), [(0, 50), (100, 50)])
    at = {"origin": [10.0, 0.0, 50.0], "normal": "z", "onto": {"form": "f", "offset": 0.0, "turned": False}}
    with pytest.raises(BuildError, match="does not meet the form"):
        frame_at(at, lambda _: tube)
