"""Designs that seal a part in: a box of six plates with a puck glued to its floor."""

import pytest

from foamwright.assembly.bodies import bodies_of
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words.order import order
from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from tests.parts.flat_designs import design

WALLS = "[east, west, north, south]"
PLATE = "kind: plate, stock: thick, outline: {rectangle: {width: %s, height: %s}}, at: {origin: %s, normal: %s%s}"
BOX = "".join(
    f"  {name}: {{{PLATE % (width, height, origin, normal, ', up: z' if normal != 'z' else '')}%s}}\n"
    for name, width, height, origin, normal in (
        ("floor", 120, 120, "[0, 0, -10]", "z"),
        ("east", 120, 60, "[50, 0, 30]", "x"),
        ("west", 120, 60, "[-60, 0, 30]", "x"),
        ("north", 100, 60, "[0, 50, 30]", "y"),
        ("south", 100, 60, "[0, -60, 30]", "y"),
        ("lid", 120, 120, "[0, 0, 60]", "z"),
    )
)
PUCK = "  puck: {kind: disc, stock: foam, radius: 20, lies_on: [floor], at: {normal: z}%s}\n"
FREE = BOX % (("",) * 6) + PUCK % ""


def steps_of(tmp_path, text):
    prop = build_prop(design(tmp_path, text))
    model = build_model(prop)
    bodies = bodies_of(model, find_contacts(solids(model)))
    return order(prop, section_and_flatten(model), Ways(bodies))


def test_the_puck_goes_in_before_the_box_is_shut(tmp_path):
    steps = steps_of(tmp_path, FREE)
    fitted = {part: step.number for step in steps for part in step.places}
    last_plate = max(fitted[name] for name in ("east", "west", "north", "south", "lid", "floor"))
    assert fitted["puck"] < last_plate
    closing = next(step for step in steps if step.number == last_plate)
    behind, open_ = set(), list(closing.waits_for)
    while open_:
        number = open_.pop()
        behind.add(number)
        open_ += steps[number - 1].waits_for
    assert fitted["puck"] in behind  # nobody may shut the box first


def test_a_design_that_seals_a_part_in_is_refused(tmp_path):
    after = ("", *(", after: [floor]",) * 4, f", after: {WALLS}")
    with pytest.raises(BuildError, match=r"^part puck .*(sealed in|no way in|no brush)[^\n]*$"):
        steps_of(tmp_path, BOX % after + PUCK % ", after: [lid]")


def test_an_order_of_the_author_that_seals_a_part_in_is_refused_with_the_reason(tmp_path):
    listed = "steps:\n" + "".join(
        f"  - {{title: Fit the {name}, parts: [{name}]}}\n"
        for name in ("floor", "east", "west", "north", "south", "lid", "puck")
    )
    with pytest.raises(BuildError, match=r"^step 'Fit the puck': part puck [^\n]*under steps[^\n]*$"):
        steps_of(tmp_path, FREE + listed)


def test_a_step_whose_part_lies_on_what_a_later_step_brings_is_refused_with_both(tmp_path):
    """The puck lies on a mat, that on the floor; the mat is in no step, the floor in the later one."""
    mat = "  mat: {kind: disc, stock: foam, radius: 30, lies_on: [floor], at: {normal: z}}\n"
    puck = (PUCK % "").replace(
        "lies_on: [floor], at: {normal: z}", "lies_on: [mat], at: {origin: [0, 0, foam_thickness], normal: z}"
    )
    listed = "steps:\n  - {title: Fit the puck, parts: [puck]}\n  - {title: Fit the floor, parts: [floor, east]}\n"
    told = r"^step 'Fit the puck': part puck needs mat, and that floor in place [^\n]*later step 'Fit the floor'"
    with pytest.raises(BuildError, match=told):
        steps_of(tmp_path, BOX % (("",) * 6) + mat + puck + listed)
