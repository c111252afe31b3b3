"""Letters of parts on pages of a large template that show only some of them."""

import shapely

from foamwright.layout.texts import _letter_blocks, _lettered


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
