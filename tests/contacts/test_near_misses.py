"""What comes apart and all but touches: the maker is told where that is by accident, once for two parts, and not of fits."""

import pytest

from foamwright import Request, Stages, load
from foamwright.contacts.near_ends import Standing
from foamwright.contacts.near_misses import near_misses_told
from foamwright.look.build import copies_of, first_look
from foamwright.parts import build_prop
from foamwright.parts.attempt import attempt
from foamwright.store import Store

LID = """
format: 1
name: Lid
version: 0.1.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1 mm}, gap: {value: 1 mm}, play: {value: 5 mm}}
sizes: {one: {}}
stock: {foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}}
parts:
  house: {kind: box, stock: foam, size: [100 * scale, 100, 80], without: [top], at: {origin: [0, 0, 0], normal: z, up: x}}
  shelf:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 60, height: 40, centre: [0, 20]}}
    at: {origin: [50, 0, 20], normal: z, up: x}
    after: [house]
  lid:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 100, height: 130, centre: [0, 15]}}
    at: {origin: [0, 0, 80], normal: z, up: x}
    LOOSE
  arm:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 20, height: 54 - gap, centre: [0, -27 + gap / 2]}}
    at: {origin: [70, 0, 80], normal: x, up: z}
    repeat: {count: 2, step: [8, 0, 0]}
    after: [lid, shelf]
  rim:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 88 - 2 * play, height: 88 - 2 * play}}
    at: {origin: [0, 0, 74], normal: z, up: x}
    after: [lid]
"""


def told(tmp_path, loose="rests_on: [house]", store=None, **values):
    path = tmp_path / "lid.yaml"
    path.write_text(LID.replace("LOOSE", loose), "utf-8")
    design = load(path, None, {name: f"{value} mm" for name, value in values.items()})
    prop = build_prop(design)
    copies = [copy for piece in prop.pieces for copy in copies_of(piece)]
    return design, near_misses_told(prop, [Standing(copy.piece, copy.matrix, copy.mesh) for copy in copies], store)


def test_how_near_two_copies_come_is_measured_once_and_again_when_one_of_them_moves(tmp_path):
    first, again, moved = (Store(tmp_path / "store") for _ in range(3))
    line = told(tmp_path, store=first, gap=1)[1]
    assert told(tmp_path, store=again, gap=1)[1] == line and line
    assert told(tmp_path, store=moved, gap=0.5)[1] != line
    assert (again.made["gap"], again.found["gap"]) == (0, first.made["gap"])
    assert moved.made["gap"] and moved.found["gap"]  # the arm is longer, and what does not touch it is as it was


@pytest.mark.parametrize("gap", [0.5, 1])
def test_an_arm_on_a_loose_lid_just_above_a_shelf_is_told_once(tmp_path, gap):
    design, (line,) = told(tmp_path, gap=gap)
    assert line.startswith(f"part arm comes within {gap:.1f} mm of shelf, near (7")
    assert line in first_look(attempt(design)).remarks and line in Stages(Request(design)).record("notes")


@pytest.mark.parametrize(
    ("gap", "loose"), [(0, "rests_on: [house]"), (3, "rests_on: [house]"), (1, "lies_on: [house]")]
)
def test_what_touches_or_keeps_off_and_what_is_glued_is_not(tmp_path, gap, loose):
    assert told(tmp_path, loose, gap=gap)[1] == []


def test_what_fits_with_a_gap_all_round_is_not(tmp_path):
    """A rim below the lid, within the walls."""
    assert told(tmp_path, gap=10, play=1)[1] == []
