"""Letters of parts on pages of a large template that show only some of them."""

import numpy as np
import shapely

from foamwright.drawing.primitives import Label
from foamwright.drawing.shapes import ink
from foamwright.drawing.typesetting import Line, label_block
from foamwright.layout import texts
from foamwright.layout.texts import _letter_blocks, _lettered, _moved


def test_a_part_of_which_a_page_shows_nothing_wide_enough_has_its_letter_beside_it_or_none():
    """A sliver 0.1 mm wide along a page's edge has no place on it, and none beside it where the page ends there."""
    blocks = tuple(_letter_blocks("A", "Wall"))
    sliver = shapely.box(0.0, 0.0, 0.1, 250.0)
    nothing = shapely.STRtree([shapely.box(500.0, 500.0, 501.0, 501.0)])
    page = shapely.box(-100.0, 0.0, 0.05, 250.0)
    assert _lettered(blocks, sliver, page, sliver, nothing) is not None
    assert _lettered(blocks, sliver, shapely.box(0.0, 0.0, 0.05, 250.0), sliver, nothing) is None
    everywhere = shapely.box(-50.0, -50.0, 50.0, 300.0)  # foam all around leaves no place beside it
    assert _lettered(blocks, sliver, page, everywhere, nothing) is None


def test_words_that_a_join_cuts_stay_by_what_they_are_about():
    """Lines every 6 mm to both sides of a join, and clear foam 60 mm off: there nobody would know which line is meant."""
    foam = shapely.box(0.0, 0.0, 400.0, 200.0)
    lines = [shapely.LineString([(x, 0.0), (x, 200.0)]) for x in range(160, 241, 6)]
    (label,) = (
        item
        for item in label_block([Line("K, other face", 2.6)]).centred((200.0, 100.0), 0.0)
        if isinstance(item, Label)
    )
    rooms = {(0, 0): np.array([0.0, 0.0, 200.0, 200.0]), (0, 1): np.array([200.0, 0.0, 400.0, 200.0])}
    _, moved = _moved(label, rooms, shapely.STRtree(lines), shapely.STRtree([]), foam)
    assert abs(ink(moved).centroid.x - 200.0) < 40.0
    _, moved = _moved(
        label, rooms, shapely.STRtree(lines), shapely.STRtree(lines), foam
    )  # as cut lines they are kept clear
    assert not any(line.intersects(ink(moved).convex_hull) for line in lines)


def test_places_beside_a_part_are_looked_for_only_where_there_is_none_on_it(monkeypatch):
    monkeypatch.setattr(texts, "_around", None)
    foam, nothing = shapely.box(0.0, 0.0, 100.0, 100.0), shapely.STRtree([shapely.box(500.0, 500.0, 501.0, 501.0)])
    assert _lettered(tuple(_letter_blocks("A", "Wall")), foam, foam, foam, nothing) is not None
