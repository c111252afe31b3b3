"""What is let into a hole of a plate and touches it with its edge all round: how it is glued. Trade practice, no source."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

WALL = (
    head("Inlay", "0.3 mm")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
parts:
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 120 * scale, height: 200}}, minus: [{circle: {radius: 30.3}}], at: {normal: z, up: x}}
  eye: {kind: disc, stock: foam, radius: 30, at: {normal: z}, GLUE}
  foot: {kind: plate, stock: foam, outline: {rectangle: {width: 120, height: 40}}, at: {origin: [-95, 0, -10], normal: z, up: x}}
"""
)


@pytest.mark.parametrize("glue, wet", [("glue: contact", True), ("glue: instant", False)])
def test_what_fits_in_a_hole_is_not_slid_in_tacky(tmp_path, glue, wet):
    path = tmp_path / "inlay.yaml"
    path.write_text(WALL.replace("GLUE", glue), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    (step,) = [step for step in steps if "eye" in step.places]
    told = [line for line in step.instructions if "wet cement" in line]
    assert bool(told) is wet and all(line.startswith("The eye (B) is glued with wet cement, ") for line in told)
    assert not any("foot (C) is glued with wet" in line for other in steps for line in other.instructions)


@pytest.mark.parametrize(("off", "held"), [("[0, 0, 3]", True), ("[0, 0, 0]", False)])
def test_what_nothing_stops_in_its_hole_is_held_until_its_glue_has_set(tmp_path, off, held):
    """3 mm out of it at one face; flush with a face it lies against a board. Common practice, no source."""
    path = tmp_path / "inlay.yaml"
    path.write_text(
        WALL.replace("GLUE", "glue: instant").replace("at: {normal: z}", f"at: {{origin: {off}, normal: z}}"),
        encoding="utf-8",
    )
    steps = Stages(Request(load(path))).record("steps")
    told = [line for step in steps for line in step.instructions if "Nothing stops it there" in line]
    assert bool(told) is held and all("3 mm out of the hole" in line for line in told)
