"""What is done the same way in several steps is told once, and from then on by the number of that step."""

import re

from small_designs import head, lines_of, stages_of_text

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
