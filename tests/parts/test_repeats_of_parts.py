"""Copies around an axis, in a grid and along the curves of a design. Lengths in mm."""

import math

import numpy as np
import pytest
from flat_designs import design

from foamwright.errors import BuildError, DesignError
from foamwright.parts import build_prop
from foamwright.parts.placing import move

BLOCK = "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 30, height: 20}}, at: {normal: z}, "


def centres(tmp_path, repeat, more=""):
    piece = build_prop(design(tmp_path, f"{BLOCK}{more}repeat: {repeat}}}\n")).pieces[0]
    middle = piece.body.frame.to_space(np.array([[0.0, 0.0]]))
    return piece, np.array([move(middle, p.matrix)[0] for p in piece.placements])


def test_around_an_axis(tmp_path):
    piece, at = centres(tmp_path, "{around: {count: 6, axis: z, centre: [100, 0, 0]}}")
    assert np.hypot(*(at[:, :2] - (100, 0)).T) == pytest.approx(np.full(6, 100.0))
    turn = np.degrees(np.unwrap(np.arctan2(at[:, 1], at[:, 0] - 100)))
    assert np.diff(turn) == pytest.approx(np.full(5, 60.0))
    for place in piece.placements:
        assert np.linalg.det(place.matrix[:3, :3]) == pytest.approx(1.0)


def test_less_than_a_turn_has_a_copy_at_both_ends(tmp_path):
    _, at = centres(tmp_path, "{around: {count: 4, axis: x, centre: [0, 50, 0], angle: 90}}")
    angles = np.degrees(np.arctan2(at[:, 2], at[:, 1] - 50))
    assert angles % 360 == pytest.approx([180, 210, 240, 270])


def test_grid_and_mirror(tmp_path):
    piece, at = centres(tmp_path, "{grid: {counts: [3, 2], steps: [[40, 0, 0], [0, 30, 5]]}}", "mirror: y, ")
    assert piece.quantity == 12 and piece.mirrored == 6
    assert at[5] == pytest.approx((80, 30, 5)) and at[11] == pytest.approx((80, -30, 5))


def test_at_places_of_their_own_and_mirrored(tmp_path):
    piece, at = centres(tmp_path, "{moves: [[18, 2, 0], [35, 0, -4], [60, 5, 0]]}", "mirror: y, ")
    assert piece.quantity == 8 and piece.mirrored == 4
    assert at[:4] - at[0] == pytest.approx(np.array([(0, 0, 0), (18, 2, 0), (35, 0, -4), (60, 5, 0)]))
    assert at[4:] == pytest.approx(at[:4] * (1, -1, 1))


def test_along_an_outline_the_first_copy_is_where_it_is_modelled(tmp_path):
    row = "{along: {outline: {circle: {radius: 150}}, at: {origin: [0, 0, 20], normal: z}, count: 12}}"
    piece, at = centres(tmp_path, row)
    assert piece.placements[0].matrix == pytest.approx(np.eye(4))
    assert np.hypot(*at[:, :2].T) == pytest.approx(np.full(12, 150.0), abs=0.05)
    assert at[:, 2] == pytest.approx(np.full(12, 20.0))
    turn = 2 * math.pi / 12
    assert piece.gap == pytest.approx(300 * math.sin(turn / 2) - 30 * math.cos(turn / 2), abs=0.05)


def test_along_a_hoop_and_an_opening_of_a_form(tmp_path):
    hoop = "{along: {hoop: {form: egg, plane: {normal: x}}, offset: 10, gap: 8}}"
    _, at = centres(tmp_path, hoop)
    assert np.hypot(*at[:, 1:].T) == pytest.approx(np.full(len(at), 110.0), abs=0.1)
    assert at[0] == pytest.approx((0, 0, 110), abs=0.1)  # up is where it starts
    assert len(at) == round(2 * math.pi * 110 / 38)
    opening = "{along: {opening: {form: egg, cut: hatch}, count: 9}}"
    _, at = centres(tmp_path, opening)
    assert np.hypot(*at[:, :2].T) == pytest.approx(np.full(9, 60.0), abs=0.1)
    on_form = (at[:, 0] / 150) ** 2 + (at[:, 1] / 100) ** 2 + (at[:, 2] / 100) ** 2
    assert on_form == pytest.approx(np.ones(9), abs=0.01)


CIRCLE = "outline: {circle: {radius: 90}}, at: {normal: z}"
MISTAKES = {
    "no distances": (f"{{along: {{{CIRCLE}}}}}", "expected count, gap or pitch"),
    "two distances": (f"{{along: {{{CIRCLE}, gap: 5, pitch: 40}}}}", "gap and pitch together"),
    "backwards": (f"{{along: {{{CIRCLE}, count: 3, span: [0.5, 0.2]}}}}", "a span from 0.5 to 0.2"),
    "taper of a pitch": (
        f"{{along: {{{CIRCLE}, pitch: 40, taper: {{to: 3, over: 2}}}}}}",
        "taper with a pitch",
    ),
    "nothing": ("{}", "exactly one of step, moves, around, grid, along"),
    "no places": ("{moves: []}", "moves"),
    "places and a step": ("{moves: [[9, 0, 0]], count: 3, step: [9, 0, 0]}", "moves and step together"),
    "step alone": ("{step: [1, 0, 0]}", "'step' without 'count'"),
}


@pytest.mark.parametrize("case", MISTAKES)
def test_mistakes_are_named(tmp_path, case):
    repeat, words = MISTAKES[case]
    with pytest.raises(DesignError, match=words):
        design(tmp_path, f"{BLOCK}repeat: {repeat}}}\n")


def test_a_row_that_is_too_full_names_its_part(tmp_path):
    with pytest.raises(BuildError, match=r"part block: 40 copies of 30.00 mm do not fit"):
        centres(tmp_path, f"{{along: {{{CIRCLE}, count: 40}}}}")


def test_only_flat_parts_follow_a_curve(tmp_path):
    band = "  b: {kind: band, stock: foam, along: {hoop: {form: egg, plane: {normal: x}}}, width: 20, "
    with pytest.raises(DesignError, match="a band along a curve"):
        design(tmp_path, f"{band}repeat: {{along: {{{CIRCLE}, count: 3}}}}}}\n")


BALL = "  ball: {kind: superellipsoid, radii: [RADII]}\n"
KNOB = "  knob: {kind: disc, stock: thick, radius: 5, at: {origin: [90, 0, 10], normal: x, onto: {form: ball, offset: 6, turned: TURNED}}, "


def put_onto(tmp_path, radii, repeat, turned="true"):
    """Origins (N, 3) of all copies and the ways (N, 3) that their thickness goes."""
    knob = f"{KNOB.replace('TURNED', turned)}repeat: {repeat}}}\n"
    piece = build_prop(design(tmp_path, knob, forms=BALL.replace("RADII", radii))).pieces[0]
    frame = piece.body.frame
    at = [move(frame.origin[None], p.matrix)[0] for p in piece.placements]
    return np.array(at), np.array([p.matrix[:3, :3] @ frame.axes[:, 2] for p in piece.placements])


@pytest.mark.parametrize("repeat", ["{moves: [[0, 50, 0], [-20, 0, 30]]}", "{count: 4, step: [9, 7, 15]}"])
def test_each_copy_of_what_is_put_onto_a_ball_lies_on_it(tmp_path, repeat):
    """Square to the radius, and as far out as told; its line along x keeps its y and z."""
    at, ways = put_onto(tmp_path, "70, 70, 70", repeat)
    assert np.linalg.norm(at, axis=1) == pytest.approx(np.full(len(at), 76.0), abs=1e-6)
    assert ways == pytest.approx(at / 76.0, abs=1e-6)
    moved = {"{m": [(0, 10), (50, 10), (0, 40)], "{c": [(7 * k, 10 + 15 * k) for k in range(4)]}
    assert at[:, 1:] == pytest.approx(np.array(moved[repeat[:2]], float), abs=1e-6)


def test_copies_around_lie_on_what_is_not_round(tmp_path):
    """On an ellipsoid x2/a2 + y2/b2 + z2/c2 = 1 the normal goes along (x/a2, y/b2, z/c2)."""
    at, ways = put_onto(tmp_path, "70, 50, 60", "{around: {count: 8, axis: z}}")
    feet = at - 6 * ways
    half = np.array([70.0, 50.0, 60.0])
    assert ((feet / half) ** 2).sum(axis=1) == pytest.approx(np.ones(8), abs=1e-6)
    normals = feet / half**2
    assert ways == pytest.approx(normals / np.linalg.norm(normals, axis=1, keepdims=True), abs=1e-6)


def test_a_copy_that_is_not_turned_keeps_its_way(tmp_path):
    _, ways = put_onto(tmp_path, "70, 70, 70", "{moves: [[0, 50, 0]]}", turned="false")
    assert ways == pytest.approx(np.array([[1.0, 0, 0], [1.0, 0, 0]]), abs=1e-9)


def test_a_copy_beside_the_form_is_told_by_its_number(tmp_path):
    with pytest.raises(BuildError, match=r"its copy 3: the line along its normal .* does not meet the form"):
        put_onto(tmp_path, "70, 70, 70", "{moves: [[0, 50, 0], [0, 90, 0]]}")
