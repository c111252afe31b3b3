"""Panels that lie in others and over others: which of their faces is glued, and how much of it."""

import pytest
from small_designs import head, lines_of, stages_of_text

GUARD = (
    head("Guard")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1200 mm]}
forms:
  guard:
    kind: revolution
    axis: x
    smooth: false
    profile: [[-150, 50], [150, 50]]
    cuts:
      elbow: {plane: {normal: x, at: -100}}
      wrist: {plane: {normal: x, at: 100}}
      b0: {plane: {normal: x, at: -80}}
      b1: {plane: {normal: x, at: -50}}
      b1_lap: {plane: {normal: x, at: -42}}
      b2: {plane: {normal: x, at: -20}}
      low: {plane: {normal: z, at: -15}}
      slit: {prism: {outline: {rectangle: {width: 900, height: 24}}, along: z, below: 0}}
parts:
  shell: {kind: panel, stock: shell, form: guard, where: {elbow: beyond, wrist: before, slit: outside}, square: [slit]}
"""
)
BANDS = """\
  first: {kind: panel, stock: skin, form: guard, where: {b0: beyond, b1_lap: before, low: beyond}, over: [shell]}
  second: {kind: panel, stock: skin, form: guard, where: {b1: beyond, b2: before, low: beyond}, over: [shell, first]}
"""
PADDING = "  padding: {kind: panel, stock: skin, form: guard, laid: inside, where: {elbow: beyond, wrist: before, slit: outside}, square: [slit], MORE}\n"


@pytest.mark.parametrize("more", ["lies_on: [shell]", "after: [shell]"])
def test_a_padding_is_glued_by_its_outside(tmp_path, more):
    """Its drawn face looks inwards, as that of every panel, and no cement comes on what touches the arm."""
    told = lines_of(stages_of_text(tmp_path, GUARD + PADDING.replace("MORE", more)))
    assert "Glue the outside of the padding (B) to the shell (A) all along." in told
    assert not any("inside of the padding (B) to" in line for line in told)


def test_a_band_that_laps_on_another_is_glued_on_the_lap_alone(tmp_path):
    told = lines_of(stages_of_text(tmp_path, GUARD + BANDS))
    assert any(line.startswith("Glue the inside of the first (B) to the shell (A) all along.") for line in told)
    assert any("Glue the second (C) on the outside of the first (B), over its edge" in line for line in told)
    assert not any("Glue the inside of the second" in line for line in told)


def test_a_lip_that_lines_a_rim_only_is_not_glued_all_along(tmp_path):
    """8 of its 38 mm lie in the shell, which ends at 100 mm."""
    text = GUARD.replace(
        "      low: {", "      b3: {plane: {normal: x, at: 92}}\n      b4: {plane: {normal: x, at: 130}}\n      low: {"
    )
    lip = "  lip: {kind: panel, stock: skin, form: guard, laid: inside, where: {b3: beyond, b4: before, slit: outside}, square: [slit], after: [shell]}\n"
    told = lines_of(stages_of_text(tmp_path, text + lip))
    (line,) = [line for line in told if line.startswith("Glue the outside of the lip (B) to the shell (A)")]
    assert line.startswith(
        "Glue the outside of the lip (B) to the shell (A), between the placement line and the edge of A: only that much lies on it, "
        "and the rest stands free."
    )


def test_a_ring_round_an_eye_is_not_told_to_lie_over_an_edge(tmp_path):
    """Of its face, between the radii of 16 and 34 mm, 55 % lie on the shell around an opening of 24 mm radius."""
    text = GUARD.replace(
        "      low: {",
        "".join(
            f"      {name}: {{prism: {{outline: {{circle: {{radius: {radius}}}}}, along: z, above: 0}}}}\n"
            for name, radius in (("eye", 24), ("rim", 34), ("pupil", 16))
        )
        + "      low: {",
    ).replace("slit: outside}", "slit: outside, eye: outside}")
    ring = "  ring: {kind: panel, stock: skin, form: guard, where: {rim: inside, pupil: outside}, over: [shell]}\n"
    told = lines_of(stages_of_text(tmp_path, text + ring))
    (line,) = [line for line in told if line.startswith("Glue the ring (B) on")]
    assert "the shell (A)" in line and "glue goes only where the two touch" in line
    assert "over its edge" not in line and "beside its line" not in line
