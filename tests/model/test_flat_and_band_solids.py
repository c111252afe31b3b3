from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from OCP.TopAbs import TopAbs_ShapeEnum
from solid_fixtures import FOAM, hoop, piece, plate, rectangle, ring_points

from foamwright.geometry import inset
from foamwright.model import brep
from foamwright.model.band import band_solid
from foamwright.model.build import prototype
from foamwright.model.curves import corners, fit
from foamwright.model.facets import band_facets
from foamwright.model.flat import flat_solid


def faces(made):
    """How many the kernel counts, and as many have a name."""
    count = len(brep.parts(made.shape, TopAbs_ShapeEnum.TopAbs_FACE))
    assert count == sum(map(len, made.faces.values()))
    return count


def volume(made):
    return brep.volume(made.shape)


def test_a_round_plate_is_a_true_cylinder_and_a_ring_a_true_ring():
    assert volume(flat_solid(plate(ring_points(60), radius=60.0), 5.0)) == pytest.approx(np.pi * 60**2 * 5, rel=1e-9)
    ring = plate(ring_points(60), holes=(ring_points(40),), radius=60.0, inner_radius=40.0)
    made = flat_solid(ring, 5.0)
    assert volume(made) == pytest.approx(np.pi * (60**2 - 40**2) * 5, rel=1e-9)
    assert faces(made) == 4


@pytest.mark.parametrize("step", [1, -1])
def test_holes_count_whichever_way_they_run(step):
    made = flat_solid(plate(rectangle(80, 50), holes=(ring_points(10, centre=(40, 25))[::step],)), 5.0)
    assert volume(made) == pytest.approx((80 * 50 - np.pi * 10**2) * 5, rel=1e-4)


def test_rounded_corners_and_straight_sides_are_kept_apart():
    """A slot's outline: two half circles of dense points and two legs of 100 mm without a point between."""
    turn = np.linspace(-np.pi / 2, np.pi / 2, 60)
    half = 20 * np.stack([np.cos(turn), np.sin(turn)], 1)
    outline = np.vstack([half + [100, 0], -half])
    made = flat_solid(plate(outline), 5.0)
    assert volume(made) == pytest.approx((100 * 40 + np.pi * 20**2) * 5, rel=1e-4)
    assert faces(made) == 6


def test_layers_make_a_part_thicker():
    made = prototype(piece("A", plate(rectangle(80, 50)), FOAM, layers=3))
    assert made.exact and made.volume == pytest.approx(80 * 50 * 15)


def test_bevelled_sides_make_a_frustum():
    """Volume of a prismatoid, (A + 4 M + B) h / 6 (handbooks of mensuration)."""
    body = plate(rectangle(80, 50), bevels=(45, 45, 45, 45))
    inner, middle, outer = 70 * 40, 75 * 45, 80 * 50
    assert volume(flat_solid(body, 5.0)) == pytest.approx((inner + 4 * middle + outer) * 5 / 6, rel=1e-6)


def test_a_negative_bevel_undercuts_the_outside_face():
    made = flat_solid(plate(rectangle(80, 50), bevels=(0, -45, 0, 0)), 5.0)
    assert volume(made) == pytest.approx((80 + 75) / 2 * 50 * 5, rel=1e-6)


def test_inset_of_a_circle_is_a_smaller_circle():
    moved = inset(ring_points(60, 400), np.full(400, 7.0))
    assert np.linalg.norm(moved, axis=1) == pytest.approx(np.full(400, 53.0), abs=0.01)


@pytest.mark.parametrize("share", [0.6, 1.0])
@pytest.mark.parametrize("inner_offset", [-10.0, 5.0])
def test_a_hoop_is_a_ring_sector(share, inner_offset):
    body = hoop(100.0, -12.0, 18.0, inner_offset, share, 61)
    a, b = 100 + inner_offset, 110 + inner_offset
    want = share * np.pi * (b**2 - a**2) * 30
    made = band_solid(body, 10.0)
    assert volume(made) == pytest.approx(want, rel=2e-4)
    assert faces(made) == (8 if share == 1.0 else 6)
    assert volume(band_facets(body, 10.0)) == pytest.approx(want, rel=2e-3)


def test_a_band_that_runs_backwards_or_to_a_point_is_still_a_solid():
    body = hoop(100.0, -12.0, 18.0, share=0.5)
    back = replace(body, curve=body.curve[::-1], normals=body.normals[::-1])
    assert volume(band_solid(back, 10.0)) == pytest.approx(volume(band_solid(body, 10.0)), rel=1e-6)
    wedge = replace(body, low=np.zeros(121), high=np.linspace(0.0, 20.0, 121))
    assert volume(band_solid(wedge, 10.0)) == pytest.approx(np.pi * (110**2 - 100**2) / 2 * 10, rel=2e-3)


def test_corners_and_fit():
    square = np.vstack([np.linspace(a, b, 20, endpoint=False) for a, b in zip(*_sides())])
    assert list(corners(square)) == [0, 20, 40, 60]
    assert len(corners(ring_points(50, 360))) == 0
    arc = ring_points(50, 3600)[:900]
    run = fit(arc, 2)
    assert len(run.spline.c) < 30
    assert run.length == pytest.approx(50 * np.pi / 2, rel=2e-3)
    assert np.linalg.norm(run.spline(np.linspace(0, run.length, 500)), axis=1) == pytest.approx(
        np.full(500, 50.0), abs=0.01
    )
    assert len(fit(np.linspace((0, 0), (30, 10), 40), 2).spline.c) == 2


def _sides():
    corner = rectangle(40, 40)
    return corner, np.roll(corner, -1, axis=0)
