"""What rests on others and would tip off them, against levers that are known on paper."""

import numpy as np
import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of, glued_groups, joined
from foamwright.contacts.solids import solids
from foamwright.contacts.tipping import balanced, tipping_told
from foamwright.model.build import build_model
from foamwright.model.placed import placed_copies
from foamwright.model.stability import centroid
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

DOWN = np.array([0.0, 0.0, -1.0])
UP = np.array([0.0, 0.0, 1.0])


def square(side):
    return np.array([[x, y, 0.0] for x in (-side, side) for y in (-side, side)])


@pytest.mark.parametrize(("off", "stays"), [(0.0, True), (9.9, True), (10.1, False), (300.0, False)])
def test_a_weight_on_four_feet_stays_while_its_middle_is_between_them(off, stays):
    feet = square(10.0)
    assert balanced(feet, np.tile(UP, (4, 1)), np.array([off, 0.0, 50.0]), DOWN) is stays


def test_a_bar_in_a_deep_hole_stays_however_it_leans_and_one_in_a_notch_does_not():
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    wall = np.column_stack([5.0 * np.cos(turn), 5.0 * np.sin(turn)])
    hole = np.vstack([np.column_stack([wall, np.full(24, z)]) for z in (0.0, 20.0)])
    pushes = np.tile(np.column_stack([-wall / 5.0, np.zeros(24)]), (2, 1))
    floor = square(3.0), np.tile(UP, (4, 1))
    middle = np.array([40.0, 0.0, 110.0])
    assert balanced(np.vstack([hole, floor[0]]), np.vstack([pushes, floor[1]]), middle, DOWN)
    assert not balanced(*floor, middle, DOWN)
    notch = np.array([[x, y, z] for x in (-5.0, 5.0) for y in (-5.0, 5.0) for z in (0.0, 5.0)])
    sides = np.column_stack([-np.sign(notch[:, 0]), np.zeros((8, 2))])
    along = np.array([0.0, 130.0, 5.0])
    assert not balanced(np.vstack([notch, floor[0]]), np.vstack([sides, floor[1]]), along, DOWN)


def test_a_weight_on_a_slope_stays_while_friction_holds_it():
    for degrees, stays in ((20.0, True), (35.0, False)):  # the tangent of 26.6 degrees is a half
        turn = np.radians(degrees)
        slope = np.array([[np.cos(turn), 0.0, np.sin(turn)], [0.0, 1.0, 0.0], [-np.sin(turn), 0.0, np.cos(turn)]])
        feet, off = square(50.0) @ slope, slope[2]
        assert balanced(feet, np.tile(off, (4, 1)), 5.0 * off, DOWN) is stays


RACK = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
    "  rack: {kind: plate, stock: thick, outline: {rectangle: {width: 40, height: 60, centre: [0, 30]}}, "
    "at: {origin: [0, 50, 0], normal: y, up: z}, mirror: y}\n"
    "  shelf: {kind: plate, stock: STOCK, outline: {rectangle: {width: 30, height: LONG, centre: [0, LONG / 2]}}, "
    "at: {origin: [0, 50, 60], normal: z, up: y}, rests_on: [rack], mirror: y}\n"
)


@pytest.mark.parametrize("stock", ["foam", "thick"])
@pytest.mark.parametrize(("long", "beside"), [(18, 0), (100, 40)])
def test_a_part_that_tips_off_is_told_of_either_hand_once(tmp_path, stock, long, beside):
    """Two shelves that begin on racks 10 mm thick: their middles lie half their length from there, less the 10."""
    prop = build_prop(design(tmp_path, RACK.replace("STOCK", stock).replace("LONG", str(long))))
    model = build_model(prop)
    made = solids(model)
    contacts = find_contacts(made, clearance_of(prop.design))
    prop = joined(prop, contacts)
    masses = {(c.part, c.number): (c.mass, centroid(c.mesh.points, c.mesh.triangles)[1]) for c in placed_copies(model)}
    told = tipping_told(prop, contacts, glued_groups(prop, contacts), masses)
    assert len(told) == bool(beside)
    assert all(line.startswith("part shelf tips off rack: ") and f"lies {beside} mm beside" in line for line in told)
