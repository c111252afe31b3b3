"""Whether a figure can leave a prop: a ball of 48 in a tube of 60 with lids, by what geometry says."""

import cadquery as cq
import pytest
from test_figure_entry import ball, figure, tube
from test_stability import solid, standing

from foamwright.model import way_out
from foamwright.model.figure import reaches_into
from foamwright.model.placed import placed_copies
from foamwright.model.way_out import shut_in, told


def lid(low, hole=0.0):
    disc = cq.Solid.makeCylinder(70.0, 10.0, cq.Vector(0, 0, low))
    return (disc.cut(cq.Solid.makeCylinder(hole, 10.0, cq.Vector(0, 0, low))) if hole else disc).Solids()[0]


def room(top=0.0, bottom=0.0):
    """A tube 200 high with two lids, each with a hole of that radius, and a knob on the upper one."""
    knob = cq.Solid.makeCylinder(10.0, 20.0, cq.Vector(60, 0, 210))
    return placed_copies(
        standing(
            solid(tube(60, 70, 0, 200)),
            solid(lid(200, top), label="B"),
            solid(lid(-10, bottom), label="C"),
            solid(knob, label="D"),
        )
    )


def groups(*parts):
    """Parts that are glued together, by their letters."""
    return [{(f"p{label}", 1) for label in group} for group in parts]


@pytest.mark.parametrize(
    ("holes", "glued", "caught"),
    [
        ((0.0, 0.0), ["ABCD"], True),  # both ends closed
        ((49.0, 0.0), ["ABCD"], False),  # up through the lid: 1 mm of room
        ((0.0, 49.0), ["ABCD"], False),  # and down
        ((46.0, 46.0), ["ABCD"], True),  # holes smaller than the ball
        ((0.0, 0.0), ["AC", "BD"], False),  # the upper lid comes off, and its knob with it
        ((0.0, 0.0), ["ABC", "D"], True),  # the knob alone comes off
        ((0.0, 0.0), ["A", "B", "C", "D"], False),
    ],
)
def test_a_ball_leaves_through_a_hole_that_is_larger_or_under_a_lid_that_comes_off(holes, glued, caught):
    assert shut_in(groups(*glued), room(*holes), figure(ellipsoid=ball(48.0, z=100.0))) is caught


def test_the_maker_is_told_unless_the_design_says_how_it_gets_in():
    one = groups("ABCD")
    inside = {"ellipsoid": ball(48.0, z=100.0)}
    (note,) = told(one, room(), figure(**inside))
    assert "shut in" in note and "enters" in note
    assert told(one, room(), figure((0, 0, -1), **inside)) == []
    assert told(one, room(), None) == []


def test_a_lid_far_off_bars_the_way_as_well():
    """The ball lies 10 mm above the lower lid and 150 mm below the upper one."""
    assert shut_in(groups("ABCD"), room(), figure(ellipsoid=ball(20.0, z=30.0)))


def test_a_way_is_given_up_at_the_first_copy_that_bars_it(monkeypatch):
    """And that copy is looked at first on the next way: the tube bars all that are not straight up or down."""
    asked = []

    def counted(copies, solids, tolerance):
        asked.append([copy.part for copy in copies])
        return reaches_into(copies, solids, tolerance)

    monkeypatch.setattr(way_out, "reaches_into", counted)
    assert shut_in(groups("BCDA"), room(), figure(ellipsoid=ball(48.0, z=100.0)))
    _, *tried = asked  # the first asks for what it runs into at home
    assert sum(map(len, tried)) < 26 + 3 * 4
