"""How much is glued in each step: what touches, and not the whole of a part that reaches over the edge of another. By hand."""

from dataclasses import replace

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.pages.materials import shopping

SHELF = (
    head("Shelf")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
parts:
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 200 * scale}}, at: {normal: x, up: z}}
  strip: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 100, centre: [0, 110]}}, at: {origin: [10, 0, 0], normal: x, up: z}, lies_on: [wall]}
  foot: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 50}}, at: {origin: [35, 0, -90], normal: z, up: x}, glue: instant, after: [wall]}
"""
)


def test_glue_is_bought_for_what_touches(tmp_path):
    """The strip reaches 60 mm over the top of the wall, and the foot stands against it with an edge of 10 mm."""
    path = tmp_path / "shelf.yaml"
    path.write_text(SHELF, encoding="utf-8")
    stages = Stages(Request(load(path)))
    steps = stages.record("steps")
    glued = {part: step.glued for step in steps for part in step.places if step.glued}
    assert glued["strip"]["contact"] == pytest.approx(300.0 * 40.0)
    assert glued["foot"]["instant"] == pytest.approx(300.0 * 10.0)
    bought = {line.item: line.basis for line in shopping(stages.model.prop, stages.patterns, (), steps)}
    assert bought["Contact cement for foam"].startswith("0.012 m² of joints")
    assert bought["Instant glue, medium or gel"].startswith("30 cm² of joints")
    gel = [replace(step, instructions=("Put gel round the end.",)) if step.places else step for step in steps]
    assert "Instant glue, gel" in {line.item for line in shopping(stages.model.prop, stages.patterns, (), gel)}
