"""The drawings of joints show glue where there is glue, and none where a part only rests on another. Sizes are our own."""

import re

from small_designs import head

from foamwright import Request, Stages, load
from foamwright.assembly.bodies import bodies_of
from foamwright.booklet.pictures.insets import insets

TIN = (
    head("Tin", "1 mm")
    + """\
stock: {thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [900 mm, 1200 mm]}}
forms:
  tin:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 90 * scale], [80 * scale, 80 * scale]]
    cuts: {foot: {plane: {normal: z}}, head: {plane: {normal: z, at: 80 * scale}}, half: {plane: {normal: y}}}
parts:
  wall: {kind: panel, stock: thick, form: tin, where: {foot: beyond, head: before, half: beyond}, flush: [foot, head], mirror: y}
  floor: {kind: bulkhead, stock: thick, form: tin, plane: {normal: z}}
  cover: {kind: disc, stock: thick, radius: 84 * scale, at: {origin: [0, 0, 80 * scale], normal: z}, rests_on: [wall]}
  plug: {kind: disc, stock: thick, radius: 60 * scale, at: {origin: [0, 0, 80 * scale], normal: -z}, lies_on: [cover]}
"""
)


def test_a_lid_that_lifts_off_is_drawn_without_glue(tmp_path):
    (tmp_path / "tin.yaml").write_text(TIN, encoding="utf-8")
    stages = Stages(Request(load(tmp_path / "tin.yaml")))

    steps, patterns = stages.record("steps"), stages.patterns
    made = insets(steps, patterns, bodies_of(stages.model, stages.record("contacts")))
    letter = {pattern.piece.id: pattern.piece.label for pattern in patterns.patterns}
    joints = [
        {*found.groups()}
        for own in made.values()
        for inset in own
        if (found := re.search(r"the joint of (\w+) and (\w+)", inset.said))
    ]
    assert {letter["cover"], letter["plug"]} in joints
    assert {letter["cover"], letter["wall"]} not in joints
