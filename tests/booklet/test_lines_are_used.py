"""What a template has a placement line or the words of an edge for is glued by a sentence that names both parts. Our own rule: a
line that no step uses is looked for in vain."""

import re

import pytest
from small_designs import head, stages_of_text

from foamwright.templates.marks import marks

STOCK = """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [2000, 2000]}
  cloth: {name: Ribbon, thickness: 1 mm, sheet: [500, 500], material_type: cloth}
parts:
"""
STRIPS = (  # of cloth over the joint of walls and flaps that only rest on them, two on either hand
    head("Strips")
    + STOCK
    + """\
  board: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 200}}, at: {origin: [0, 0, 0], normal: -z}}
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 100}}, at: {origin: [0, 90, 50], normal: y}, mirror: y}
  flap: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 60}}, at: {origin: [0, 90, 130], normal: y}, rests_on: [wall], mirror: y}
  strip: {kind: plate, stock: cloth, outline: {rectangle: {width: 60, height: 30}}, at: {origin: [-80, 100, 100], normal: y}, lies_on: [wall, flap], repeat: {count: 2, step: [160, 0, 0]}, mirror: y}
"""
)
LAPPED = (  # a wall, and a bar of its own size that laps it by 2 mm
    head("Lapped")
    + STOCK
    + """\
  board: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 200}}, at: {origin: [0, 0, -20], normal: -z}}
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 160, height: 40}}, at: {origin: [0, 60, 0], normal: y}, mirror: y}
  bar: {kind: plate, stock: foam, outline: {rectangle: {width: 160, height: 40}}, at: {origin: [0, 70, 38], normal: y}, after: [wall], mirror: y}
"""
)


def on_templates(stages):
    """Pairs of letters of parts of which a template tells that the one is glued to the other."""
    patterns, contacts = stages.record("patterns"), stages.record("contacts")
    letters = {pattern.piece.id: pattern.piece.label for pattern in patterns.patterns}
    lined = {
        (p.piece.id, mark.upper.id) for p in patterns.patterns for mark in marks(patterns, p, contacts) if mark.glued
    }
    joined = {(p.piece.id, part) for p in patterns.patterns for edge in p.edges for part in edge.joins}
    return {frozenset((letters[one], letters[other])) for one, other in lined | joined}


def glued(sentences, letters):
    """The letters that each sentence names that glues something."""
    told = [line for line in sentences if re.search(r"\bglue", line, re.IGNORECASE)]
    return [{*re.findall(r"\b[A-Z]\b", line)} & letters for line in told]


@pytest.mark.parametrize(("text", "count"), [(STRIPS, 3), (LAPPED, 2)])
def test_each_line_of_a_template_is_used_by_a_step(tmp_path, text, count):
    stages = stages_of_text(tmp_path, text)
    pairs = on_templates(stages)
    assert len(pairs) == count
    letters = set().union(*pairs)
    steps = [step for step in stages.record("steps") if step.glue and step.moves]
    told = glued([line for step in steps for line in step.instructions], letters)
    assert all(any(pair <= names for names in told) for pair in pairs)
    for left_out in steps:  # without one of its steps some line is not used
        rest = glued([line for step in steps if step is not left_out for line in step.instructions], letters)
        assert not all(any(pair <= names for names in rest) for pair in pairs)


def test_what_is_lapped_by_a_part_of_its_own_size_is_glued_by_its_line(tmp_path):
    lines = [line for step in stages_of_text(tmp_path, LAPPED).record("steps") for line in step.instructions]
    (line,) = [line for line in lines if "the 2 bars (C) on the 2 walls (B)" in line]
    assert line.startswith("Glue") and "by the placement line" in line
