"""Which edges of a part end where another does: their slant makes its face longer or shorter, that of others does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.proof.bench.foam import Copy, Edge, Touch, beside
from foamwright.proof.bench.lengths import contact_faults
from tests.proof.test_bench_bodies import foam, line, part

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


def test_nothing_may_be_left_of_a_short_edge_on_the_other_face():
    """A corner cut off by less than the foam is thick, between a slanted edge and the foot."""
    cut = [
        ("foot", line(A, (89.0, 0.0))),
        ("cut", line((89.0, 0.0), (90.0, 1.0))),
        ("right", line((90.0, 1.0), C)),
        *SIDES[2:],
    ]
    wall = part("wall", cut, bevels=(10.0, 0.0, 20.0, -30.0, -40.0))
    assert beside(wall, wall.edge("foot")) == (40.0, 20.0)
    assert beside(replace(wall, thickness=0.5), wall.edge("foot")) == (40.0, 0.0)


def test_a_lone_edge_has_none():
    assert beside(replace(WALL, edges=WALL.edges[:1]), WALL.edge("foot")) == (0.0, 0.0)


def test_a_slant_that_changes_along_an_edge_counts_where_it_is_steepest():
    right = replace(WALL.edge("right"), bevel=(5.0, -25.0, 15.0))
    changing = replace(WALL, edges=tuple(right if edge.id == "right" else edge for edge in WALL.edges))
    assert beside(changing, WALL.edge("foot")) == (40.0, 25.0)


@pytest.mark.parametrize(("slanted", "refused"), [("head", True), ("right", False)])
def test_a_foot_is_refused_that_is_4_mm_shorter_than_what_it_touches(slanted, refused):
    """Not so if it may be 5 mm longer on the other face, as one beside it is cut at 40 degrees."""
    wall = part("wall", SIDES, thickness=6.0, bent=False, bevels=[40.0 * (name == slanted) for name, _ in SIDES])
    floor = part("floor", SIDES, thickness=6.0, bent=False)
    touch = Touch(Copy("wall", 1), "foot", Copy("floor", 1), "inside", True, 0.0, 94.0 * 6.0)
    assert bool(contact_faults(replace(foam(wall, floor, sewn=[]), touches=(touch,)))) == refused
