"""Words and pictures beside a part that is laid over several pages: they are set anew for each turn, and must be on its pages
then, and on no other part."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from sample_templates import strip, template

from foamwright.drawing.primitives import Drawing, Path
from foamwright.drawing.shapes import ink
from foamwright.drawing.transform import place_points
from foamwright.layout.runs import runs
from foamwright.layout.shape import item_of

A4 = ((210.0, 297.0), (297.0, 210.0))
PICTURE = np.array([[-9.0, -6.0], [9.0, -6.0], [9.0, 6.0], [-9.0, 6.0]])


def above(given, turn, joins):
    """A picture that stands level above the foam, whichever way this is turned."""
    lying = place_points(np.asarray(given.footprint), turn, 0.0, 0.0)
    top = lying[lying[:, 1].argmax()]
    picture = place_points(PICTURE + top + (0.0, 14.0), -turn, 0.0, 0.0)
    return replace(given, drawing=Drawing((*given.drawing.items, Path(picture, "bevel", True))))


def with_picture(number, outline):
    plain = template(number, f"part {number}", outline)
    item = item_of(above(plain, 0.0, ()), lambda _, turn, joins: above(plain, turn, joins))
    assert item.placed[0].worded.spills
    return item


@pytest.mark.parametrize("lean", [0.0, 25.0, -35.0, 90.0])
@pytest.mark.parametrize("lengths", [(420.0,), (420.0, 400.0, 390.0)])
def test_what_stands_beside_a_part_is_on_a_page_and_on_no_other_part(lean, lengths):
    items = [
        with_picture(number, place_points(strip(length, 30.0), lean, 0.0, 0.0)) for number, length in enumerate(lengths)
    ]
    for item, grid, _ in runs(items, A4):
        windows = shapely.union_all([shapely.box(*grid.window(*cell)) for cell in grid.used])
        assert all(windows.buffer(0.01).contains(ink(drawn)) for drawn in item.drawing.items)
        for one, other in combinations(item.placed, 2):
            assert not one.room.intersects(other.room)


@pytest.mark.parametrize("lean, tried", [(0.1, (0.0, 90.0)), (-89.9, (0.0, 90.0)), (1.0, (0.0, -1.0, 89.0, 90.0))])
def test_a_part_that_stands_all_but_square_is_not_turned_by_a_hair(lean, tried):
    """Words were set anew for each such turn of a part, and for each of several beside each other."""
    item = with_picture(0, place_points(strip(420.0, 30.0), lean, 0.0, 0.0))
    assert item.main_angles == pytest.approx(tried, abs=0.01)
