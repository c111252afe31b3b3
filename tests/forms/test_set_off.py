"""Closed meshes moved off themselves."""

import igl
import numpy as np
import pytest
import shapely
import trimesh

from foamwright.errors import BuildError
from foamwright.forms.imported import imported_mesh, imported_surface

PLAIN = {"file": "a.stl", "unit": "mm", "scale": 1.0, "turn": (0, 0, 0), "at": (0, 0, 0)}
ELL = shapely.Polygon([(0, 0), (90, 0), (90, 30), (30, 30), (30, 70), (0, 70)])
TROUGH = shapely.Polygon([(0, 0), (80, 0), (80, 60), (45, 60), (45, 20), (35, 20), (35, 60), (0, 60)])  # 10 mm wide


@pytest.mark.parametrize("offset", [-20.0, -3.0, 2.0, 30.0])
@pytest.mark.parametrize("smoothing", [0.0, 5.0])
def test_a_ball_becomes_a_ball(tmp_path, offset, smoothing):
    """Of another radius, and as round as before; smoothing has made it a little smaller first."""
    trimesh.creation.icosphere(4, 100.0).export(tmp_path / "a.stl")
    plain, off = (
        imported_surface("mesh", {**PLAIN, "smoothing": smoothing, "offset": by}, str(tmp_path)) for by in (0.0, offset)
    )
    before, after = (np.linalg.norm(s.point(s.samples()[0]), axis=1) for s in (plain, off))
    assert after.mean() == pytest.approx(before.mean() + offset, abs=0.002)
    assert np.abs(after - after.mean()).max() < 0.01


@pytest.mark.parametrize("turn", [(0, 0, 0), (20, -35, 110)])
@pytest.mark.parametrize("shape", [shapely.box(0, 0, 60, 40), ELL])
@pytest.mark.parametrize("offset", [-7.0, 3.0, 12.0])
def test_flat_faces_are_moved_and_meet_in_sharp_edges(tmp_path, shape, turn, offset):
    """The parallel curve with mitred corners (shapely's buffer), and as much at both ends; in an L one edge is hollow."""
    trimesh.creation.extrude_polygon(shape, 50.0).export(tmp_path / "a.stl")
    off, _ = imported_mesh("mesh", {**PLAIN, "turn": turn, "offset": offset}, str(tmp_path))
    true = shape.buffer(offset, join_style="mitre", mitre_limit=10)
    assert off.volume == pytest.approx(true.area * (50 + 2 * offset), rel=1e-6)
    assert off.areas.sum() == pytest.approx(2 * true.area + true.length * (50 + 2 * offset), rel=1e-6)


@pytest.mark.parametrize(
    "offset, told", [(4.0, ""), (6.0, "set off by 6 mm it passes through itself near"), (-20.0, "passes")]
)
def test_what_is_too_narrow_for_it_is_refused(tmp_path, offset, told):
    """A trough 10 mm wide takes less than 5 mm on each side, walls 35 mm thick less than 17.5."""
    trimesh.creation.extrude_polygon(TROUGH, 90.0).export(tmp_path / "a.stl")
    try:
        said = str(imported_mesh("mesh", {**PLAIN, "offset": offset}, str(tmp_path))[1])
    except BuildError as error:
        said = str(error)
    assert told in said and ("passes" in said) == bool(told)


def test_a_wavy_ball_is_everywhere_as_far_off_as_told(tmp_path):
    """Its waves are 2 mm high and about 75 mm long; held against the distance that libigl finds."""
    mesh = trimesh.creation.icosphere(5, 1.0)
    ways = np.array(mesh.vertices)
    radius = 100 + 2 * np.cos(8 * ways[:, 0]) * np.cos(8 * ways[:, 1])
    trimesh.Trimesh(ways * radius[:, None], mesh.faces, process=False).export(tmp_path / "a.stl")
    off, _ = imported_mesh("mesh", {**PLAIN, "offset": 5.0}, str(tmp_path))
    whole, _ = imported_mesh("mesh", PLAIN, str(tmp_path))
    squared, *_ = igl.point_mesh_squared_distance(off.points, np.array(whole.points), np.array(whole.triangles))
    assert np.abs(np.sqrt(squared) - 5.0).max() < 0.03
