"""No joint that holds the prop together goes untold, however small: a drum that stands on the ends of thin pegs."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Drum on pegs", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
  peg: {name: Beech dowel 3 mm, thickness: 3 mm, sheet: [3 mm, 1000 mm], material_type: plywood}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[20, 30 * scale], [100, 30 * scale]]
    cuts:
      foot: {plane: {normal: z, at: 30}}
      top: {plane: {normal: z, at: 80}}
parts:
  slab: {kind: disc, stock: shell, radius: 50, at: {normal: z}}
  peg: {kind: rod, stock: peg, from: [33, 0, 6], to: [33, 0, 30], repeat: {around: {count: 4, axis: z}}}
  drum: {kind: panel, stock: shell, form: wall, where: {foot: beyond, top: before}, opened: 180, flush: [foot, top]}
  label: {kind: panel, stock: shell, form: wall, where: {foot: beyond, top: before}, opened: 180, over: [drum]}
"""
)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    path = tmp_path_factory.mktemp("drum") / "drum.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def test_a_drum_is_glued_to_the_pegs_that_it_stands_on(steps):
    step = next(step for step in steps if "drum" in step.places)
    assert [line for line in step.instructions if "pegs (B)" in line and "the drum (C)" in line]


def test_one_strip_over_another_part_is_joined_at_its_own_ends(steps):
    step = next(step for step in steps if "label" in step.places)
    text = " ".join(step.instructions)
    assert "Join the two ends of the label (D)" in text and "these strips" not in text


def test_a_knob_of_several_rounds_is_put_on_its_loose_lid_before_both_are_painted(tmp_path):
    lid = (
        "  lid: {kind: disc, stock: shell, radius: 36, glue: none, at: {origin: [0, 0, 80], normal: z}, rests_on: [drum]}\n"
        "  knob: {kind: stack, stock: shell, lies_on: [lid], at: {origin: [0, 0, 86], normal: z}, "
        "rounds: [{radius: 8}, {radius: 14}]}\n"
    )
    path = tmp_path / "tin.yaml"
    path.write_text(DESIGN[: DESIGN.index("  label:")] + lid, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    benched = next(step for step in steps if "knob_2" in step.parts and step.number > 2)
    assert "put the knob on the lid" in benched.title
    painted = next(step for step in steps if "paint" in step.title.lower())
    assert benched.number < painted.number and {"lid", "knob_1", "knob_2"} <= set(painted.parts)
    text = " ".join(painted.instructions)
    assert "Paint the lid" in text and "glued only when all is dry" not in text
