from types import SimpleNamespace

import numpy as np
import pytest
from panel_meshes import ball, cylinder, patch, saddle

from foamwright.flatten import strain
from foamwright.forms.parametric import Frustum

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
FACES = np.array([[0, 1, 2], [0, 2, 3]])


def flat_lengths(X, F):
    ends = F[:, [[1, 2], [2, 0], [0, 1]]]
    return np.linalg.norm(X[ends[..., 0]] - X[ends[..., 1]], axis=-1)


def test_stretch_is_length_on_the_form_over_length_on_the_pattern():
    on_form = SQUARE * [1.05, 0.98]
    stretches = strain.triangle_strain(flat_lengths(on_form, FACES), SQUARE, FACES)
    np.testing.assert_allclose(stretches, [[1.05, 0.98]] * 2, rtol=1e-12)


def test_stretch_does_not_depend_on_the_axes():
    turn = np.array([[np.cos(0.7), -np.sin(0.7)], [np.sin(0.7), np.cos(0.7)]])
    shear = turn @ np.diag([1.02, 0.9]) @ turn.T
    stretches = strain.triangle_strain(flat_lengths(SQUARE @ shear, FACES), SQUARE @ turn, FACES)
    np.testing.assert_allclose(stretches, [[1.02, 0.9]] * 2, rtol=1e-12)


def test_summary_of_an_even_stretch():
    result = strain.summary(flat_lengths(SQUARE * [1.05, 0.98], FACES), SQUARE, FACES, 10.0, -0.01, 0.02)
    for value, wanted in [
        (result.max, 0.05), (result.p95, 0.05), (result.mean, 0.05), (result.tension, 0.05),
        (result.compression, 0.02), (result.inner_face, -0.01), (result.outer_face, 0.02),
    ]:  # fmt: skip
        assert value == pytest.approx(wanted, abs=1e-12)


def test_summary_is_nothing_where_nothing_is_strained():
    result = strain.summary(flat_lengths(SQUARE, FACES), SQUARE, FACES, 10.0)
    assert result.max == pytest.approx(0.0, abs=1e-12)
    assert result.p95 == pytest.approx(0.0, abs=1e-12)


def test_the_table_tells_of_the_strain_that_is_shaded():
    # one definition for the limit, the table, the shades and the hatching: 95 % never lies above the worst
    mesh = patch(lambda u, v: np.stack([100 * u, 100 * v, 0 * u], axis=-1), 41, 41)
    flat = mesh.V[:, :2]
    stretch = 1.0 + 0.06 * np.random.default_rng(3).random(len(mesh.F))
    lengths = flat_lengths(flat, mesh.F) * stretch[:, None]
    at, told = strain.strained(lengths, flat, mesh.F, 6.0), strain.summary(lengths, flat, mesh.F, 6.0)
    assert told.max == at.max() and told.tension == at[:, 0].max() and told.compression == at[:, 1].max()
    assert told.mean < told.p95 <= told.max
    area = np.bincount(mesh.F.ravel(), minlength=len(flat))  # in equal triangles
    assert area[at.max(axis=1) <= told.p95].sum() / area.sum() == pytest.approx(0.95, abs=0.02)


def edge_pressed(share):
    """A sheet that is 100 mm square on the pattern; the sides of triangles along y = 0 are shorter on the form by
    `share`. Also the vertices along y = 0."""
    mesh = patch(lambda u, v: np.stack([100 * u, 100 * v, 0 * u], axis=-1), 41, 41)
    flat = mesh.V[:, :2]
    along = flat[mesh.F[:, [[1, 2], [2, 0], [0, 1]]], 1].max(axis=-1) < 1e-9
    border = np.flatnonzero(flat[:, 1] < 1e-9)
    return mesh, flat_lengths(flat, mesh.F) * (1.0 - share * along), border[np.argsort(flat[border, 0])]


def test_an_edge_that_a_rule_finds_longer_is_in_the_worst_strain():
    # by its own definition: length on the form over length on the pattern, which is 100 mm
    mesh, lengths, border = edge_pressed(0.028)
    flat = mesh.V[:, :2]
    np.testing.assert_allclose(strain.edge_stretches(lengths, flat, mesh.F, [[border]]), [[97.2, 100.0]], rtol=1e-9)
    np.testing.assert_allclose(strain.edge_stretches(lengths, flat, mesh.F, [[border[::-1]]]), [[97.2, 100.0]])
    around = strain.summary(lengths, flat, mesh.F, 10.0)
    told = strain.summary(lengths, flat, mesh.F, 10.0, edges=[[border]])
    assert around.compression < 0.02  # as it was told before
    assert told.compression == pytest.approx(0.028, rel=1e-9) and told.max == pytest.approx(0.028, rel=1e-9)
    assert told.tension == around.tension
    at = strain.strained(lengths, flat, mesh.F, 10.0, [[border]])
    assert at[border, 1].min() == pytest.approx(0.028, rel=1e-9)  # so that it is shaded


def test_a_dart_closed_does_not_lengthen_its_edge():
    mesh, lengths, border = edge_pressed(0.0)
    halves = [border[:20], border[21:]]  # two steps of 2.5 mm between them are no part of it
    found = strain.edge_stretches(lengths, mesh.V[:, :2], mesh.F, [halves, []])
    np.testing.assert_allclose(found, [[95.0, 95.0], [0.0, 0.0]], rtol=1e-9)


def test_an_edge_shorter_than_the_foam_is_thick_is_finer_detail():
    mesh, lengths, border = edge_pressed(0.1)
    flat, border = mesh.V[:, :2], border[:3]
    assert strain.summary(lengths, flat, mesh.F, 6.0, edges=[[border]]) == strain.summary(lengths, flat, mesh.F, 6.0)


def test_numbers_that_differ_are_told_apart():
    assert strain.percents(0.0304, 0.03) == ("3.04 %", "3.00 %")
    assert strain.percents(0.051, 0.03) == ("5.1 %", "3.0 %")
    assert strain.percents(0.03, 0.03) == ("3.0 %", "3.0 %")


def test_worst_strain_is_a_mean_over_the_reach_whatever_the_mesh():
    worst = []
    for k in (41, 81):
        mesh = patch(lambda u, v: np.stack([100 * u, 100 * v, 0 * u], axis=-1), k, k)
        flat = mesh.V[:, :2]
        # a spike of 20 % and 8 mm width at the middle, on top of nothing
        centre = flat[mesh.F].mean(axis=1) - 50.0
        stretch = 1.0 + 0.2 * (np.hypot(*centre.T) < 4.0)
        lengths = flat_lengths(flat, mesh.F) * stretch[:, None]
        worst.append(strain.summary(lengths, flat, mesh.F, 12.0).max)
    # on the form the spike has 1.2^2 times its area on the pattern, which is 1/9 of the disk of 12 mm
    share = 1.44 / (8.0 + 1.44)
    assert worst[0] == pytest.approx(0.2 * share, rel=0.15)
    assert worst[1] == pytest.approx(0.2 * share, rel=0.08)


def test_curvatures_of_known_surfaces():
    mesh = patch(ball(250.0, 0.6, 0.6), 12, 12)
    np.testing.assert_allclose(strain.curvatures(mesh.V, mesh.N, mesh.F), 1 / 250.0, rtol=1e-6)
    mesh = patch(cylinder(80.0, 1.0, 100.0), 40, 6)
    np.testing.assert_allclose(strain.curvatures(mesh.V, mesh.N, mesh.F)[:, 0], 1 / 80.0, rtol=1e-3)
    np.testing.assert_allclose(strain.curvatures(mesh.V, mesh.N, mesh.F)[:, 1], 0.0, atol=1e-12)
    mesh = patch(saddle(50.0, 0.004), 12, 12)
    middle = np.argmin(np.linalg.norm(mesh.V[mesh.F].mean(axis=1), axis=1))
    # z = t x y has principal curvatures +-t at the middle
    np.testing.assert_allclose(strain.curvatures(mesh.V, mesh.N, mesh.F)[middle], [0.004, -0.004], rtol=0.02)


def test_bending_of_a_cylinder():
    # beam theory: strain of a face is its distance from the neutral surface over the radius of that surface
    mesh = patch(cylinder(105.0, 1.0, 100.0), 60, 6)
    inner, outer = strain.bending(mesh.V, mesh.N, mesh.F, 10.0, 0.5)
    assert inner == pytest.approx(-5.0 / 105.0, rel=1e-3)
    assert outer == pytest.approx(5.0 / 105.0, rel=1e-3)
    inner, outer = strain.bending(mesh.V, -mesh.N, mesh.F, 10.0, 0.4)
    assert inner == pytest.approx(4.0 / 105.0, rel=1e-3)
    assert outer == pytest.approx(-6.0 / 105.0, rel=1e-3)


def test_least_radius_is_that_of_the_hollow_face():
    mesh = patch(cylinder(25.0, 1.0, 100.0), 60, 6)
    assert strain.least_radius(mesh.V, mesh.N, mesh.F, 10.0, 0.5) == pytest.approx(20.0, rel=1e-2)
    assert strain.least_radius(mesh.V, -mesh.N, mesh.F, 10.0, 0.4) == pytest.approx(19.0, rel=1e-2)
    flat = patch(saddle(50.0, 0.0), 5, 5)
    assert strain.least_radius(flat.V, flat.N, flat.F, 10.0, 0.5) == np.inf


@pytest.mark.parametrize(("head", "pointed"), [(0.0, True), (2.0, True), (20.0, False)])
def test_the_tip_of_a_cone_is_a_point_and_no_fold(head, pointed):
    surface = Frustum("z", np.zeros(3), np.array([[0.0, 60.0], [80.0, head]]))
    chart = SimpleNamespace(coords=np.array([[0.0, 0.0], [0.0, 0.5], [1.0, 0.0], [1.0, 0.5]]))
    body = SimpleNamespace(surface=surface, chart=chart)
    assert strain.comes_to_a_point(body, 1.0, 6.0) is pointed
    assert not strain.comes_to_a_point(body, 7.0, 6.0)  # foam takes that
