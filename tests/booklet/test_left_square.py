"""Which edges are left as they were cut where a part's edges are rounded: those that would stand as a groove beside what they are
glued to."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Bridge", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  board: {kind: plate, stock: shell, outline: {rectangle: {width: 200, height: 200}}, at: {normal: z}}
  block:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 80, height: 40}}
    at: {origin: [0, 0, 6], normal: z}
    lies_on: [board]
    edge: {finish: FINISH, size: 2 mm}
  button: {kind: disc, stock: shell, radius: 8, at: {origin: [0, 0, 12], normal: z}, lies_on: [block]}
"""
)


def told_of(folder, text):
    path = folder / "bridge.yaml"
    path.write_text(text, encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in lines if "the edges of the block (B)" in line]
    return line


@pytest.mark.parametrize("finish", ["rounded", "chamfered"])
def test_the_rim_of_the_face_that_is_glued_stays_square(tmp_path, finish):
    told = told_of(tmp_path, DESIGN.replace("FINISH", finish))
    assert told.endswith("Leave the rim of a face that is glued square.")


def test_a_small_part_on_a_face_leaves_its_rim_to_be_rounded(tmp_path):
    plain = DESIGN.replace("FINISH", "rounded").replace("    edge: {finish: rounded, size: 2 mm}\n", "")
    first = plain.replace("at: {normal: z}}", "at: {normal: z}, edge: {finish: rounded, size: 2 mm}}", 1)
    path = tmp_path / "bridge.yaml"
    path.write_text(first, encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (told,) = [line for line in lines if "the edges of the board (A)" in line]
    assert "square" not in told


@pytest.mark.parametrize("layers", [1, 2])
def test_of_a_stack_the_rims_are_sanded_and_not_the_joints(tmp_path, layers):
    """What is painted before it is set down is glued nowhere any more, or long before: nothing is told "before you glue"."""
    lid = f"lies_on: [board]\n    glue: none\n    paint: red\n    layers: {layers}\n"
    told = told_of(
        tmp_path, DESIGN.replace("FINISH", "rounded").replace("lies_on: [board]\n", lid, 1).split("  button")[0]
    )
    assert told.startswith("First sand the edges of the block (B) round") and "glue" not in told.split(". ")[0]
    assert ("at the top and at the bottom of the whole stack" in told) == (layers == 2)
