"""What is neither heated nor painted: cloth, and foam that the design leaves as it is."""

import pytest
from small_designs import head, stages_of_text

PAD = (
    head("Pad", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 1000 mm]}
  felt: {name: Wool felt 3 mm, thickness: 3 mm, sheet: [500 mm, 500 mm], density: 200, material_type: cloth}
parts:
  base:
    kind: plate
    stock: shell
    paint: dark red
    outline: {rectangle: {width: 200, height: 200}}
    at: {origin: [0, 0, 0], normal: z, up: y}
  pad:
    kind: plate
    stock: STOCK
    PAINT
    outline: {rectangle: {width: 60, height: 40}}
    at: {origin: [0, 0, 6], normal: z, up: y}
    lies_on: [base]
"""
)


def pack(folder, stock, paint):
    return stages_of_text(folder, PAD.replace("STOCK", stock).replace("PAINT", paint))


@pytest.mark.parametrize(
    ("stock", "paint", "left"),
    [
        ("felt", "", True),
        ("felt", "paint: dark red", True),
        ("shell", "paint: none", True),
        ("shell", "paint: dark red", False),
        ("shell", "", False),
    ],
)
def test_cloth_and_what_gets_no_paint_are_neither_heated_nor_painted(tmp_path, stock, paint, left):
    stages = pack(tmp_path, stock, paint)
    steps = stages.record("steps")
    treated = [step for step in steps if {"heat-gun", "paint"} & {*step.cautions}]
    assert [("pad" in step.parts) for step in treated] == [not left] * 2
    glued = next(step.number for step in steps if "pad" in step.places)
    painted = next(step.number for step in steps if "paint" in step.cautions)
    assert (glued > painted) is left  # what stays as it is goes on when paint cannot reach it any more
    seams_filled = any("gap filler" in line for line in steps[painted - 1].instructions)
    assert seams_filled is not left  # there are none where nothing is glued before
