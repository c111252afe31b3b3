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
