"""A cut whose lines touch without an angle between them: what cannot be told is refused with its place."""

from __future__ import annotations

import pytest

from foamwright.errors import BuildError
from tests.flatten.panel_designs import laid_flat, panel, plane, stock

STRIPE, HALF, EDGE = 52.0, 234.0, 363.868


def awning(radius):
    """A roof of half a tube with nine half circles along its edge; those of more than half a stripe's radius overlap."""
    circles = {"circle": {"radius": radius, "centre": [-4 * STRIPE, EDGE]}, "repeat": {"count": 9, "step": [STRIPE, 0]}}
    outline = {"rectangle": {"width": 2 * HALF, "height": 400, "centre": [0, EDGE + 200]}, "plus": [circles]}
    return {
        "kind": "revolution",
        "axis": "y",
        "origin": [-100, 0, EDGE - 130],
        "profile": [[-254, 260], [254, 260]],
        "smooth": False,
        "cuts": {"top": plane("x", -100), "edge": {"prism": {"along": "x", "outline": outline}}},
    }


def test_half_circles_that_touch(tmp_path):
    part = panel("roof", {"top": "beyond", "edge": "inside"}, square=["edge"])
    with pytest.raises(
        BuildError, match=r"edge cannot be told near \(-?\d+, -?\d+, \d+\), where two lines of edge touch"
    ):
        laid_flat(tmp_path, {"roof": awning(STRIPE / 2)}, {"awning": part}, stock(sheet=[3000, 6000]))


def test_half_circles_that_overlap(tmp_path):
    part = panel("roof", {"top": "beyond", "edge": "inside"}, square=["edge"])
    patterns = laid_flat(tmp_path, {"roof": awning(STRIPE / 2 + 1)}, {"awning": part}, stock(sheet=[3000, 6000]))
    assert sum(edge.id.startswith("edge") for edge in patterns.pattern("awning").edges) >= 9
