"""A gap that cement does not fill is left where the part is glued well enough elsewhere, and told to be filled where it is not."""

from types import SimpleNamespace

import pytest
from small_designs import head, lines_of, stages_of_text

from foamwright.booklet.words.gluing import _carriers


def joint(other, area, gap=0.0, glue="contact"):
    return SimpleNamespace(other=other, area=area, gap=gap, glue=glue)


@pytest.mark.parametrize(
    ("elsewhere", "held"),
    [
        ([joint("bracket", 1200.0)], ["bracket"]),
        ([joint("bracket", 600.0), joint("bracket", 600.0)], ["bracket"]),
        ([joint("bracket", 100.0)], []),
        ([joint("bracket", 1200.0, gap=1.4)], []),
        ([joint("bracket", 1200.0, glue="none")], []),
        ([], []),
    ],
)
def test_what_holds_a_part_beside_a_gap(elsewhere, held):
    wall = joint("wall", 4000.0, gap=1.4)
    assert _carriers([wall], [wall, *elsewhere]) == held


COLLAR = (
    head("Collar", "2 mm")
    + """\
stock: {board: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [800 mm, 800 mm]}}
parts:
  foot: {kind: disc, stock: board, radius: 150 * scale, at: {origin: [0, 0, -10], normal: z}}
  post: {kind: box, stock: board, size: [60, 60, 100], at: {origin: [0, 0, 0], normal: z}, lies_on: [foot]}
  rest: {kind: plate, stock: board, outline: {rectangle: {width: 60, height: 40}}, at: {origin: [50, 0, 20], normal: x, up: z}, mirror: x, lies_on: [foot]}
  collar: {kind: plate, stock: board, outline: {rectangle: {width: 140, height: 140}}, minus: [{rectangle: {width: HOLE, height: HOLE}}], at: {origin: [0, 0, 40], normal: z, up: x}, after: [post, rest]}
"""
)


@pytest.mark.parametrize(("hole", "left"), [("63", True), ("60", False)])
def test_what_is_left_open_is_not_told_to_be_glued(tmp_path, hole, left):
    lines = lines_of(stages_of_text(tmp_path, COLLAR.replace("HOLE", hole)))
    gap = "Leave the gap of up to 1.5 mm between the collar (F) and"
    assert any(line.startswith(gap) for line in lines) is left
    assert any("Push the collar (F) up against" in line for line in lines) is not left
    assert any("Glue the edge of the collar (F)" in line for line in lines) is not left
