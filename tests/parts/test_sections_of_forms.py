"""Sections and panel edges against closed formulas and the geodesics of pyproj."""

import cadquery as cq
import numpy as np
import pytest
import trimesh
from pyproj import Geod
from scipy.special import ellipe
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.forms.imported import imported_surface
from foamwright.forms.mesh import MeshSurface
from foamwright.forms.parametric import Revolution, Superellipsoid
from foamwright.geometry import Mesh, arc_length
from foamwright.parts.legs import Straight, legs, turn_between
from foamwright.parts.levels import PlaneLevel
from foamwright.parts.sections import curve_on_form, section
from foamwright.parts.trace import slide_onto, slide_to_corner

BALL = trimesh.creation.icosphere(5, 100.0)


@pytest.mark.parametrize("offset", [-5.0, 0.0, 8.0])
@pytest.mark.parametrize("at", [0.0, 35.0, -70.0])
def test_a_sphere_is_cut_in_circles(offset, at):
    for surface, within in (
        (Superellipsoid((0, 0, 0), (100, 100, 100)), 1e-9),
        (MeshSurface(Mesh(BALL.vertices, BALL.faces)), 2e-3),
    ):
        normal = np.array([2.0, -1.0, 2.0]) / 3
        curve = curve_on_form(surface, PlaneLevel(normal, at), offset)
        expected = np.sqrt((100 + offset) ** 2 - at**2)
        assert np.abs(np.linalg.norm(curve - at * normal, axis=1) - expected).max() < within
        assert arc_length(curve)[-1] == pytest.approx(2 * np.pi * expected, rel=2e-5)
        assert (curve[0] == curve[-1]).all()


def test_an_ellipsoid_is_cut_in_ellipses():
    surface = Superellipsoid((0, 0, 0), (120, 80, 50))
    curve = curve_on_form(surface, PlaneLevel(np.array([0.0, 0, 1]), 30.0), 0.0)
    a, b = 120 * 0.8, 80 * 0.8
    assert arc_length(curve)[-1] == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-6)


@pytest.mark.parametrize("a, b", [(120.0, 100.0), (90.0, 100.0), (100.0, 99.0)])
def test_meridians_and_parallels_of_spheroids_as_pyproj_measures_them(a, b):
    surface = Superellipsoid((0, 0, 0), (a, a, b))
    geod = Geod(a=a, b=b)
    # the meridian in the plane y = 0, all around
    meridian = curve_on_form(surface, PlaneLevel(np.array([0.0, 1, 0]), 0.0), 0.0)
    quarter = geod.line_length([20, 20], [0, 90])
    assert arc_length(meridian)[-1] == pytest.approx(4 * quarter, rel=1e-6)
    assert arc_length(meridian)[-1] == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-6)
    # a parallel: its radius from the geodetic latitude of its plane
    height = 0.5 * b
    latitude = np.degrees(np.arctan2(height / b**2, np.sqrt(1 - height**2 / b**2) / a))
    parallel = curve_on_form(surface, PlaneLevel(np.array([0.0, 0, 1]), height), 0.0)
    longitudes = np.linspace(0, 360, 4001)
    along = geod.line_length(longitudes, np.full_like(longitudes, latitude))
    assert arc_length(parallel)[-1] == pytest.approx(along, rel=1e-6)


def test_a_miss_and_a_double_are_refused():
    surface = Superellipsoid((0, 0, 0), (100, 100, 100))
    with pytest.raises(BuildError, match="misses its form"):
        curve_on_form(surface, PlaneLevel(np.array([0.0, 0, 1]), 120.0), 0.0)
    with pytest.raises(BuildError, match="more than one closed curve"):
        curve_on_form(surface, lambda p: np.abs(p[:, 2]) - 50, 0.0)


@pytest.mark.parametrize(
    "surface", [Superellipsoid((0, 0, 0), (100, 90, 70), (2.4, 2.2)), MeshSurface(Mesh(BALL.vertices, BALL.faces))]
)
def test_sliding_ends_on_the_level_and_on_both(surface):
    start = surface.triangulation(11520).coords[2000:2200]

    def first(c):
        return surface.point(c) @ (1.0, 0.0, 0.0) - surface.point(start[:1])[0, 0] - 2.0

    def second(c):
        return surface.point(c) @ (0.0, 1.0, 0.0) - surface.point(start[:1])[0, 1] - 1.0

    near = start[np.abs(first(start)) < 15]
    assert len(near) > 10
    assert np.abs(first(slide_onto(surface, near, first))).max() < 1e-9
    corner = slide_to_corner(surface, start[0], first, second)[None]
    assert abs(first(corner)[0]) < 1e-9 and abs(second(corner)[0]) < 1e-9


@pytest.mark.parametrize("offset", [0.0, -8.0, 6.0])
def test_a_section_over_creases_keeps_its_corners(offset):
    """An oblique plane z = 100 + 0.3 x through a can with a cone on it: on each of the two it is an ellipse."""
    can = Revolution("z", (0, 0, 0), [[0, 50], [100, 50], [140, 20]], smooth=False)
    normal = np.array([-0.3, 0.0, 1.0]) / np.hypot(1, 0.3)
    curve = curve_on_form(can, PlaneLevel(normal, float(100 * normal[2])), offset)
    radius, z = np.hypot(*curve[:, :2].T), curve[:, 2]
    # the parallel surfaces of both meet where the mitre is: half of the turn
    half = np.arctan2(30, 40) / 2
    shoulder = 100 + offset * np.tan(half)
    cone = 50 - (z - 100) * 0.75 + offset * 1.25
    assert np.abs(radius - np.where(z < shoulder, 50 + offset, cone)).max() < 1e-6
    assert np.abs(z - shoulder).min() < 1e-6  # a point stands in the corner itself
    assert np.allclose(curve[0], curve[-1])


@pytest.mark.parametrize("offset", [0.0, 6.0, -4.0])
def test_a_section_through_the_tips_of_cones_is_the_polygon_of_their_profile(offset):
    """Twice the profile's length; parallel lines with mitred corners are longer by twice the distance times the tangent
    of half of each turn (plane geometry)."""
    profile = np.array([[0.0, 0.0], [40.0, 60.0], [100.0, 60.0], [160.0, 0.0]])
    surface = Revolution("x", (0, 0, 0), profile, smooth=False)
    curve = curve_on_form(surface, PlaneLevel(np.array([0.0, 1.0, 0.0]), 0.0), offset)
    ring = np.vstack([profile, profile[-2:0:-1] * (1, -1)])
    legs = np.diff(np.vstack([ring, ring[:1]]), axis=0)
    turn = np.abs(np.angle(np.exp(1j * np.diff(np.unwrap(np.arctan2(legs[:, 1], legs[:, 0])), prepend=np.nan))))
    turn[0] = 2 * np.pi - np.nansum(turn)
    expected = np.linalg.norm(legs, axis=1).sum() + 2 * offset * np.tan(turn / 2).sum()
    assert np.linalg.norm(np.diff(curve, axis=0), axis=1).sum() == pytest.approx(expected, abs=0.05)
    assert np.abs(curve[:, 1]).max() < 1e-3


def _area_and_height(surface, plane, offset):
    points = section(surface, plane, offset)
    across = PlaneLevel(np.asarray(plane["normal"], float) / np.linalg.norm(plane["normal"]), plane["at"])
    assert (points[0] == points[-1]).all() and np.abs(across(points)).max() < 1e-6
    side = np.cross(across.normal, [0.0, 0, 1])
    flat = np.column_stack([points @ (side / np.linalg.norm(side)), points[:, 2]])
    shape = Polygon(flat)
    assert shape.is_valid
    return shape.area, np.ptp(points[:, 2])


@pytest.mark.parametrize("offset", [-4.0, 0.0, 6.0])
@pytest.mark.parametrize("at", [0.0, 30.0])
def test_an_open_form_is_cut_lengthwise_as_if_flat_ends_closed_it(offset, at):
    """Chords of circles, and the areas of rectangles and trapezia."""
    plane = {"normal": [0, 1, 0], "at": at}
    tube = Revolution("z", (0, 0, 0), [(0, 50), (200, 50)], smooth=False)
    chord = 2 * np.sqrt((50 + offset) ** 2 - at**2)
    assert _area_and_height(tube, plane, offset) == pytest.approx((200 * chord, 200), rel=1e-5)
    # a tube with a cone on it: the corner between them moves along with the offset
    can = Revolution("z", (0, 0, 0), [(0, 50), (100, 50), (160, 20)], smooth=False)
    area, _ = _area_and_height(can, {"normal": [0, 1, 0], "at": 0.0}, offset)
    slope = np.arctan2(30, 60)
    knee = 100 + offset * np.tan(slope / 2)
    tip = np.array([20, 160]) + offset * np.array([np.cos(slope), np.sin(slope)])
    right = [(50 + offset, 0), (50 + offset, knee), tuple(tip)]
    assert area == pytest.approx(Polygon(right + [(-x, z) for x, z in right[::-1]]).area, rel=1e-5)


def test_a_form_with_a_pole_and_an_open_end_is_cut_lengthwise():
    """Half an ellipse, and the rest of it below: a bowl with its rim cut level."""
    z = np.linspace(-100, 60, 60)
    bowl = Revolution("z", (0, 0, 0), [(h, 80 * np.sqrt(1 - (h / 100) ** 2)) for h in z], smooth=True)
    area, height = _area_and_height(bowl, {"normal": [1, 0, 0], "at": 0.0}, 0.0)
    part = np.pi / 2 + np.arcsin(0.6) + 0.6 * 0.8  # of an ellipse, from its foot to 0.6 of its half height
    assert (area, height) == pytest.approx((80 * 100 * part, 160), rel=2e-4)


def test_a_hoop_needs_a_curve_that_closes_on_the_form():
    tube = Revolution("z", (0, 0, 0), [(0, 50), (200, 50)], smooth=False)
    with pytest.raises(BuildError, match="open end"):
        curve_on_form(tube, PlaneLevel(np.array([0.0, 1, 0]), 0.0), 0.0)


@pytest.mark.parametrize("at", [0.0, 200.0])
def test_a_section_at_the_very_end_of_an_open_form_is_its_rim(at):
    tube = Revolution("z", (0, 0, 0), [(0, 50), (200, 70)], smooth=False)
    points = section(tube, {"normal": [0, 0, 1], "at": at}, 0.0)
    assert np.linalg.norm(points[:, :2], axis=1) == pytest.approx(50 + at / 10)


def test_a_plane_in_which_a_flat_face_of_the_moved_form_lies_gives_the_line_around_it(tmp_path):
    """A STEP box of 200 x 120 x 80 with upright edges rounded by 30, 10 mm within: 180 x 100, corners of 20."""
    box = cq.Workplane().box(200, 120, 80).edges("|Z").fillet(30)
    cq.exporters.export(box, str(tmp_path / "box.step"))
    given = {"file": "box.step", "scale": 1.0, "turn": (0.0, 0.0, 0.0), "at": (0.0, 0.0, 0.0)}
    surface = imported_surface("step", given, str(tmp_path))
    curve = section(surface, {"normal": "z", "at": -30.0}, -10.0)
    assert curve[:, 2] == pytest.approx(np.full(len(curve), -30.0), abs=2e-3)
    assert Polygon(curve[:, :2]).area == pytest.approx(180 * 100 - (4 - np.pi) * 20**2, abs=3.0)
    with pytest.raises(BuildError, match="misses its form"):
        section(surface, {"normal": "z", "at": -40.1}, 0.0)


@pytest.fixture(scope="module")
def step_solids(tmp_path_factory):
    """A six-sided prism 120 wide across the flats and 100 high, a wedge whose upper crease lies at 40, a can and a box
    with rounded corners."""
    folder = tmp_path_factory.mktemp("solids")
    wedge = [(0, 0), (120, 0), (120, 40), (0, 90)]
    for name, solid in (
        ("prism", cq.Workplane().polygon(6, 240 / 3**0.5).extrude(100)),
        ("wedge", cq.Workplane("XZ").polyline(wedge).close().extrude(-80)),
        ("can", cq.Workplane().circle(50).extrude(120)),
        ("round", cq.Workplane().box(120, 80, 60, centered=(True, True, False)).edges("|Z").fillet(15)),
    ):
        cq.exporters.export(solid, str(folder / f"{name}.step"))
    return lambda name, scale: imported_surface(
        "step", {"file": f"{name}.step", "scale": scale, "turn": [0, 0, 0], "at": [0, 0, 0]}, str(folder)
    )


@pytest.mark.parametrize("scale, offset", [(0.3, 10.0), (6.0, 0.0)])
def test_long_creases_of_step_solids_are_found_wherever_a_plane_meets_them(step_solids, scale, offset):
    """A crease between two flat faces has corners at its ends only; a plane may pass far from both."""
    ring = section(step_solids("prism", scale), {"normal": "z", "at": 40 * scale}, offset)
    side = (120 * scale + 2 * offset) / 3**0.5
    assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(6 * side, rel=1e-6)


@pytest.mark.parametrize("scale, at", [(1.0, 26.0), (0.3, 40.0), (6.0, 0.0)])
def test_a_plane_may_pass_through_a_crease_or_beside_a_corner(step_solids, scale, at):
    """At 40 it holds the crease between two faces of the wedge, which both end in it."""
    wedge = section(step_solids("wedge", scale), {"normal": "z", "at": at * scale}, 0.0)
    deep = 120 if at <= 40 else 120 * (90 - at) / 50
    assert Polygon(wedge[:, :2]).area == pytest.approx(deep * 80 * scale**2, rel=1e-4)
    can = section(step_solids("can", scale), {"normal": "z", "at": at * scale}, 0.0)
    assert arc_length(can)[-1] == pytest.approx(2 * np.pi * 50 * scale, rel=1e-5)


@pytest.mark.parametrize("scale", [0.3, 1.0])
def test_the_section_of_a_box_with_round_corners_is_lines_and_arcs_that_meet_where_they_touch(step_solids, scale):
    ring = section(step_solids("round", scale), {"normal": "z", "at": 20 * scale}, 0.0)[:-1, :2]
    found = legs(ring)
    assert np.abs([turn_between(a, b) for a, b in zip((found[-1], *found[:-1]), found)]).max() < np.radians(0.1)
    straight = sum(leg.length for leg in found if isinstance(leg, Straight))
    assert straight == pytest.approx(280 * scale, rel=2e-4)
    assert sum(leg.length for leg in found) == pytest.approx((280 + 30 * np.pi) * scale, rel=2e-5)


def test_a_tower_of_eight_sides_is_cut_in_an_octagon():
    """Its sides are about a circle of the radius r: an area of 8 tan(22.5 deg) r2. Clipping left corners in the wrong order."""
    out, up = np.radians(22.5 + 45.0 * np.arange(8)), np.arange(8)
    rings = [(r * np.cos(out), r * np.sin(out), np.full(8, z)) for r, z in ((112.8125, -30.0), (77.1875, 350.0))]
    points = np.hstack([np.stack(ring) * [[1 / np.cos(np.pi / 8)], [1 / np.cos(np.pi / 8)], [1.0]] for ring in rings]).T
    ahead = (up + 1) % 8
    fans = np.stack([np.zeros(6, int), up[1:7], up[2:8]], axis=1)
    sides = np.vstack([np.stack([up, ahead, ahead + 8], axis=1), np.stack([up, ahead + 8, up + 8], axis=1)])
    tower = MeshSurface(Mesh(points, np.vstack([sides, fans[:, ::-1], fans + 8])))
    radius = 112.8125 - 186.0 * 35.625 / 380.0 + 30.0 * np.hypot(1.0, 35.625 / 380.0)
    shape = Polygon(section(tower, {"normal": "z", "at": 156.0}, 30.0)[:-1, :2])
    assert shape.is_valid and shape.area == pytest.approx(8 * np.tan(np.pi / 8) * radius**2, rel=1e-6)
