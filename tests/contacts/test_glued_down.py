"""A lid is to be lifted from a box: what glues it there by what it touches is told."""

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.glued_down import glued_down_told
from foamwright.contacts.joins import joined
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

CHEST = """
  chest: {kind: box, stock: thick, size: [160, 200, 100], joint: mitred, without: [top], at: {normal: z, up: x}}
  lid: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 160}}, at: {origin: [0, 0, 100], normal: z, up: x}, REST}
  knob: {kind: disc, stock: foam, radius: 12, at: {origin: [0, 0, 110], normal: z}}
"""
STRAPS = """
  front_strap: {kind: plate, stock: card, outline: {rectangle: {width: 30, height: 100, centre: [0, 50]}}, at: {origin: [80, 0, 0], normal: x, up: z}, lies_on: [chest]COPIES}
  lid_front: {kind: plate, stock: card, outline: {rectangle: {width: 30, height: 10, centre: [0, 5]}}, at: {origin: [80, 0, LOW], normal: x, up: z}, lies_on: [lid]COPIES}
"""
RAIL = "  rail: {kind: plate, stock: foam, outline: {rectangle: {width: 100, height: 20}}, at: {origin: [80, 0, 100], normal: x, up: z}MORE}\n"
HINGE = (
    "  hinge: {kind: plate, stock: card, outline: {rectangle: {width: 160, height: 20}}, "
    "at: {origin: [-80, 0, 100], normal: -x, up: z}, lies_on: [lid, chest]}\n"
)


def told(folder, text, rest="rests_on: [chest]"):
    prop = build_prop(design(folder, CHEST.replace("REST", rest) + text))
    contacts = find_contacts(solids(build_model(prop)), 0.0)
    return glued_down_told(joined(prop, contacts), contacts)


@pytest.mark.parametrize("copies", ["", ", mirror: x", ", repeat: {count: 2, step: [0, 40, 0]}"])
def test_straps_that_end_at_each_other_glue_a_lid_shut(tmp_path, copies):
    straps = STRAPS.replace("COPIES", copies)
    (line,) = told(tmp_path, straps.replace("LOW", "100"))
    assert (
        line.startswith("part lid rests on chest, but")
        and "lid_front is glued to front_strap, which it touches" in line
    )
    assert told(tmp_path, straps.replace("LOW", "102")) == []


@pytest.mark.parametrize("hinge", ["", HINGE])
def test_a_rail_that_touches_both_is_told_beside_a_hinge_that_is_meant(tmp_path, hinge):
    assert told(tmp_path, hinge) == []
    (line,) = told(tmp_path, hinge + RAIL.replace("MORE", ""))
    assert "is glued to" in line and "rail" in line
    assert told(tmp_path, hinge + RAIL.replace("MORE", ", lies_on: [chest], rests_on: [lid]")) == []


def test_a_lid_that_is_glued_on_is_meant_so(tmp_path):
    assert told(tmp_path, RAIL.replace("MORE", ""), "after: [chest]") == []
