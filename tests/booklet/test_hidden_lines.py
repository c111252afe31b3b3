"""A part that carries its placement lines on the face which goes on is aimed by ticks across the joint (common practice, no
source): glue grips before the lines can be looked at. What has its line in sight, or is led by a peg, needs none."""

import pytest
from small_designs import head, lines_of, stages_of_text

TEXT = (
    head("Hidden")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  peg: {name: Dowel 10 mm, material_type: plywood, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 mm, height: 100 mm}}, at: {normal: z, up: y}}
"""
)
WIDE = "  top: {kind: plate, stock: thick, outline: {rectangle: {width: 260, height: 160}}, at: {origin: [0, 0, 10], normal: z, up: y}, lies_on: [base]%s}\n"
SMALL = WIDE.replace("260", "60").replace("160", "40")
SAID = [
    "The placement lines of the top (B) are out of sight as it goes on.",
    "Glue grips at the first touch: hold such a part in its place dry, look along the joint until the outer line just shows all "
    "round, and draw a short tick across the joint at two places far apart. Then set it on by the ticks.",
]


@pytest.mark.parametrize("glue", ["contact", "instant"])
def test_what_covers_its_own_lines_is_aimed_by_ticks(tmp_path, glue):
    lines = lines_of(stages_of_text(tmp_path, TEXT + WIDE % f", glue: {glue}"))
    assert lines[lines.index(SAID[0]) + 1] == SAID[1]


@pytest.mark.parametrize(
    "part",
    [
        SMALL % "",
        WIDE % ", glue: none",
        WIDE.replace("{rectangle: {width: 260, height: 160}}", "{rectangle: {width: 200, height: 100}}") % "",
    ],
)
def test_a_line_in_sight_a_joint_without_glue_and_rims_that_are_flush_need_no_ticks(tmp_path, part):
    assert not any("out of sight as it" in line for line in lines_of(stages_of_text(tmp_path, TEXT + part)))


def test_what_pegs_lead_to_its_place_needs_no_ticks(tmp_path):
    holes = ", minus: [{circle: {radius: 5, centre: [50, 0]}}, {circle: {radius: 5, centre: [-50, 0]}}]"
    base = TEXT.replace("height: 100 mm}}, at: {normal", f"height: 100 mm}}}}{holes}, at: {{normal")
    top = WIDE.replace("height: 160}}", "height: 160}}" + holes) % ", after: [peg]"
    peg = "  peg: {kind: rod, stock: peg, from: [50, 0, 0], to: [50, 0, 20], mirror: x, after: [base]}\n"
    assert not any("out of sight as it" in line for line in lines_of(stages_of_text(tmp_path, base + top + peg)))
