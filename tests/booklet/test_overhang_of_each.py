"""How far a lid stands out beyond the walls that it lies on, of which some stand further in."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

CASE = (
    head("Case")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
parts:
  floor:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 280 mm * scale, height: 180 mm}}
    at: {origin: [0, 0, -10], normal: z, up: y}
  side:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 200, height: 60, centre: [0, 30]}}
    at: {origin: [0, 70, 0], normal: -y, up: z}
    mirror: y
  wall:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 120, height: 60, centre: [0, 30]}}
    at: {origin: [WALL, 0, 0], normal: -x, up: z}
    mirror: x
  lid:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 214, height: 154}}
    at: {origin: [0, 0, 60], normal: z, up: y}
"""
)


@pytest.mark.parametrize(
    ("wall", "others"),
    [(97.4, "the 2 sides (B)"), (90, "the 2 sides (B)"), (100, "the 2 sides (B) and the 2 walls (C)")],
)
def test_only_the_walls_that_the_figure_holds_for_are_named(tmp_path, wall, others):
    """The lid is 7 mm longer and wider than the sides at every end; the walls end 2.6 mm, 10 mm and 0 mm further in."""
    path = tmp_path / "case.yaml"
    path.write_text(CASE.replace("WALL", str(wall)), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    lines = [line for step in steps for line in step.instructions if "stands 7 mm" in line and "lid" in line]
    assert lines == [f"Check: the lid (D) stands 7 mm (\u00b1 2 mm) out beyond {others} all round."]
