"""A flag on a mast: nothing is drawn on a round bar, so the step tells how far along it the flag goes and on which side. Every
figure follows from the numbers of the design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

HEAD = (
    head("Flags")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
  dowel: {name: Dowel 12 mm, thickness: 12 mm, sheet: [12 mm, 1000 mm]}
parts:
  base: {kind: disc, stock: thick, radius: 90 mm * scale, at: {origin: [0, 0, -10], normal: z}}
  mast: {kind: rod, stock: dowel, from: [0, 0, 0], to: [0, 0, 200 mm]}
"""
)
FLAG = """
  flag:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 80 mm, height: 40 mm, centre: [40 mm, 0]}}
    at: {origin: [-6, -3, 170], normal: y, up: z}
"""
BOARD = """
  board:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 80 mm, height: 60 mm}}
    at: {origin: [6, 0, 140], normal: x, up: z}
"""


def told(tmp_path, text):
    path = tmp_path / "flags.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return "\n".join(line for step in steps for line in step.instructions)


def test_a_flag_is_measured_from_the_free_end(tmp_path):
    """From 150 to 190 mm of 200; x leads forward, and the flag flies backwards."""
    text = told(tmp_path, FLAG)
    assert "Glue the edge of the flag (C) to the side of the mast (B)." in text
    assert (
        "No line is drawn on the mast (B): measured along it, the flag (C) begins 10 mm from its upper end, and touches it "
        "at the back." in text
    )


@pytest.mark.parametrize(
    ("up", "where"), [(180, "begins flush with its upper end"), (20, "begins 160 mm from its upper end")]
)
def test_the_end_that_stands_on_something_is_not_measured_from(tmp_path, up, where):
    assert where in told(tmp_path, FLAG.replace("170", str(up)))


def test_flags_above_each_other_have_a_figure_each(tmp_path):
    text = told(tmp_path, FLAG.rstrip() + "\n    repeat: {count: 3, step: [0, 0, -50]}\n")
    assert "the 3 flags (C) begin 10 mm, 60 mm and 110 mm from its upper end, and touch it at the back." in text


def test_flags_on_both_sides_are_told_apart(tmp_path):
    text = told(tmp_path, FLAG.rstrip() + "\n    repeat: {around: {axis: z, count: 2}}\n")
    assert text.count("begins 10 mm from its upper end") == 2 and "at the back" in text and "at the front" in text


def test_a_board_lies_against_a_bar_with_its_face(tmp_path):
    """It has a line for the bar, which does not tell how high."""
    text = told(tmp_path, BOARD)
    assert (
        "Glue the face of the board (C) to the side of the mast (B), which comes between the placement lines." in text
    )
    assert "the board (C) begins 30 mm from its upper end, and touches it at the front." in text


def test_what_is_as_long_as_the_bar_needs_no_figure(tmp_path):
    assert "No line" not in told(tmp_path, BOARD.replace("60 mm", "200 mm").replace("140", "100"))
