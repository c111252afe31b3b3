"""The search for free places."""

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Label
from foamwright.drawing.typesetting import Line, label_block
from foamwright.templates import edges
from foamwright.templates.place import CLEARANCE, Candidates, Field, Ground, rectangles


def field(width=40.0, height=20.0, lines=()):
    return Field(Ground(shapely.box(0, 0, width, height), list(lines)), 0.0)


def text_of(drawn):
    """The one text of one label."""
    (label,) = drawn
    (text,) = label.texts
    return text


@given(st.floats(-720, 720), st.floats(-180, 180))
def test_upright_keeps_the_direction_of_the_line_and_reads_on_the_page(angle, turn):
    turned = Field(Ground(shapely.box(0, 0, 9, 9), []), turn).upright(angle)
    assert -75.0 - 1e-6 <= turned + turn <= 105.0 + 1e-6
    assert abs(np.sin(np.radians(turned - angle))) < 1e-7


def test_rectangles_have_their_size_place_and_angle():
    (box,) = rectangles(np.array([[3.0, 4.0]]), np.array([90.0]), 10.0, 2.0)
    assert np.allclose(box.bounds, (2, -1, 4, 9)) and np.isclose(box.area, 20)


def test_first_free_candidate_is_taken_and_then_occupied():
    block = label_block([Line("label", 3.0)])
    room = field()
    spots = Candidates(np.array([[1.0, 10.0], [20.0, 10.0], [20.0, 4.0]]), np.zeros(3))
    first, second = (text_of(room.first(block, spots, inside=True)) for _ in range(2))
    assert np.isclose(first.at[0], 20.0) and abs(first.at[1] - 10) < 2  # the first one crosses the edge
    assert abs(second.at[1] - 4) < 2
    assert room.first(block, spots, inside=True) is None


def test_two_labels_in_one_row_stand_apart_enough_not_to_be_read_as_one():
    """A space between words is a quarter to a third of the type's size (common practice, no source)."""
    block = label_block([Line("label", 2.8)])
    room = field(80.0, 6.0)
    at = 20.0 + np.arange(0.0, 40.0, 0.1)
    spots = Candidates(np.column_stack([at, np.full(len(at), 3.0)]), np.zeros(len(at)))
    first, second = (text_of(room.first(block, spots, inside=True)) for _ in range(2))
    assert abs(second.at[0] - first.at[0]) - block.width > 2.4


def test_a_block_goes_to_the_middle_and_keeps_clear_of_lines():
    line = shapely.LineString([(0, 10), (40, 10)])
    block = label_block([Line("label", 3.0)])
    text = text_of(field().inside([block], (0.0,)))
    assert np.allclose(text.at[0], 20.0, atol=1.0)
    text = text_of(field(lines=[line]).inside([block], (0.0,)))
    assert abs(text.at[1] - 10) > 3.0 * 0.2 + CLEARANCE


@pytest.mark.parametrize("turn", [0.0, 27.0, 47.0, 133.0])
def test_words_in_a_narrow_strip_find_its_middle_between_the_points_of_the_grid(turn):
    """The grid over a large part is wider than the strip, of which words fill most of the breadth."""
    strip = shapely.affinity.translate(shapely.affinity.rotate(shapely.box(-30.0, -2.0, 30.0, 2.0), turn), 31.7, 12.3)
    field = Field(Ground(shapely.box(-200.0, -200.0, 200.0, 200.0), [strip.boundary]), 0.0)
    block = label_block([Line("J: Rafter", 1.8, bold=True)])
    assert field._ground.step > 4.0 and 2.2 < block.height + 2 * CLEARANCE < 4.0
    angles = field.reading_angles(strip)[0]
    (label,) = field.inside([block], angles, strip)
    assert strip.contains(shapely.Polygon(text_box(label.texts[0])))


def test_a_block_that_does_not_fit_is_not_placed():
    assert field(6, 6).inside([label_block([Line("much too long", 3.0)])], (0.0, 90.0)) is None


def test_outside_gives_a_leader_that_ends_on_the_target():
    room = field()
    target = shapely.Point(40, 10)
    _, leader, head = room.outside(label_block([Line("label", 3.0)]), target)
    assert np.allclose(leader.points[1], (40, 10)) and np.allclose(head.points[0], (40, 10))
    line = shapely.LineString(leader.points)
    assert not shapely.buffer(room.material, -0.05).intersects(line)
    assert shapely.buffer(room.material.boundary, 0.05).intersection(line).length < 1.0  # it does not run along it


def test_outside_finds_a_place_for_a_target_within_the_foam():
    _, leader, _ = field().outside(label_block([Line("label", 3.0)]), shapely.Point(20, 10))
    assert np.allclose(leader.points[1], (20, 10))


def test_words_without_a_leader_stand_by_what_they_are_about():
    """A thin frame all full of words lets no leader through: the label stands near its target and not at the other end."""
    foam = shapely.box(0.0, 0.0, 200.0, 100.0)
    field = Field(Ground(foam, []), 0.0)
    field.draw(shapely.box(-60.0, -60.0, 260.0, 160.0) - shapely.box(-8.0, -8.0, 208.0, 108.0))
    target = shapely.LineString([(5.0, 0.0), (9.0, 0.0)])
    placed = field.outside(label_block([Line("to B", 2.2)]), target)
    (label,) = (item for item in placed if isinstance(item, Label))
    assert np.hypot(*np.subtract(label.texts[0].at, (7.0, 0.0))) < 30.0


def test_a_box_is_tried_against_whole_lines_and_a_place_against_each_of_their_stretches():
    line = shapely.LineString(np.column_stack([np.linspace(2.0, 38.0, 200), 10.0 + np.tile([-2.0, 2.0], 100)]))
    ground = Ground(shapely.box(0, 0, 40, 20), [line])
    assert len(shapely.get_parts(ground.lines)) == 2  # for each of them a point would be looked for in every box
    assert len(ground.segments) == 199 + 4
    boxes = rectangles(np.array([[20.0, 4.0], [20.0, 8.5], [2.0, 18.0]]), np.zeros(3), 3.0, 1.0)
    assert Field(ground, 0.0).free(boxes).tolist() == [True, False, True]


def test_what_is_the_same_in_any_turn_of_a_part_is_worked_out_once():
    square = np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 60.0], [0.0, 60.0]])
    asked = []

    class Counted(edges.Walk):
        def at(self, distance):
            asked.append(len(distance))
            return super().at(distance)

    way = Counted(square[:2], np.array([0.0, 90.0]), np.array([0.0, 90.0]), 1)
    ground = Ground(shapely.Polygon(square), [])
    near = np.linspace(20.0, 70.0, 5)
    placed = [edges._along(way, near, (1.0, 2.0), 3.0, Field(ground, turn)) for turn in (0.0, 180.0)]
    assert len(asked) == 1
    assert (placed[0].centres == placed[1].centres).all() and placed[0].centres[0].tolist() == [20.0, 2.5]
    assert (np.abs(placed[0].angles - placed[1].angles) % 360.0 == 180.0).all()  # upright on both pages
    assert len(edges._along(way, near[:3], (1.0, 2.0), 3.0, Field(ground, 0.0)).centres) == 6


def test_an_edge_is_that_of_a_hole_or_of_the_outline():
    foam = Field(Ground(shapely.box(0, 0, 80, 60) - shapely.box(10, 10, 20, 50) - shapely.box(50, 10, 60, 50), []), 0.0)
    assert foam.hole_at(shapely.LineString([(0, 10), (0, 50)])) is None
    assert foam.hole_at(shapely.LineString([(50, 20), (50, 40)])).equals(shapely.box(50, 10, 60, 50))
    assert field().hole_at(shapely.LineString([(0, 5), (0, 15)])) is None


def test_long_words_about_stretches_in_a_bow_leave_each_other_room_for_their_leaders():
    angles = np.radians(np.linspace(-40.0, 220.0, 131))
    bow = np.column_stack([np.cos(angles), np.sin(angles)])
    room = Field(Ground(shapely.Polygon(np.vstack([62.0 * bow, 48.0 * bow[::-1]])), []), 0.0)
    stretches = [shapely.LineString(48.0 * part) for part in np.array_split(bow, 5)]
    words = label_block([Line("seam 20 to AB, bevel 45°, lower face smaller", 2.2)])
    for stretch in stretches:
        _, leader, _ = room.outside(words, stretch)
        assert stretch.distance(shapely.Point(leader.points[-1])) < 1e-6
        assert np.hypot(*(leader.points[-1] - leader.points[0])) < 20.0
