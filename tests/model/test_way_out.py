"""Whether a figure can leave a prop: a ball of 48 in a tube of 60 with lids, by what geometry says."""

from dataclasses import replace

import cadquery as cq
import pytest
from test_figure_entry import ball, figure, tube
from test_stability import solid, standing

from foamwright.model.placed import placed_copies
from foamwright.model.way_out import shut_in, told


def lid(low, hole=0.0):
    disc = cq.Solid.makeCylinder(70.0, 10.0, cq.Vector(0, 0, low))
    return (disc.cut(cq.Solid.makeCylinder(hole, 10.0, cq.Vector(0, 0, low))) if hole else disc).Solids()[0]


def room(top=0.0, bottom=0.0, loose=""):
    """A tube 200 high with two lids, each with a hole of that radius; `loose` is the part that is not glued."""
    model = standing(solid(tube(60, 70, 0, 200)), solid(lid(200, top), label="B"), solid(lid(-10, bottom), label="C"))
    pieces = tuple(replace(p, glue="none") if p.id == loose else p for p in model.prop.pieces)
    return replace(model, prop=replace(model.prop, pieces=pieces))


@pytest.mark.parametrize(
    ("holes", "loose", "caught"),
    [
        ((0.0, 0.0), "", True),  # both ends closed
        ((49.0, 0.0), "", False),  # up through the lid: 1 mm of room
        ((0.0, 49.0), "", False),  # and down
        ((46.0, 46.0), "", True),  # holes smaller than the ball
        ((0.0, 0.0), "pB", False),  # the upper lid comes off
    ],
)
def test_a_ball_leaves_through_a_hole_that_is_larger_or_under_a_lid_that_comes_off(holes, loose, caught):
    model = room(*holes, loose)
    shut = shut_in(model.prop, placed_copies(model), figure(ellipsoid=ball(48.0, z=100.0)))
    assert shut is caught


def test_the_maker_is_told_unless_the_design_says_how_it_gets_in():
    model = room()
    inside = {"ellipsoid": ball(48.0, z=100.0)}
    (note,) = told(model.prop, placed_copies(model), figure(**inside))
    assert "shut in" in note and "enters" in note
    assert told(model.prop, placed_copies(model), figure((0, 0, -1), **inside)) == []
    assert told(model.prop, placed_copies(model), None) == []


def test_a_lid_far_off_bars_the_way_as_well():
    """The ball lies 10 mm above the lower lid and 150 mm below the upper one."""
    model = room()
    assert shut_in(model.prop, placed_copies(model), figure(ellipsoid=ball(20.0, z=30.0)))
