"""A leg that leans and is glued by one edge: the step says by which card it is set. Angles follow from the normals in the design."""

import numpy as np
import pytest
from small_designs import head, lines_of, stages_of_text

HEAD = (
    head("Legs")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [1000 mm, 600 mm]}
parts:
  base: {kind: disc, stock: thick, radius: 90 mm * scale, at: {origin: [AT, 0, -10], normal: z}}
"""
)


def leg(lean, stock="thick", more=""):
    """A plate whose inner lower rim lies on the base at x = 0; going up it leans towards -x by so many degrees."""
    x, z = np.cos(np.radians(lean)), np.sin(np.radians(lean))
    return (
        f"  leg: {{kind: plate, stock: {stock}, outline: {{rectangle: {{width: 30, height: 120, centre: [0, 60]}}}}, "
        f"at: {{origin: [0, 0, 0], normal: [{x:.6f}, 0, {z:.6f}], up: z}}{more}}}\n"
    )


def cards(folder, text, at=0):
    lines = lines_of(stages_of_text(folder, HEAD.replace("AT", str(at)) + text))
    return [line for line in lines if "cut a card to" in line]


@pytest.mark.parametrize("stock", ["thick", "thin"])
@pytest.mark.parametrize(("lean", "angle"), [(20, 70), (35, 55)])
def test_a_leg_that_leans_is_set_by_a_card(tmp_path, lean, angle, stock):
    (line,) = cards(tmp_path, leg(lean, stock))
    assert line == (
        f"One edge alone does not hold the leg (B) at its angle to the base (A): cut a card to {angle}°, and hold it in the narrow "
        "corner between the two while you press the leg (B) on."
    )


def test_a_leg_below_the_base_is_set_by_a_card_too(tmp_path):
    below = leg(20).replace("origin: [0, 0, 0]", "origin: [0, 0, -10]").replace(", 0.342020]", ", -0.342020]")
    (line,) = cards(tmp_path, below.replace("up: z", "up: -z"))
    assert "cut a card to 70°, and hold it in the narrow corner" in line


def test_legs_that_lean_alike_are_told_of_together(tmp_path):
    (line,) = cards(tmp_path, leg(20, more=", repeat: {moves: [[0, 45, 0]]}"))
    assert "hold the 2 legs (B) at their angle" in line and "70°" in line and "each of them and the base (A)" in line


def test_where_the_base_ends_below_the_narrow_corner_the_card_goes_in_the_wide_one(tmp_path):
    (line,) = cards(tmp_path, leg(20), at=85)
    assert "cut a card to 110°, and hold it in the wide corner" in line


def test_what_stands_square_or_has_a_rib_behind_it_needs_no_card(tmp_path):
    assert cards(tmp_path, leg(0)) == []
    x, z = 100 * np.sin(np.radians(20)), 100 * np.cos(np.radians(20))
    rib = (
        f"  rib: {{kind: plate, stock: thick, outline: {{polygon: {{points: [[0, 0], [60, 0], [{x:.4f}, {z:.4f}]]}}}}, "
        "at: {origin: [0, 0, 0], normal: y, up: z}}\n"
    )
    assert cards(tmp_path, rib + leg(20)) == []
