"""What turns on a bar, and what keeps it there: an axle without anything on it slides out of its holes at both ends, one between two
wheels that are glued on does not, and a bar in a slot that is open above is laid in from there (plain geometry, no source)."""

import pytest
from small_designs import head, stages_of_text

PROP = (
    head("Axle", "0.5 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [2000 mm, 2000 mm]}
  dowel: {name: Beech rod 8 mm, thickness: 8 mm, sheet: [1000 mm, 8 mm], material_type: plywood}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200 * scale, height: 120 * scale}}, at: {origin: [0, 0, 0], normal: -z}}
  cheek:
    kind: plate
    stock: thick
    outline:
      rectangle: {width: 80 * scale, height: 120 * scale}
      minus: [HOLE]
    at: {origin: [0, 40 * scale, 60 * scale], normal: y, up: z}
    mirror: y
  bar: {kind: rod, stock: dowel, from: [0, -50 * scale - 25 mm, 60 * scale], to: [0, 50 * scale + 25 mm, 60 * scale], rests_on: [cheek], glue: none}
"""
)
HOLE = "{circle: {radius: 4.5 mm}}"
SLOT = "{polygon: {points: [[-4.2 mm, 61 * scale], [-4.2 mm, -4 mm], [4.2 mm, -4 mm], [4.2 mm, 61 * scale]]}}"
WHEEL = """\
  wheel:
    kind: ring
    stock: thick
    outer_radius: 30 mm
    inner_radius: RADIUS mm
    at: {origin: [0, 50 * scale + 12 mm, 60 * scale], normal: y}
    mirror: y
    HELD: [bar]
"""


def said(folder, text, **sets):
    """The sentences of the steps, and those for whoever uses the prop."""
    steps = stages_of_text(folder, text, **sets).record("steps")
    return [line for step in steps for line in step.instructions], [line for step in steps for line in step.loose]


@pytest.mark.parametrize("scale", [0.8, 2.0])
def test_a_bare_axle_slides_out_at_both_ends(tmp_path, scale):
    _, loose = said(tmp_path, PROP.replace("HOLE", HOLE), scale=scale)
    assert len(loose) == 1 and "in the holes of the 2 cheeks (B)" in loose[0]
    assert "sliding out on the left and on the right" in loose[0]


def test_wheels_that_are_glued_on_keep_it_in(tmp_path):
    wheels = WHEEL.replace("RADIUS", "4").replace("HELD", "lies_on")
    _, loose = said(tmp_path, PROP.replace("HOLE", HOLE) + wheels)
    assert len(loose) == 1 and "What stands at both ends keeps it from sliding out" in loose[0]


@pytest.mark.parametrize("radius", ["4", "4.4"])
def test_wheels_that_turn_on_it_are_slipped_on_and_may_slide_off(tmp_path, radius):
    wheels = WHEEL.replace("RADIUS", radius).replace("HELD", "rests_on")
    lines, loose = said(tmp_path, PROP.replace("HOLE", HOLE) + wheels)
    assert any(
        "Slip the 2 wheels (D) on to the bar (C), without glue: each must turn freely." in line for line in lines
    )
    assert not any("come off freely" in line for line in lines)
    assert any("the 2 wheels (D) on the bar (C)" in line and "sliding out" in line for line in loose)


def test_a_bar_in_open_slots_is_laid_in(tmp_path):
    lines, loose = said(tmp_path, PROP.replace("HOLE", SLOT))
    assert any("Lay the bar (C) in the slots of the 2 cheeks (B), without glue." in line for line in lines)
    assert not any("holes of" in line for line in (*lines, *loose)) and "can be lifted out" in loose[0]


ARM = """\
  arm:
    kind: plate
    stock: thick
    outline:
      slot: {length: 120 mm, width: 30 mm}
      minus: [{circle: {radius: 4.5 mm}}]
    at: {origin: [0, 50 * scale, 60 * scale], normal: y, up: z}
    mirror: y
    rests_on: [pin]
    glue: none
  pin: {kind: rod, stock: dowel, from: [0, 40 * scale, 60 * scale], to: [0, 50 * scale + 14 mm, 60 * scale], mirror: y, after: [cheek]}
"""


def test_an_arm_that_a_pin_will_hold_is_held_until_then(tmp_path):
    prop = PROP[: PROP.index("  bar:")].replace("HOLE", "{circle: {radius: 4 mm}}")
    lines, _ = said(tmp_path, prop + ARM)
    assert not any("Lay the 2 arms" in line for line in lines)
    held = [line for line in lines if "would fall off the 2 cheeks (B)" in line]
    assert len(held) == 1 and "until the 2 pins (D) will hold them" in held[0]
