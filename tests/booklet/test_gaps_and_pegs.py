"""A wall that ends on both sides of a block, and pegs that run through a plate. Every figure follows from the numbers of the design;
sizes are our own."""

from types import SimpleNamespace

import numpy as np
import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.words import cutting

DESIGN = (
    head("Open wall", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  cord: {name: Foam cord 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm]}
parts:
  back:
    kind: plate
    stock: shell
    outline: &body {rectangle: {width: 140 * scale, height: 200 * scale, corner: 50 * scale}}
    at: {origin: [0, 0, 6], normal: -z, up: x}
  block:
    kind: plate
    stock: shell
    layers: 5
    outline: {rectangle: {width: 40 mm, height: 30 mm, centre: [80 * scale, 21 mm]}}
    at: {origin: [0, 15 mm, 0], normal: -y, up: z}
  side:
    kind: band
    stock: shell
    along: {outline: *body, at: {origin: [0, 0, 6], normal: z, up: x}}
    span: {points: [[-15 mm, 100 * scale], [15 mm, 100 * scale]]}
    laid: inside
    from: 0 mm
    to: 30 mm
    trim: {end: 10 mm}
  shelf:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 60 mm, height: 40 mm}}
    minus: [{circle: {radius: 4.2, centre: [0, 0]}}]
    at: {origin: [0, 0, 6], normal: z, up: x}
    paint: red
  peg: {kind: rod, stock: cord, made: bought, from: [0, 0, -9], to: [0, 0, 32], glue: instant, paint: black}
"""
)


HOLES = "[{circle: {radius: 4.2, centre: [0, 0]}}, {circle: {radius: 4.2, centre: [0, 30]}}]"


@pytest.fixture(scope="module")
def text(tmp_path_factory):
    path = tmp_path_factory.mktemp("wall") / "wall.yaml"
    holed = DESIGN.replace(
        "normal: -z, up: x}\n  block",
        "normal: -z, up: x}\n    minus: [{circle: {radius: 4.2, centre: [0, 0]}}]\n  block",
    )
    path.write_text(holed, encoding="utf-8")
    return [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]


def test_a_wall_with_a_gap_is_glued_by_its_ends_and_trimmed_where_it_comes(text):
    lines = [line for line in text if "the side (C)" in line]
    assert any("Glue the block (B) between the ends of the side (C)." in line for line in lines)
    assert not any("all the way round" in line for line in lines)
    (trim,) = [line for line in text if "too long on purpose" in line]
    assert "mark where it ends there" in trim and "where the ends meet" not in trim
    assert "Cut at the end alone that is hatched on its template" in trim  # the other one has its place from the marks


def test_a_strip_is_trimmed_once_that_is_in_place_which_it_ends_at(tmp_path):
    path = tmp_path / "wall.yaml"
    wall = DESIGN[: DESIGN.index("  shelf:")].replace("trim: {end: 10 mm}", "trim: {end: 10 mm}\n    after: [block]")
    wall += "steps:\n  - {title: Build the tray, parts: [back, block, side]}\n"
    path.write_text(wall, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    (step,) = [step for step in steps if any("too long on purpose" in line for line in step.instructions)]
    trim, block = (
        next(n for n, line in enumerate(step.instructions) if part in line)
        for part in ("too long on purpose", "to the block (B)")
    )
    glued = [n for n, line in enumerate(step.instructions) if "Glue" in line and "the block (B)" in line]
    assert glued[0] < trim < glued[-1] == block


def test_a_peg_that_runs_through_is_told_end_by_end_and_masked_in_its_middle(text):
    """Through 6 mm of back and 6 mm of shelf, from 0 to 12: 9 mm out below, 20 above."""
    assert any("stands 9 mm out at the bottom and 20 mm at the top" in line for line in text)
    masks = [line for line in text if "mask what is glued later" in line]
    assert not any("the glued ends" in line for line in masks)


def test_pegs_that_are_cut_to_length_have_no_numbers(tmp_path):
    """Nothing is marked on them, so that each fits every hole."""
    path = tmp_path / "rack.yaml"
    start = DESIGN.index("  back:"), DESIGN.index("  shelf:")
    rack = DESIGN[: start[0]] + DESIGN[start[1] :].replace("[{circle: {radius: 4.2, centre: [0, 0]}}]", HOLES)
    path.write_text(
        rack.replace("glue: instant,", "glue: instant, repeat: {count: 2, step: [30, 0, 0]},"), encoding="utf-8"
    )
    steps = Stages(Request(load(path))).record("steps")
    told = [line for step in steps for line in step.instructions]
    assert any("the 2 pegs (B)" in line for line in told)
    assert "Number what is cut more than once" not in steps[0].heads.values()
    assert not any("copy 1" in line for line in told)


def test_cord_is_not_told_to_be_sawn(text):
    (cut,) = [line for line in text if "It has no template" in line]
    assert cut.startswith("Cut 1 piece of 41 mm from Foam cord 8 mm") or "with a fine saw if it is hard" in cut


def test_a_block_leads_the_blade_along_straight_bevels_alone():
    def pattern(points, bevel):
        edge = SimpleNamespace(bevel=bevel, points=np.array(points, dtype=float))
        piece = SimpleNamespace(thickness=10.0)
        return SimpleNamespace(edges=[edge], split=None, joints=(), drawn_face="inside", piece=piece)

    bow = [(np.cos(a), np.sin(a)) for a in np.linspace(0, 3, 20)]
    straight, curved = pattern([(0, 0), (100, 0)], (22.5,)), pattern(np.array(bow) * 50, (22.5,))
    assert cutting.straight_bevel(straight) == 22.5 and cutting.straight_bevel(curved) == 0.0
    assert cutting.straight_bevel(pattern([(0, 0), (100, 0)], ())) == 0.0
    assert cutting.curved_bevels(curved) and not cutting.curved_bevels(straight)
