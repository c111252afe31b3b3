"""Mirrored copies that are cut as drawn, since a piece turned over or round is its own mirror image."""

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.hands import own_mirror
from foamwright.contacts.joins import clearance_of, joined
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
    assert abs(own_mirror(level, {})[2]) < 1e-6
    notched = "outline: {polygon: {points: [[0, 0], [30, 0], [40, 10], [50, 0], [80, 0], [80, 60], [0, 60]]}}"
    upright = build_prop(
        design(tmp_path, plate(notched, "at: {origin: [0, 60, 0], normal: y, up: z}, mirror: y"))
    ).pieces[0]
    assert np.abs(own_mirror(upright, {})) == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


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
    assert bool(own_mirror(piece("A", solid_plate(outline, bevels=(20.0,) * 4)), {})) == either


def test_bevels_that_differ_on_both_sides_tell_the_hands_apart():
    outline = np.array([[-40.0, 0.0], [40.0, 0.0], [30.0, 50.0], [-30.0, 50.0]])
    assert not own_mirror(piece("A", solid_plate(outline, bevels=(0.0, 20.0, 0.0, 30.0))), {})


@pytest.mark.parametrize("foot, head", [(0.3, 0.7), (0.4, 0.7)])
def test_a_bent_plate_must_be_its_own_mirror_image(foot, head):
    """Of a spheroid, which is its own mirror image from right to left at every height: between two meridians a plate is
    too, wherever it ends. Clipped aslant at its head it is not."""
    body = panel(Spheroid(120.0, 90.0), (foot, 0.0), (head, 0.2))
    assert own_mirror(piece("A", body), {})
    lifted = dataclasses.replace(
        body.edges[1], outer=body.edges[1].outer + np.linspace(0, 3, 60)[:, None] * [0, 0, 1.0]
    )
    aslant = dataclasses.replace(body, edges=(body.edges[0], lifted, *body.edges[2:]))
    assert not own_mirror(piece("A", aslant), {})


FOLDED = (
    "  strip: {{kind: band, stock: foam, along: {{outline: {{rectangle: {{width: 80, height: 60}}}}, "
    "at: {{origin: [0, 90, 0], normal: z, up: x}}}}, span: {{points: [[40, {first}], [{last}, 30]]}}, "
    "from: 0, to: {to}, corners: scored, mirror: y}}\n"
)


@pytest.mark.parametrize("first, last", [(-10, 0), (10, -30)])
def test_a_plain_strip_that_is_folded_is_cut_alike_for_both_hands(tmp_path, first, last):
    """Upper edge down it is its own mirror image, wherever along it the fold is."""
    assert counted(tmp_path, FOLDED.format(first=first, last=last, to=20)) == "cut 2"


@pytest.mark.parametrize("z, size, either", [(10, 4, True), (14, 4, False)])
def test_a_folded_strip_is_its_own_mirror_image_with_what_lies_on_it(tmp_path, z, size, either):
    """The legs are 40 and 40 long: a stud half-way up one lies alike when the strip is turned upper edge down; higher up it
    does neither that way nor end for end."""
    at = f"[36, 60, {z}]"  # on the outside of 6 mm foam along the side at x 30
    stud = f"  stud: {{kind: disc, stock: foam, radius: {size}, at: {{origin: {at}, normal: x}}, mirror: y}}\n"
    told = counted(tmp_path, FOLDED.format(first=-10, last=0, to=20) + stud)
    assert (told == "cut 2") == either


def test_what_a_strip_lies_on_with_its_whole_face_draws_nothing_on_it(tmp_path):
    """A strip over the joint of two larger plates: its outline is drawn on them, so that it has no left or right."""
    strip = "  strip: {kind: plate, stock: foam, outline: {rectangle: {width: 40, height: 30}}, "
    strip += "at: {origin: [10, 60, 10], normal: z}, lies_on: [one, other], mirror: y}\n"
    plates = "".join(
        f"  {name}: {{kind: plate, stock: thick, outline: {{rectangle: {{width: 80, height: 60}}}}, "
        f"at: {{origin: [{x}, 60, 0], normal: z}}, mirror: y}}\n"
        for name, x in (("one", -40), ("other", 40))
    )
    assert counted(tmp_path, strip + plates) == "cut 2"


def test_each_copy_must_be_its_own_mirror_image(tmp_path):
    """One of two has a stud on the right, the other on the left: each has its hand, though both together have none."""
    copies = "at: {origin: [0, 60, 0], normal: z}, repeat: {step: [0, 100, 0], count: 2}, mirror: y"
    studs = stud(12, 80, 10).replace("mirror", "repeat: {step: [-24, 100, 0], count: 2}, mirror")
    told = counted(tmp_path, plate("outline: {rectangle: {width: 80, height: 60}}", copies) + studs)
    assert "mirrored" in told
