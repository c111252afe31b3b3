"""A panel that is flat, as the wall of a tower of eight sides, is bent over nothing. Sizes are our own."""

import numpy as np
import pytest
import trimesh
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.pages.cover import effort
from foamwright.booklet.words import bending

TOWER = (
    head("Tower", "0.5 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}
forms:
  tower:
    kind: mesh
    file: tower.obj
    scale: scale
    cuts:
      foot: {plane: {normal: z}}
      head: {plane: {normal: z, at: 150 * scale}}
      left: {plane: {normal: ["-sin(22.5)", "cos(22.5)", 0]}}
      right: {plane: {normal: ["sin(22.5)", "cos(22.5)", 0]}}
parts:
  base: {kind: disc, stock: thick, radius: 110 * scale, at: {origin: [0, 0, -10], normal: z}, paint: red}
  wall: {kind: panel, stock: thick, form: tower, where: {foot: beyond, head: before, left: before, right: beyond}, flush: [foot, head], paint: red}
"""
)


@pytest.fixture(scope="module", params=[0.5, 2.0])
def made(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("tower")
    turn = (np.arange(8) + 0.5) * np.pi / 4
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(8)])
    trimesh.convex.convex_hull(np.vstack([90 * ring - [0, 0, 20], 70 * ring + [0, 0, 170]])).export(
        folder / "tower.obj"
    )
    (folder / "tower.yaml").write_text(TOWER, encoding="utf-8")
    return Stages(Request(load(folder / "tower.yaml", None, {"scale": request.param})))


def test_a_flat_wall_is_bent_over_nothing(made):
    wall = made.patterns.pattern("wall").piece
    assert wall.body.plane is not None and not bending.is_rolled(wall)
    text = [line for step in made.record("steps") for line in step.instructions]
    assert text and not any(word in line for line in text for word in ("Roll ", "bend ", "bent", "hollow"))


def test_and_counts_as_no_curved_panel(made):
    _, reasons = effort(made.model.prop, made.patterns)
    assert reasons and not any("curved" in reason for reason in reasons)
