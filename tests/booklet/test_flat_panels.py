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


@pytest.mark.parametrize(("wide", "told"), [(0.2, False), (0.9, True), (1.0, True)])
def test_a_gap_beside_a_flat_wall_is_told_as_beside_a_plate(tmp_path, wide, told):
    """A collar with a hole of eight sides round the tower: no pressing moves the walls out to it."""
    turn = (np.arange(8) + 0.5) * np.pi / 4
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(8)])
    form = trimesh.convex.convex_hull(np.vstack([80 * ring - [0, 0, 20], 80 * ring + [0, 0, 170]]))
    form.export(tmp_path / "tower.obj")
    outside = 80 + (10 + wide) / np.cos(np.pi / 8)  # at its corners; the form is the walls' inside
    hole = ", ".join(f"[{x:.4f}, {y:.4f}]" for x, y, _ in (outside * ring).tolist())
    text = TOWER.replace("150 * scale", "150").replace("0.5 mm", "1 mm")
    text = text.replace("head], paint: red}", "head], repeat: {around: {count: 8, axis: z}}}")
    text += (
        f"  collar: {{kind: plate, stock: thick, outline: {{rectangle: {{width: 240, height: 240 * scale}}}}, "
        f"minus: [{{polygon: {{points: [{hole}]}}}}], at: {{origin: [0, 0, 60], normal: z, up: y}}, after: [wall]}}\n"
    )
    (tmp_path / "tower.yaml").write_text(text, encoding="utf-8")
    lines = [
        line for step in Stages(Request(load(tmp_path / "tower.yaml"))).record("steps") for line in step.instructions
    ]
    assert any("the collar (C)" in line for line in lines)
    assert any(f"A gap of up to {wide:.1f} mm stays there" in line for line in lines) is told
