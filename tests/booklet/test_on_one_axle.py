"""Wheels with collars inside of them on both ends of an axle: what a maker can slip on, and in which order."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

CART = (
    head("Cart", "1 mm")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 1000 mm]}
  dowel: {name: Dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm]}
parts:
  floor: {kind: plate, stock: foam, outline: {rectangle: {width: 160 * scale, height: 400}}, at: {origin: [0, 0, 0], normal: z, up: x}}
  bar:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 400, height: 50, centre: [0, -25]}}
    minus: [HOLE]
    at: {origin: [0, 60, 0], normal: y, up: z}
    mirror: y
    after: [floor]
  axle: {kind: rod, stock: dowel, from: [150, -110, -35], to: [150, 110, -35], HELD}
  wheel: {kind: ring, stock: foam, outer_radius: 40, inner_radius: 4, at: {origin: [150, 95, -35], normal: y}, mirror: y, after: [axle]}
  collar: {kind: ring, stock: foam, outer_radius: 15, inner_radius: 4, at: {origin: [150, 85, -35], normal: y}, mirror: y, ON}
"""
)
HOLE = "{circle: {radius: 4.3, centre: [-150, -35]}}"
NOTCH = "{rectangle: {width: 8.6, height: 40, centre: [-150, -50]}}"


def lines(tmp_path, hole, held, on):
    path = tmp_path / "cart.yaml"
    path.write_text(CART.replace("HOLE", hole).replace("HELD", held).replace("ON", on), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return [line for step in steps for line in (*step.instructions, *step.loose)]


def first(told, words):
    return next(i for i, line in enumerate(told) if words in line)


@pytest.mark.parametrize("held", ["rests_on: [bar], glue: none", "rests_on: [bar]", "after: [bar]"])
def test_an_axle_goes_through_holes_before_it_has_its_wheels(tmp_path, held):
    """A bar of foam was to be bent over wheels that are wider than its hole, since straight it would not go on."""
    told = lines(tmp_path, HOLE, held, "lies_on: [wheel]")
    through = first(told, "Push the axle (C) through the holes of the 2 bars (B), without glue.")
    assert through < first(told, "Slip the 2 wheels (D) and the 2 collars (E) on to the axle (C)")
    assert told[-1].startswith("No glue holds the axle (C) in the holes of the 2 bars (B)")
    assert "one turns in the other" in told[-1]
    assert not any("like a gutter" in line or "the 2 bars (B) on to" in line for line in told)


def test_both_ends_of_an_axle_get_what_sits_further_in_first(tmp_path):
    told = lines(tmp_path, NOTCH, "rests_on: [bar], glue: none", "after: [axle]")
    assert first(told, "Slip the 2 collars (E) on") < first(told, "Slip the 2 wheels (D) on")


def test_axles_that_stay_loose_are_counted_by_copies(tmp_path):
    text = "{circle: {radius: 4.3, centre: [-150, -35]}}, {circle: {radius: 4.3, centre: [150, -35]}}"
    told = lines(tmp_path, text, "mirror: x, rests_on: [bar]", "lies_on: [wheel]")
    assert any(line == "The 2 axles (C) go in now and stay loose: hold them when you turn the work." for line in told)
