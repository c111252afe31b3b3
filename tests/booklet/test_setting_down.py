"""What is built apart and only rests on something else: a box with a lid that lifts off."""

import re
from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.assembly.bodies import bodies_of
from foamwright.assembly.setting_down import tried_on
from foamwright.assembly.sight import basis
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.pages.lists import care
from foamwright.booklet.pictures.exploded import exploded
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.booklet.words.order import order
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from tests.parts.flat_designs import design

TUB = (
    "  tub: {kind: box, stock: foam, size: [200, 100, 60], without: [top], at: {origin: [0, 0, 0], normal: z, up: x}}\n"
)
CHEEK = (
    "  cheek: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 100, height: 40, centre: [0, 20]}}}}, "
    "at: {{origin: [94, 0, {z}], normal: x, up: z}}, mirror: x{more}}}\n"
)
COVER = (
    "  cover: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 200, height: 100}}}}, "
    "at: {{origin: [0, 0, {z}], normal: z, up: y}}, after: [cheek]}}\n"
)


def steps_of(folder, padding=0.0, rests=True):
    more = f", rests_on: [tub], padding: {padding}" if rests else ""
    prop = build_prop(design(folder, TUB + CHEEK.format(z=60 + padding, more=more) + COVER.format(z=100 + padding)))
    model = build_model(prop)
    found = bodies_of(model, find_contacts(solids(model), clearance_of(prop.design)))
    return order(prop, section_and_flatten(model), Ways(found))


@pytest.mark.parametrize("padding", [0.0, 2.0])
def test_a_lid_is_built_by_itself_and_set_on_at_the_end(tmp_path, padding):
    steps = steps_of(tmp_path, padding)
    placing = [set(step.places) for step in steps if step.places]
    assert any({"cheek", "cover"} <= places for places in placing)  # two cheeks by themselves are no step
    assert all(not (places & {"cheek", "cover"} and places - {"cheek", "cover"}) for places in placing)
    last = " ".join(steps[-1].instructions)
    assert ("without glue. It must come off freely" in last) == (padding == 0.0)
    assert ("self-adhesive felt, 2 mm thick" in last) == (padding > 0.0)
    assert last.index("cured") < last.index("without glue")  # fresh paint would stick to fresh paint
    (move,) = steps[-1].sets  # the lid comes off whole, and straight up
    assert len(move.copies) == 3 and move.outwards[0][0] == (0.0, 0.0, 1.0)
    assert not any(step.sets for step in steps[:-1])
    (line,) = steps[-1].loose
    assert line.startswith("No glue holds the 2 cheeks (D), with all that is glued on, to the ")
    assert line.endswith("of the tub: take it off before you carry or clean the prop.")
    used = care(SimpleNamespace(used_by=()), 0.0, steps[-1].loose).items
    (kept,) = (item.text for item in used if getattr(item, "heading", "") == "Loose parts")
    assert kept == line
    painted = next(step for step in steps if step.title == "Seal and paint").instructions[1]
    assert ("dry. It must lie without rocking" in painted) == (padding == 0.0)
    assert ("nothing is glued there, and one is set on the other" in painted) == (padding > 0.0)


def test_a_seat_that_is_painted_before_what_rests_on_it_is_at_hand_is_kept_bare(tmp_path):
    more = ", rests_on: [tub]"
    model = build_model(build_prop(design(tmp_path, TUB + CHEEK.format(z=60, more=more) + COVER.format(z=100))))
    bodies = bodies_of(model, find_contacts(solids(model), clearance_of(model.prop.design)))
    tub = {piece.id for piece in bodies.pieces} - {"cheek", "cover"}
    every = (1 << len(bodies)) - 1
    lid = bodies.mask(copy for copy, piece in enumerate(bodies.pieces) if piece.id in ("cheek", "cover"))
    (line,) = tried_on(bodies, [lid, every & ~lid], tub, tub, {})
    assert line.startswith("Keep paint off") and "where the 2 cheeks" in line
    (line,) = tried_on(bodies, [lid, every & ~lid], tub, {piece.id for piece in bodies.pieces}, {})
    assert line.startswith("First set the 2 cheeks (D), with all that is glued on, on the 2 ends")
    alone = bodies.mask(copy for copy, piece in enumerate(bodies.pieces) if piece.id == "cheek")
    (line,) = tried_on(bodies, [alone, every & ~lid], tub, {*tub, "cheek"}, {})
    assert line.startswith("First set the 2 cheeks (D) on the 2 ends")


def test_a_lid_of_which_something_is_still_to_be_glued_is_not_tried_on(tmp_path):
    """Its cheeks are painted by themselves before the cover goes on them: there is no lid yet."""
    more = ", rests_on: [tub]"
    model = build_model(build_prop(design(tmp_path, TUB + CHEEK.format(z=60, more=more) + COVER.format(z=100))))
    bodies = bodies_of(model, find_contacts(solids(model), clearance_of(model.prop.design)))
    tub = {piece.id for piece in bodies.pieces} - {"cheek", "cover"}
    lid = bodies.mask(copy for copy, piece in enumerate(bodies.pieces) if piece.id in ("cheek", "cover"))
    things = [lid, (1 << len(bodies)) - 1 & ~lid]
    assert not tried_on(bodies, things, {"cheek"}, {*tub, "cheek"}, {})
    (line,) = tried_on(bodies, things, {"cover"}, {*tub, "cheek", "cover"}, {})
    assert line.startswith("First set the 2 cheeks")


def test_what_is_glued_on_is_not_set_down(tmp_path):
    told = [text for step in steps_of(tmp_path, rests=False) for text in step.instructions]
    assert not any("without glue" in text or "dry: it lies" in text for text in told)
    assert not any(step.sets or step.loose for step in steps_of(tmp_path, rests=False))


SKID = (
    "  skid: {kind: plate, stock: foam, outline: {rectangle: {width: 40, height: 120}}, "
    "at: {origin: [0, 0, 62], normal: z, up: y}, rests_on: [tub], padding: 2}\n"
    "  deck: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 120}}, "
    "at: {origin: [0, 0, 68], normal: z, up: y}, lies_on: [skid]}\n"
)


def test_felt_is_laid_as_thick_as_what_is_to_be_filled(tmp_path):
    """A skid 6 mm thick and 40 mm wide below a deck of 200 mm: 2 mm of felt under the one, 2 + 6 = 8 mm of it under the "
    "other."""
    prop = build_prop(design(tmp_path, TUB + SKID))
    model = build_model(prop)
    found = bodies_of(model, find_contacts(solids(model), clearance_of(prop.design)))
    last = " ".join(order(prop, section_and_flatten(model), Ways(found))[-1].instructions)
    assert "2 mm thick" in last and "along the whole edge" not in last
    assert re.search(r"Beside that the gap to the deck \(\w\) is 8.0 mm: stick 4 layers there", last)


TRAY = (
    "  tray: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 100, height: 60}}}}, "
    "at: {{origin: [0, 0, {floor}], normal: z, up: y}}, rests_on: [tub]}}\n"
    "  peg: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 20, height: 20}}}}, "
    "at: {{origin: [0, 0, {on}], normal: z, up: y}}, lies_on: [tray]}}\n"
)
LID = (
    "  lid: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 100}}, "
    "at: {origin: [0, 0, 60], normal: z, up: y}}\n"
)


def test_what_a_glued_lid_shuts_in_is_made_at_the_bench_and_set_in_before_it(tmp_path):
    """A tray with a peg lies loose in a tub: once the lid is glued on, it has no way in."""
    prop = build_prop(design(tmp_path, TUB + TRAY.format(floor=6, on=12) + LID))
    model = build_model(prop)
    found = bodies_of(model, find_contacts(solids(model), clearance_of(prop.design)))
    steps = order(prop, section_and_flatten(model), Ways(found))
    made = next(step for step in steps if set(step.bench) == {"tray", "peg"})
    laid = next(step for step in steps if set(step.places) == {"tray", "peg"})
    lid = next(step for step in steps if "lid" in step.places)
    assert made.number < laid.number < lid.number
    assert laid.title == "Put the tray in place, without glue" and not laid.glue
    assert not any("without glue: it must come off" in text for text in steps[-1].instructions)


@pytest.mark.parametrize("roofed", [False, True])
@pytest.mark.parametrize("glue", ["", ", glue: none"], ids=["of glued parts", "loose parts"])
def test_what_stands_under_a_roof_is_set_down_from_an_open_side(tmp_path, roofed, glue):
    """Blocks on a floor between two walls: straight up they come off through the roof, if there is one."""
    plate = "{{kind: plate, stock: foam, outline: {{rectangle: {{width: {0}, height: {1}}}}}, at: {{{2}}}{3}}}\n"
    parts = "  floor: " + plate.format(120, 200, "origin: [0, 0, -6], normal: z, up: y", "")
    parts += "  wall: " + plate.format(120, 60, "origin: [0, 90, 30], normal: y, up: z", ", mirror: y, after: [floor]")
    if roofed:
        parts += "  roof: " + plate.format(120, 200, "origin: [0, 0, 60], normal: z, up: y", ", after: [wall]")
    block = f", rests_on: [floor], repeat: {{count: 3, step: [0, 40, 0]}}{glue}"
    parts += "  block: " + plate.format(30, 30, "origin: [-20, -40, 0], normal: z, up: y", block)
    prop = build_prop(design(tmp_path, parts))
    model = build_model(prop)
    found = bodies_of(model, find_contacts(solids(model), clearance_of(prop.design)))
    steps = order(prop, section_and_flatten(model), Ways(found))
    at_last = next(step for step in reversed(steps) if "block" in step.places or step.sets)
    sets = at_last.moves if glue else at_last.sets
    assert sets
    for move in sets:
        x, y, z = move.outwards[-1][0]
        assert (abs(x), y, z) == (1.0, 0.0, 0.0) if roofed else (x, y, z) == (0.0, 0.0, 1.0)
    frame = basis(FRONT)
    drawn = step_pictures(found, steps)[at_last.number]
    tops = [leg for line in drawn.arrows for leg in np.diff(line, axis=0)]
    up = frame[:2] @ (0.0, 0.0, 1.0)
    assert tops and all((leg @ up < -0.95 * np.linalg.norm(leg) * np.linalg.norm(up)) != roofed for leg in tops)
    block_shifts = [exploded(found, steps, frame)[copy] for copy in found.of("block")]
    assert all(abs(shift[2]) < 1e-6 for shift in block_shifts) == roofed
