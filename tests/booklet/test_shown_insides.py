"""What shows of the inside of open forms, and how far such a wide one is bent by hand."""

from pathlib import Path

import pytest
from small_designs import head, stages_of_text

from foamwright import Request, Stages, load

HOOD = (
    head("Hood")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
forms:
  hood:
    kind: revolution
    axis: z
    profile: [[-10, 170 * scale], [100 * scale, 70 * scale]]
    smooth: false
    cuts:
      eave: {plane: {normal: z, at: 0}}
      crown: {plane: {normal: z, at: 80 * scale}}
      side: {plane: {normal: y}}
parts:
  hood: {kind: panel, stock: shell, form: hood, where: {eave: beyond, crown: before}, opened: 180}
"""
)


def heat(folder, text):
    return stages_of_text(folder, text).record("steps")[1].instructions


def test_a_cone_that_closes_on_itself_is_bent_until_its_ends_meet(tmp_path):
    lines = heat(tmp_path, HOOD)
    assert any(line.startswith("A, which is a cone") and "until its two ends nearly meet" in line for line in lines)
    assert not any("circle drawn" in line for line in lines)
    assert any("oth faces, one after the other: A" in line for line in lines)  # open below: its inside shows
    kept = next(line for line in lines if line.startswith("Of A the drawn face shows as well: rub out"))
    assert "leave the ticks" in kept  # its seam is still to be closed by them


@pytest.mark.parametrize("size", ["youth", "adult"])
def test_the_inside_of_plates_that_overlap_shows_where_it_is_open(size):
    """The shoulder's plates lie on the next ones with a rim, and are open behind; its hems lie on plates with all of their face,
    which is glued and never painted, however near its rim is to the open."""
    path = Path(__file__).parents[2] / "designs" / "beetle-shoulder.yaml"
    steps = Stages(Request(load(path, size))).record("steps")
    assert any("Both faces, one after the other: A, B, C, D." in line for line in steps[1].instructions)
    assert not any("(E)" in line and "inside" in line for step in steps for line in step.instructions)


def test_a_lining_shows_the_face_that_is_drawn_on(tmp_path):
    """Its other one is glued to the shell: pores that heat has closed hold no glue there."""
    tube = HOOD.replace(
        "[[-10, 170 * scale], [100 * scale, 70 * scale]]", "[[-10, 100 * scale], [100 * scale, 100 * scale]]"
    )
    shell = tube[: tube.index("  hood: {kind: panel")].replace(
        "      side: ",
        "      pad: {prism: {outline: {rectangle: {width: 40, height: 30}}, along: x, centre: [0, 0, 40], above: 0}}\n      side: ",
    )
    parts = (
        "  hood: {kind: panel, stock: shell, form: hood, where: {eave: beyond, crown: before, side: beyond}}\n"
        "  lining: {kind: panel, stock: shell, form: hood, laid: inside, where: {pad: inside, side: beyond}, square: [pad], lies_on: [hood]}\n"
    )
    lines = heat(tmp_path, shell + parts)
    assert any("rawn face up: B" in line for line in lines)
