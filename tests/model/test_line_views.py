from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from solid_fixtures import FOAM, Spheroid, hoop, panel, piece, plate, prop, rectangle, ring_points

from foamwright.model.build import build_model
from foamwright.model.polylines import chained
from foamwright.model.views import view


def length(lines):
    return sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines)


def test_a_box_from_above_and_from_a_corner():
    box = build_model(prop(piece("A", plate(rectangle(80, 50)), FOAM, layers=4)))
    above = view(box, [0], (0, 0, -1), (0, 1, 0))
    assert above.bounds == pytest.approx((0, 0, 80, 50), abs=1e-3)
    assert length(above.lines[0]) == pytest.approx(2 * (80 + 50), abs=0.1)
    # From a corner nine of the twelve edges are seen, three of each length, all foreshortened by sqrt(2 / 3):
    # isometric projection, ISO 5456-3 (from memory).
    corner = view(box, [0], (-1, -1, -1), (0, 0, 1))
    assert length(corner.lines[0]) == pytest.approx(3 * (80 + 50 + 20) * np.sqrt(2 / 3), rel=1e-3)


def test_right_is_right_and_up_is_up():
    two = build_model(prop(piece("A", plate(rectangle(10, 10))), piece("B", plate(rectangle(10, 10), (100, 0, 50)))))
    side = view(two, [0, 1], (0, 1, 0), (0, 0, 1))  # from starboard: forward lies to the right
    a, b = (np.vstack(group) for group in side.lines)
    assert a[:, 0].max() == pytest.approx(10, abs=0.1) and b[:, 0].min() == pytest.approx(100, abs=0.1)
    assert b[:, 1].min() == pytest.approx(50, abs=0.1)


def test_what_is_behind_is_hidden_and_each_copy_keeps_its_own_lines():
    stack = prop(
        piece("A", plate(rectangle(80, 50), (0, 0, 40))),
        piece("B", plate(rectangle(40, 20), (10, 10, 0))),
        piece("C", plate(rectangle(40, 20), (60, 10, 0))),
    )
    seen = view(build_model(stack), [0, 1, 2], (0, 0, -1), (0, 1, 0))
    assert length(seen.lines[0]) == pytest.approx(260, abs=0.1)
    assert seen.lines[1] == ()
    assert length(seen.lines[2]) == pytest.approx(20 + 20 + 20, abs=0.2)  # of 60 to 100 only 80 to 100 shows
    alone = view(build_model(stack), [1], (0, 0, -1), (0, 1, 0))
    assert length(alone.lines[0]) == pytest.approx(120, abs=0.1)


def test_the_outline_of_a_sphere_panel_and_a_smooth_joint_that_is_not_drawn():
    form = Spheroid(150.0, 150.0)
    half = build_model(prop(piece("A", panel(form, (0.2, 0.0), (0.8, 0.5)))))
    seen = view(half, [0], (0, -1, 0), (0, 0, 1))
    assert seen.bounds[2] == pytest.approx(155.0, abs=0.5)
    ring = build_model(prop(piece("A", hoop(100.0, -10, 10))))
    side = view(ring, [0], (1, 0, 0), (0, 0, 1))
    # Two rims seen edge-on and two outlines; the joint of the two half hoops in the middle is no edge.
    assert length(side.lines[0]) == pytest.approx(2 * 210 + 2 * 20, rel=0.02)


def test_an_edge_that_lies_on_a_curved_face_is_one_line():
    """A skin on a panel: the skin's rim at the panel's face must not flicker."""
    form = Spheroid(150.0, 220.0)
    pair = prop(
        piece("A", panel(form, (0.2, 0.0), (0.8, 0.45))),
        piece("B", panel(form, (0.4, 0.1), (0.6, 0.35), 5.0)),
    )
    seen = view(build_model(pair), [0, 1], (-0.7, -1, -0.4), (0, 0, 1))
    assert len(seen.lines[1]) <= 8


def test_segments_are_chained():
    ring = np.vstack([ring_points(20, 40), ring_points(20, 40)[:1]])
    segments = np.stack([ring[:-1], ring[1:]], axis=1)
    rng = np.random.default_rng(1)
    shuffled = segments[rng.permutation(40)]
    shuffled[::2] = shuffled[::2, ::-1]
    (line,) = chained(shuffled)
    assert len(line) == 41 and line[0] == pytest.approx(line[-1])
    (line,) = chained(np.array([[(0, 0), (20, 0)], [(42, 0), (22, 0)]], float))  # a gap of 2 mm is closed
    assert length([line]) == pytest.approx(42)
    assert len(chained(np.array([[(0, 0), (20, 0)], [(45, 0), (25, 0)]], float))) == 2  # one of 5 mm is not
    assert len(chained(np.array([[(0, 0), (20, 0)], [(22, 5), (22, 0)]], float))) == 2  # nor around a corner


def test_a_drawing_that_is_all_one_point_has_no_line():
    """A figure of a tenth of a millimetre: each of its edges is shorter than what counts as one point."""
    angle = np.linspace(0.0, 2.0 * np.pi, 60)
    ring = 0.005 * np.column_stack([np.cos(angle), np.sin(angle)])
    assert chained(np.stack([ring[:-1], ring[1:]], axis=1)) == []
