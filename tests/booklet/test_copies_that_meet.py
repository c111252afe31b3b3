"""Copies of one part that are glued to each other along no seam, as the rails of a frame: the step says so."""

import pytest
from small_designs import head, stages_of_text

RAIL = (
    head("Frame", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
parts:
  rail:
    kind: plate
    stock: shell
    outline: {polygon: {points: [[-60 * scale, 0], [60 * scale, 0], [40 * scale, 20 * scale], [-40 * scale, 20 * scale]]}}
    at: {origin: [0, -60 * scale, 0], normal: z, up: y}
    repeat: {around: {count: 4, axis: z}}
"""
)
BACK = """\
  back:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 120 * scale, height: 120 * scale}}
    at: {origin: [0, 0, -6], normal: z, up: y}
"""


@pytest.mark.parametrize("scale", [1.0, 3.0])
@pytest.mark.parametrize("more", ["", BACK])
def test_copies_that_meet_by_their_cut_edges_are_glued_to_each_other(tmp_path, scale, more):
    steps = stages_of_text(tmp_path, RAIL + more, scale=scale).record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    assert text.count("Glue the 4 rails (A) to each other where they touch.") == 1
