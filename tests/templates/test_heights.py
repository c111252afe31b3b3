"""Dimensions from an edge to what goes on the part, from elementary geometry."""

import math

import numpy as np
import pytest
import shapely
import template_props as props

from foamwright.drawing.primitives import Path, Text
from foamwright.templates import edges
from foamwright.templates.heights import dimension, heights
from foamwright.templates.place import Field, Ground
from foamwright.templates.records import Mark

UPPER = props.disc(9.0, "floor", "B", "Floor").piece


def wall(outline, sides, region, up=(0.0, 1.0)):
    """The heights of one mark on a part with the given sides."""
    part = props.pattern(props.piece("wall", "A", "Wall", props.flat_body(outline)), outline, edges=sides, up=up)
    foam = shapely.Polygon(outline)
    mark = Mark(UPPER, tuple(shapely.get_coordinates(r) for r in (region.exterior, *region.interiors)), region, True)
    return heights(part, (mark,), [edges.walk(edge, foam) for edge in part.edges], foam), foam, mark


def rectangle(width=200.0, height=120.0):
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    sides = [props.edge(f"side_{i}", np.vstack([corners[i], corners[(i + 1) % 4]])) for i in range(4)]
    return corners, sides


@pytest.mark.parametrize("turn, expected", [((0.0, 1.0), 60.0), ((0.0, -1.0), 50.0)])
def test_a_floor_across_a_wall_is_told_over_the_lower_edge(turn, expected):
    """10 mm of floor from 60 to 70 mm on a wall 120 mm high: 60 mm over the one edge, 50 mm from the other."""
    (height,), *_ = wall(*rectangle(), shapely.box(0, 60, 200, 70), turn)
    assert height.distance == pytest.approx(expected, abs=1e-6)


def test_a_floor_that_slopes_has_no_one_height():
    slope = shapely.Polygon([(0, 60), (200, 75), (200, 85), (0, 70)])
    assert wall(*rectangle(), slope)[0] == ()


@pytest.mark.parametrize("low", [0.0, 110.0])
def test_what_is_flush_with_an_edge_needs_no_height(low):
    """10 mm of wall along the lower or the upper edge of 120 mm: the edge itself tells where."""
    assert wall(*rectangle(), shapely.box(0, low, 200, low + 10))[0] == ()


def test_an_edge_that_runs_along_a_little_of_a_floor_does_not_take_its_height():
    """A door of 60 mm whose head is at the underside of the floor, in a wall of 200 mm."""
    outline = np.array([[0, 0], [70, 0], [70, 60], [130, 60], [130, 0], [200, 0], [200, 120], [0, 120]], float)
    names = ("foot", "jamb", "head", "jamb_2", "foot_2", "right", "top", "left")
    sides = [props.edge(name, np.vstack([outline[i], outline[(i + 1) % 8]])) for i, name in enumerate(names)]
    (height,), *_ = wall(outline, sides, shapely.box(0, 60, 200, 70))
    assert height.distance == pytest.approx(60.0, abs=1e-6)


def test_a_stud_in_the_middle_has_none():
    assert wall(*rectangle(), shapely.Point(100, 60).buffer(8))[0] == ()


def test_a_ring_on_a_cone_is_told_along_the_wall():
    """The development of a cone from 200 to 300 mm from its tip over 90 degrees: a band from 230 to 240 mm lies 60 mm from
    the wide edge and 30 mm from the narrow one."""
    turn = np.linspace(0.0, math.pi / 2, 181)
    arc = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    outline = np.vstack([300 * arc, 200 * arc[::-1]])
    sides = [props.edge("wide", 300 * arc), props.edge("narrow", 200 * arc[::-1])]
    band = shapely.Polygon(np.vstack([240 * arc, 230 * arc[::-1]]))
    (height,), *_ = wall(outline, sides, band, up=None)
    assert height.distance == pytest.approx(30.0, abs=0.05)


def test_the_dimension_runs_from_the_edge_to_the_line_with_its_number_beside():
    (height,), foam, mark = wall(*rectangle(), shapely.box(0, 60, 200, 70))
    field = Field(Ground(foam, [shapely.LineString(mark.lines[0])]), 0.0)
    drawn = dimension(height, field)
    (text,) = [t for item in drawn for t in getattr(item, "texts", (item,)) if isinstance(t, Text)]
    assert text.value == "60.0 mm"
    (shaft,) = [item for item in drawn if isinstance(item, Path) and len(item.points) == 2]
    assert np.ptp(shaft.points[:, 0]) < 1e-6 and sorted(shaft.points[:, 1]) == pytest.approx([0.0, 60.0])
    assert sum(isinstance(item, Path) and item.closed for item in drawn) == 2


def test_where_words_leave_no_room_there_is_no_dimension():
    (height,), foam, mark = wall(*rectangle(), shapely.box(0, 60, 200, 70))
    field = Field(Ground(foam, [shapely.LineString(mark.lines[0])]), 0.0)
    field.draw(shapely.box(0, 20, 200, 40))
    assert dimension(height, field) == ()
