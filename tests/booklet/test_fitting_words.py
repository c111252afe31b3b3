"""What a step says of a plate between walls and of a flat part on a curve: seen on a wide-mouthed drum with a floor and a "
"knob."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Drum", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 57.5], [0, 60], [80, 80], [90, 82.5]]
    cuts:
      middle: {plane: {normal: y}}
      foot: {plane: {normal: z, at: 0}}
      top: {plane: {normal: z, at: 80}}
parts:
  drum:
    kind: panel
    stock: shell
    form: wall
    laid: outside
    where: {middle: beyond, foot: beyond, top: before}
    flush: [foot, top]
    mirror: y
  floor: {kind: bulkhead, stock: shell, form: wall, plane: {normal: z, at: 20}, after: [drum]}
  knob:
    kind: disc
    stock: shell
    radius: RADIUS * scale
    at: {origin: [0, 70, 40], normal: y, onto: {form: wall, offset: shell_thickness, turned: true}}
    lies_on: [drum]
steps:
  - {title: Tie the ribbon, parts: [drum], when: cured, note: Tie a ribbon round it.}
"""
)


def steps_of(folder, radius):
    path = folder / "drum.yaml"
    path.write_text(DESIGN.replace("RADIUS", str(radius)), encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    return steps_of(tmp_path_factory.mktemp("drum"), 14)


def said(steps, part):
    step = next(step for step in steps if part in step.places)
    return step, " ".join(step.instructions)


def test_paper_keeps_cement_apart_where_a_plate_goes_in_between_walls(steps):
    step, text = said(steps, "floor")
    assert "slip-paper" in step.uses and "strips of baking paper between the faces" in text
    step, text = said(steps, "drum")
    assert "slide the part into its place" not in text


def test_a_flat_part_on_a_curve_is_sanded_hollow(steps):
    """A disc 28 mm across on a drum of some 76 mm there: at its rim 76 - sqrt(76^2 - 14^2) = 1.3 mm off."""
    _, text = said(steps, "knob")
    assert "a little hollow where it will lie on A, which curves there like something 120 mm across" in text
    assert text.count("hollow") == 1  # not the floor, which goes in with it


def test_what_is_bent_is_told_with_its_width(steps):
    """From 120 to 160 mm across inside."""
    heat = next(step for step in steps if "heat" in step.uses)
    (line,) = (
        line for line in heat.instructions if line.startswith("A, which is a cone, over something round, 120 mm across")
    )
    assert "160 mm across at the wide one" in line
    assert any(
        "what of them is curved is bent cold as it goes in" in line for line in heat.instructions
    )  # as thin bands


def test_the_step_of_the_design_for_the_end_comes_last(steps):
    assert (steps[-1].title, steps[-1].instructions) == ("Tie the ribbon", ("Tie a ribbon round it.",))
