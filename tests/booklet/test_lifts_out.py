"""A mast that only stands in its place, with a flag glued to it: both are put together and painted by themselves, and set in
last. Whichever of the two the design names first, the flag goes on the mast."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.errors import DesignError

TEXT = (
    head("Mast", "0.5 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [1000 mm, 600 mm]}
  dowel: {name: Dowel 10 mm, thickness: 10 mm, sheet: [1000 mm, 10 mm]}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 mm * scale, height: 100 mm}}, at: {normal: z, up: y}}
  collar: {kind: ring, stock: thick, outer_radius: 25, inner_radius: 5.25, at: {origin: [0, 0, 10], normal: z}, lies_on: [base]}
  mast: {kind: rod, stock: dowel, from: [0, 0, 10], to: [0, 0, 250], glue: none, rests_on: [base, collar]}
  flag:
    kind: plate
    stock: thin
    outline: {polygon: {points: [[0, 0], [60, 0], [0, 40]]}}
    at: {origin: [5, 0, 200], normal: -y, up: z}
    glue: instant
joins:
  - {parts: JOINED, glue: instant}
"""
)


@pytest.mark.parametrize("joined", ["[mast, flag]", "[flag, mast]"])
def test_a_flag_is_put_on_its_mast_and_both_are_set_in_at_the_end(tmp_path, joined):
    path = tmp_path / "mast.yaml"
    path.write_text(TEXT.replace("JOINED", joined), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    titles = [step.title for step in steps]
    bench, paint = (next(i for i, t in enumerate(titles) if word in t) for word in ("flag on the mast", "paint"))
    put = titles.index("Put the mast in place, without glue")
    assert bench < paint < put == len(titles) - 2
    assert sum("paint" in step.uses for step in steps) == 1  # nothing is painted twice
    said = [line for step in steps for line in step.instructions]
    assert any(line.startswith("Glue the edge of the flag (D) to the side of the mast (C).") for line in said)
    assert any(line.startswith("Stand the mast (C) in its place on ") for line in steps[put].instructions)
    assert not any("mask what is glued later" in line or "glue it on only when" in line for line in said)
    assert not any(line.startswith("Lay ") and "mast" in line for line in said)


ROOF = """
format: 1
name: Roof
version: 0.1.0
licence: CC0-1.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  roof: {kind: prism, stock: shell, sides: 8, width: 124 mm * scale, top_width: 30 mm, height: 80 mm, floor: inside, glue: none, RESTS at: {normal: z, up: x}}
  base: {kind: disc, stock: shell, radius: 50 mm, at: {origin: [0, 0, -6 mm], normal: z}}
"""


def test_a_whole_without_glue_is_glued_together_and_set_on_as_one(tmp_path):
    """Eight mitred sides are no stack of discs, and stick to each other though nothing sticks them to the base."""
    path = tmp_path / "roof.yaml"
    path.write_text(ROOF.replace("RESTS", "rests_on: [base],"), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    build = next(step for step in steps if step.title == "Build the roof")
    said = " ".join(build.instructions)
    assert build.glue == "contact" and "edge to edge" in said and "seam 1" in said and "face to face" not in said
    assert any("rests on the base (C), without glue" in line for line in steps[-1].instructions)


def test_a_whole_without_glue_must_rest_on_something(tmp_path):
    path = tmp_path / "roof.yaml"
    path.write_text(ROOF.replace("RESTS", ""), encoding="utf-8")
    with pytest.raises(
        DesignError, match="glue: none of a prism, whose members are glued to each other; expected rests_on"
    ):
        load(path)


def test_a_door_is_set_in_its_hole_and_not_laid_on_the_wall(tmp_path):
    """It touches the wall with its edges alone, where no line is drawn."""
    path = tmp_path / "door.yaml"
    path.write_text(
        TEXT[: TEXT.index("parts:")] + "parts:\n"
        "  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 mm * scale, height: 100 mm}}, at: {origin: [0, 0, -10], normal: z, up: y}}\n"
        "  wall: {kind: plate, stock: thick, outline: {rectangle: {width: 90, height: 120, centre: [0, 60]}}, minus: [{rectangle: "
        "{width: 40, height: 80, centre: [0, 50]}}], at: {origin: [40, 0, 0], normal: x, up: z}, lies_on: [base]}\n"
        "  door: {kind: plate, stock: thick, outline: {rectangle: {width: 39.2, height: 79.2, centre: [0, 49.9]}}, "
        "at: {origin: [40, 0, 0], normal: x, up: z}, glue: none, rests_on: [wall]}\n",
        encoding="utf-8",
    )
    said = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert "Set the door (C) in its place in the wall (B), without glue: it must come out freely." in said
    assert not any("Lay the door" in line or "must lie without rocking" in line for line in said)
