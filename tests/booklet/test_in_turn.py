"""What a step tells to do first: a plate that the last panel shuts in goes in before that one. A tin whose upper half is closed
round a disc that nothing else holds; sizes are our own."""

import re

import pytest
from small_designs import head

from foamwright.booklet.words.numbered import numbered, parted
from foamwright.design import load
from foamwright.making import Request, Stages

DESIGN = (
    head("Tin", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 60 * scale], [0, 60 * scale], [190, 60 * scale]]
    cuts:
      middle: {plane: {normal: y}}
      foot: {plane: {normal: z, at: 0}}
      half: {plane: {normal: z, at: 80}}
      top: {plane: {normal: z, at: 180}}
parts:
  low: {kind: panel, stock: shell, form: wall, laid: outside, where: {middle: beyond, foot: beyond, half: before}, flush: [foot], mirror: y}
  shelf:
    kind: plate
    stock: shell
    outline: {section: {form: wall, plane: {normal: z, at: 120}}}
    at: {origin: [0, 0, 120], normal: z, up: x}
  high: {kind: panel, stock: shell, form: wall, laid: outside, where: {middle: beyond, half: beyond, top: before}, flush: [top], mirror: y}
steps:
  - {title: Low, parts: [low]}
  - {title: High, parts: [shelf, high]}
"""
)


@pytest.fixture(scope="module", params=["", ", note: Work on the table."])
def closing(request, tmp_path_factory):
    """The step that closes the upper half, with and without a note that does not tell the order."""
    path = tmp_path_factory.mktemp("tin") / "tin.yaml"
    path.write_text(DESIGN.replace("[shelf, high]", "[shelf, high]" + request.param), encoding="utf-8")
    steps = Stages(Request(load(path, None))).record("steps")
    return next(s for s in steps if "high" in s.places)


def test_a_plate_goes_in_before_the_last_panel_shuts_it_in(closing):
    turns = [sentence for number, sentence in map(parted, closing.instructions) if number]
    first, plate, last = turns
    assert re.match(r"Join the (left|right) high \(C\) to the (left|right) low \(A\)", first)
    assert plate.startswith("Glue the edge of the shelf (B) to the") and "(C)" in plate
    assert last.startswith("Last, join the") and "edge of the shelf (B)" in last


def test_what_is_done_in_turn_is_numbered():
    assert numbered(["a", "b"]) == ["1) a", "2) b"]
    assert numbered(["alone"]) == ["alone"]
    assert parted("12) then this") == ("12)", "then this")
    assert parted("3 mm clear") == ("", "3 mm clear")
