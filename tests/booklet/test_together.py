"""The figure of a pair: worn on one arm, and drawn in both."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from block_props import piece, scene

from foamwright.booklet.pictures.prop_pictures import in_each
from foamwright.booklet.pictures.together import Together
from foamwright.parts.records import Placement

LEFT = np.array([0.0, 100.0, 20.0])  # where the figure's middle is


def pair():
    """Two guards of a plate and a strip each, mirrored from one side to the other."""
    parts = [
        piece("plate", (60, 60, 10), (0, 100, 0)), piece("strip", (60, 20, 10), (0, 100, 10)),
        piece("other-plate", (60, 60, 10), (0, -100, 0)), piece("other-strip", (60, 20, 10), (0, -100, 10)),
    ]  # fmt: skip
    found = scene(*parts)
    mirrored = np.diag([1.0, -1.0, 1.0, 1.0])
    both = (Placement(np.eye(4), False), Placement(mirrored, True))
    pieces = tuple(replace(p, id=p.id.removeprefix("other-"), placements=both) for p in found.pieces)
    return replace(found, pieces=pieces, matrices=(np.eye(4), np.eye(4), mirrored, mirrored))


def test_the_figure_is_drawn_in_both_things_of_a_pair():
    arm = trimesh.creation.box((20.0, 30.0, 80.0), trimesh.transformations.translation_matrix(LEFT))
    bodies = pair()
    copies, moves = Together(bodies).at_figure(arm.vertices)
    assert copies == [0, 1] and len(moves) == 1
    points, triangles = in_each(bodies, (arm.vertices, arm.faces))
    both = trimesh.Trimesh(points, triangles, process=False)
    assert both.volume == pytest.approx(2.0 * 20.0 * 30.0 * 80.0)  # the other one is not turned inside out
    assert both.bounds[:, 1] == pytest.approx([-115.0, 115.0])


def test_a_prop_in_one_piece_has_one_figure():
    bodies = scene(piece("plate", (60, 60, 10)), piece("strip", (60, 20, 10), (0, 0, 10)))
    arm = trimesh.creation.box((20.0, 30.0, 80.0))
    assert Together(bodies).at_figure(arm.vertices) == ([0, 1], [])
    assert len(in_each(bodies, (arm.vertices, arm.faces))[0]) == 8
