"""Which edge of a panel has which number follows from where it lies, at every size."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from foamwright.design import load
from foamwright.parts import build_prop
from foamwright.parts.edge_names import numbered
from foamwright.parts.records import PanelEdge

DESIGN = """\
format: 1
name: Egg
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1, min: 0.2, max: 4}, clearance: {value: 1 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: 5 mm, sheet: [2000, 3000]}}
forms:
  egg:
    kind: superellipsoid
    axis: AXIS
    radii: [100 * scale, 60 * scale, 50 * scale]
    exponents: [EXPONENT, 2.2]
    cuts:
      middle: {plane: {normal: y}}
      waist: {plane: {normal: SIDE, at: 10 * scale}}
      rear: {plane: {normal: x, at: -50 * scale}}
parts:
  left: {kind: panel, stock: foam, form: egg, where: {middle: beyond, waist: beyond}}
  right: {kind: panel, stock: foam, form: egg, where: {middle: before, rear: beyond}}
  low: {kind: panel, stock: foam, form: egg, where: {waist: before}}
"""
SIZES = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.3, 1.6, 2.0, 2.5, 3.0)


def places(path: Path, scale: float) -> dict[tuple[str, str], np.ndarray]:
    """The centre of gravity of each edge at scale 1, by part and name."""
    prop = build_prop(load(path, None, {"scale": scale}))
    found = {}
    for piece in prop.pieces:
        for edge in piece.body.edges:
            lengths = np.linalg.norm(np.diff(edge.on_form, axis=0), axis=1)
            middles = (edge.on_form[1:] + edge.on_form[:-1]) / 2
            found[piece.id, edge.id] = np.average(middles, axis=0, weights=lengths) / scale
    return found


@pytest.mark.parametrize(("axis", "exponent", "side"), [("z", 2.0, "z"), ("y", 4.0, "x"), ("x", 2.5, "[1, 0, 1]")])
def test_a_name_means_the_same_edge_at_every_size(tmp_path, axis, exponent, side):
    """The waist is a closed edge of `low`, with a corner wherever one of `left` meets it; poles part edges too."""
    text = DESIGN.replace("AXIS", axis).replace("EXPONENT", str(exponent)).replace("SIDE", side)
    path = tmp_path / "egg.yaml"
    path.write_text(text, "utf-8")
    usual = places(path, 1.0)
    assert ("low", "waist.2") in usual and ("low", "waist.3") not in usual
    for scale in SIZES:
        found = places(path, scale)
        assert set(found) == set(usual), scale
        assert max(np.linalg.norm(found[name] - usual[name]) for name in usual) < 5.0, scale


def line(cut: str, start, end, loop: int = 0) -> PanelEdge:
    """An edge of which only its line on the form, its cut and its loop matter."""
    points, none = np.linspace(start, end, 34), np.zeros((34, 3))
    rest = dict.fromkeys(("chart", "points", "slope", "inner", "outer", "coords", "inner_shift", "outer_shift"), none)
    return PanelEdge(id="", cut=cut, kind="seam", loop=loop, on_form=points, normals=none, **rest)


SQUARE = [
    line("side", (0, 0, 0), (0, -50, 0)),
    line("side", (0, -50, 0), (90, -50, 0)),
    line("side", (90, -50, 0), (90, 0, 0)),
    line("top", (90, 0, 0), (0, 0, 0)),
]


@pytest.mark.parametrize("turn", range(4))
def test_numbers_begin_at_the_foremost_edge_wherever_the_list_does(turn):
    named = numbered(SQUARE[turn:] + SQUARE[:turn])
    x = {edge.id: edge.on_form[:, 0].mean() for edge in named}
    assert x == pytest.approx({"side.1": 90, "side.2": 0, "side.3": 45, "top": 45})


@pytest.mark.parametrize("noise", [-1e-6, 1e-6])
def test_of_edges_equally_far_forward_the_left_one_is_first(noise):
    """As far forward but for what arithmetic leaves; the edges along a slit lie on one line and run opposite ways."""
    left, right = line("rim", (0, 30, 0), (50, 30, 0)), line("rim", (50 + noise, -30, 0), (noise, -30, 0))
    assert [edge.id for edge in numbered([right, left])] == ["rim.2", "rim.1"]
    down, up = line("opened", (0, 0, 80), (0, 0, noise)), line("opened", (0, 0, 0), (0, 0, 80))
    assert [edge.id for edge in numbered([up, down])] == ["opened.2", "opened.1"]


def test_edges_of_openings_come_after_the_rim():
    rim, fore, aft = (
        line("cut", (0, 0, 0), (20, 0, 0)),
        line("cut", (80, 0, 0), (90, 0, 0), 1),
        line("cut", (40, 0, 0), (50, 0, 0), 2),
    )
    assert [edge.id for edge in numbered([rim, fore, aft])] == ["cut.1", "cut.2", "cut.3"]
    assert [edge.id for edge in numbered([aft, fore, rim])] == ["cut.3", "cut.2", "cut.1"]
