"""A strip of one piece that goes all the way round is laid on before its ends are joined, and not told as several; what is glued by a
hinge does not stay loose. Sizes are our own."""

from types import SimpleNamespace

import pytest
from small_designs import head, lines_of, stages_of_text

from foamwright.booklet.words import bending

TIN = (
    head("Tin", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1000 mm]}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 60 * scale], [0, 60 * scale], [190, 60 * scale]]
    cuts:
      middle: {plane: {normal: y}}
      foot: {plane: {normal: z, at: 0}}
      low: {plane: {normal: z, at: 60}}
      high: {plane: {normal: z, at: 80}}
      top: {plane: {normal: z, at: 180}}
parts:
  half: {kind: panel, stock: shell, form: wall, laid: outside, where: {middle: beyond, foot: beyond, top: before}, flush: [foot, top], mirror: y}
  girdle: {kind: panel, stock: skin, form: wall, where: {low: beyond, high: before}, over: [half], opened: 180}
"""
)


def test_a_girdle_of_one_piece_round_two_halves_is_laid_on_before_it_is_closed(tmp_path):
    lines = lines_of(stages_of_text(tmp_path, TIN))
    laid = next(i for i, line in enumerate(lines) if "girdle" in line and "lue the girdle" in line)
    closed = next(i for i, line in enumerate(lines) if "Join the two ends of the girdle" in line)
    assert laid < closed
    assert not any("Do not join these strips" in line for line in lines)


HINGED = (
    head("Hinged")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
  cloth: {name: Strong cotton, thickness: 1 mm, sheet: [600 mm, 1000 mm], material_type: cloth}
parts:
  base: {kind: plate, stock: shell, outline: {rectangle: {width: 300, height: 120}}, at: {normal: z, up: y}}
  sill: {kind: plate, stock: shell, outline: {rectangle: {width: 100 mm * scale, height: 100}}, at: {origin: [-60, 0, 6], normal: z, up: y}, lies_on: [base]}
  flap: {kind: plate, stock: shell, outline: {rectangle: {width: 100, height: 100}}, at: {origin: [40, 0, 6], normal: z, up: y}, rests_on: [base], glue: none}
  hinge: {kind: plate, stock: cloth, outline: {rectangle: {width: 40, height: 90}}, at: {origin: [-10, 0, 12], normal: z, up: y}, lies_on: [sill, flap]}
steps:
  - {title: Hang the flap, parts: [flap, hinge]}
"""
)


def test_what_a_hinge_is_glued_to_does_not_stay_loose(tmp_path):
    lines = lines_of(stages_of_text(tmp_path, HINGED))
    assert any("hinge (D)" in line and "flap (C)" in line for line in lines)
    assert not any("goes in now and stays loose" in line for line in lines)


def test_a_girdle_is_not_slid_on(tmp_path):
    assert not any("the girdle (B) in from" in line for line in lines_of(stages_of_text(tmp_path, TIN)))


@pytest.mark.parametrize("where", ["painted", "painted_inside", ""])
def test_what_has_paint_on_it_is_not_rolled_any_more(monkeypatch, where):
    """Not even where that is on its inside alone: it was rolled before it was painted."""
    girdle = SimpleNamespace(id="girdle", placements=(1, 2))
    told = SimpleNamespace(pieces=[girdle], moves=(), riders=(), warmed=(), seams=(), painted=(), painted_inside=())
    setattr(told, where or "riders", ("girdle",) if where else ())
    monkeypatch.setattr(bending, "is_rolled", lambda piece: True)
    monkeypatch.setattr(bending, "bent", lambda told, pieces: [piece.id for piece in pieces])
    assert bending.lines(told) == ([] if where else ["girdle"])
