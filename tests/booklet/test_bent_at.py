"""How far across a round thing is that foam is bent over, and where the arrows of what is set between others point."""

import numpy as np
import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.words.bending import _radius

SEATED = (
    head("Hull with a seat", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm], strain_limit: 0.2}
  structure: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
forms:
  hull:
    kind: loft
    axis: x
    sections:
      - {at: -240 * scale, width: 150, height: 180, centre: [0, 100]}
      - {at: -100 * scale, width: 210, height: 200, centre: [0, 100]}
      - {at: 100 * scale, width: 210, height: 200, centre: [0, 100]}
      - {at: 240 * scale, width: 120, height: 180, centre: [0, 100]}
    cuts:
      centre: {plane: {normal: y}}
      stern: {plane: {normal: x, at: -200 * scale}}
      stem: {plane: {normal: x, at: 200 * scale}}
      sheer: {plane: {normal: z, at: 100}}
parts:
  side:
    kind: panel
    stock: shell
    form: hull
    where: {centre: beyond, stern: beyond, stem: before, sheer: before}
    flush: [sheer]
    mirror: y
  seat:
    kind: bulkhead
    stock: structure
    form: hull
    plane: {normal: z, at: 56}
    within: {rectangle: {width: 400, height: 60, centre: [0, -110]}}
    after: [side]
"""
)


@pytest.mark.parametrize("slope", [0.0, 0.5, 1.0, 2.0])
def test_a_pipe_is_as_wide_at_a_mitre_as_at_an_end_cut_square(slope):
    """The mitre of a cylinder of radius 14 mm runs along it as well as round it."""
    turn = np.linspace(0.0, 2.0 * np.pi, 400)
    normals = np.column_stack([np.cos(turn), np.sin(turn), np.zeros_like(turn)])
    line = 14.0 * normals + slope * 14.0 * np.cos(turn)[:, None] * np.array([0.0, 0.0, 1.0])
    assert _radius(line, normals) == pytest.approx(14.0, rel=0.12 * min(slope, 1.0) + 1e-3)


@pytest.mark.parametrize("count", [3, 12, 24])
def test_scallops_do_not_widen_the_bend(count):
    """Half circles along the edge of a wall round a cylinder of radius 260 mm: where two meet, the edge runs along its axis."""
    phi = np.tile(np.linspace(0.0, np.pi, 60), count)
    wide = 312.0 / count
    along = wide * (np.repeat(np.arange(count), 60) + 0.5) - wide / 2.0 * np.cos(phi)
    normals = np.column_stack([np.cos(along / 260.0), np.sin(along / 260.0), np.zeros_like(along)])
    line = 260.0 * normals + wide / 2.0 * np.sin(phi)[:, None] * np.array([0.0, 0.0, 1.0])
    assert _radius(line, normals) == pytest.approx(260.0, rel=0.02)


def test_a_straight_line_of_a_pipe_is_not_bent_and_a_twisted_one_by_its_twist():
    line = np.column_stack([np.zeros(50), np.zeros(50), np.linspace(0.0, 100.0, 50)])
    assert _radius(line, np.tile([1.0, 0.0, 0.0], (50, 1))) == float("inf")
    turn = line[:, 2] / 80.0
    twisted = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(50)])
    assert _radius(line, twisted) == pytest.approx(80.0, rel=1e-3)


def test_an_arrow_forward_is_not_said_to_point_to_the_side_of_a_hull(tmp_path):
    """The middle of a side lies ahead of a seat that is aft, and the seat meets it beside itself."""
    path = tmp_path / "hull.yaml"
    path.write_text(SEATED, encoding="utf-8")
    text = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any("seat (B)" in line for line in text)
    assert not any("points to" in line for line in text)
