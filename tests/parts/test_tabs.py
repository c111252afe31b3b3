"""Tabs and slots: sizes exact, solids that fit without sharing space. Lengths in mm."""

import numpy as np
import pytest
from flat_designs import design
from shapely.geometry import Polygon

from foamwright.assembly.bodies import bodies_of
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words.order import order
from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw

FLOOR = "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 100}}, at: {origin: [0, 0, -10], normal: z}, glue: instant}\n"
WALL = (
    "  wall: {{kind: plate, stock: foam, outline: {{polygon: {{points: [[-60, 0], [60, 0], [60, 50], [-60, 50]]}}}}, "
    "at: {{origin: [{x}, 20, {z}], normal: {normal}}}, {more}tabs: [{tabs}]}}\n"
)
TWO = "{into: floor, at: [-30, 0], length: 25}, {into: floor, at: [30, 0], length: 25, fit: 0.5}"


def wall(x=0, z=0, normal="-y", more="", tabs=TWO):
    return WALL.format(x=x, z=z, normal=normal, more=more, tabs=tabs)


def test_the_slot_is_the_tab_and_the_fit(tmp_path):
    floor, upright = build_prop(design(tmp_path, FLOOR + wall())).pieces
    assert Polygon(upright.body.outline).area == pytest.approx(120 * 50 + 2 * 25 * 10)
    assert upright.body.outline[:, 1].min() == pytest.approx(-10.0)  # flush with the far face of the floor
    slots = [np.ptp(hole, axis=0) for hole in floor.body.holes]
    assert sorted(tuple(np.round(sorted(s), 6)) for s in slots) == [(6.3, 25.3), (6.5, 25.5)]
    assert [s.part for s in floor.body.slots] == ["wall", "wall"]


def test_solids_fit_and_have_the_volumes_of_their_shapes(tmp_path):
    model = build_model(build_prop(design(tmp_path, FLOOR + wall())))
    assert interferences(model, tolerance=0.01) == ()
    floor, upright = (copy.volume for copy in model.copies)
    assert floor == pytest.approx(10 * (200 * 100 - 25.3 * 6.3 - 25.5 * 6.5))
    assert upright == pytest.approx(6 * (120 * 50 + 2 * 25 * 10))


def test_every_copy_has_its_slots(tmp_path):
    more = "mirror: y, "
    floor, _ = build_prop(design(tmp_path, FLOOR + wall(more=more))).pieces
    assert len(floor.body.holes) == 4
    middles = sorted((round(x, 6) + 0.0, round(y, 6)) for x, y in (slot.at for slot in floor.body.slots))
    mirrored = sorted((x, -y) for x, y in middles)
    assert np.array(middles) == pytest.approx(np.array(mirrored)) and len(set(middles)) == 4
    assert interferences(build_model(build_prop(design(tmp_path, FLOOR + wall(more=more))))) == ()


SIDE = (
    "  side: {{kind: plate, stock: thick, outline: {{rectangle: {{width: 100, height: 300, centre: [0, 150]}}}}, "
    "at: {{origin: [100, 0, 0], normal: x, up: z}}, {copies}}}\n"
)
SHELF = (
    "  shelf: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 60, height: 200}}}}, at: {{origin: [0, 0, 80], normal: z, "
    "up: x}}, tabs: [{{into: side, at: [0, 100], length: 30}}, {{into: side, at: [{at}, -100], length: 30}}], "
    "repeat: {{count: 3, step: [0, 0, 80]}}}}\n"
)


def test_what_stands_between_a_part_and_its_mirror_image_enters_both(tmp_path):
    """A shelf ladder: each side has a slot for one end of every shelf, as long and as wide as the tab and its fit of 0.3."""
    prop = build_prop(design(tmp_path, SIDE.format(copies="mirror: x") + SHELF.format(at=0)))
    side, shelf = prop.pieces
    assert len(side.placements) == 2 and len(side.body.holes) == 3
    for hole in side.body.holes:
        assert np.ptp(hole, axis=0) == pytest.approx([30.3, 6.3])
    assert Polygon(shelf.body.outline).area == pytest.approx(60 * 200 + 2 * 30 * 10)
    assert interferences(build_model(prop), tolerance=0.01) == ()


@pytest.mark.parametrize(("copies", "at"), [("mirror: x", 10), ("repeat: {count: 2, step: [-210, 0, 0]}", 5)])
def test_copies_that_would_have_different_slots_are_refused(tmp_path, copies, at):
    """A tab off the middle at one end only; a second side that is no mirror image of the first."""
    with pytest.raises(BuildError, match=r"part shelf: tab into side: its copies would have different slots"):
        build_prop(design(tmp_path, SIDE.format(copies=copies) + SHELF.format(at=at)))


def test_slots_in_a_disc_leave_its_area_right(tmp_path):
    disc = "  floor: {kind: disc, stock: thick, radius: 110, at: {origin: [0, 0, -10], normal: z}}\n"
    patterns = section_and_flatten(build_model(build_prop(design(tmp_path, disc + wall()))))
    assert patterns.pattern("floor").area == pytest.approx(np.pi * 110**2 - 25.3 * 6.3 - 25.5 * 6.5)


MISTAKES = {
    "off the face": (wall(z=2), "its edge lies 2.00 mm off the face"),
    "beside the part": (wall(x=300), "does not enter square where that part is"),
    "at an angle": (wall(normal="[0, -1, 0.3]"), "does not enter square"),
    "too long": (wall(tabs="{into: floor, at: [0, 0], length: 130}"), "no room for 130 mm on a straight side of 120.00"),
    "two tabs at one place": (wall(tabs="{into: egg_panel, at: [0, 0], length: 30}") + "  egg_panel: {kind: panel, "
        "stock: foam, form: egg, where: {hatch: inside}}\n", "only flat parts"),
}  # fmt: skip


@pytest.mark.parametrize("case", MISTAKES)
def test_a_tab_that_cannot_be_is_named(tmp_path, case):
    parts, words = MISTAKES[case]
    with pytest.raises(BuildError, match=f"part wall: tab into .*{words}"):
        build_prop(design(tmp_path, FLOOR + parts))


def test_the_step_says_which_tabs_go_where(tmp_path):
    prop = build_prop(design(tmp_path, FLOOR + wall()))
    model = build_model(prop)
    steps = order(prop, section_and_flatten(model), Ways(bodies_of(model, find_contacts(solids(model)))))
    said = [step.number for step in steps for line in step.instructions if "Push the tabs of the wall (B) into" in line]
    assert len(said) == 1 and {"floor", "wall"} == {p for step in steps[1 : said[0]] for p in step.parts}


def test_a_tab_enters_the_plate_of_a_box_that_its_edge_lies_on(tmp_path):
    """A shelf 5 mm before the middle of the box: left and right are mirror images with a slot each, the other plates have none."""
    case = "  case: {kind: box, stock: thick, size: [120, 200, 100], without: [front], at: {normal: z, up: x}}\n"
    shelf = (
        "  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 180, height: 110}}, at: {origin: [5, 0, 50], "
        "normal: z, up: x}, tabs: [{into: case, at: [-90, 0], length: 20}, {into: case, at: [90, 0], length: 20}]}\n"
    )
    prop = build_prop(design(tmp_path, case + shelf))
    slots = {piece.id: len(piece.body.slots) for piece in prop.pieces}
    assert slots == {"case_top": 0, "case_bottom": 0, "case_back": 0, "case_left": 1, "case_right": 1, "shelf": 0}
    (hole,) = prop.piece("case_left").body.holes
    assert sorted(np.ptp(hole, axis=0)) == pytest.approx([6.3, 20.3])
    assert np.ptp(prop.piece("shelf").body.outline, axis=0) == pytest.approx([200.0, 110.0])


def test_a_slot_that_is_open_to_the_edge_is_named_beside_itself(tmp_path):
    """Each of two, within 10 mm of its own middle; the edge of the part goes round much more than the slot."""
    walls = (
        "  wall: {kind: plate, stock: thick, outline: {rectangle: {width: 60, height: 60, centre: [0, 30]}}, "
        "at: {origin: [0, 40, 0], normal: y, up: z}, mirror: y, tabs: [{into: top, at: [0, 60], length: 20}]}\n"
        "  top: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 100}}, "
        "minus: [{rectangle: {width: 30, height: 60, centre: [50, 50]}}], at: {origin: [0, 0, 60], normal: z, up: y}}\n"
    )
    model = build_model(build_prop(design(tmp_path, walls)))
    (top,) = (t for t in draw(section_and_flatten(model)) if t.pattern.piece.id == "top")
    named = [np.array(label.texts[0].at) for label in top.drawing.labels if "slot for" in label.texts[0].value]
    slots = [np.array(slot.at) for slot in top.pattern.fittings.slots]
    assert len(named) == len(slots) == 2
    for slot in slots:
        assert min(np.hypot(*(at - slot)) for at in named) < 10.0
