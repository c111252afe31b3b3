"""A cut whose lines touch without an angle between them: both come to the place where they touch, and go no further."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flatten.panel_designs import laid_flat, panel, plane, stock

WIDTH, EDGE = 468.0, 363.868


def awning(count, more=0.0, scale=1.0):
    """A roof of half a tube with half circles along its edge, as many as go beside each other; of a radius that is `more` than
    half their stripe they overlap."""
    stripe, edge, half = WIDTH / count * scale, EDGE * scale, WIDTH / 2 * scale
    circles = {
        "circle": {"radius": stripe / 2 + more, "centre": [stripe / 2 - half, edge]},
        "repeat": {"count": count, "step": [stripe, 0]},
    }
    outline = {
        "rectangle": {"width": 2 * half, "height": 400 * scale, "centre": [0, edge + 200 * scale]},
        "plus": [circles],
    }
    return {
        "kind": "revolution",
        "axis": "y",
        "origin": [-100 * scale, 0, edge - 130 * scale],
        "profile": [[-half - 20, 260 * scale], [half + 20, 260 * scale]],
        "smooth": False,
        "cuts": {"top": plane("x", -100 * scale), "edge": {"prism": {"along": "x", "outline": outline}}},
    }


def laid(folder, form):
    part = panel("roof", {"top": "beyond", "edge": "inside"}, square=["edge"])
    return laid_flat(folder, {"roof": form}, {"awning": part}, stock(sheet=[9000, 9000])).pattern("awning")


@pytest.mark.parametrize(("count", "scale"), [(7, 1), (9, 1), (10, 1), (11, 0.3), (4, 3), (9, 3)])
def test_half_circles_that_touch(tmp_path, count, scale):
    """Round the outline each is half a circle, and the foam between the first and the last of them is as wide as the tube."""
    pattern = laid(tmp_path, awning(count, scale=scale))
    edges = [edge for edge in pattern.edges if edge.id.startswith("edge")]
    assert len(edges) == count
    assert np.ptp(pattern.outline, axis=0).max() > WIDTH * scale - 0.1
    # the tube laid flat: heights become arcs of its neutral surface, 3 mm outside of it
    tube, radius, turn = 260 * scale, WIDTH / count / 2 * scale, np.linspace(0.0, np.pi, 2001)
    around = np.arcsin((130 * scale - radius * np.sin(turn)) / tube) * (tube + 3)
    true = float(np.hypot(np.diff(around), np.diff(radius * np.cos(turn))).sum())
    assert [edge.length for edge in edges[1:-1]] == pytest.approx([true] * (count - 2), abs=0.1, rel=1e-3)


def test_half_circles_that_overlap(tmp_path):
    pattern = laid(tmp_path, awning(9, more=1.0))
    assert sum(edge.id.startswith("edge") for edge in pattern.edges) >= 9
