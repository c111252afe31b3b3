"""A lid is to be lifted from a box: what glues it there by what it touches is told."""

import pytest

from foamwright.contacts.checks import refuse_untrue
from foamwright.contacts.find import find_contacts
from foamwright.contacts.glued_down import by_the_way_told
from foamwright.contacts.joins import clearance_of, glued_groups, joined
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
    prop = joined(prop, contacts)
    lines = by_the_way_told(prop, contacts)
    groups = [{part for part, _ in group} for group in glued_groups(prop, contacts)]
    glued_shut = any("lid" in group and "chest_bottom" in group for group in groups)
    return lines, glued_shut


@pytest.mark.parametrize("copies", ["", ", mirror: x", ", repeat: {count: 2, step: [0, 40, 0]}"])
def test_straps_that_end_at_each_other_do_not_glue_a_lid_shut(tmp_path, copies):
    straps = STRAPS.replace("COPIES", copies)
    (line,), glued_shut = told(tmp_path, straps.replace("LOW", "100"))
    assert line.startswith("part lid_front touches front_strap and is not glued to it") and not glued_shut
    assert told(tmp_path, straps.replace("LOW", "102")) == ([], False)


def test_a_rail_that_touches_both_is_glued_to_one_of_them_and_a_hinge_that_lies_on_both_to_both(tmp_path):
    (line,), glued_shut = told(tmp_path, RAIL.replace("MORE", ""))
    assert "rail" in line and not glued_shut
    assert told(tmp_path, RAIL.replace("MORE", ", lies_on: [chest], rests_on: [lid]")) == ([], False)
    assert told(tmp_path, HINGE) == ([], True)


def test_a_lid_that_is_glued_on_is_meant_so(tmp_path):
    assert told(tmp_path, RAIL.replace("MORE", ""), "after: [chest]") == ([], True)


@pytest.mark.parametrize("wide", [60, 160])
def test_the_floor_of_a_lid_that_rests_by_its_wall_is_held_by_that(tmp_path, wide):
    """Half a millimetre parts the floor from the wall that is glued round it, and from the pot on which the wall rests."""
    forms = "".join(
        f"  {name}: {{kind: revolution, axis: z, profile: [[{low}, {wide}], [{high}, {top}]], smooth: false, "
        f"cuts: {{low: {{plane: {{normal: z, at: {low}}}}}, high: {{plane: {{normal: z, at: {high}}}}}}}}}\n"
        for name, low, high, top in (("pot", 0, 80, wide), ("cone", 80, 130, wide / 3))
    )
    parts = (
        "  pot: {kind: panel, stock: foam, form: pot, where: {low: beyond, high: before}, flush: [low, high], opened: 180}\n"
        "  lid_floor: {kind: bulkhead, stock: thick, form: cone, plane: {normal: z, at: 80}}\n"
        "  lid_wall: {kind: panel, stock: foam, form: cone, where: {low: beyond, high: before}, flush: [low, high], opened: 180, "
        "rests_on: [pot]}\n"
    )
    prop = build_prop(design(tmp_path, parts, forms))
    made = solids(build_model(prop))
    contacts = find_contacts(made, clearance_of(prop.design))
    prop = joined(prop, contacts)
    refuse_untrue(prop, made, contacts)
    groups = [{part for part, _ in group} for group in glued_groups(prop, contacts)]
    assert sorted(groups, key=len) == [{"pot"}, {"lid_floor", "lid_wall"}]
