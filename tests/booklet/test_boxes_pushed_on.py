"""A box that is open at the bottom is glued to a wall with its side and the edge of its top: one push, and one sentence. Sizes are
our own."""

from small_designs import head, lines_of, stages_of_text

STEP = (
    head("Step")
    + """\
stock: {foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}}
parts:
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 120}}, at: {origin: [0, 0, 60], normal: x, up: z}}
  step:
    kind: box
    stock: foam
    size: [60 mm * scale, 90 mm, 40 mm]
    without: [bottom]
    at: {origin: [36 mm, 0, 20 mm], normal: z, up: x}
    after: [wall]
"""
)


def test_what_of_a_box_comes_on_a_wall_is_pressed_on_in_one_go(tmp_path):
    said = [line for line in lines_of(stages_of_text(tmp_path, STEP)) if "wall (A)" in line and "lue " in line]
    assert said == [  # both sides are alike, so neither has a number
        "Glue the step on the wall (A) in one go: the top (B) of the step and 1 of the 2 sides (C) of the step lie against it, "
        "each at its placement lines."
    ]
