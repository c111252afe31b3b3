"""A declared overlap holds nothing: what has no other hold is refused, by a look as by a build."""

import pytest

from foamwright.contacts.checks import refuse_untrue
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of
from foamwright.contacts.solids import solids
from foamwright.errors import BuildError
from foamwright.look.build import first_look
from foamwright.look.report import report, sentences
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.attempt import attempt
from tests.parts.flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
)


BLOCK = (
    "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 40, height: 40}}, "
    "at: {origin: [0, NEAR, 0], normal: z, up: y}}\n"
)


def told(folder, more="", block="", lean=0.3, deep=6, joins=""):
    """What is refused of a plate that leans, or stands upright, with its foot 6 mm below the floor's upper face, and what a look
    tells of it; its near face is at y = 60."""
    fin = (
        "  fin: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 80, centre: [0, 40]}}, "
        f"at: {{origin: [0, 60, {-deep}], normal: [0, 1, {lean}], up: z}}{more}}}\n"
    )
    made = design(folder, FLOOR + fin + block + joins + "overlaps: [[fin, floor]]\n")
    prop = build_prop(made)
    named = solids(build_model(prop))
    look = first_look(attempt(made))
    seen = [line for line in sentences(report(look, "")) if "nothing holds" in line or "not as declared" in line]
    assert look.buildable == (not seen)
    try:
        refuse_untrue(prop, named, find_contacts(named, clearance_of(made)))
    except BuildError as error:
        return str(error), seen
    return "", seen


@pytest.mark.parametrize("lean", [0, 0.3])
@pytest.mark.parametrize("more", ["", ", mirror: y", ", repeat: {count: 3, step: [0, -40, 0]}"])
def test_a_fin_that_reaches_into_the_floor_is_held_by_nothing(tmp_path, more, lean):
    refused, seen = told(tmp_path, more, lean=lean)
    assert refused.startswith(
        "nothing holds part fin, copy 1: it shares space with floor, copy 1, and that glues nothing"
    )
    assert len(seen) == refused.count("nothing holds") and "shares space with floor" in seen[0]


def test_what_touches_both_holds_the_fin(tmp_path):
    assert told(tmp_path, block=BLOCK.replace("NEAR", "40"), lean=0) == ("", [])
    refused, seen = told(tmp_path, block=BLOCK.replace("NEAR", "20"), lean=0)  # it touches the floor alone
    assert refused and len(seen) == 1


def test_one_of_two_copies_that_is_held_leaves_the_other_to_be_refused(tmp_path):
    refused, seen = told(tmp_path, ", mirror: y", BLOCK.replace("NEAR", "40"), lean=0)
    assert refused.startswith("nothing holds part fin, copy 2: it shares space with floor") and len(seen) == 1


def test_a_fin_that_ends_on_the_floor_is_held(tmp_path):
    assert told(tmp_path, lean=0, deep=0) == ("", [])


def test_what_rests_there_needs_no_glue(tmp_path):
    assert told(tmp_path, ", rests_on: [floor]") == ("", [])


@pytest.mark.parametrize(
    ("more", "joins", "said"),
    [(", lies_on: [floor]", "", "lies on"), ("", "joins: [{parts: [fin, floor]}]\n", "joins")],
)
def test_glue_that_is_stated_where_two_share_space_only_is_none(tmp_path, more, joins, said):
    refused, seen = told(tmp_path, more, BLOCK.replace("NEAR", "40"), lean=0, joins=joins)
    assert refused.startswith(f"part fin {said} floor, but shares space with it, and that glues nothing")
    assert seen == [f"  not as declared: {refused}"]
