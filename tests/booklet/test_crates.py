"""Crates of slats: of each kind of part it is told how many touch what, and thin ones are glued by their ends although they lie on
a shelf that takes no glue. Counted by hand."""

import re

import pytest
from small_designs import head, lines_of, stages_of_text

CRATES = (
    head("Crates")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1200 mm]}
parts:
  shelf:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 120 mm, height: 400 mm}}
    at: {origin: [0, 0, -6 mm], normal: z, up: y}
  crate_end:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 64 mm * scale, height: 42 mm, centre: [0, 21 mm]}}
    at: {origin: [0, -178 mm, 0], normal: y, up: z}
    repeat: {grid: {counts: [3, 2], steps: [[0, 130 mm, 0], [0, 90 mm, 0]]}}
    RESTS
"""
)
SLAT = """\
  slat_SIDE:
    kind: plate
    stock: skin
    outline: {rectangle: {width: 96 mm, height: 10 mm, centre: [0, 5 mm]}}
    at: {origin: [X mm, -130 mm, 0], normal: N, up: z}
    repeat: {grid: {counts: [3, 3], steps: [[0, 130 mm, 0], [0, 0, 16 mm]]}}
    after: [crate_end]
"""
FLOOR = """\
  slat_floor:
    kind: plate
    stock: skin
    outline: {rectangle: {width: 10 mm, height: 84 mm}}
    at: {origin: [-15 mm, -130 mm, 0], normal: z, up: y}
    repeat: {grid: {counts: [3, 3], steps: [[0, 130 mm, 0], [15 mm, 0, 0]]}}
    after: [crate_end]
    rests_on: [shelf]
"""


def told(folder, text):
    return " ".join(lines_of(stages_of_text(folder, text)))


def slats(side, x, normal):
    return SLAT.replace("SIDE", side).replace("X", str(x)).replace("N,", f"{normal},")


@pytest.mark.parametrize("sides", [1, 2])
def test_of_each_kind_that_shares_a_sentence_it_is_told_how_many_touch(tmp_path, sides):
    """Of three slats one above the other only the lowest stands on the shelf."""
    both = slats("front", 32, "x") + (slats("back", -32, "-x") if sides == 2 else "")
    text = told(tmp_path, CRATES.replace("RESTS", "") + both)
    upright = (
        "Glue 3 of the 9 slat fronts (C) and 3 of the 9 slat backs (D)"
        if sides == 2
        else "Glue 3 of the 9 slat fronts (C)"
    )
    assert f"{upright} upright on the shelf (A)" in text


def test_what_only_rests_on_a_shelf_is_glued_by_its_small_ends(tmp_path):
    """2 x 10 mm of each end, beside 840 mm2 on the shelf that holds nothing."""
    text = told(tmp_path, CRATES.replace("RESTS", "rests_on: [shelf]") + FLOOR)
    assert "Glue the edge of the 9 slat floors (C) to the 6 crate ends (B)" in text


def test_things_that_are_built_alike_have_a_name(tmp_path):
    """Three crates of 2 ends and 6 slats each: nobody sets ends and slats on the shelf."""
    loose = slats("front", 32, "x").replace("after: [crate_end]", "after: [crate_end]\n    rests_on: [shelf]")
    text = told(tmp_path, CRATES.replace("RESTS", "rests_on: [shelf]") + loose + FLOOR)
    assert "Make 3 alike, each of 2 B, 3 C and 3 D." in text
    assert re.search(
        r"First set the 3 that you built alike in step \d+ \(B, C and D\) on the shelf \(A\), dry\. Each must", text
    )
    assert re.search(
        r"Put the 3 that you built alike in step \d+ \(B, C and D\) on the shelf \(A\), without glue: they", text
    )
    assert "Make " not in told(tmp_path, CRATES.replace("RESTS", "") + slats("front", 32, "x"))
