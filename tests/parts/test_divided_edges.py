"""A seam edge is parted exactly where another panel's corner meets it."""

import numpy as np
import pytest
import space_designs

from foamwright.parts import build_prop

# two panels of a tube above a long one; their common corner stands at 50 degrees, between two points of the long edge
PARTS = """\
  low: {kind: panel, stock: foam, form: pipe_, where: {side: beyond, foot: beyond, mid: before}}
  left: {kind: panel, stock: foam, form: pipe_, where: {side: beyond, mid: beyond, top: before, part: beyond}}
  right: {kind: panel, stock: foam, form: pipe_, where: {side: beyond, mid: beyond, top: before, part: before}}
"""
FORM = """\
  pipe_:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 70], [200, 70]]
    cuts:
      side: {plane: {normal: y}}
      foot: {plane: {normal: z, at: 10}}
      mid: {plane: {normal: z, at: 90}}
      top: {plane: {normal: z, at: 190}}
      part: {plane: {normal: [0.7660444, -0.6427876, 0]}}
"""


def test_each_stretch_is_as_long_as_the_edge_that_it_meets(monkeypatch):
    """Arcs of 50 and 130 degrees at the neutral radius (arc length)."""
    monkeypatch.setattr(space_designs, "HEAD", space_designs.HEAD.replace("parts:\n", FORM + "parts:\n"))
    prop = build_prop(space_designs.design(PARTS))
    edges = [edge for edge in prop.piece("low").body.edges if edge.cut == "mid"]
    found = sorted(float(np.linalg.norm(np.diff(edge.points, axis=0), axis=1).sum()) for edge in edges)
    assert found == pytest.approx([73 * np.radians(50), 73 * np.radians(130)], abs=0.01)
    ends = [edge.points[0] for edge in edges] + [edge.points[-1] for edge in edges]
    corner = 73 * np.array([np.cos(np.radians(50)), np.sin(np.radians(50))])
    assert sum(np.linalg.norm(end[:2] - corner) < 0.01 for end in ends) == 2
