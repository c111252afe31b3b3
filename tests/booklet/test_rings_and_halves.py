"""What is said of a ring over an equal hole, and of halves around a floor: all figures follow from the design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Cap on a drum")
    + """\
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
forms:
  drum:
    kind: revolution
    axis: z
    profile: [[0, 60], [80, 60]]
    smooth: false
    cuts:
      foot: {plane: {normal: z}}
      head: {plane: {normal: z, at: 80}}
      half: {plane: {normal: y}}
      door: {prism: {outline: {rectangle: {width: 60 mm, height: 60 mm}}, along: y, centre: [0, 0, 0], above: 0}}
parts:
  floor: {kind: bulkhead, stock: foam, form: drum, plane: {normal: z}}
  fore: {kind: panel, stock: foam, form: drum, where: {foot: beyond, head: before, half: beyond, door: outside}, flush: [foot, head]}
  rear: {kind: panel, stock: foam, form: drum, where: {foot: beyond, head: before, half: before}, flush: [foot, head]}
  board: {kind: ring, stock: foam, outer_radius: 66 mm, inner_radius: 30 mm, at: {origin: [0, 0, 80], normal: z}}
  trim: {kind: ring, stock: foam, outer_radius: 45 mm, inner_radius: 30 mm, at: {origin: [0, 0, 86], normal: z}, lies_on: [board]}
  knob: {kind: disc, stock: foam, radius: 40 mm * scale, at: {origin: [0, 0, 92], normal: z}, lies_on: [trim]}
"""
)


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    path = tmp_path_factory.mktemp("drum") / "drum.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]


def test_a_ring_does_not_overlap_a_hole_as_wide_as_its_own_and_a_disc_does(told):
    overlaps = [line for line in told if "overlaps the opening" in line]
    assert len(overlaps) == 1
    assert "the knob (F) overlaps the opening of the trim (E) by 10 mm" in overlaps[0]


def test_halves_do_not_go_all_the_way_round(told):
    assert not any("all the way round" in line for line in told)
    assert any("the inside of the" in line and "to the edge of the floor (A)" in line for line in told)
