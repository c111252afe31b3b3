"""The roof of a ring of sides that are alike fits in as many ways: where what is glued to one side, or to the roof, makes them
differ, it is told how the roof is turned. Sizes are our own."""

import pytest
from small_designs import head, lines_of, stages_of_text

PLINTH = (
    head("Plinth")
    + """\
stock: {foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}}
parts:
  plinth:
    kind: prism
    stock: foam
    sides: 8
    width: 160 * scale
    height: 60
    floor: open
    roof: inside
    at: {origin: [0, 0, 0], normal: z, up: x}
"""
)
SHELF = """\
  shelf:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 40, height: 30, centre: [0, 15]}}
    at: {origin: [80 * scale, 0, 40], normal: z, up: x}
    after: [plinth]
"""
POST = """\
  post:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 30, height: 40, centre: [0, 20]}}
    at: {origin: [50 * scale, 0, 60], normal: x, up: z}
    after: [plinth]
"""


@pytest.mark.parametrize(
    ("more", "told"),
    [(SHELF + POST, True), (POST, False), (SHELF, False)],
    ids=["both differ", "its sides are alike", "nothing comes on it"],
)
def test_a_roof_is_turned_to_the_side_that_differs(tmp_path, more, told):
    said = lines_of(stages_of_text(tmp_path, PLINTH + more))
    turn = "Turn the roof (B) of the plinth so that its arrow “forward” points to side A 1."
    assert (turn in said) == told


@pytest.mark.parametrize("roof", ["inside", "open"])
def test_walls_are_rolled_round_the_roof_that_lies_within_them(tmp_path, roof):
    """A plate with tacky edges does not go into a ring that is closed (common practice, no source)."""
    said = " ".join(lines_of(stages_of_text(tmp_path, PLINTH.replace("roof: inside", f"roof: {roof}"))))
    assert ("set the roof (B) of the plinth with one edge on the first piece" in said) == (roof == "inside")
    assert ("its outer face flush with the rim of the row at the top" in said) == (roof == "inside")
    assert ("The drawn face of B goes down." in said) == (roof == "inside")
    assert ("close the row to a ring" in said) == (roof == "open")
