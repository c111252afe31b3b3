"""A seam edge is parted exactly where another panel's corner meets it."""

import numpy as np
import pytest
import shapely
import space_designs

from foamwright import Request, Stages
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


def test_where_one_seam_ends_and_the_next_begins_on_a_smooth_edge_there_is_a_t(monkeypatch):
    """The long panel's upper edge is parted at 50 of its 180 degrees; at corners no edge has a T, nor have the two panels."""
    monkeypatch.setattr(space_designs, "HEAD", space_designs.HEAD.replace("parts:\n", FORM + "parts:\n"))
    drawn = {t.pattern.piece.id: t for t in Stages(Request(space_designs.design(PARTS))).record("templates")}
    marks = {part: [i for i in t.drawing.flat if getattr(i, "layer", "") == "seam-end"] for part, t in drawn.items()}
    assert [len(marks[part]) for part in ("low", "left", "right")] == [2, 0, 0]
    stem, bar = marks["low"]
    edges = [e for e in drawn["low"].pattern.edges if e.id.startswith("mid")]
    off = np.hypot(*(np.array([e.points[k] for e in edges for k in (0, -1)]) - stem.points[0]).T)
    assert sorted(off)[:2] == pytest.approx([0.0, 0.0], abs=1e-6)
    whole = sum(e.length for e in edges)
    assert sorted(e.length / whole for e in edges) == pytest.approx([50 / 180, 130 / 180], abs=1e-3)
    foam = shapely.Polygon(drawn["low"].pattern.outline)
    assert foam.contains(shapely.LineString(bar.points)) and np.ptp(stem.points, axis=0).max() > 4.0
