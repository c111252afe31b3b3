"""A tube with a plate in the midst of it: contact cement grips at the first touch, so that the tube is closed round the plate and
not slid along it (common practice, no source)."""

import pytest
from small_designs import head, stages_of_text

TUBE = (
    head("Tube", "0.5 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [2000 mm, 2000 mm]}
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
forms:
  tube:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 60 * scale], [700 * scale, END * scale]]
    cuts: {top: {plane: {normal: z, at: 600 * scale}}, low: {plane: {normal: z}}, half: {plane: {normal: x}}}
parts:
  floor: {kind: disc, stock: thick, radius: 100 * scale, at: {origin: [0, 0, 0], normal: -z}}
  wall: {kind: panel, stock: shell, form: tube, where: {top: before, low: beyond}, opened: 180}
  plug: {kind: bulkhead, stock: thick, form: tube, plane: {normal: z, at: 300 * scale}}
"""
)
HALVES = TUBE.replace("low: beyond}, opened: 180", "low: beyond, half: beyond}, mirror: x")


def work(folder, text, **sets):
    steps = stages_of_text(folder, text.replace("END", str(sets.pop("end", 60))), **sets).record("steps")
    (step,) = (
        step
        for step in steps
        if {"wall", "plug"} <= {*step.places, *step.bench} and "Glue" in " ".join(step.instructions)
    )
    return [line for line in step.instructions if line[:1].isdigit()]


@pytest.mark.parametrize("scale", [1.0])
def test_a_wall_is_rolled_round_a_plate_and_set_down_when_it_is_closed(tmp_path, scale):
    first, second, third = work(tmp_path, TUBE, scale=scale)
    assert "to the edge of the plug (C)" in first and "round the plug (C)" in first
    assert "Join the two ends of the wall (B)" in second
    assert "on the floor (A)" in third


def test_so_it_is_where_the_plate_comes_after_the_wall(tmp_path):
    last = TUBE.replace("at: 300 * scale}}", "at: 300 * scale}, after: [wall]}")
    first, second = work(
        tmp_path, last.replace("  floor:", "  far:").replace("origin: [0, 0, 0]", "origin: [900, 0, 0]")
    )
    assert "round the plug (C)" in first and "Join the two ends" in second


def test_halves_are_not_closed_before_they_go_round_it(tmp_path):
    text = work(tmp_path, HALVES)
    assert not any("put it all on as one" in line or "set it all down" in line for line in text)
    assert "half" not in text[0] and "wall B 1" in text[0] and "plug (C)" in text[0] and "seam" not in text[0]


def test_a_cone_is_closed_and_slipped_over_it(tmp_path):
    text = work(tmp_path, TUBE, end=20)
    assert "Join the two ends" in text[0] and not any("round the plug" in line for line in text)
