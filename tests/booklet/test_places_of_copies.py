"""Where copies sit that look different ways: a lens in a ring on either wall of a case, with a lip behind it, and panes in a row.
Every figure follows from the numbers of the design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

CASE = (
    head("Case with lenses")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [1000 mm, 600 mm]}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 280 mm * scale, height: 172 mm}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  side:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 260 mm, height: 90 mm}}
    minus: [{circle: {radius: 25 mm}}]
    at: {origin: [0, 70, 45], normal: y, up: z}
    mirror: y
  lens: {kind: disc, stock: LENS, radius: 25 mm, at: {origin: [0, 70 + AT, 45], normal: y}, mirror: y}
"""
)
LIP = (
    "  lip: {kind: ring, stock: thin, outer_radius: 32 mm, inner_radius: 20 mm, at: {origin: [0, 70, 45], normal: -y}, "
    "lies_on: [side], mirror: y}\n"
)


def checks(tmp_path, text):
    path = tmp_path / "case.yaml"
    path.write_text(text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return [
        line for step in steps for line in step.instructions if "Check" in line and "lens" in line and "hole" in line
    ]


@pytest.mark.parametrize(("lens", "deep"), [("thin", 8), ("shell", 4)])
def test_copies_that_look_both_ways_are_told_by_the_middle_of_the_prop(tmp_path, lens, deep):
    """Left and right would be true of one of the two alone."""
    (line,) = checks(tmp_path, CASE.replace("LENS", lens).replace("AT", "0"))
    assert f"on the outside each lens (C) lies {deep} mm deep in the hole" in line
    assert "on the inside it is flush with the rim of the hole" in line


def test_a_rim_that_something_lies_on_is_out_of_reach_of_a_rule(tmp_path):
    (line,) = checks(tmp_path, CASE.replace("LENS", "thin").replace("AT", "0") + LIP)
    assert line.endswith("Check: on the outside each lens (C) lies 8 mm deep in the hole.") and "inside" not in line


def test_of_one_copy_the_side_is_told_by_its_name(tmp_path):
    alone = CASE.replace("LENS", "thin").replace("AT", "8").replace("normal: y}, mirror: y}", "normal: y}}")
    (line,) = checks(tmp_path, alone)
    assert "on the left the lens (C) is flush with the rim of the hole, and on the right it lies 8 mm deep" in line
