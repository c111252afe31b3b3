"""Which edges of a part end where another does: their slant makes its face longer or shorter, that of others does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.proof.bench.foam import Edge, beside
from tests.proof.test_bench_bodies import line, part

A, B, C, D = (0.0, 0.0), (90.0, 0.0), (90.0, 40.0), (0.0, 40.0)
SIDES = [("foot", line(A, B)), ("right", line(B, C)), ("head", line(C, D)), ("left", line(D, A))]
WALL = part("wall", SIDES, bevels=(10.0, 20.0, -30.0, -40.0))
HOLE = Edge("hole", (np.array([(20.0, 1.0), (30.0, 9.0), (40.0, 1.0), (20.0, 1.0)]),), (), (50.0,), True)


@pytest.mark.parametrize(
    ("name", "slants"),
    [("foot", (40.0, 20.0)), ("right", (10.0, 30.0)), ("head", (20.0, 40.0)), ("left", (30.0, 10.0))],
)
def test_those_at_its_ends_count_and_not_the_one_across(name, slants):
    assert beside(WALL, WALL.edge(name)) == slants


def test_the_rim_of_a_hole_ends_nowhere():
    holed = replace(WALL, edges=(HOLE, *WALL.edges))
    assert beside(holed, HOLE) == (0.0, 0.0)
    assert beside(holed, WALL.edge("foot")) == (40.0, 20.0)


def test_those_past_a_gap_count_and_a_lone_edge_has_none():
    gap = replace(WALL, edges=tuple(edge for edge in WALL.edges if edge.id != "left"))
    assert beside(gap, WALL.edge("foot")) == (30.0, 20.0)
    assert beside(replace(WALL, edges=WALL.edges[:1]), WALL.edge("foot")) == (0.0, 0.0)


def test_a_slant_that_changes_along_an_edge_counts_where_it_is_steepest():
    right = replace(WALL.edge("right"), bevel=(5.0, -25.0, 15.0))
    changing = replace(WALL, edges=tuple(right if edge.id == "right" else edge for edge in WALL.edges))
    assert beside(changing, WALL.edge("foot")) == (40.0, 25.0)
