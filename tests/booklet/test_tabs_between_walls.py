"""A plate with slots that is let down on the tabs of what stands, its ends between two walls that it is glued to as well."""

import pytest
from small_designs import head, lines_of, stages_of_text

DESIGN = (
    head("Counter", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  base:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 300, height: 120}}
    at: {origin: [0, 0, 0], normal: z, up: y}
  wall:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 120, height: 140}}
    at: {origin: [-106, 0, 76], normal: x, up: z}
    mirror: x
    after: [base]
  rib:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 80, height: 60}}
    at: {origin: [0, 3, 36], normal: y, up: z}
    tabs: [{into: counter, at: [0, 30], length: 30}]
    after: [base]
  counter:
    kind: plate
    stock: shell
    outline: {rectangle: {width: WIDTH, height: 100}}
    at: {origin: [0, 0, 66], normal: z, up: y}
    after: [wall, rib]
    glue: GLUE
"""
)


def _told(tmp_path, width, glue="contact"):
    return lines_of(stages_of_text(tmp_path, DESIGN.replace("WIDTH", str(width)).replace("GLUE", glue)))


def test_what_no_brush_reaches_later_is_coated_first(tmp_path):
    told = _told(tmp_path, 200)
    (coat,) = [line for line in told if "no brush reaches it once the tabs are in" in line]
    (tabs,) = [line for line in told if "Brush cement on the tabs" in line]
    assert "Coat the counter (D) and the 2 walls (B) where they meet" in coat
    assert told.index(coat) < told.index(tabs)


@pytest.mark.parametrize(("width", "glue"), [(180, "contact"), (200, "instant")])
def test_without_more_to_coat_nothing_is_said(tmp_path, width, glue):
    assert not any("no brush reaches" in line for line in _told(tmp_path, width, glue))
