"""A bar with a tab at each end, put between two walls that stand: how it is bent so that the tabs enter."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.errors import BuildError

FRAME = (
    head("Frame", "1 mm")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
parts:
  deck: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 300 * scale}}, at: {normal: z, up: x}}
  bar: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 60, centre: [0, -30]}}, at: {origin: [0, 80, 0], normal: y, up: z}, mirror: y, after: [deck]}
  cross:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 160, height: 24}}
    tabs: [{into: bar, at: [-80, 0], length: 14}, {into: bar, at: [80, 0], length: 14}]
    at: {origin: [60, 0, -40], normal: x, up: z}
    after: [bar]
"""
)


def test_a_bar_that_is_too_long_for_its_way_in_is_bowed_and_made_no_gutter_of(tmp_path):
    """Bent along its length, as a gutter is, it would be as long as before."""
    path = tmp_path / "frame.yaml"
    path.write_text(FRAME, encoding="utf-8")
    told = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any(line.startswith("Bow the cross (C) so that its two ends come nearer to each other, ") for line in told)
    assert not any("gutter" in line or "grips in a hole" in line for line in told)


CASE = (
    "  case: {kind: box, stock: foam, size: [120 * scale, 200, 100], without: [front], at: {normal: z, up: x}}\n"
    "  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 180, height: 110}}, at: {origin: [5, 0, 50], normal: z, up: x},"
    " AFTER tabs: [{into: case, at: [-90, 0], length: 20}, {into: case, at: [90, 0], length: 20}]}\n"
)


def steps_of_case(tmp_path, after):
    path = tmp_path / "case.yaml"
    path.write_text(FRAME[: FRAME.index("  deck:")] + CASE.replace("AFTER", after), encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def test_a_box_that_tabs_enter_is_built_round_what_has_them(tmp_path):
    """Closed first, it would have no way in for a shelf with tabs at both ends."""
    told = [line for step in steps_of_case(tmp_path, "") for line in step.instructions]
    tabs = [i for i, line in enumerate(told) if "Brush cement on the tabs of the shelf (F)" in line]
    last = next(i for i, line in enumerate(told) if "Glue the right (E) of the case" in line)
    assert len(tabs) == 2 and tabs[1] < last
    assert not any("gutter" in line or "Bow the" in line for line in told)


def test_a_shelf_that_is_to_come_after_its_whole_case_is_told_not_to(tmp_path):
    with pytest.raises(
        BuildError, match=r"part shelf is sealed in: case_\w+ stands in .*; take that out of its `after`"
    ):
        steps_of_case(tmp_path, "after: [case],")


BAY = (
    FRAME[: FRAME.index("parts:")]
    + """\
parts:
  deck: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 340}}, at: {normal: z, up: y}}
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 30, height: 190, centre: [0, 95]}}, at: {origin: [0, 150, 10], normal: y, up: z}, mirror: y, after: [deck]}
  beam: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 320}}, at: {origin: [0, 0, 200], normal: z, up: y}, after: [wall]}
  cover: {kind: plate, stock: foam, outline: {rectangle: {width: 140, height: 320}}, at: {origin: [0, 0, 210], normal: z, up: y}, after: [beam]}
  shelf:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 100, height: 320}}
    minus: [{rectangle: {width: 30, height: 20, centre: [0, 160]}}, {rectangle: {width: 30, height: 20, centre: [0, -160]}}]
    at: {origin: [0, 0, 90], normal: z, up: y}
    after: [wall]
"""
)


def told_of_bay(folder, text=BAY):
    path = folder / "bay.yaml"
    path.write_text(text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    order = [part for step in steps for part in step.places]
    return order, [line for step in steps for line in step.instructions]


def test_what_would_bar_a_board_its_straight_way_goes_in_after_it(tmp_path):
    """A shelf that is notched round posts has a way in from above, until the beam is on."""
    order, told = told_of_bay(tmp_path)
    assert order.index("shelf") < order.index("beam") < order.index("cover")
    assert not any(line.startswith("Bow the") for line in told)


def test_an_order_that_the_design_states_is_kept_though_a_board_is_bowed(tmp_path):
    order, told = told_of_bay(tmp_path, BAY.rstrip()[:-1] + ", beam]\n")
    assert order.index("beam") < order.index("shelf")
    assert any(line.startswith("Bow the shelf") for line in told)
