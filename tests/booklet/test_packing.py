"""Blocks in sizes of their own: held against every way there is to set them."""

from itertools import product

import pytest

from foamwright.booklet.typeset import ColumnItem, packed

GAP, PAGE = 9.0, 100.0
SETS = [
    ([(60.0, 52.0, 45.0)] * 4, 100.0),
    ([(60.0, 52.0, 45.0)] * 4, 50.0),  # the first finds half a page
    ([(30.0,), (70.0, 60.0), (20.0,), (90.0, 80.0, 60.0), (40.0, 31.0)], 100.0),
    ([(100.0, 90.0)], 95.0),
    ([(40.0, 35.0, 28.0)] * 6, 10.0),
    ([], 100.0),
]


def pages_of(heights, room):
    """How many pages are begun, one after another as a reader sets them; `room` is left on the first."""
    pages, left, first = 0, room, True
    for height in heights:
        need = height if first else height + GAP
        if need > left:
            pages, left, need = pages + 1, PAGE, height
        left, first = left - need, False
    return pages


@pytest.mark.parametrize(("sizes", "room"), SETS)
def test_as_few_pages_as_any_choice_of_sizes_and_then_as_little_smaller(sizes, room):
    chosen = packed([tuple(ColumnItem(h, ()) for h in block) for block in sizes], room, PAGE, GAP)
    took = [block.index(item.height) for block, item in zip(sizes, chosen)]
    tried = [
        (pages_of([block[i] for block, i in zip(sizes, choice)], room), sum(choice))
        for choice in product(*(range(len(block)) for block in sizes))
    ]
    assert pages_of([item.height for item in chosen], room) == min(tried)[0]
    assert sum(took) <= min(tried)[1] + 1  # as large as they may be, to one size of one block


def test_one_that_is_higher_than_a_page_has_one_of_its_own():
    block = (ColumnItem(120.0, ()),)
    small = (ColumnItem(30.0, ()),)
    assert packed([small, block, small], 100.0, PAGE, GAP) == (small[0], block[0], small[0])
