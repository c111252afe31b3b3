"""Ribs in a row of which the two rear ones reach a wall: the template says on which the edge meets it, and so they are numbered."""

import pytest

from foamwright import Request, Stages, load
from foamwright.contacts.copies import numbered

RIBS = """
format: 1
name: Ribs
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}}
parts:
  base: {kind: plate, stock: foam, outline: {rectangle: {width: 300 * scale, height: 300}}, at: {origin: [0, 0, -6], normal: z, up: y}}
  rib: {kind: plate, stock: foam, outline: {rectangle: {width: 80, height: 40, centre: [0, 20]}}, at: {origin: [0, 0, 0], normal: x, up: z}, repeat: {count: 3, step: [-40, 0, 0]}}
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: LENGTH, height: 40, centre: [0, 20]}}, at: {origin: [-90 + LENGTH / 2, 40, 0], normal: y, up: z}}
"""


@pytest.mark.parametrize(("length", "told"), [(30, "to C, copy 3 only"), (60, "to C, copies 2 and 3 only"), (150, "")])
def test_copies_of_which_an_edge_meets_what_others_do_not_are_numbered(tmp_path, length, told):
    """The wall begins at x = -90; ribs stand from -80, -40 and 0, and are 6 mm thick."""
    path = tmp_path / "ribs.yaml"
    path.write_text(RIBS.replace("LENGTH", str(length)), "utf-8")
    stages = Stages(Request(load(path)))
    assert ("rib" in numbered(stages.record("prop"), stages.record("contacts"))) == bool(told)
    (rib,) = [t for t in stages.record("templates") if t.pattern.piece.id == "rib"]
    words = " ".join(text.value for label in rib.drawing.labels for text in label.texts)
    assert " of 3" not in words and told in words and ("only" in words) == bool(told)
