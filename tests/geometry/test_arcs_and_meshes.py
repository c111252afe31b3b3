"""Lengths in curved surfaces, along lines, and what a mesh tells of itself, against formulas of elementary geometry."""

import numpy as np
import pytest
from scipy.special import ellipe

from foamwright.geometry import Frame, Mesh, arc_length, chord_length, resampled, signed_area
from foamwright.geometry.arcs import arc_lengths, unfolded_lengths
from foamwright.geometry.bevel import least_bevel
from foamwright.geometry.drawn import drawing_frame, seen_from_inside
from foamwright.geometry.mesh import along_sides
from foamwright.geometry.polyline import points_at
from foamwright.parts.bevels import bevels, bevels_of_sides


@pytest.mark.parametrize("turn", [0.01, 1.0, 8.0, 9.0, 30.0, 90.0, 170.0, 180.0])
@pytest.mark.parametrize("rise", [0.0, 3.0, 500.0])
def test_arcs_and_helices_are_exact(turn, rise):
    """On a cylinder of radius r the shortest line has length^2 = (r f)^2 + rise^2."""
    radius, angle = 40.0, np.radians(turn)
    normals = np.array([[1.0, 0.0, 0.0], [np.cos(angle), np.sin(angle), 0.0]])
    points = radius * normals + [[0.0, 0.0, 0.0], [0.0, 0.0, rise]]
    # asin near its end: half of the digits are left at 180 degrees
    assert arc_lengths(*points, *normals) == pytest.approx(np.hypot(radius * angle, rise), rel=1e-7)
    # the hollow side: normals turned round
    assert arc_lengths(*points, *-normals) == pytest.approx(np.hypot(radius * angle, rise), rel=1e-7)


@pytest.mark.parametrize("distance", [0.0, 5.0, -5.0])
def test_a_line_aslant_over_creases_is_straight_on_the_flats_laid_side_by_side(distance):
    """Plates of 10, 20 and 15 mm that turn by 20 degrees each, all laid flat: parallel-line development, with a strip of
    the bend allowance (the angle times the distance) between them; a line that also rises by 30 mm. The normals lean 2 mm
    beside each bend."""
    turn, widths, rise = np.radians(20.0), (10.0, 20.0, 15.0), 30.0
    ends = np.cumsum([0.0, *widths])
    at = np.unique(np.concatenate([np.linspace(0.0, ends[-1], 91), ends + 1e-9]))
    number = np.clip(np.searchsorted(ends, at, side="right") - 1, 0, 2)
    ways = np.array([[np.cos(k * turn), -np.sin(k * turn)] for k in range(3)])
    corners = np.vstack([[0.0, 0.0], np.cumsum(ways * np.array(widths)[:, None], axis=0)])
    flat = corners[number] + (at - ends[number])[:, None] * ways[number]
    points = np.column_stack([flat[:, 0], rise * at / at[-1], flat[:, 1]])

    def upright(angles):
        return np.column_stack([np.sin(angles), 0 * angles, np.cos(angles)])

    leaning = sum(turn * np.interp(at, [end - 2.0, end + 2.0], [0.0, 1.0]) for end in ends[1:3])
    found = unfolded_lengths(points, upright(number * turn), np.diff(number) != 0, upright(leaning), distance)
    # the line keeps to its places on the plates, so that it is straight from end to end of all laid flat
    assert found == pytest.approx(np.hypot(sum(widths) + 2 * turn * distance, rise), rel=1e-6)


def test_a_flat_surface_has_its_chords():
    up = np.tile([0.0, 0.0, 1.0], (2, 1))
    assert arc_lengths(np.zeros((2, 3)), np.array([[3.0, 4.0, 0.0], [0.0, 0.0, 0.0]]), up, up).tolist() == [5.0, 0.0]


@pytest.mark.parametrize("count", [2, 3, 4, 5, 60])
def test_lengths_along_lines(count):
    """A straight line is as long as its ends are apart, however it is divided; a semicircle of many points pi r."""
    at = np.linspace(0.0, 1.0, count) ** 2
    line = np.column_stack([3.0 * at, 4.0 * at, 0.0 * at])
    assert arc_length(line) == pytest.approx(5.0 * at) and chord_length(line) == pytest.approx(5.0 * at)
    even = resampled(line, line, 7)
    assert np.linalg.norm(np.diff(even, axis=0), axis=1) == pytest.approx(np.full(6, 5.0 / 6.0))
    if count > 50:
        angle = np.pi * np.linspace(0.0, 1.0, count)
        arc = 10.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
        assert arc_length(arc)[-1] == pytest.approx(10.0 * np.pi, rel=1e-6)
        assert chord_length(arc)[-1] < 10.0 * np.pi - 1e-3


def test_the_area_within_an_outline_has_its_sense():
    triangle = np.array([[1.0, 1.0], [5.0, 1.0], [1.0, 4.0]])
    assert signed_area(triangle) == 6.0 and signed_area(triangle[::-1]) == -6.0


def test_what_a_tetrahedron_tells_of_itself():
    """Three edges of 3, 4 and 5 mm along the axes: volume 10, faces 6, 7.5, 10 and the one across."""
    points = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [0.0, 4.0, 0.0], [0.0, 0.0, 5.0]])
    mesh = Mesh(points + 100.0, [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    across = np.sqrt(6.0**2 + 7.5**2 + 10.0**2)  # de Gua's theorem
    assert mesh.volume == pytest.approx(10.0) and mesh.areas == pytest.approx([6.0, 7.5, 10.0, across])
    assert Mesh(mesh.points, mesh.triangles[:, ::-1]).volume == pytest.approx(-10.0)
    assert mesh.face_normals[:3].tolist() == [[0.0, 0.0, -1.0], [0.0, -1.0, 0.0], [-1.0, 0.0, 0.0]]
    assert mesh.diagonal == pytest.approx(np.sqrt(50.0))
    assert Mesh(points[[0, 1, 1, 1]] * [1.0, 2.0, 3.0] + [[0.0, 2.0, 6.0]], mesh.triangles).diagonal == pytest.approx(
        3.0
    )
    assert mesh.corners.shape == (4, 3, 3)
    joined = Mesh.joined([mesh, mesh])
    assert joined.volume == pytest.approx(20.0) and len(joined.points) == 8
    moved = mesh.moved(np.array([[0.0, -1.0, 0.0, 7.0], [1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]]))
    assert moved.points[0] == pytest.approx([-93.0, 100.0, 100.0]) and moved.volume == pytest.approx(10.0)


def test_places_along_a_line_and_along_the_sides_of_triangles():
    line = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]])
    assert points_at(line, np.array([0.0, 1.5, 3.0, 5.0, 7.0])).tolist() == [[0, 0], [1.5, 0], [3, 0], [3, 2], [3, 4]]
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 4.0, 0.0], [10.0, 4.0, 0.0]])
    places, ends = along_sides(points, np.array([[0, 1, 2], [1, 3, 2]]), 3.0)
    assert len(places) == 3 + 1 + 3 + 1 + 3  # sides of 10, 4, 10.77, 4 and 10, the one in the middle once
    for pair in np.unique(ends, axis=0):
        a, b = points[pair]
        along = np.sort(np.linalg.norm(places[(ends == pair).all(axis=1)] - a, axis=1))
        steps = np.diff([0.0, *along, np.linalg.norm(b - a)])
        assert steps == pytest.approx(np.full(len(steps), steps[0])) and steps[0] < 3.0


def test_a_mirrored_mesh_keeps_its_outside():
    points = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [0.0, 4.0, 0.0], [0.0, 0.0, 5.0]])
    mesh = Mesh(points, [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    assert mesh.moved(np.diag([1.0, -1.0, 1.0, 1.0])).volume == pytest.approx(10.0)
    assert Mesh.joined([]).points.shape == (0, 3)


def test_a_frame_leads_to_space_and_back():
    frame = Frame(np.array([1.0, 2.0, 3.0]), np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]))
    assert frame.to_space([[10.0, 0.0]]).tolist() == [[1.0, 12.0, 3.0]]
    assert frame.to_space([[10.0, 20.0, 30.0]]).tolist() == [[31.0, 12.0, 23.0]]
    assert frame.to_frame([[31.0, 12.0, 23.0]]).tolist() == [[10.0, 20.0, 30.0]]
    inside = drawing_frame(frame)  # right-handed, looks the other way, and its points are those of the plane mirrored
    assert (
        np.linalg.det(inside.axes) == pytest.approx(1.0) and inside.axes[:, 2].tolist() == (-frame.axes[:, 2]).tolist()
    )
    seen = seen_from_inside([[10.0, 20.0]])
    assert (
        seen.tolist() == [[-10.0, 20.0]] and inside.to_space(seen).tolist() == frame.to_space([[10.0, 20.0]]).tolist()
    )


def test_an_edge_is_cut_square_where_both_lines_are_within_a_third_of_a_millimetre():
    """t tan(b) = 0.5 mm."""
    for thickness in (2.0, 6.0, 10.0):
        assert thickness * np.tan(np.radians(least_bevel(thickness))) == pytest.approx(0.5)


def test_a_bevel_is_written_with_as_many_values_as_it_takes():
    straight = np.linspace(10.0, 40.0, 101)
    assert (
        bevels(np.full(50, 12.0)) == (12.0,)
        and bevels(np.full(50, 0.4)) == (0.0,)
        and bevels(np.full(50, -0.4)) == (0.0,)
    )
    assert bevels(straight) == pytest.approx(np.linspace(10.0, 40.0, 9))
    wave = 20.0 + 10.0 * np.cos(np.linspace(0.0, 6.0 * np.pi, 400))
    for write, at, within in (
        (bevels, np.linspace(0.0, 1.0, 400), 0.5),
        (bevels_of_sides, (np.arange(400) + 0.5) / 400, 0.2),
    ):
        values = write(wave)
        assert len(values) in (17, 33, 65)
        assert np.abs(np.interp(at, np.linspace(0.0, 1.0, len(values)), values) - wave).max() < within
        fewer = (len(values) + 1) // 2
        coarse = np.interp(np.linspace(0.0, 1.0, fewer), at, wave)
        assert np.abs(np.interp(at, np.linspace(0.0, 1.0, fewer), coarse) - wave).max() > within
    assert bevels_of_sides(np.full(7, 31.0)) == (31.0,)


def test_a_quarter_of_an_ellipse():
    """Against the complete elliptic integral of the second kind: length a E(1 - b^2 / a^2)."""
    angle = np.linspace(0.0, np.pi / 2.0, 40)
    quarter = np.column_stack([10.0 * np.cos(angle), 3.0 * np.sin(angle)])
    assert arc_length(quarter)[-1] == pytest.approx(10.0 * ellipe(1.0 - 0.09), rel=3e-6)
