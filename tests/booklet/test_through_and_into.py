"""Masts that go through a shelf and end in a floor: how many holes and ends there are, and what comes first."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

BOX = (
    head("Masts", "0.5 mm")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 1000 mm]}
  dowel: {name: Dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm]}
parts:
  floor: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 100}}, minus: [HOLES], at: {origin: [0, 0, 0], normal: z, up: y}}
  side: {kind: plate, stock: foam, outline: {rectangle: {width: 100, height: 100}}, at: {origin: [100, 0, 60], normal: x, up: z}, mirror: x, after: [floor]}
  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 100}}, minus: [SHELF], at: {origin: [0, 0, 80], normal: z, up: y}, after: [side]}
  mast: {kind: rod, stock: dowel, from: [X, 0, 0], to: [X, 0, TOP], glue: instant, after: [shelf], MORE}
"""
)


def told(tmp_path, x, top=300, through=True):
    holes = ", ".join(f"{{circle: {{radius: 4, centre: [{at}, 0]}}}}" for at in {x, -x})
    path = tmp_path / "masts.yaml"
    text = BOX.replace("HOLES", holes).replace("TOP", str(top)).replace("X", str(x))
    text = text.replace("minus: [SHELF], ", f"minus: [{holes}], " if through else "")
    path.write_text(text.replace(", MORE", ", mirror: x" if x else ""), "utf-8")
    return " ".join(line for step in Stages(Request(load(path))).record("steps") for line in step.instructions)


@pytest.mark.parametrize("x", [0, 50])
def test_a_mast_goes_through_one_hole_before_its_end_is_in_the_other(tmp_path, x):
    """300 mm from the lower face of the floor; the upper face of the shelf is 90 mm above it."""
    text = told(tmp_path, x)
    if x:
        assert "the 2 masts (D) through the shelf (C) until the end of each sits in its hole in the floor (A)" in text
    else:
        assert "Push the mast (D) through the shelf (C) until its end sits in the hole of the floor (A)" in text
    assert "210 mm out at the top" in text
    assert "the ends of" not in text and "the holes of" not in text


@pytest.mark.parametrize("x", [0, 50])
def test_a_mast_in_one_hole_has_one_end_there(tmp_path, x):
    text = told(tmp_path, x, top=60, through=False)
    if x:
        assert "Push one end of each of the 2 masts (D) into the holes of the floor (A) and glue it in." in text
    else:
        assert (
            "Push the end of the mast (D) into the hole of the floor (A) and glue it in. It goes 10 mm deep, " in text
        )
