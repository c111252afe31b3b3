"""What a design says comes `after` other parts goes in after all copies of these: a closed hoop that holds a round of petals
cannot be on one of them before the others stand (common practice, no source)."""

import pytest
from small_designs import head, stages_of_text

CUP = (
    head("Cup", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [2000 mm, 2000 mm]}
forms:
  flower:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 60 * scale], [80 * scale, 90 * scale], [120 * scale, 90 * scale], [200 * scale, 60 * scale]]
    cuts:
      front: {plane: {normal: x}}
      side: {plane: {normal: y}}
      top: {plane: {normal: z, at: 120 * scale}}
      low: {plane: {normal: z, at: 80 * scale}}
parts:
  petal:
    kind: panel
    stock: shell
    form: flower
    where: {front: beyond, side: beyond, top: before, low: beyond}
    repeat: {around: {count: 4, axis: z}}
  hoop:
    kind: band
    stock: STOCK
    along: {hoop: {form: flower, plane: {normal: z, at: 100 * scale}}}
    laid: outside
    over: [petal]
    width: 20 mm * scale
    AFTER
"""
)


@pytest.mark.parametrize(("scale", "stock", "after"), [(1.0, "shell", "after: [petal]"), (0.5, "thin", "")])
def test_a_hoop_goes_round_petals_that_stand(tmp_path, scale, stock, after):
    text = CUP.replace("STOCK", stock).replace("AFTER", after)
    steps = stages_of_text(tmp_path, text, scale=scale).record("steps")
    (petals,) = (step for step in steps if "petal" in step.places)
    (hoop,) = (step for step in steps if "hoop" in step.places)
    assert petals.number < hoop.number and not any("hoop" in step.bench for step in steps)
    assert "hoop" not in petals.parts and petals.number in hoop.waits_for
    assert any("to the 4 petals (A) all along" in line for line in hoop.instructions)
