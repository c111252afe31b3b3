"""Checks and joints are told as hands find them: a lid on a wall that leans, a bar that is loose in its hole, two halves that are
alike pressed hollow alike. Sizes are our own."""

import re

from foamwright import Request, Stages, load
from foamwright.booklet.materials import shopping

HEAD = """
format: 1
name: {name}
version: 0.1.0
licence: CC-BY-4.0
summary: For a test.
parameters:
  scale: {{value: 1, note: Larger or smaller}}
  clearance: {{value: {clearance}, note: Gap around what is let in}}
sizes: {{shelf: {{note: for a shelf}}}}
stock:
  shell: {{name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}}
  bar: {{name: Beech dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm], material_type: plywood}}
"""

BUCKET = """
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 83 * scale], [0, 80 * scale], [60, 62 * scale], [70, 59 * scale]]
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 60}}}
parts:
  wall: {kind: panel, stock: shell, form: wall, laid: outside, where: {foot: beyond, top: before}, opened: 180, flush: [foot, top]}
  lid: {kind: disc, stock: shell, radius: 84 * scale, at: {origin: [0, 0, 60], normal: z}, after: [wall]}
  post: {kind: plate, stock: shell, outline: {rectangle: {width: 30, height: 60, centre: [0, 30]}, minus: [{circle: {radius: 4.5, centre: [0, 40]}}]},
    at: {origin: [40, 0, 66], normal: x, up: z}, mirror: x, after: [lid]}
  bar: {kind: rod, stock: bar, from: [-60, 0, 106], to: [60, 0, 106], glue: instant, after: [post]}
"""


def made(folder, text, **head):
    path = folder / "prop.yaml"
    path.write_text(HEAD.format(**head) + text, encoding="utf-8")
    return Stages(Request(load(path)))


def test_a_lid_on_a_leaning_wall_is_measured_where_it_lies_and_glue_for_a_loose_bar_is_bought(tmp_path):
    stages = made(tmp_path, BUCKET, name="Bucket", clearance="0.5 mm")
    steps = stages.record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    # the wall's outside is 6 mm / cos(16.7 deg) off the form on the level: 62 + 6.3 mm at the top, 80 + 6.3 at the foot
    out = re.search(r"the lid \(\w\) stands (\d+) mm", text)
    assert out and abs(int(out[1]) - (84 - 62 - 6.3)) < 1.0
    # by hand: a bar of 8 mm in a hole of 9 mm
    assert "Up to 0.5 mm of air is left there: use gel." in text
    bought = [line.item for line in shopping(stages.record("prop"), stages.record("patterns"), (), steps)]
    assert any("Instant glue" in item for item in bought)


def test_halves_that_are_alike_are_pressed_hollow_alike(tmp_path):
    ball = """
forms:
  hull:
    kind: superellipsoid
    centre: [0, 0, 100]
    radii: [95 * scale, 41, 41]
    cuts: {level: {plane: {normal: z, at: 100}}, nose: {plane: {normal: x, at: 80}}, tail: {plane: {normal: x, at: -80}}, mid: {plane: {normal: y}}}
parts:
  upper: {kind: panel, stock: shell, form: hull, where: {level: beyond, mid: beyond, nose: before, tail: beyond}, flush: [nose, tail], darts: auto, mirror: y}
  lower: {kind: panel, stock: shell, form: hull, where: {level: before, mid: beyond, nose: before, tail: beyond}, flush: [nose, tail], darts: auto, mirror: y}
"""
    steps = made(tmp_path, ball, name="Hull", clearance="0.5 mm").record("steps")
    (line,) = [
        line
        for step in steps
        for line in step.instructions
        if line.startswith("When the darts are closed, check the hollow")
    ]
    first, second = map(int, re.findall(r"(\d+) mm", line))
    assert abs(first - second) <= 1
