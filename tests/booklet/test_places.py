"""Where parts sit, what stands first and what is painted when: a box on the ground with a vault, a loose door with its knob, and
a lens in a ring. Every figure follows from the numbers of the design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Box with a vault")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [1000 mm, 600 mm]}
forms:
  vault:
    kind: revolution
    axis: x
    origin: [0, 0, 90]
    profile: [[0, 80], [260, 80]]
    smooth: false
    cuts:
      spring: {plane: {normal: z, at: 90}}
      front: {plane: {normal: x, at: 0}}
      rear: {plane: {normal: x, at: 260}}
parts:
  roof: {kind: panel, stock: shell, form: vault, laid: inside, where: {spring: beyond, front: beyond, rear: before}}
  rib:
    kind: band
    stock: thin
    along: {hoop: {form: vault, plane: {normal: x, at: 220}}}
    over: []
    width: 20 mm
    span: {angles: [0, 180]}
    laid: outside
  floor:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 280 mm, height: 160 mm}}
    at: {origin: [130, 0, -10], normal: z, up: y}
  side:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 260 mm, height: 90 mm}}
    at: {origin: [130, 74, 45], normal: y, up: z}
    mirror: y
  door:
    kind: plate
    stock: shell
    outline: {path: {from: [-80, 0], steps: [[80, 0], [80, 90], {to: [-80, 90], through: [0, 170]}]}}
    at: {origin: [0, 0, 0], normal: -x, up: z}
    glue: none
    rests_on: [floor]
  knob: {kind: disc, stock: thick, radius: 12 mm * scale, at: {origin: [-6, 0, 120], normal: -x}, lies_on: [door]}
  ring: {kind: ring, stock: thick, outer_radius: 20 mm, inner_radius: 12 mm, at: {origin: [200, -80, 50], normal: -y}, lies_on: [side]}
  lens: {kind: disc, stock: thin, radius: 12 mm, at: {origin: [200, -80, 50], normal: -y}, lies_on: [side]}
"""
)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    path = tmp_path_factory.mktemp("box") / "box.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def step_of(steps, part):
    return next(step for step in steps if part in step.places)


def test_what_stands_on_the_ground_is_set_up_before_what_it_carries(steps):
    """Nothing in the design says so; the roof, a shell, would else come first and hang in the air."""
    order = [step_of(steps, part).number for part in ("floor", "side", "roof", "rib")]
    assert order == sorted(order) and order[0] < order[2]


def test_a_strip_across_a_panel_is_told_by_the_edge_that_is_nearer(steps):
    """Its middle is at 220 of 260 mm and it is 20 mm wide: 260 - 220 - 10 = 30 mm."""
    assert any("runs 30 mm" in line and "rib" in line for line in step_of(steps, "rib").instructions)


def test_a_lens_is_told_to_lie_as_deep_in_its_ring_as_it_is_thinner(steps):
    """10 mm of ring and 2 mm of lens, both on one face; no rule reaches the side that lies on the wall."""
    text = " ".join(step_of(steps, "lens").instructions)
    assert "lies 8 mm deep in the hole" in text and "rim of the hole" not in text


def test_a_loose_door_gets_its_knob_then_paint_and_is_laid_in_last(steps):
    bench = next(step for step in steps if "knob" in step.bench)
    paint = [step for step in steps if "primer" in step.uses]
    laid = step_of(steps, "door")
    assert len(paint) == 1 and {"door", "knob"} <= set(paint[0].parts)
    assert bench.number < paint[0].number < laid.number
    assert laid.title == "Put the door in place, without glue" and laid.glue == ""
    assert not any("stays unpainted" in line for step in steps for line in step.instructions)
