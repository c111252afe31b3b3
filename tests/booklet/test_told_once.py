"""What is done the same way in several steps is told once, and from then on by the number of that step."""

import re

from small_designs import head, lines_of, stages_of_text

from foamwright.booklet.words import painting

BOARD = (
    head("Discs")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 60, height: 40}}, at: {normal: z, up: y}}
  wide: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 80}}, at: {origin: [0, 0, 10], normal: z, up: y}, lies_on: [base]}
  post: {kind: plate, stock: thick, outline: {rectangle: {width: 60, height: 40}}, at: {origin: [0, 0, 20], normal: z, up: y}, lies_on: [wide]}
  top: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 80}}, at: {origin: [0, 0, 30], normal: z, up: y}, lies_on: [post]}
steps:
  - {title: Wide, parts: [wide]}
  - {title: Post, parts: [post]}
  - {title: Top, parts: [top]}
"""
)


def test_the_way_to_aim_is_told_once_and_then_by_its_step(tmp_path):
    lines = lines_of(stages_of_text(tmp_path, BOARD))
    assert sum("draw a short tick across the joint" in line for line in lines) == 1
    (again,) = [line for line in lines if line.startswith("Aim with ticks")]
    assert re.fullmatch(r"Aim with ticks across the joint, as in step \d+\.", again)


TIERS = (
    head("Tiers")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 80}}, at: {normal: z, up: y}, paint: red}
  wide: {kind: plate, stock: thick, outline: {rectangle: {width: 110, height: 70}}, at: {origin: [0, 0, 10], normal: z, up: y}, lies_on: [base], paint: blue}
"""
)


def test_how_colours_are_taped_is_told_once_and_then_by_its_step(tmp_path):
    base, wide = stages_of_text(tmp_path, TIERS).record("prop").pieces
    beside = {base.id: [wide], wide.id: [base]}

    def told(taped_in):
        _, passages = painting.paint([base, wide], (), True, (), (), (), 3, beside=beside, taped_in=taped_in)
        return [line for _, lines in passages for line in lines if line.startswith("Base colours go on in this order")]

    (first,), (again,) = told(0), told(4)
    assert "tape lifts fresh paint" in first
    assert again == "Base colours go on in this order, each left to dry and taped as in step 4."
