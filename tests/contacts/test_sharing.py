"""What is held by nothing but declared overlap is told: no step glues it."""

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of, joined
from foamwright.contacts.sharing import held_by_sharing_told
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
)


BLOCK = (
    "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 40, height: 40}}, "
    "at: {origin: [0, NEAR, 0], normal: z, up: y}}\n"
)


def told(folder, more="", block="", lean=0.3):
    """A plate that leans, or stands upright, with its foot 6 mm below the floor's upper face; its near face is at y = 60."""
    fin = (
        "  fin: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 80, centre: [0, 40]}}, "
        f"at: {{origin: [0, 60, -6], normal: [0, 1, {lean}], up: z}}{more}}}\n"
    )
    prop = build_prop(design(folder, FLOOR + fin + block + "overlaps: [[fin, floor]]\n"))
    contacts = find_contacts(solids(build_model(prop)), clearance_of(prop.design))
    return held_by_sharing_told(joined(prop, contacts), contacts)


@pytest.mark.parametrize("lean", [0, 0.3])
@pytest.mark.parametrize("more", ["", ", mirror: y", ", repeat: {count: 3, step: [0, -40, 0]}"])
def test_a_fin_that_reaches_into_the_floor_is_glued_by_no_step(tmp_path, more, lean):
    (line,) = told(tmp_path, more, lean=lean)
    assert line.startswith("part fin is held by nothing but the space that it shares with floor")


def test_what_touches_both_holds_the_fin(tmp_path):
    assert told(tmp_path, block=BLOCK.replace("NEAR", "40"), lean=0) == []
    assert len(told(tmp_path, block=BLOCK.replace("NEAR", "20"), lean=0)) == 1  # it touches the floor alone


def test_one_of_two_copies_that_is_held_leaves_the_other_to_be_told(tmp_path):
    assert len(told(tmp_path, ", mirror: y", BLOCK.replace("NEAR", "40"), lean=0)) == 1


def test_what_rests_there_needs_no_glue(tmp_path):
    assert told(tmp_path, ", rests_on: [floor]") == []
