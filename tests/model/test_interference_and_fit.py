from __future__ import annotations

import sys
from pathlib import Path

import cadquery as cq
import manifold3d
import numpy as np
import pytest
import trimesh

sys.path.insert(0, str(Path(__file__).parent))
from solid_fixtures import Spheroid, copy_of, hoop, panel, piece, placed, plate, prop, rectangle, ring_points

from foamwright.errors import BuildError
from foamwright.geometry import Mesh
from foamwright.model import interference
from foamwright.model.build import build_model
from foamwright.model.figure import Figure, clearance
from foamwright.model.figure_solids import body
from foamwright.model.interference import interferences
from foamwright.model.overlap import between, roomiest
from foamwright.model.placed import placed_copies
from foamwright.model.records import Model


def ball(label, radius, x):
    shape = cq.Solid.makeSphere(radius, cq.Vector(), angleDegrees1=-90)
    return copy_of(piece(label, plate(rectangle(1, 1))), shape, placed(x).matrix)


def test_two_balls_share_a_lens_of_known_volume():
    """V = pi (R + r - d)^2 (d^2 + 2 d r - 3 r^2 + 2 d R + 6 r R - 3 R^2) / (12 d), MathWorld,
    "Sphere-Sphere Intersection", eq. 16 (from memory)."""
    big, small, d = 50.0, 30.0, 70.0
    (found,) = interferences(Model(prop(), (), (ball("A", big, 0.0), ball("B", small, d))))
    polynomial = d**2 + 2 * d * small - 3 * small**2 + 2 * d * big + 6 * small * big - 3 * big**2
    assert found.volume == pytest.approx(np.pi * (big + small - d) ** 2 * polynomial / (12 * d), rel=0.03)
    assert (found.part_a, found.part_b, found.copy_b) == ("pa", "pb", 1)
    assert found.at == pytest.approx((45.0, 0.0, 0.0), abs=0.2)  # the lens reaches from 40 to 50


def test_depth_and_place_are_those_of_the_largest_ball_within_what_is_shared():
    """A ring pressed 3 mm into a plate on which it stands 5 mm wide: twice volume over surface would be 1.9 mm, and the middle
    of the box around what they share is the middle of the hole."""
    ring = trimesh.creation.annulus(50.0, 55.0, 3.0, sections=120)
    radius, at = roomiest(Mesh(ring.vertices, ring.faces))
    assert 2.0 * radius == pytest.approx(3.0, abs=0.01)
    assert 51.4 < np.hypot(*at[:2]) < 53.6 and abs(at[2]) < 0.05


@pytest.mark.parametrize(
    ("mesh", "deep"),
    [
        (trimesh.creation.box((100.0, 5.0, 3.0)), 3.0),
        (trimesh.creation.box((0.5, 0.4, 0.6)), 0.4),
        (trimesh.creation.icosphere(3, 10.0), 19.92),  # twice from its middle to its faces
        (trimesh.creation.torus(60.0, 4.0, 128, 64), 8.0),
    ],
)
def test_the_largest_ball_within_a_box_a_ball_and_a_tube(mesh, deep):
    radius, at = roomiest(Mesh(mesh.vertices, mesh.faces))
    assert 2.0 * radius == pytest.approx(deep, rel=0.01)
    outside = np.abs(trimesh.proximity.closest_point_naive(mesh, [at])[1][0])
    assert outside == pytest.approx(radius, rel=1e-6)


def test_parts_that_only_touch_do_not_interfere():
    """A hoop on a hoop, a panel on a panel, a plate on a plate, side by side: all their faces touch."""
    form = Spheroid(150.0, 150.0)
    touching = prop(
        piece("A", hoop(100.0, -20, 20, 0.0, count=121)),
        piece("B", hoop(100.0, -10, 15, 5.0, count=97)),
        piece("C", panel(form, (0.2, 0.0), (0.5, 0.3))),
        piece("D", panel(form, (0.2, 0.3), (0.5, 0.6))),
        piece("E", panel(form, (0.25, 0.1), (0.45, 0.5), 5.0)),
        piece("F", plate(ring_points(40), (0, 0, 200), radius=40.0)),
        piece("G", plate(rectangle(60, 60), (0, 0, 205))),
    )
    assert interferences(build_model(touching)) == ()


def test_so_many_that_looking_for_all_would_not_end_are_refused(monkeypatch):
    heap = prop(piece("A", plate(rectangle(50, 50)), placements=[placed(z=0.1 * i) for i in range(6)]))  # 15 pairs
    model = build_model(heap)
    monkeypatch.setattr(interference, "MOST_PAIRS", 15)
    assert len(interferences(model)) == 15
    monkeypatch.setattr(interference, "MOST_PAIRS", 14)
    with pytest.raises(BuildError, match="more than 14 pairs of pieces occupy the same space, most of them of pa;"):
        interferences(model)


def test_a_pressed_hoop_is_found_with_its_depth():
    pressed = prop(piece("A", hoop(100.0, -20, 20)), piece("B", hoop(100.0, -10, 15, 4.0)))
    (found,) = interferences(build_model(pressed))
    assert found.volume == pytest.approx(np.pi * (105**2 - 104**2) * 25, rel=0.03)
    assert found.depth == pytest.approx(1.0, abs=0.02)


def test_the_second_copy_is_checked_too():
    two = prop(
        piece("A", plate(rectangle(50, 50)), placements=(placed(), placed(z=100.0))),
        piece("B", plate(rectangle(20, 20), (10, 10, 102))),
    )
    (found,) = interferences(build_model(two))
    assert (found.part_a, found.copy_a, found.part_b) == ("pa", 2, "pb")
    assert found.volume == pytest.approx(20 * 20 * 3)


def figure(**solid):
    return Figure("someone", tuple(body(kind, values, ".") for kind, values in solid.items()), None)


@pytest.mark.parametrize(
    "solid, gap",
    [
        ({"ellipsoid": {"centre": (0, 0, 0), "radii": (80, 80, 80)}}, 20.0),
        ({"ellipsoid": {"centre": (0, 0, 0), "radii": (90, 70, 60)}}, 10.0),
        ({"cylinder": {"from": (0, 0, -200), "to": (0, 0, 200), "radius": 85.0}}, 15.0),
        ({"box": {"centre": (200, 0, 0), "size": (100, 20, 20)}}, 45.0),
    ],
)
def test_clearance_inside_or_beside_a_hoop(solid, gap):
    room = build_model(prop(piece("A", hoop(100.0, -20, 20)), piece("B", plate(rectangle(9, 9), (0, 0, 900)))))
    fit = clearance(placed_copies(room), figure(**solid))
    assert fit.clearance == pytest.approx(gap, abs=0.25)
    assert (fit.part, fit.contacts) == ("pa", ())
    assert np.hypot(*fit.at[:2]) == pytest.approx(100.0 if "box" not in solid else 105.0, abs=0.3)


def test_a_figure_that_does_not_fit_says_where_and_how_deep():
    room = build_model(prop(piece("A", hoop(100.0, -20, 20)), piece("B", hoop(100.0, 30, 60))))
    fit = clearance(placed_copies(room), figure(ellipsoid={"centre": (0, 4, 0), "radii": (98, 98, 98)}))
    assert fit.clearance == 0.0
    (contact,) = fit.contacts
    assert contact.part == "pa" and contact.depth == pytest.approx(2.0, abs=0.15)
    assert contact.at[1] == pytest.approx(100.0, abs=0.5)


def test_distance_to_an_ellipsoid_against_dense_points_of_it():
    radii = np.array([90.0, 50.0, 30.0])
    (ellipsoid,) = figure(ellipsoid={"centre": (5, 6, 7), "radii": radii}).bodies
    distance = ellipsoid.solid.distance
    polar, turn = np.meshgrid(np.linspace(0, np.pi, 700), np.linspace(0, 2 * np.pi, 1400))
    unit = np.stack([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)], -1).reshape(-1, 3)
    probes = np.array([(0, 0, 0), (200, 10, -5), (5, 6, 70), (60, 40, 20), (20, 0, 10), (5, 6, 7.0)])
    gap, gradient = distance(probes)
    dense = np.array([np.linalg.norm(unit * radii + [5, 6, 7] - p, axis=1).min() for p in probes])
    assert np.abs(gap) == pytest.approx(dense, abs=0.05)
    assert list(gap < 0) == [True, False, False, False, True, True]
    step = 1e-4
    numeric = np.stack(
        [(distance(probes + step * e)[0] - distance(probes - step * e)[0]) / (2 * step) for e in np.eye(3)], 1
    )
    assert gradient[:5] == pytest.approx(numeric[:5], abs=1e-3)  # in the middle it has no one direction


def test_what_two_bodies_share_is_parted_as_the_library_parts_it():
    """A comb of plates in a block, every second one thinner than is told of: pieces and volumes by manifold3d's `decompose`."""
    plates = [
        manifold3d.Manifold.cube((10.0, 20.0, 0.1 if k % 2 else 2.0)).translate((0.0, 0.0, 5.0 * k)) for k in range(8)
    ]
    comb = manifold3d.Manifold.compose(plates)
    block = manifold3d.Manifold.cube((30.0, 30.0, 60.0)).translate((5.0, 5.0, -1.0))
    found = between(0, 1, comb, block, 0.3)
    parted = [piece for piece in (comb ^ block).decompose() if 2.0 * piece.volume() > 0.3 * piece.surface_area()]
    assert len(found.pieces) == len(parted) == 4
    assert found.volume == pytest.approx(sum(piece.volume() for piece in parted)) == pytest.approx(4 * 5 * 15 * 2.0)
    assert between(0, 1, comb, block.translate((40.0, 0.0, 0.0)), 0.3) is None
