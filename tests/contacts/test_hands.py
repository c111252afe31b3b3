"""Mirrored copies that are cut as drawn, since a piece turned over or round is its own mirror image."""

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.hands import own_mirror
from foamwright.contacts.joins import clearance_of, joined
from foamwright.contacts.records import Contacts
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.templates import wording
from tests.model.solid_fixtures import Spheroid, panel, piece
from tests.model.solid_fixtures import plate as solid_plate

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design

HERE = "at: {origin: [0, 60, 0], normal: z}, mirror: y"
LOPSIDED = "outline: {polygon: {points: [[0, 0], [60, 0], [0, 30]]}}"
STUD = "  stud: {{kind: disc, stock: foam, radius: {radius}, at: {{origin: {at}, normal: z}}, mirror: y}}\n"


def counted(folder, parts):
    """What is printed of how often the first part is cut."""
    prop = build_prop(design(folder, parts))
    contacts = find_contacts(solids(build_model(prop)), clearance_of(prop.design))
    return " ".join(wording.count(joined(prop, contacts).pieces[0]))


def plate(outline, more=HERE):
    return f"  plate: {{kind: plate, stock: thick, {outline}, {more}}}\n"


def stud(x, y, z, radius=5):
    return STUD.format(radius=radius, at=[x, y, z])


def test_a_piece_without_marks_that_is_cut_square_is_turned_over(tmp_path):
    """A triangle whose sides all differ: over, it is its mirror image, as both of its faces are bare."""
    assert counted(tmp_path, plate(LOPSIDED)) == "cut 2"


def test_a_piece_that_can_be_turned_round_is_not_turned_over(tmp_path):
    """Level, a rectangle keeps its drawn face down on both sides; upright in the plane of x and z, with a notch below, it is
    turned round so that the notch stays below."""
    level = build_prop(design(tmp_path, plate("outline: {rectangle: {width: 80, height: 60}}"))).pieces[0]
    assert abs(own_mirror(level, Contacts(1.0, ()))[2]) < 1e-6
    notched = "outline: {polygon: {points: [[0, 0], [30, 0], [40, 10], [50, 0], [80, 0], [80, 60], [0, 60]]}}"
    upright = build_prop(
        design(tmp_path, plate(notched, "at: {origin: [0, 60, 0], normal: y, up: z}, mirror: y"))
    ).pieces[0]
    assert np.abs(own_mirror(upright, Contacts(1.0, ()))) == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


def test_with_a_mark_on_one_face_it_is_not(tmp_path):
    """Turned over, the stud would lie on the wrong face."""
    told = counted(tmp_path, plate(LOPSIDED) + stud(8, 40, 10))
    assert told.startswith("cut 2: 1 as drawn, 1 mirrored")


@pytest.mark.parametrize("at, either", [((0, 60), True), ((0, 80), True), ((20, 60), True), ((12, 80), False)])
def test_a_rectangle_with_a_stud_on_one_of_its_axes_is_only_turned_round(tmp_path, at, either):
    """80 x 60 about (0, 60): the stud lies on an axis of the rectangle, or on none."""
    told = counted(tmp_path, plate("outline: {rectangle: {width: 80, height: 60}}") + stud(*at, 10))
    assert (told == "cut 2") == either


@pytest.mark.parametrize("at", [(0, 60), (7, 71)])
def test_a_disc_with_one_stud_anywhere_is_its_own_mirror_image(tmp_path, at):
    assert counted(tmp_path, plate("outline: {circle: {radius: 30}}") + stud(*at, 10)) == "cut 2"


def test_a_disc_with_two_unlike_studs_is_not(tmp_path):
    studs = stud(15, 60, 10) + stud(0, 78, 10, 3).replace("stud:", "knob:")
    assert "mirrored" in counted(tmp_path, plate("outline: {circle: {radius: 30}}") + studs)


@pytest.mark.parametrize("shift, either", [(0.0, True), (20.0, False)])
def test_a_bevelled_plate_must_be_its_own_mirror_image(shift, either):
    """A trapezium with all edges at 20 degrees, upright or leaning; over, its bevels would lean the other way."""
    outline = np.array([[-40.0, 0.0], [40.0, 0.0], [30.0 - shift, 50.0], [-30.0 - shift, 50.0]])
    assert bool(own_mirror(piece("A", solid_plate(outline, bevels=(20.0,) * 4)), Contacts(1.0, ()))) == either


def test_bevels_that_differ_on_both_sides_tell_the_hands_apart():
    outline = np.array([[-40.0, 0.0], [40.0, 0.0], [30.0, 50.0], [-30.0, 50.0]])
    assert not own_mirror(piece("A", solid_plate(outline, bevels=(0.0, 20.0, 0.0, 30.0))), Contacts(1.0, ()))


@pytest.mark.parametrize("foot, head", [(0.3, 0.7), (0.4, 0.7)])
def test_a_bent_plate_must_be_its_own_mirror_image(foot, head):
    """Of a spheroid, which is its own mirror image from right to left at every height: between two meridians a plate is
    too, wherever it ends. Clipped aslant at its head it is not."""
    body = panel(Spheroid(120.0, 90.0), (foot, 0.0), (head, 0.2))
    assert own_mirror(piece("A", body), Contacts(1.0, ()))
    lifted = dataclasses.replace(
        body.edges[1], outer=body.edges[1].outer + np.linspace(0, 3, 60)[:, None] * [0, 0, 1.0]
    )
    aslant = dataclasses.replace(body, edges=(body.edges[0], lifted, *body.edges[2:]))
    assert not own_mirror(piece("A", aslant), Contacts(1.0, ()))
