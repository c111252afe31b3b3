"""Regions of forms between cuts: areas, topology, coordinates."""

import numpy as np
import pytest
import trimesh

from foamwright.forms.mesh import MeshSurface
from foamwright.forms.parametric import Revolution, Superellipsoid
from foamwright.geometry import Mesh
from foamwright.parts import region as regions
from foamwright.parts.levels import PlaneLevel

R = 100.0
_MESH = trimesh.creation.icosphere(4, R)
SPHERES = {
    "formula": Superellipsoid((0, 0, 0), (R, R, R)),
    "mesh": MeshSurface(Mesh(_MESH.vertices, _MESH.faces)),
}


def cut(surface, *planes):
    """The region beyond planes (normal, at)."""
    region = regions.whole_form(surface)
    for bit, (normal, at) in enumerate(planes):
        level = PlaneLevel(np.array(normal, float), at)
        region = regions.clip(region, lambda c, level=level: level(surface.point(c)), bit, 1)
    return region


def area(region):
    a, b, c = region.surface.point(region.coords)[region.faces].transpose(1, 0, 2)
    return np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2


def euler(region):
    return len(region.coords) - len(regions._edges(region.faces)[0]) + len(region.faces)


@pytest.mark.parametrize("kind", SPHERES)
@pytest.mark.parametrize(
    "planes, expected, loops",
    [
        ([], 4 * np.pi * R**2, 0),
        ([((0, 0, 1), 0.0)], 2 * np.pi * R**2, 1),  # half
        ([((1, 0, 0), 0.0), ((0, 1, 0), 0.0), ((0, 0, 1), 0.0)], np.pi * R**2 / 2, 1),  # octant
        ([((0, 0, 1), 60.0)], 2 * np.pi * R * 40, 1),  # cap: Archimedes, 2 pi R h
        ([((0, 0, 1), -20.0), ((0, 0, -1), -30.0)], 2 * np.pi * R * 50, 2),  # zone, the same
        ([((1, 2, 2), 0.0), ((-1, 1, 0), 0.0)], None, 1),  # lune between planes
    ],
)
def test_areas_and_topology_on_a_sphere(kind, planes, expected, loops):
    region = cut(SPHERES[kind], *planes)
    if expected is None:
        a, b = (np.array(n, float) / np.linalg.norm(n) for n, _ in planes)
        expected = 2 * R**2 * (np.pi - np.arccos(a @ b))  # a lune of angle w has the area 2 w R^2
    # flat triangles of side s stay below the sphere; of the area they miss about s^2 / (4 R^2), s = 7 mm or less
    assert area(region) == pytest.approx(expected, rel=2.5e-3)
    assert area(region) < expected * (1 + 1e-4)
    found = regions.boundary_loops(region.faces) if loops else []
    assert len(found) == loops
    assert euler(region) == 2 - loops


@pytest.mark.parametrize("kind", SPHERES)
def test_new_corners_lie_on_their_cut(kind):
    region = cut(SPHERES[kind], ((1, 0, 0), 12.0), ((0, 0.6, 0.8), 5.0))
    points = SPHERES[kind].point(region.coords)
    for bit, (normal, at) in enumerate((((1, 0, 0), 12.0), ((0, 0.6, 0.8), 5.0))):
        on = region.tags == 1 << bit
        assert on.sum() > 10
        assert np.abs(points[on] @ normal - at).max() < 1e-9
    corners = region.tags == 3  # found along a side on the first cut, so only near it until they are traced
    assert corners.sum() == 2
    assert np.abs(points[corners, 0] - 12.0).max() < 0.02


@pytest.mark.parametrize("kind", SPHERES)
def test_how_a_loop_turns(kind):
    # Gauss-Bonnet: around a cap of area A on the unit sphere the edge turns by 2 pi - A
    region = cut(SPHERES[kind], ((0, 0, 1), 60.0))
    space = SPHERES[kind].point(region.coords)
    (loop,) = regions.boundary_loops(region.faces)
    # half of the triangles along the edge belong to its corners: about 3 mm along 500 mm, 0.15 of 1 / R^2
    assert regions.turning(space, region.faces, loop) == pytest.approx(2 * np.pi * 0.6, abs=0.15)


def test_the_ends_of_a_tube_do_not_turn():
    tube = Revolution("z", (0, 0, 0), [(0, 50), (200, 50)], smooth=False)
    region = regions.whole_form(tube)
    space = tube.point(region.coords)
    for loop in regions.boundary_loops(region.faces):
        assert abs(regions.turning(space, region.faces, loop)) < 1e-6


def test_coordinates_across_the_start_of_v_do_not_jump():
    surface = SPHERES["formula"]
    region = cut(surface, ((1, 0, 0), 30.0), ((0, 0, 1), -40.0), ((0, 0, -1), -40.0))
    made = regions.unwrap(region)
    edges, _ = regions._edges(made.faces)
    assert np.abs(np.diff(made.coords[edges][:, :, 1], axis=1)).max() < 0.1
    assert np.abs(np.diff(region.coords[edges][:, :, 1], axis=1)).max() > 0.5
    assert np.abs(surface.point(made.coords) - surface.point(region.coords)).max() < 1e-9


def test_pieces_are_told_apart():
    surface = SPHERES["mesh"]
    region = regions.clip(regions.whole_form(surface), lambda c: np.abs(surface.point(c)[:, 2]) - 70.0, 0, 1)
    pieces = regions.components(region)
    assert len(pieces) == 2
    for piece in pieces:
        assert area(piece) == pytest.approx(2 * np.pi * R * 30, rel=2.5e-3)
