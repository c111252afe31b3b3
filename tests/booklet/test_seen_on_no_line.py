"""What no line on the paper tells: how far a part stands out beyond the face that it is glued on, corners that meet in a line, a bar
that runs through, a way in that is too narrow, where the figure is tried. Seen on a gate with a roof, flat parts alone."""

import re

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Gate", "1 mm")
    + """\
stock:
  board: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}
  thin: {name: EVA foam 5 mm, thickness: 5 mm, sheet: [600 mm, 1000 mm]}
  dowel: {name: Wooden dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm]}
parts:
  ring: {kind: ring, stock: board, outer_radius: 100 * scale, inner_radius: 66, at: {origin: [0, 0, 20], normal: z}}
  post:
    kind: plate
    stock: board
    outline: {polygon: {points: [[-12, 0], [12, 0], [12, 150 - 12 * tan(40 deg)], [0, 150], [-12, 150 - 12 * tan(40 deg)]]}}
    minus: [{circle: {radius: 4.5, centre: [0, 50]}}]
    at: {origin: [70, 0, 30], normal: -x, up: z}
    repeat: {around: {count: 2, axis: z}}
  bar:
    kind: rod
    stock: dowel
    from: [-84, 0, 80]
    to: [90, 0, 80]
    after: [post]
    glue: instant
  roof:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 180, height: 90, centre: [0, -45]}}
    at: {origin: [0, 0, 30 + 150], normal: [0, sin(40 deg), cos(40 deg)], up: [0, -cos(40 deg), sin(40 deg)]}
    mirror: y
  batten:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 60, height: 20}}
    at: {origin: [0, -83, 30], normal: z, up: x}
    lies_on: [ring]
figure:
  name: toy dragon
  solids:
    - ellipsoid: {centre: [0, 0, 50], radii: [40, 20, 20]}
stands: {down: -z}
"""
)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    path = tmp_path_factory.mktemp("gate") / "gate.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def text(steps):
    return " ".join(line for step in steps for line in step.instructions)


def test_a_foot_beyond_a_hole_is_told(steps):
    """A post 10 mm thick from x = 60 to 70 over a hole with a radius of 66 mm: 6 mm in its middle, where the hole is nearest."""
    assert "each post (B) stands 6 mm (± 2 mm) out over the edge of the hole in the ring (A)" in text(steps)


def test_what_lies_over_two_sides_is_not_told_of_one(steps):
    """The batten is 60 mm across on a ring that is 34 mm wide: it stands out over the hole and beyond the rim."""
    assert not re.search(r"batten \(\w\) stands", text(steps))


def test_corners_that_meet_in_a_line_are_told(steps):
    """Square-edged slopes with their inside faces at the point of the posts: 180 mm of ridge, and a groove above it."""
    told = text(steps)
    assert told.count("meet only along a line") == 1
    assert "roofs (D) meet only along a line at the top, 180 mm long" in told


def test_a_bar_that_runs_through_is_not_pushed_into_holes(steps):
    """Its ends at x = -84 and 90, the outer faces of the posts at -70 and 70."""
    told = text(steps)
    assert "into the holes" not in told
    assert (
        "through the holes of the 2 posts (B)" in told
        and "It stands 14 mm out at the back and 20 mm at the front" in told
    )


def test_the_figure_is_tried_at_the_part_that_leaves_it_least_room(steps):
    """The top of the dragon at 50 + 20 mm, the underside of the bar at 80 - 4; the posts are 20 mm off it."""
    (step,) = [step for step in steps if any("toy dragon" in line for line in step.instructions)]
    (line,) = [line for line in step.instructions if "toy dragon" in line]
    assert "bar" in step.parts and "hold the bar (C) in its place with tape" in line and "6.0 mm" in line


def test_what_stands_free_is_set_upright_with_a_set_square(steps):
    """The posts stand on the ring by their feet alone; the batten lies flat."""
    step = next(step for step in steps if "post" in step.parts and step.glue and step.number > 2)
    lines = [line for line in step.instructions if "set square" in line]
    assert len(lines) == 1 and "2 posts (B) upright" in lines[0] and "set-square" in step.uses


TENT = """
format: 1
name: Tent
version: 0.1.0
licence: CC-BY-4.0
summary: Four slopes round a pole on a board.
parameters:
  scale: {value: 1, note: Larger or smaller}
  clearance: {value: 1 mm, note: Gap around what is let in}
sizes: {shelf: {note: for a shelf}}
stock:
  board: {name: EVA foam 8 mm, thickness: 8 mm, sheet: [600 mm, 1000 mm]}
  dowel: {name: Wooden dowel 6 mm, thickness: 6 mm, sheet: [6 mm, 1000 mm], density: 700}
parts:
  ground:
    kind: plate
    stock: board
    outline: {rectangle: {width: 180 * scale, height: 180 * scale}}
    at: {origin: [0, 0, 0], normal: z, up: x}
  pole: {kind: rod, stock: dowel, from: [0, 0, 8], to: [0, 0, 200]}
  slope:
    kind: plate
    stock: board
    outline: {polygon: {points: [[-70, 0], [70, 0], [0, (70 ** 2 + 150 ** 2) ** 0.5]]}}
    at: {origin: [70, 0, 8], normal: [150, 0, 70], up: [-70, 0, 150]}
    repeat: {around: {count: 4, axis: z}}
"""


def test_slopes_all_round_are_measured_nowhere_inside(tmp_path):
    """Four slopes whose corners run from (70, 70) to the point 150 mm up: sqrt(70^2 + 70^2 + 150^2) = 180 mm each. No rule goes
    from the middle of one to the middle of the next, and a pole is not spread by hand."""
    path = tmp_path / "tent.yaml"
    path.write_text(TENT, encoding="utf-8")
    told = text(Stages(Request(load(path))).record("steps"))
    assert "meet each other only along lines, each 180 mm long" in told
    assert "from the middle of one slope" not in told and "spread the pole" not in told
