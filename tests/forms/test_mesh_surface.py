"""The smooth surface over a mesh, against the shapes that the meshes were made from."""

import numpy as np
import pytest
import trimesh

from foamwright.forms import remesh
from foamwright.forms.mesh import MeshSurface
from foamwright.forms.nearest import NearestPoint
from foamwright.geometry import Mesh


def ball(divisions, radius=100.0):
    mesh = trimesh.creation.icosphere(divisions, radius)
    return MeshSurface(Mesh(mesh.vertices, mesh.faces))


def directions(count=2000):
    d = np.random.default_rng(1).normal(size=(count, 3))
    return d / np.linalg.norm(d, axis=1, keepdims=True)


@pytest.mark.parametrize("divisions, off, turned", [(2, 6e-2, 6e-4), (3, 4e-3, 1e-4), (4, 3e-4, 1e-5)])
def test_a_ball_of_few_triangles_is_nearly_round(divisions, off, turned):
    surface, d = ball(divisions), directions()
    points = surface.point(100 * d)
    radius = np.linalg.norm(points, axis=1)
    assert np.abs(radius - 100).max() < off
    assert np.abs(surface.normal(100 * d) - points / radius[:, None]).max() < turned
    # a flat triangle lies inside the ball by its sagitta; the curved one must be far closer
    flat = surface.within(100 * d)
    assert np.abs(radius - 100).max() < 0.05 * np.abs(np.linalg.norm(flat, axis=1) - 100).max()


def test_normals_at_the_corners_of_a_ball_are_exact():
    surface = ball(2)
    assert np.abs(surface.normal(surface.mesh.points) - surface.mesh.points / 100).max() < 1e-12


def test_sharp_edges_stay_sharp():
    box = trimesh.creation.box((100, 80, 60))
    surface = MeshSurface(Mesh(box.vertices, box.faces))
    p = np.random.default_rng(2).uniform(-1, 1, (500, 3)) * (49, 39, 29)
    p[:, 2] = 30
    assert np.allclose(surface.offset(p, 5.0), p + (0, 0, 5), atol=1e-12)


def test_the_side_of_a_cylinder_is_round_and_its_ends_are_flat():
    mesh = trimesh.creation.cylinder(50, 200, sections=96)
    surface = MeshSurface(Mesh(mesh.vertices, mesh.faces))
    angle = np.linspace(0, 6, 300)
    side = np.column_stack([50 * np.cos(angle), 50 * np.sin(angle), np.linspace(-90, 90, 300)])
    normal = surface.normal(side)
    assert np.abs(normal[:, 2]).max() < 1e-12
    assert np.abs(np.hypot(*surface.point(side)[:, :2].T) - 50).max() < 50 * (1 - np.cos(np.pi / 96))
    assert np.allclose(surface.normal(np.array([[3.0, 4.0, 101.0]])), [[0, 0, 1]])


def test_a_step_along_the_surface_goes_as_far_as_its_tangents_say():
    surface, coords = ball(4), 100 * directions(200)
    coords = surface.within(coords)
    du, dv = surface.tangents(coords)
    step = np.array([2e-3, -1e-3])
    moved = surface.point(surface.moved(coords, step)) - surface.point(coords)
    assert np.abs(np.linalg.norm(moved, axis=1) - np.linalg.norm(step[0] * du + step[1] * dv, axis=1)).max() < 2e-2


def test_signed_distance_to_a_meshed_ball():
    nearest = NearestPoint(ball(4))
    points = directions(300) * np.random.default_rng(5).uniform(60, 160, (300, 1))
    assert np.abs(nearest.signed_distance(points) - (np.linalg.norm(points, axis=1) - 100)).max() < 1e-3


@pytest.mark.parametrize(
    "mesh",
    [
        trimesh.creation.icosphere(1, 100),
        trimesh.creation.icosphere(6, 100),
        trimesh.creation.box((300, 20, 90)),
    ],
)
def test_a_triangulation_is_even_and_closed(mesh):
    even = remesh.even(Mesh(mesh.vertices, mesh.faces), 4000)
    vertices, faces = even.points, even.triangles
    made = trimesh.Trimesh(vertices, faces, process=False)
    assert made.is_watertight and made.is_winding_consistent
    assert 1000 < len(faces) < 1.3 * 4000 + 1
    side = np.sqrt(4 / np.sqrt(3) * mesh.area / len(faces))
    assert made.edges_unique_length.max() < 4 * side
    assert abs(made.volume / mesh.volume - 1) < 0.01
