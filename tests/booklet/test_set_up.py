"""What stands far off a place that looks to a side is set on with the work turned, so that it does not hang on fresh cement; what
stands on a place that looks up needs no word (common practice, no source)."""

import pytest
from small_designs import head, lines_of, stages_of_text

HORNS = (
    head("Horns", "0.5 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [2000 mm, 2000 mm]}
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
forms:
  horn:
    kind: revolution
    axis: AXIS
    smooth: false
    profile: [[100 * scale, 50 * scale], [300 * scale, 10 * scale]]
    cuts: {tip: {plane: {normal: AXIS, at: 280 * scale}}, foot: {plane: {normal: AXIS, at: 100 * scale}}}
parts:
"""
)
BLOCK = """\
  block: {kind: plate, stock: thick, outline: {rectangle: {width: 300 * scale, height: 300 * scale}}, at: {origin: ORIGIN, normal: AXIS}}
  horn: {kind: panel, stock: shell, form: horn, where: {tip: before, foot: beyond}, opened: 180, flush: [foot, tip], after: [block]}
"""


@pytest.mark.parametrize(
    ("axis", "origin", "turned"),
    [("y", "[0, 100 * scale - 10 mm, 0]", True), ("z", "[0, 0, 100 * scale - 10 mm]", False)],
)
def test_a_horn_is_set_on_from_above(tmp_path, axis, origin, turned):
    text = (HORNS + BLOCK).replace("AXIS", axis).replace("ORIGIN", origin)
    told = [
        line for line in lines_of(stages_of_text(tmp_path, text)) if line.startswith("Turn the work so that the place")
    ]
    assert len(told) == turned and all(
        "on the block (A)" in line and "set the horn (B) on from above;" in line for line in told
    )
