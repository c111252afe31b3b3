"""Joints that are too small for what they hold, against the section moduli of rectangles and circles that handbooks give."""

import math

import numpy as np
import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of, glued_groups, joined
from foamwright.contacts.solids import solids
from foamwright.contacts.weak_joints import weak_joints_told
from foamwright.model.build import build_model
from foamwright.model.placed import placed_copies
from foamwright.model.stability import centroid
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
)


def told(folder, text):
    prop = build_prop(design(folder, text))
    model = build_model(prop)
    contacts = find_contacts(solids(model), clearance_of(prop.design))
    prop = joined(prop, contacts)
    placed = {(c.part, c.number): c for c in placed_copies(model)}
    masses = {copy: (c.mass, centroid(c.mesh.points, c.mesh.triangles)[1]) for copy, c in placed.items()}
    points = {copy: c.mesh.points for copy, c in placed.items()}
    return weak_joints_told(prop, contacts, glued_groups(prop, contacts), masses, points)


def post(wide, high, stock="foam", more=""):
    return (
        f"  post: {{kind: plate, stock: {stock}, outline: {{rectangle: {{width: {wide}, height: {high}, centre: [0, {high / 2}]}}}}, "
        f"at: {{origin: [0, 60, 0], normal: y, up: z}}{more}}}\n"
    )


@pytest.mark.parametrize(("stock", "thick"), [("foam", 6.0), ("thick", 10.0)])
@pytest.mark.parametrize("wide", [10.0, 20.0, 30.0])
def test_a_post_on_its_edge_stands_as_high_as_its_section_holds_a_newton(tmp_path, stock, thick, wide):
    """A newton at its top bends a section of modulus w t^2 / 6, or t w^2 / 6, whichever is less, by 1 N/mm2 when it is as high as that."""
    high = min(wide * thick**2, thick * wide**2) / 6.0
    for share, weak in ((0.85, False), (1.05, True)):
        lines = told(tmp_path, FLOOR + post(wide, share * high, stock))
        assert len(lines) == weak
        if weak:
            assert lines[0].startswith(f"part post hangs on {wide * thick:.0f} mm2 of glue to floor and reaches ")


@pytest.mark.parametrize("more", ["", ", mirror: y", ", repeat: {count: 3, step: [40, 0, 0]}"])
def test_a_joint_of_many_copies_is_told_once(tmp_path, more):
    assert len(told(tmp_path, FLOOR + post(6, 80, more=more))) == 1
    assert told(tmp_path, FLOOR + post(60, 80, more=more)) == []


@pytest.mark.parametrize("thick", [3.0, 12.0])
def test_a_sign_on_two_thin_rods_is_told_with_what_is_glued_to_it_and_one_on_thick_ones_is_not(tmp_path, thick):
    """Two rods 3 mm thick have 14 mm2 of glue to the sign, which swings about the line through both."""
    text = (
        FLOOR
        + f"  rod: {{kind: rod, stock: thick, made: laminated, diameter: {thick}, from: [40, 0, -30], to: [40, 0, -10], mirror: x}}\n"
        "  sign: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 60}}, "
        "at: {origin: [0, -5, -60], normal: y, up: z}}\n"
        "  star: {kind: plate, stock: foam, outline: {rectangle: {width: 20, height: 20}}, "
        "at: {origin: [0, 5, -60], normal: y, up: z}}\n"
    )
    lines = told(tmp_path, text)
    assert len(lines) == (thick < 5)
    if lines:
        area = 2 * math.pi * thick**2 / 4
        hangs = next(line for line in lines if "sign" in line)
        glue = float(hangs.split(" mm2")[0].rsplit(" ", 1)[1])
        assert hangs.startswith("part sign, star hangs on ") and glue == pytest.approx(area, abs=1.0)
        assert np.hypot(60, 60) < float(hangs.split("reaches ")[1].split(" ")[0]) < np.hypot(61, 62)


def test_a_rod_that_is_set_into_a_hole_holds_what_one_that_is_butted_does_not(tmp_path):
    """60 mm of rod 5 mm thick: butted it has a section of modulus pi d^3 / 32 = 12 mm3; in 20 mm of foam glue goes round it."""
    rod = "  rod: {kind: rod, stock: thick, made: laminated, diameter: 5, from: [0, 0, START], to: [0, 0, 60]}\n"
    assert len(told(tmp_path, FLOOR + rod.replace("START", "0"))) == 1
    holed = FLOOR.replace("at:", "minus: [{circle: {radius: 2.6}}], at:")
    assert (
        told(tmp_path, holed + holed.replace("floor", "under").replace("-10]", "-20]") + rod.replace("START", "-20"))
        == []
    )
