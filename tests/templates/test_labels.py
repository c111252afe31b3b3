"""Labels of what is glued on top: on the foam where there is room, else said once beside it."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import template_props as props

from foamwright.drawing.primitives import Drawing, Path
from foamwright.drawing.style import STYLES
from foamwright.templates import edges, wording
from foamwright.templates.labels import mark_labels
from foamwright.templates.marks import Mark
from foamwright.templates.place import Field, Ground

TOLD = wording.Told(props.disc(9.0).piece)


def studs(places):
    """Marks of a small disc, one at each of `places`."""
    upper = props.disc(2.0, "stud", "AQ", "Hatch stud").piece
    rings = [props.circle(2.0, place, 24 + 2 * k) for k, place in enumerate(places)]
    closed = [np.vstack([ring, ring[:1]]) for ring in rings]
    return [Mark(upper, (line,), shapely.Polygon(line), False) for line in closed]


def labelled(width, height, places):
    marks = studs(places)
    ground = Ground(shapely.box(0, 0, width, height), [shapely.LineString(m.lines[0]) for m in marks])
    field = Field(ground, 0.0)
    drawn = mark_labels(marks, field, TOLD)
    foam = shapely.box(0, 0, width, height)
    words = [text for label in Drawing(drawn).labels for text in label.texts]
    return words, [i for i in drawn if isinstance(i, Path) and len(i.points) == 2], foam, marks


def test_each_copy_has_its_label_where_there_is_room():
    words, leaders, foam, _ = labelled(120.0, 60.0, [(20.0, 20.0), (60.0, 20.0), (100.0, 40.0)])
    assert len(words) == 3 and not leaders
    assert all("other face" in text.value for text in words)
    assert all(foam.contains(shapely.Point(text.at)) for text in words)


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ([(6.0, 4.0)], "AQ: Hatch stud, on the other face"),
        ([(6.0, 4.0), (12.0, 4.0), (18.0, 4.0)], "3 x AQ: Hatch stud, on the other face"),
    ],
)
def test_copies_without_room_are_said_once_with_a_leader_to_one_of_them(places, said):
    words, (leader,), foam, marks = labelled(24.0, 8.0, places)
    assert [text.value for text in words] == [said]
    assert not foam.contains(shapely.Point(words[0].at))
    outlines = shapely.union_all([shapely.LineString(m.lines[0]) for m in marks])
    assert outlines.distance(shapely.Point(leader.points[1])) < 1e-6


def test_many_copies_without_room_in_them_are_said_once_on_the_foam():
    """Forty labels with as many leaders would be a thicket, and of forty small marks in a row each is plain."""
    row = [(10.0 + 6.0 * k, 30.0) for k in range(30)]
    words, leaders, foam, _ = labelled(200.0, 60.0, row)
    assert [text.value for text in words] == ["30 x AQ: Hatch stud, on the other face"] and len(leaders) == 1
    assert foam.contains(shapely.Point(words[0].at))
    words, leaders, foam, _ = labelled(200.0, 60.0, row[:4])
    assert len(words) == 4


def test_a_mark_for_the_face_that_is_not_drawn_on_has_lines_and_words_of_its_own():
    (other,) = studs([(20.0, 20.0)])
    this = replace(other, on_inside=True)
    assert (this.layer, other.layer) == ("mark", "mark-other")
    one, two = STYLES["mark"], STYLES["mark-other"]
    assert one.line_type != two.line_type and one.colour != two.colour and one.width != two.width
    words, *_ = labelled(120.0, 60.0, [(20.0, 20.0)])
    assert {text.layer for text in words} == {"mark-other"}


def test_a_small_mark_within_another_is_pointed_at_from_the_foam_beside_it():
    """A stud of 2 mm in a collar up to 16 mm wide: words in the collar would be read as the collar's."""
    (stud,) = studs([(60.0, 40.0)])
    collar = shapely.Point(60, 40).buffer(16.0) - shapely.Point(60, 40).buffer(2.5)
    rings = tuple(shapely.get_coordinates(ring) for ring in (collar.exterior, *collar.interiors))
    around = Mark(props.disc(16.0, "collar", "C", "Collar").piece, rings, collar, False)
    foam = shapely.box(0, 0, 120, 80)
    field = Field(Ground(foam, [shapely.LineString(line) for m in (stud, around) for line in m.lines]), 0.0)
    drawn = mark_labels([around, stud], field, TOLD)
    words = {text.value.split(",")[0].split(":")[0]: text for label in Drawing(drawn).labels for text in label.texts}
    assert set(words) == {"AQ", "C"}
    assert foam.contains(shapely.Point(words["AQ"].at)) and not collar.contains(shapely.Point(words["AQ"].at))
    (leader,) = [i for i in drawn if isinstance(i, Path) and len(i.points) == 2]
    assert shapely.LineString(stud.lines[0]).distance(shapely.Point(leader.points[1])) < 1e-6


@pytest.mark.parametrize("radius, slanting", [(12.0, False), (22.0, False), (150.0, True)])
def test_words_run_along_an_edge_only_where_it_runs_along_with_them(radius, slanting):
    """60 mm of words along a hole of 12 or 22 mm radius would be a tangent that points to nothing; there they stand level,
    with a leader. Along one of 150 mm the edge turns by 23 degrees over them."""
    hole = props.circle(radius, (0.0, 0.0), 400)[::-1]
    foam = shapely.Polygon([(-300, -300), (300, -300), (300, 300), (-300, 300)], [hole])
    field = Field(Ground(foam, []), 0.0)
    path = edges.walk(props.edge("hole", np.vstack([hole, hole[:1]])), foam)
    drawn = edges.edge_label("to Q, R, bevel 9° larger to 4° smaller, and so on and on", path, field)
    (text,) = [text for label in Drawing(drawn).labels for text in label.texts]
    leaders = [i for i in drawn if isinstance(i, Path)]
    assert bool(leaders) != slanting and (abs(text.angle) < 1e-6 or slanting)
    assert foam.contains(shapely.Point(text.at))


def test_a_letter_that_stands_for_a_name_is_no_speck():
    """A strip 3 mm wide of a part with a letter, in a narrow part: common practice, no source."""
    ring = np.array([[10.0, 4.0], [26.0, 4.0], [26.0, 6.4], [10.0, 6.4]])
    post = props.disc(2.0, "post", "J", "A long name for which there is no room").piece
    mark = Mark(post, (np.vstack([ring, ring[:1]]),), shapely.Polygon(ring), True)
    field = Field(Ground(shapely.box(0, 0, 36, 12), [shapely.LineString(mark.lines[0])]), 0.0)
    texts = [text for label in Drawing(mark_labels([mark], field, TOLD)).labels for text in label.texts]
    assert [text.value for text in texts] == ["J"] and texts[0].height >= 2.8


@pytest.mark.parametrize(("overhang", "told"), [(2.5, "2.5"), (16.0, "16"), (7.9, "8")])
def test_how_far_a_part_stands_out_is_told_to_half_a_millimetre(overhang, told):
    (mark,) = studs([(6.0, 4.0)])
    assert f"stands {told} mm out" in wording.mark_texts(replace(mark, overhang=overhang), TOLD)[0]


def test_a_letter_never_lies_on_its_side_in_a_strip_that_is_too_narrow_for_it():
    upper = props.disc(2.0, "rafter", "J", "Rafter").piece
    strip = np.array([[20.0, 57.0], [110.0, 57.0], [110.0, 60.0], [20.0, 60.0]])
    mark = Mark(upper, (strip,), shapely.Polygon(strip), True)
    foam = shapely.box(0.0, 0.0, 130.0, 60.0)
    drawn = mark_labels([mark], Field(Ground(foam, [shapely.LinearRing(strip)]), 0.0), TOLD)
    (words,) = (text for label in Drawing(drawn).labels for text in label.texts)
    assert words.value.startswith("J") and foam.contains(shapely.Point(words.at)) and words.angle == 0.0
    assert mark.region.distance(shapely.Point(words.at)) < 4.0
