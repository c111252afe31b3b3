"""What is not glued down, as it touches by the way what a lid is lifted from, and joints that are too small: a first look at flat
parts tells them in the words of the build."""

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of, joined
from foamwright.contacts.solids import solids
from foamwright.look.build import first_look
from foamwright.model.build import build_model
from foamwright.pack.notes import notes
from foamwright.parts import build_prop
from foamwright.parts.attempt import attempt
from tests.parts.flat_designs import design

CHEST = """
  chest: {kind: box, stock: thick, size: [160, 200, 100], joint: JOINT, without: [top], at: {normal: z, up: x}}
  lid: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 160}}, at: {origin: [0, 0, 100], normal: z, up: x}, REST}
  front_strap: {kind: plate, stock: card, outline: {rectangle: {width: 30, height: 100, centre: [0, 50]}}, at: {origin: [80, 0, 0], normal: x, up: z}, lies_on: [chest], mirror: x}
  lid_front: {kind: plate, stock: card, outline: {rectangle: {width: 30, height: 10, centre: [0, 5]}}, at: {origin: [80, 0, LOW], normal: x, up: z}, lies_on: [lid], mirror: x}
"""
KNOB = "  knob: {kind: band, stock: foam, along: {outline: {circle: {radius: 20}}, at: {origin: [0, 0, 110], normal: z}}, from: 0, to: 10}\n"


SIGN = """
  board: {kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  post: {kind: plate, stock: foam, outline: {rectangle: {width: WIDE, height: 80, centre: [0, 40]}}, at: {origin: [0, 60, 0], normal: y, up: z}, mirror: y}
"""


def remarks(folder, text):
    """Of a first look on glue, and what a build says of the same."""
    made = design(folder, text)
    prop, model = build_prop(made), build_model(build_prop(made))
    contacts = find_contacts(solids(model), clearance_of(made))
    built = notes(joined(prop, contacts), model, contacts, None)
    look = first_look(attempt(made))
    assert look.buildable
    return tuple(
        [line for line in told if "is not glued to it" in line or "of glue to" in line]
        for told in (look.remarks, built)
    )


@pytest.mark.parametrize("joint", ["butt", "mitred"])
@pytest.mark.parametrize(
    ("rest", "low", "told"),
    [("rests_on: [chest]", 100, 1), ("rests_on: [chest]", 102, 0), ("after: [chest]", 100, 0)],
)
def test_a_look_tells_what_a_build_does(tmp_path, joint, rest, low, told):
    text = CHEST.replace("JOINT", joint).replace("REST", rest).replace("LOW", str(low))
    seen, built = remarks(tmp_path, text)
    assert seen == built and len(seen) == told


def test_of_what_is_bent_a_look_does_not_know_what_touches(tmp_path):
    text = CHEST.replace("JOINT", "butt").replace("REST", "rests_on: [chest]").replace("LOW", "100")
    seen, built = remarks(tmp_path, text + KNOB)
    assert seen == [] and len(built) == 1


@pytest.mark.parametrize(("wide", "told"), [(6, 1), (60, 0)])
def test_a_look_tells_a_joint_that_is_too_small(tmp_path, wide, told):
    seen, built = remarks(tmp_path, SIGN.replace("WIDE", str(wide)))
    assert seen == built and len(seen) == told
