"""Several panels that each close on themselves, as a row of cones: none is glued to the next."""

import pytest
from small_designs import head, lines_of, stages_of_text

from foamwright.templates.wording import joins

CONES = (
    head("Spikes", "1 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1200 mm]}
forms:
  cone:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-5, 15 * scale], [40, 3]]
    cuts: {foot: {plane: {normal: z}}, tip: {plane: {normal: z, at: 35}}}
parts:
  base: {kind: plate, stock: shell, outline: {rectangle: {width: 300, height: 60}}, at: {origin: [60, 0, 0], normal: -z, up: y}}
  spike: {kind: panel, stock: skin, form: cone, where: {foot: beyond, tip: before}, flush: [foot], opened: 180, repeat: {count: COUNT, step: [40, 0, 0]}}
"""
)


@pytest.mark.parametrize("count", [1, 3])
def test_each_cone_closes_on_itself(tmp_path, count):
    stages = stages_of_text(tmp_path, CONES.replace("COUNT", str(count)))
    (step,) = [step for step in stages.record("steps") if "spike" in step.places]
    text = " ".join(step.instructions)
    each = "the spike (B)" if count == 1 else "each spike (B)"
    assert f"Join the two ends of {each} along seam 1" in text and f"Roll {each} into shape" in text
    assert "close the row" not in text and "to the next" not in text
    patterns = stages.record("patterns")
    pattern = patterns.pattern("spike")
    edges = [edge for edge in pattern.edges if edge.seam is not None]
    assert [joins(patterns, pattern, edge) for edge in edges] == ["seam 1 to its other end"] * 2


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("", "", False),
        ("at: 35", "at: 15", True),
        ("height: 60}}", "height: 60}}, minus: [{circle: {radius: 12, centre: [60, 0]}}]", True),
    ],
    ids=["shut", "wide at its tip", "over a hole"],
)
def test_the_inside_of_a_cone_that_is_shut_in_the_end_is_neither_painted_nor_rubbed_out(tmp_path, old, new, told):
    """Its tip is open by 8 mm, which no brush goes through; a plate lies below its foot."""
    text = CONES.replace("COUNT", "1").replace(old, new)
    said = " ".join(lines_of(stages_of_text(tmp_path, text)))
    assert ("inside of the spike (B)" in said) == told
