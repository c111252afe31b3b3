import igl
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from panel_meshes import PanelMesh, ball, cap, cone, cylinder, patch, saddle

from foamwright.flatten.solver import CannotFlatten, embedding
from foamwright.flatten.solver import newton as solver
from foamwright.flatten.solver.coarsen import coarsen
from foamwright.flatten.solver.intrinsic import areas, edge_lengths, rest_triangles
from foamwright.flatten.solver.newton import Flattener, SymmetricDirichlet, flatten


def energy_of(V, N, F):
    return SymmetricDirichlet(rest_triangles(edge_lengths(V, N, F)), F)


def line_lengths(X, line):
    return np.hypot(*np.diff(X[line], axis=0).T)


def turned(X):
    """X moved so that vertex 0 is the origin and vertex 1 on the x axis."""
    edge = X[1] - X[0]
    c, s = edge / np.hypot(*edge)
    return (X - X[0]) @ np.array([[c, -s], [s, c]])


def test_cylinder_develops_to_its_rectangle():
    angle = 2.0
    mesh = patch(cylinder(100.0, angle, 200.0), 40, 12)  # facets of 3 degrees
    result = flatten(mesh.V, mesh.N, mesh.F)
    flat = np.stack([100.0 * np.arctan2(mesh.V[:, 1], mesh.V[:, 0]), mesh.V[:, 2]], axis=1)
    np.testing.assert_allclose(turned(result.flat), turned(flat), atol=2e-5)
    assert result.energy == pytest.approx(4.0, abs=1e-12)


def test_cone_develops_to_its_sector():
    # handbook: the sector's angle is 360 degrees * radius / slant
    half, turn = 0.4, 2.0
    mesh = patch(cone(half, turn, 100.0, 300.0), 40, 12)
    result = flatten(mesh.V, mesh.N, mesh.F)
    slant = np.linalg.norm(mesh.V, axis=1)
    angle = np.arctan2(mesh.V[:, 1], mesh.V[:, 0]) * np.sin(half)
    flat = slant[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    np.testing.assert_allclose(turned(result.flat), turned(flat), atol=3e-4)
    assert result.energy == pytest.approx(4.0, abs=1e-10)


def test_gradient_and_hessian_are_those_of_the_energy():
    mesh = patch(ball(300.0, 1.0, 1.0), 5, 5)
    energy = energy_of(mesh.V, mesh.N, mesh.F)
    flat = flatten(mesh.V, mesh.N, mesh.F)
    solve = Flattener(mesh.V, mesh.N, mesh.F)
    X = 0.95 * flat.flat + 3.0 * np.sin(np.arange(2 * len(mesh.V))).reshape(-1, 2)
    gradient, blocks = energy.derivatives(X, -np.inf)
    gradient = solve._pattern.gather(gradient)
    hessian = solve._pattern.system(*solve._pattern.sum_blocks(blocks))
    rng = np.random.default_rng(3)
    h = 1e-4
    for _ in range(4):
        d = rng.normal(size=X.shape)
        slope = (energy.value(X + h * d) - energy.value(X - h * d)) / (2 * h)
        assert slope == pytest.approx(np.sum(gradient * d), rel=1e-6)
        up, down = (solve._pattern.gather(energy.derivatives(X + s * h * d, 0.0)[0]) for s in (1, -1))
        np.testing.assert_allclose(
            hessian._unordered(hessian._matrix @ hessian._ordered(d)),
            (up - down) / (2 * h),
            rtol=1e-5,
            atol=1e-4,
        )


@pytest.mark.parametrize(
    "mesh",
    [
        patch(ball(300.0, 1.2, 1.2), 15, 15, darts=((0.3, 0.4), (0.7, 0.4))),
        patch(saddle(400.0, 0.004), 15, 15, hole=0.4),
        cap(300.0, 0.9, 8, 24, darts=3, depth=0.75),
    ],
    ids=["darts", "hole", "cap"],
)
def test_no_worse_than_the_reference_solver_on_the_same_mesh(mesh: PanelMesh):
    # libigl's scalable locally injective mappings minimise the same energy of the mesh's own chords
    energy = energy_of(*mesh.chords)
    start = embedding.convex(mesh.F, len(mesh.V), float(energy.area.sum()))
    assert not energy.flips(start)
    faces = np.asfortranarray(mesh.F.astype(np.int32))
    data = igl.slim_precompute(
        np.asfortranarray(mesh.V), faces, np.asfortranarray(start), igl.MappingEnergyType.SYMMETRIC_DIRICHLET,
        np.zeros(0, np.int32), np.zeros((0, 2), order="F"), 0.0,
    )  # fmt: skip
    reference = 4.0 + energy.value(np.array(igl.slim_solve(data, 200))) / energy.area.sum()
    result = flatten(*mesh.chords)
    assert not energy.flips(result.flat)
    assert result.energy <= reference * (1 + 1e-9)
    assert result.energy == pytest.approx(reference, rel=1e-5)


def test_small_cap_strains_as_plate_theory_says():
    # Near no strain the energy is that of a plate without lateral contraction. Flattening a ball of curvature
    # K then gives the Airy stress function of a free disk: hoop strain K (R^2 - 3 r^2) / 16 (derived by hand
    # from the plate equation, so only to the lowest order in the angle R sqrt(K)): at the rim -K R^2 / 8.
    radius, angle = 1000.0, 0.15
    mesh = cap(radius, angle, 24, 60, darts=0, depth=0.0)
    result = flatten(mesh.V, mesh.N, mesh.F)
    rim = 1 + 23 * 60 + np.arange(60)
    flat_rim = np.hypot(*(result.flat[rim] - result.flat[rim].mean(axis=0)).T).mean()
    hoop = radius * np.sin(angle) / flat_rim - 1.0
    assert hoop == pytest.approx(-(angle**2) / 8, rel=0.05)


def test_darts_of_a_cap_open_by_the_curvature_they_enclose():
    # Gauss-Bonnet: around the pole of a cap the angle missing from a full turn is 2 pi (1 - cos a). Darts
    # from the rim to near the pole open there by that, but for an end effect as wide as the gores between
    # them, which is taken off by extrapolating from two numbers of darts.
    angle = 0.6
    total = {}
    for darts in (24, 48):
        mesh = cap(400.0, angle, 24, 96, darts=darts, depth=23 / 24)
        X = flatten(mesh.V, mesh.N, mesh.F).flat
        total[darts] = 0.0
        for a, b in mesh.darts:
            one, two = X[a[0]] - X[a[1]], X[b[0]] - X[b[1]]
            total[darts] += abs(np.arctan2(one[0] * two[1] - one[1] * two[0], one @ two))
    curvature = 2 * np.pi * (1 - np.cos(angle))
    assert total[48] == pytest.approx(curvature, rel=0.07)
    assert 2 * total[48] - total[24] == pytest.approx(curvature, rel=0.02)


@settings(max_examples=15, deadline=None)
@given(
    scale=st.floats(0.01, 100.0),
    axis=st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.1, 1)),
    turn=st.floats(0, 6.28),
)
def test_size_and_place_in_space_make_no_difference(scale, axis, turn):
    mesh = patch(ball(300.0, 0.9, 0.6), 7, 8, darts=((0.5, 0.5),))
    k = np.array(axis) / np.linalg.norm(axis)
    K = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    R = np.eye(3) + np.sin(turn) * K + (1 - np.cos(turn)) * K @ K
    first = flatten(mesh.V, mesh.N, mesh.F)
    second = flatten(scale * mesh.V @ R.T + [10.0, -20.0, 5.0], mesh.N @ R.T, mesh.F)
    assert second.energy == pytest.approx(first.energy, rel=1e-9)
    np.testing.assert_allclose(turned(second.flat) / scale, turned(first.flat), atol=1e-3)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.2, 2.0), st.floats(0.2, 1.4), st.integers(0, 3), st.floats(0.2, 0.7))
def test_no_triangle_flips(width, height, darts, depth):
    at = tuple((i + 1) / (darts + 1) for i in range(darts))
    mesh = patch(ball(200.0, width, height), 13, 10, darts=tuple((u, depth) for u in at))
    result = flatten(mesh.V, mesh.N, mesh.F)
    assert not energy_of(mesh.V, mesh.N, mesh.F).flips(result.flat)
    assert result.gradient <= solver.TOLERANCE


def test_stated_lengths_are_met():
    mesh = patch(ball(300.0, 1.2, 1.0), 16, 16, darts=((0.4, 0.5),))
    work = Flattener(mesh.V, mesh.N, mesh.F)
    free = work.solve()
    (a, b), seam = mesh.darts[0], mesh.low
    common = 0.5 * (line_lengths(free.flat, a) + line_lengths(free.flat, b))
    wanted = line_lengths(free.flat, seam) * 1.01
    held = work.solve([(a, common), (b, common), (seam, wanted)])
    for line, lengths in ((a, common), (b, common), (seam, wanted)):
        np.testing.assert_allclose(line_lengths(held.flat, line), lengths, rtol=1e-6)
    assert not energy_of(mesh.V, mesh.N, mesh.F).flips(held.flat)
    assert held.energy > free.energy
    assert held.energy < free.energy + 1e-3


def test_lengths_far_from_the_free_ones_are_met():
    mesh = patch(ball(300.0, 1.0, 1.0), 12, 12)
    work = Flattener(mesh.V, mesh.N, mesh.F)
    wanted = line_lengths(work.solve().flat, mesh.low) * np.linspace(0.85, 1.15, 11)
    held = work.solve([(mesh.low, wanted)])
    np.testing.assert_allclose(line_lengths(held.flat, mesh.low), wanted, rtol=1e-6)


def test_held_solution_does_not_depend_on_the_start():
    mesh = patch(saddle(300.0, 0.003), 12, 12)
    work = Flattener(mesh.V, mesh.N, mesh.F)
    free = work.solve().flat
    wanted = line_lengths(free, mesh.low) * 1.02
    one = work.solve([(mesh.low, wanted)])
    other = work.solve([(mesh.low, wanted)], start=free * [1.1, 1.0] + 0.03 * free[:, ::-1])
    np.testing.assert_allclose(turned(one.flat), turned(other.flat), atol=1e-2)
    assert one.energy == pytest.approx(other.energy, rel=1e-8)


def test_coarse_start_leads_to_the_same_shape(monkeypatch):
    mesh = patch(ball(300.0, 1.2, 1.0), 50, 40, darts=((0.3, 0.5), (0.6, 0.4)), hole=0.1)
    assert len(mesh.F) > solver.COARSE_FACES
    coarse = Flattener(mesh.V, mesh.N, mesh.F).solve()
    monkeypatch.setattr(solver, "COARSE_FACES", 10**9)
    direct = Flattener(mesh.V, mesh.N, mesh.F).solve()
    assert coarse.energy == pytest.approx(direct.energy, rel=1e-9)
    np.testing.assert_allclose(turned(coarse.flat), turned(direct.flat), atol=1e-2)


def test_coarse_mesh_keeps_the_boundaries_and_prolongs_affine_maps():
    mesh = patch(ball(300.0, 1.2, 1.0), 40, 40, darts=((0.3, 0.5),), hole=0.2)
    coarse = coarsen(mesh.V, mesh.F, len(mesh.F) // 8)
    assert len(coarse.F) < len(mesh.F) / 6
    assert len(embedding.boundary_loops(coarse.F)) == 2
    edges = np.sort(coarse.F[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    assert np.unique(edges, axis=0, return_counts=True)[1].max() == 2
    euler = len(coarse.kept) - len(np.unique(edges, axis=0)) + len(coarse.F)
    assert euler == 0  # a disk with one hole
    plane = patch(lambda u, v: np.stack([100 * u, 70 * v + 20 * u, 0 * u], axis=-1), 30, 30)
    flat = coarsen(plane.V, plane.F, 200)
    np.testing.assert_allclose(flat.prolong(plane.V[flat.kept, :2]), plane.V[:, :2], atol=1e-5)


def test_convex_start_has_no_flips_around_holes_and_darts():
    mesh = patch(ball(300.0, 2.0, 1.0), 21, 21, darts=((0.2, 0.4), (0.8, 0.6)), hole=0.3)
    energy = energy_of(mesh.V, mesh.N, mesh.F)
    assert not energy.flips(embedding.convex(mesh.F, len(mesh.V), 1.0))


def test_far_start_leads_to_the_same_shape():
    mesh = patch(ball(300.0, 1.4, 1.0), 14, 14, darts=((0.5, 0.5),))
    work = Flattener(mesh.V, mesh.N, mesh.F)
    near, far = work.solve(), work.solve(start=embedding.convex(mesh.F, len(mesh.V), 1e3))
    assert far.iterations > near.iterations
    assert far.energy == pytest.approx(near.energy, rel=1e-9)
    np.testing.assert_allclose(turned(far.flat), turned(near.flat), atol=2e-2)


def test_nearly_a_whole_ball_is_laid_flat_without_flips():
    mesh = cap(300.0, 2.8, 16, 48, darts=0, depth=0.0)
    result = flatten(mesh.V, mesh.N, mesh.F)
    assert not energy_of(mesh.V, mesh.N, mesh.F).flips(result.flat)


def test_solution_with_the_factor_of_a_matrix_nearby():
    mesh = patch(ball(300.0, 1.0, 1.0), 10, 10)
    work = Flattener(mesh.V, mesh.N, mesh.F)
    X = work.solve().flat
    systems = []
    for stretch in (1.05, 1.08):
        _, blocks = work._energy.derivatives(stretch * X, 0.0)
        systems.append(work._pattern.system(*work._pattern.sum_blocks(blocks)))
    right = np.cos(np.arange(200.0)).reshape(-1, 2)
    exact = systems[1].solve(systems[1].factor(), right)
    near = systems[1].solve_nearby(systems[0].factor(), right, most=30, tolerance=1e-10)
    np.testing.assert_allclose(near, exact, rtol=1e-6, atol=1e-6 * np.abs(exact).max())
    assert systems[1].solve_nearby(systems[0].factor(), right, most=1, tolerance=1e-10) is None


def test_same_input_same_bytes():
    mesh = patch(ball(300.0, 1.2, 1.0), 45, 45, darts=((0.3, 0.5),))
    one = flatten(mesh.V, mesh.N, mesh.F).flat
    two = flatten(mesh.V.copy(), mesh.N.copy(), mesh.F.copy()).flat
    assert one.tobytes() == two.tobytes()


def test_faces_run_counter_clockwise_and_area_is_kept():
    mesh = patch(ball(300.0, 1.0, 1.0), 12, 12)
    X = flatten(mesh.V, mesh.N, mesh.F).flat
    p, q, r = X[mesh.F[:, 0]], X[mesh.F[:, 1]], X[mesh.F[:, 2]]
    signed = 0.5 * ((q - p)[:, 0] * (r - p)[:, 1] - (q - p)[:, 1] * (r - p)[:, 0])
    assert np.all(signed > 0)
    true = areas(rest_triangles(edge_lengths(mesh.V, mesh.N, mesh.F))).sum()
    assert signed.sum() == pytest.approx(true, rel=0.01)


def test_wrong_input_is_refused():
    mesh = patch(ball(300.0, 1.0, 1.0), 6, 6)
    work = Flattener(mesh.V, mesh.N, mesh.F)
    with pytest.raises(ValueError, match="not an edge"):
        work.solve([(np.array([0, 35]), np.array([10.0]))])
    with pytest.raises(ValueError, match="one positive length"):
        work.solve([(mesh.low, np.array([10.0]))])
    with pytest.raises(ValueError, match="flipped"):
        work.solve(start=np.zeros((36, 2)))
    pinched = np.array([[0, 1, 2], [0, 3, 4]])
    with pytest.raises(CannotFlatten, match="touches itself"):
        embedding.boundary_loops(pinched)
