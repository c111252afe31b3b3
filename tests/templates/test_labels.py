"""Labels of what is glued on top: on the foam where there is room, else said once beside it."""

import numpy as np
import pytest
import shapely
import template_props as props

from foamwright.drawing.primitives import Drawing, Path
from foamwright.templates.labels import mark_labels
from foamwright.templates.marks import Mark
from foamwright.templates.place import Field, Ground


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
    drawn = mark_labels(marks, field)
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
