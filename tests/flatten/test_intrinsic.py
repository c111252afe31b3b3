import numpy as np
import pytest
from panel_meshes import ball, cone, cylinder, patch, saddle

from foamwright.flatten.solver import CannotFlatten
from foamwright.flatten.solver.intrinsic import areas, edge_lengths, rest_triangles
from foamwright.geometry import arc_lengths


def test_arcs_and_helices_on_a_cylinder_are_exact():
    angle, rise = np.linspace(0.0, 3.0, 61), np.linspace(0.0, 90.0, 61)
    n = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    p = 50.0 * n + np.stack([0 * rise, 0 * rise, rise], axis=1)
    start = np.broadcast_to(p[0], p.shape)
    length = arc_lengths(start, p, np.broadcast_to(n[0], n.shape), n)
    np.testing.assert_allclose(length, np.hypot(50.0 * angle, rise), rtol=1e-12)


def test_great_circles_are_exact_in_a_hollow_and_on_a_ball():
    n = np.array([[1.0, 0.0, 0.0], [np.cos(0.3), np.sin(0.3) * 0.6, np.sin(0.3) * 0.8]])
    p = 200.0 * n
    assert arc_lengths(p[0], p[1], n[0], n[1]) == pytest.approx(60.0, rel=1e-13)
    assert arc_lengths(p[0], p[1], -n[0], -n[1]) == pytest.approx(60.0, rel=1e-13)


def test_cone_with_three_degree_facets_is_true_to_a_ten_millionth():
    # handbook development: a cone's surface unrolls to polar coordinates, angle = turn * sin(half angle)
    half, turn = 0.5, 1.5
    mesh = patch(cone(half, turn, 150.0, 400.0), 30, 20)
    slope = np.linalg.norm(mesh.V, axis=1)
    angle = np.arctan2(mesh.V[:, 1], mesh.V[:, 0]) * np.sin(half)
    flat = slope[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    ends = mesh.F[:, [[1, 2], [2, 0], [0, 1]]]
    true = np.linalg.norm(flat[ends[..., 0]] - flat[ends[..., 1]], axis=-1)
    np.testing.assert_allclose(edge_lengths(mesh.V, mesh.N, mesh.F), true, rtol=1e-7)


def test_error_falls_with_the_fourth_power_of_the_chord():
    # an ellipse, its arc length by the trapezoid rule on 200001 points
    def on_ellipse(t):
        p = np.stack([300 * np.cos(t), 180 * np.sin(t)], axis=-1)
        n = np.stack([180 * np.cos(t), 300 * np.sin(t)], axis=-1)
        return p, n / np.linalg.norm(n, axis=-1, keepdims=True)

    errors = []
    for step in (0.2, 0.1):
        (p, q), (a, b) = on_ellipse(np.array([0.9, 0.9 + step]))
        t = np.linspace(0.9, 0.9 + step, 200001)
        true = np.trapezoid(np.hypot(300 * np.sin(t), 180 * np.cos(t)), t)
        errors.append(abs(arc_lengths(p, q, a, b) / true - 1))
    assert errors[1] < 1e-6
    assert errors[0] / errors[1] > 12


@pytest.mark.parametrize("surface", [ball(300, 1.0, 1.0), saddle(400, 0.003), cylinder(100, 2.0, 200)])
def test_never_less_than_the_chord(surface):
    mesh = patch(surface, 9, 9)
    chords = edge_lengths(*mesh.chords)
    lengths = edge_lengths(mesh.V, mesh.N, mesh.F)
    assert np.all(lengths >= chords)
    assert np.all(lengths < 1.02 * chords)


def test_area_of_a_ball_patch():
    # Archimedes: a zone of a ball has the area of the cylinder around it
    mesh = patch(ball(300.0, 1.0, 0.8), 40, 40)
    total = areas(rest_triangles(edge_lengths(mesh.V, mesh.N, mesh.F))).sum()
    assert total == pytest.approx(300.0**2 * 1.0 * 2 * np.sin(0.4), rel=1e-4)


def test_rest_triangles_have_the_lengths():
    lengths = np.array([[3.0, 4.0, 5.0], [2.0, 2.0, 2.0]])
    edges = rest_triangles(lengths)
    np.testing.assert_allclose(np.linalg.norm(edges[:, :, 0], axis=1), lengths[:, 2])
    np.testing.assert_allclose(np.linalg.norm(edges[:, :, 1], axis=1), lengths[:, 1])
    np.testing.assert_allclose(np.linalg.norm(edges[:, :, 1] - edges[:, :, 0], axis=1), lengths[:, 0])
    np.testing.assert_allclose(areas(edges), [6.0, np.sqrt(3.0)])


def test_triangle_without_area_is_refused():
    with pytest.raises(CannotFlatten, match="without area"):
        rest_triangles(np.array([[1.0, 2.0, 3.0]]))
