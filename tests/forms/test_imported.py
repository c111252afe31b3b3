"""Files read, turned, enlarged and smoothed."""

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from foamwright.errors import BuildError
from foamwright.forms.imported import imported_mesh, imported_surface, smoothed, turning
from foamwright.geometry import Mesh

PLAIN = {"unit": "mm", "scale": 1.0, "turn": (0, 0, 0), "at": (0, 0, 0)}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("forms")
    mesh = trimesh.creation.icosphere(2, 1.0)
    mesh.apply_scale((3, 2, 1))
    for kind in ("stl", "obj", "ply"):
        mesh.export(folder / f"egg.{kind}")
    (folder / "not.stl").write_bytes(b"solid nothing\nendsolid nothing\n")
    (folder / "points.ply").write_text(
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nend_header\n"
        "0 0 0\n1 0 0\n0 1 0\n"
    )
    (folder / "broken.step").write_text("ISO-10303-21;\n")
    return str(folder)


@pytest.mark.parametrize("kind", ["stl", "obj", "ply"])
@pytest.mark.parametrize("unit, mm", [("mm", 1), ("cm", 10), ("in", 25.4), ("m", 1000)])
def test_every_format_and_unit(folder, kind, unit, mm):
    surface = imported_surface("mesh", {**PLAIN, "file": f"egg.{kind}", "unit": unit, "scale": 2.0}, folder)
    assert np.allclose(np.ptp(surface.mesh.points, axis=0), np.array([12, 8, 4]) * mm, rtol=1e-6)
    assert len(surface.mesh.triangles) == 320 and surface.notes == ()


def test_turned_as_scipy_turns_about_fixed_axes():
    degrees = (20, -35, 110)
    # Rotation.from_euler with small letters: extrinsic rotations, in the order of the letters
    assert np.allclose(turning(degrees), Rotation.from_euler("xyz", degrees, degrees=True).as_matrix())


def test_enlarged_then_turned_then_moved(folder):
    surface = imported_surface(
        "mesh", {**PLAIN, "file": "egg.stl", "scale": 10.0, "turn": (0, 0, 90), "at": (5, 0, 7)}, folder
    )
    assert np.allclose(np.ptp(surface.mesh.points, axis=0), (40, 60, 20), rtol=1e-6)
    assert np.allclose((surface.mesh.points.min(0) + surface.mesh.points.max(0)) / 2, (5, 0, 7), atol=1e-5)


@pytest.mark.parametrize(
    "kind, file, words",
    [
        ("mesh", "not.stl", "not.stl"),
        ("mesh", "points.ply", "no triangles in the file"),
        ("mesh", "absent.obj", "absent.obj cannot be read as a mesh"),
        ("step", "broken.step", "broken.step cannot be read as STEP"),
    ],
)
def test_files_that_give_no_form_are_named_in_one_line(folder, kind, file, words):
    with pytest.raises(BuildError, match=words) as caught:
        imported_surface(kind, {**PLAIN, "file": file}, folder)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "vertex, unit, words",
    [
        ("inf 0 0", "mm", "not a number"),
        ("nan 0 0", "mm", "not a number"),
        ("1e300 0 0", "mm", r"reaches 1e\+300 times 1 mm .* look at its unit"),
        ("60 0 0", "m", "reaches 60 times 1000 mm .* at most 50000 mm"),
    ],
)
def test_corners_that_are_nowhere_or_too_far_are_refused_before_anything_is_made_of_them(tmp_path, vertex, unit, words):
    (tmp_path / "a.obj").write_text(f"v {vertex}\nv 0 1 0\nv 0 0 1\nv 0 0 0\nf 1 2 3\nf 1 3 4\nf 1 4 2\nf 2 4 3\n")
    with np.errstate(all="raise"), pytest.raises(BuildError, match=words):
        imported_surface("mesh", {**PLAIN, "file": "a.obj", "unit": unit}, str(tmp_path))


def test_corners_of_two_numbers_are_refused(tmp_path):
    """Found by fuzzing: an OBJ file all of whose corners have two."""
    (tmp_path / "a.obj").write_text("v 0 1\nv 0 0\nv 1 0\nv 1 1\nf 1 2 3\nf 1 3 4\nf 1 4 2\nf 2 4 3\n")
    with pytest.raises(BuildError, match="corners that are no points in space; expected three numbers for each"):
        imported_mesh("mesh", {**PLAIN, "file": "a.obj"}, str(tmp_path))


@pytest.mark.parametrize("lost", ["inf 0 0", "1e308 1e308 0"])
def test_corners_of_no_triangle_are_not_asked_for(tmp_path, lost):
    faces = "f 1 2 3\nf 1 3 4\nf 1 4 2\nf 2 4 3\n"
    for name, more in (("a.obj", ""), ("b.obj", f"v {lost}\n")):
        (tmp_path / name).write_text(f"v 30 0 0\nv 0 30 0\nv 0 0 30\nv 0 0 0\n{more}{faces}")
    with np.errstate(all="raise"):
        plain, odd = (imported_mesh("mesh", {**PLAIN, "file": f"{n}.obj"}, str(tmp_path))[0] for n in "ab")
    assert np.array_equal(plain.points, odd.points) and plain.volume == pytest.approx(30**3 / 6)


@pytest.mark.parametrize("waves", [4, 8, 16])
def test_smoothing_lowers_waves_as_stated(waves):
    # waves along a cylinder's length, far from its ends: amplitude a / (1 + (width / wavelength)^2)
    count, length, amplitude, width = 400, 800.0, 0.2, 60.0
    z = np.linspace(0, length, count)
    angle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    radius = 2000 + amplitude * np.sin(2 * np.pi * waves * z / length)
    vertices = np.stack(
        [radius[:, None] * np.cos(angle), radius[:, None] * np.sin(angle), np.repeat(z[:, None], 90, axis=1)],
        axis=-1,
    ).reshape(-1, 3)
    i = np.arange(count * 90).reshape(count, 90)
    a, b = i[:-1], i[1:]
    c, d = np.roll(b, -1, axis=1), np.roll(a, -1, axis=1)
    faces = np.vstack([np.stack(s, -1).reshape(-1, 3) for s in ((a, c, b), (a, d, c))])
    made = smoothed(Mesh(vertices, faces), width).points.reshape(count, 90, 3)[count // 4 : -count // 4]
    radius = np.hypot(made[:, 0, 0], made[:, 0, 1])
    expected = amplitude / (1 + (width * waves / length) ** 2)
    assert abs(np.ptp(radius) / 2 / expected - 1) < 0.03


def test_a_nose_that_comes_to_a_point_is_read_whole(tmp_path):
    # the tangent ogive of rocketry: an arc of radius (R^2 + L^2) / 2R, tangent to the tube of radius R, turned about the axis
    import cadquery as cq

    radius, length, tube = 40.0, 90.0, 50.0
    arc = (radius**2 + length**2) / (2 * radius)

    def out(height):
        return np.sqrt(arc**2 - height**2) - (arc - radius)

    half = (out(length / 2), tube + length / 2)
    side = cq.Workplane("XZ").lineTo(radius, 0).lineTo(radius, tube).threePointArc(half, (0, tube + length)).close()
    cq.exporters.export(side.revolve(360, (0, 0, 0), (0, 1, 0)), str(tmp_path / "rocket.step"))
    surface = imported_surface("step", {**PLAIN, "file": "rocket.step"}, str(tmp_path))
    assert "filled" not in str(surface.notes) and surface.sheet_count == 2  # the foot, and the tube with the nose
    points = surface.point(surface.samples()[0])
    nose = points[points[:, 2] > tube]
    assert len(nose) > 1000
    off, to_tip = np.abs(np.hypot(*nose.T[:2]) - out(nose[:, 2] - tube)), tube + length - nose[:, 2]
    assert (
        off[to_tip > 5].max() < 0.02 and off.max() < 0.5
    )  # the curved triangles at the point itself have no one normal
    volume = np.pi * (radius**2 * tube + quad(lambda z: out(z) ** 2, 0, length)[0])
    assert surface.mesh.volume == pytest.approx(volume, rel=5e-3)


@pytest.mark.parametrize("scale", [0.3, 1.0, 5.0])
def test_a_duct_from_a_square_to_a_circle_is_read_whole(tmp_path, scale):
    # its mesh is folded along the straight edges between its sides; volume and area as the modeller has them of the solid
    import cadquery as cq

    duct = cq.Workplane().rect(120, 120).workplane(offset=90).circle(35).loft(combine=True)
    cq.exporters.export(duct, str(tmp_path / "duct.step"))
    mesh = imported_surface("step", {**PLAIN, "file": "duct.step", "scale": scale}, str(tmp_path)).mesh
    assert trimesh.Trimesh(mesh.points, mesh.triangles, process=False).is_watertight
    assert mesh.volume == pytest.approx(duct.val().Volume() * scale**3, rel=3e-3)
    assert mesh.areas.sum() == pytest.approx(duct.val().Area() * scale**2, rel=1e-3)
