"""Several parts with the same fault are told of in one go, and before anything is drawn: panels that their foam does not take,
parts that no sheet holds. Sizes are our own."""

import re
from dataclasses import replace

import numpy as np
import pytest

from foamwright import Request, Stages, load
from foamwright.errors import BuildError
from foamwright.flatten.panels import mesher_of

HEAD = """
format: 1
name: Balls
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock:
  foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  board: {name: Board, thickness: 3 mm, sheet: [300 mm, 200 mm], material_type: plywood, kerf: 0.2 mm}
"""
BALL = """
forms:
  ball: {kind: superellipsoid, centre: [0, 0, 0], radii: [80 * scale, 80 * scale, 80 * scale], cuts: {mid: {plane: {normal: z}}}}
parts:
  upper: {kind: panel, stock: foam, form: ball, where: {mid: beyond}}
  lower: {kind: panel, stock: foam, form: ball, where: {mid: before}}
"""
BOARDS = """
forms: {}
parts:
  shelf: {kind: plate, stock: board, outline: {rectangle: {width: 310 * scale, height: 50}}, at: {normal: z}}
  back: {kind: plate, stock: board, outline: {rectangle: {width: 320, height: 50}}, at: {origin: [0, 0, 3], normal: z}}
"""


def patterns(tmp_path, text, **given):
    path = tmp_path / "several.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    return Stages(Request(load(path), **given)).record("patterns")


@pytest.mark.parametrize("darts", ["", ", darts: auto"], ids=["without darts", "with the best darts"])
def test_half_balls_are_both_told_of(tmp_path, darts):
    """A hemisphere of foam of 6 mm is strained far beyond 3 % whatever is done."""
    text = BALL.replace("beyond}}", f"beyond}}{darts}}}").replace("before}}", f"before}}{darts}}}")
    with pytest.raises(BuildError, match=r"^panel upper: .* \(and 1 more: panel lower\)$"):
        patterns(tmp_path, text)


def test_a_strained_panel_is_told_where_it_is_strained_most(tmp_path):
    with pytest.raises(BuildError, match=r"at .*, over the limit of 3.0 % of Foam") as told:
        patterns(tmp_path, BALL)
    place = re.search(r"at \((-?\d+), (-?\d+), (-?\d+)\)", str(told.value))
    assert place and np.linalg.norm([float(x) for x in place.groups()]) == pytest.approx(
        83, abs=1
    )  # its neutral surface


def test_boards_that_no_sheet_holds_are_both_told_of(tmp_path):
    with pytest.raises(
        BuildError, match=r"^part shelf: .* 310 x 50 mm and fits no sheet: .* \(and 1 more: part back\)$"
    ):
        patterns(tmp_path, BOARDS)


def test_a_larger_sheet_on_hand_holds_them(tmp_path):
    assert len(patterns(tmp_path, BOARDS, on_hand={"board": [(60.0, 400.0)]}).patterns) == 2


def test_one_fault_is_told_alone(tmp_path):
    """A shelf of 279 mm goes on 300 x 200 less what is left along its edges."""
    with pytest.raises(BuildError, match=r"^part back: [^(]*$"):
        patterns(tmp_path, BOARDS.replace("310 * scale", "279 * scale"))


HOLED = """
forms:
  pipe:
    kind: revolution
    axis: z
    profile: [[0, 60 * scale], [80, 60 * scale]]
    cuts: {front: {plane: {normal: x}}, hole: {prism: {outline: {slot: {length: 40, width: 10}}, along: x, centre: [0, 0, 40], above: 0}}}
parts:
  wall: {kind: panel, stock: foam, form: pipe, where: {front: beyond, hole: outside}}
"""


def test_an_opening_that_closes_when_its_panel_is_laid_flat_is_named(tmp_path):
    """As a slit of 1 mm in foam that is rounded both ways: there its sides cross in the rough map, as those of a bow tie do."""
    piece = next(iter(patterns(tmp_path, HOLED).patterns)).piece
    crossed = np.array([[0, 0], [10, 5], [10, 0], [0, 5], [0, 0]]) + piece.body.chart.flat.mean(0)
    edges = tuple(replace(one, chart=crossed) if one.id == "hole" else one for one in piece.body.edges)
    with pytest.raises(BuildError, match=r"^panel wall: the opening at hole is so narrow that its sides cross"):
        mesher_of(replace(piece, body=replace(piece.body, edges=edges)))
