"""Small panels of large forms: the form is not divided finely where it is cut away anyway."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh

from foamwright.forms.mesh import MeshSurface
from foamwright.forms.parametric import Superellipsoid
from foamwright.geometry import Mesh
from foamwright.parts import region as regions
from foamwright.parts.far_off import far_off, without
from foamwright.parts.levels import PlaneLevel, PrismLevel
from foamwright.parts.lines import curve_level
from foamwright.parts.panel_walls import Wall

R, WIDE = 100.0, 3.0
_MESH = trimesh.creation.icosphere(4, R)
SPHERES = {
    "formula": Superellipsoid((0, 0, 0), (R, R, R)),
    "mesh": MeshSurface(Mesh(_MESH.vertices, _MESH.faces)),
}


def plane(x: float, y: float, z: float, at: float) -> PlaneLevel:
    return PlaneLevel(np.array((x, y, z), float), at)


def prism() -> PrismLevel:
    shape = shapely.Point(0, 0).buffer(WIDE)
    shapely.prepare(shape)
    return PrismLevel(shape, (0, 1), 2, np.zeros(3), 0.0, None)


def curve():
    """A line that ends on the form: on which side of it a point lies is told by where it ends, too."""
    return curve_level([[0.0, -20.0], [1.0, 0.0], [0.0, 20.0]], True, False, (0, 1))


PANELS = {
    "a band between planes": ([plane(0, 0, 1, 0.0), plane(0, 0, 1, WIDE)], [1, -1]),
    "a cap": ([plane(0, 0, 1, R - 0.1)], [1]),
    "what is inside a prism": ([prism()], [-1]),
    "beside a curve": ([curve(), plane(1, 0, 0, WIDE), plane(0, 0, 1, 50.0)], [1, -1, 1]),
    "all but a hole": ([prism()], [1]),
}


def cut(region: regions.Region, walls: list[Wall], keep: list[int]) -> regions.Region:
    for bit, (wall, sign) in enumerate(zip(walls, keep)):
        region = regions.clip(region, wall.at(0.0), bit, sign)
    return region


@pytest.mark.parametrize("sphere", SPHERES)
@pytest.mark.parametrize("panel", PANELS)
def test_what_is_left_is_the_same(sphere, panel):
    levels, keep = PANELS[panel]
    surface = SPHERES[sphere]
    walls = [Wall(f"cut {n}", True, surface, level) for n, level in enumerate(levels)]
    coarse, fine = regions.whole_form(surface), regions.whole_form(surface, 2)
    near = without(fine, coarse, far_off(coarse, walls, keep, 0.0))
    whole, part = cut(fine, walls, keep), cut(near, walls, keep)
    assert np.array_equal(whole.faces, part.faces) and np.array_equal(whole.tags, part.tags)
    assert np.abs(surface.point(whole.coords) - surface.point(part.coords)).max() < 1e-9
    if panel != "all but a hole":
        assert len(near.faces) < len(fine.faces) / 2


def test_a_form_of_which_nothing_is_left_stays_whole():
    surface = SPHERES["formula"]
    coarse, fine = regions.whole_form(surface), regions.whole_form(surface, 2)
    far = far_off(coarse, [Wall("beyond all", True, surface, plane(0, 0, 1, 2 * R))], [1], 0.0)
    assert far.all() and without(fine, coarse, far) is fine


def test_the_end_of_a_form_leaves_all():
    """Its level is not in mm, so that nothing is told by it of distances."""
    surface = SPHERES["formula"]
    coarse = regions.whole_form(surface)
    assert not far_off(coarse, [Wall("end", True, surface, None, end=1.0)], [1], 0.0).any()


def test_a_narrow_skin_is_not_cut_from_a_whole_form_of_fine_triangles():
    """Of a skin 3 mm wide on a form 1 m long not enough triangles are left until they are small; it took 200,000 points."""
    from foamwright.parts import panel

    asked = []

    class Counted(PlaneLevel):
        def __call__(self, points: np.ndarray) -> np.ndarray:
            asked.append(len(points))
            return super().__call__(points)

    surface = Superellipsoid((0, 0, 0), (500, 500, 500))
    levels = [Counted(np.array((0.0, 0, 1)), 0.0), Counted(np.array((0.0, 0, 1)), WIDE)]
    ends = [plane(1, 0, 0, 450.0), plane(0, 1, 0, 0.0)]
    walls = [Wall(f"cut {n}", True, surface, level) for n, level in enumerate([*levels, *ends])]
    spec = type("Spec", (), {"where": "here", "id": "skin"})()
    panel._cut_out(spec, surface, walls, [1, -1, 1, 1], 0.0, None, np.zeros((0, 3)))
    assert max(asked) < 60_000
