"""What is glued across more air than glue fills is told by build and look. Half a millimetre: common practice, no source."""

from dataclasses import replace

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.gaps import gaps_told
from foamwright.contacts.joins import clearance_of, joined
from foamwright.contacts.solids import solids
from foamwright.look.build import first_look
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.attempt import attempt
from tests.parts.flat_designs import design

BOARD = (
    "  board: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 200}}, at: {normal: z, up: y}}\n"
)
TRAY = "  tray: {kind: disc, stock: thick, radius: 60, at: {origin: [0, 0, -10], normal: -z}}\n"
BELT = "  belt: {kind: band, stock: foam, along: {outline: {circle: {radius: 60}}, at: {origin: [0, 0, -30], normal: z}}, from: 0, to: 26}\n"


def told(folder, parts):
    """With a clearance of 1 mm."""
    made = design(folder, parts)
    parameters = (replace(p, value=1.0) if p.name == "clearance" else p for p in made.parameters)
    made = replace(made, parameters=tuple(parameters))
    prop = build_prop(made)
    contacts = find_contacts(solids(build_model(prop)), clearance_of(made))
    look = first_look(attempt(made))
    return gaps_told(joined(prop, contacts), contacts), [
        line for line in look.remarks if "to which it is glued" in line
    ]


@pytest.mark.parametrize(("off", "count"), [(0.0, 0), (0.5, 0), (0.7, 1), (1.08, 1)])
@pytest.mark.parametrize("more", ["", ", mirror: x", ", lies_on: [board]"])
def test_a_stud_that_stands_off_its_board(tmp_path, off, count, more):
    x = 40 if "mirror" in more else 0
    stud = f"  stud: {{kind: disc, stock: foam, radius: 9, at: {{origin: [{x}, 0, {10 + off}], normal: z}}{more}}}\n"
    built, seen = told(tmp_path, BOARD + stud)
    assert built == seen and len(built) == count
    assert all(line.startswith(f"part stud stands {off:.1f} mm off board") for line in built)


def test_a_rivet_that_stands_off_its_band(tmp_path):
    """A band has its outer face 66 mm from its axis; a flat rivet touches it along the middle, or nowhere."""
    rivet = "  rivet: {kind: disc, stock: foam, radius: 8, at: {origin: [OFF, 0, -17], normal: x}}\n"
    assert told(tmp_path, TRAY + BELT + rivet.replace("OFF", "66"))[0] == []
    (line,) = told(tmp_path, TRAY + BELT + rivet.replace("OFF", "66.9"))[0]
    assert line.startswith("part rivet stands 0.9 mm off belt, to which it is glued")


def test_what_rests_may_stand_off_and_an_edge_keeps_its_clearance(tmp_path):
    lid = "  lid: {kind: disc, stock: foam, radius: 50, at: {origin: [0, 0, 10.8], normal: z}, rests_on: [board]}\n"
    walls = "".join(
        f"  wall_{n}: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 200, height: 50, centre: [0, 25]}}}}, "
        f"at: {{origin: [0, {y}, 10], normal: {normal}, up: z}}}}\n"
        for n, y, normal in ((1, 60, "y"), (2, -60, "-y"))
    )
    shelf = "  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 100, height: 118}}, at: {origin: [0, 0, 40], normal: z, up: y}}\n"
    assert told(tmp_path, BOARD + lid) == ([], [])
    assert told(tmp_path, BOARD + walls + shelf) == ([], [])


@pytest.mark.parametrize(("more", "count"), [("", 0), (", lies_on: [board]", 0), (", lies_on: [board, step]", 1)])
def test_what_reaches_past_the_part_that_holds_it(tmp_path, more, count):
    """A slat on a board, and over a step beside it that is 0.8 mm lower."""
    step = "  step: {kind: plate, stock: thick, outline: {rectangle: {width: 40, height: 50}}, at: {origin: [120, 0, -0.8], normal: z, up: y}}\n"
    slat = f"  slat: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 90, height: 20}}}}, at: {{origin: [90, 0, 10], normal: z, up: y}}{more}}}\n"
    built, _ = told(tmp_path, BOARD + step + slat)
    assert len([line for line in built if line.startswith("part slat stands 0.8 mm off step")]) == count
