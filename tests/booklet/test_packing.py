"""Blocks over pages: held against every way there is to set them, and against what a reader must never meet."""

from itertools import pairwise, product

import pytest

from foamwright.booklet.pages.chapters import Bullets, Chapter, Column, Table, Words
from foamwright.booklet.pages.flowing import Block, Section, Setting, flow
from foamwright.booklet.pages.setting import section
from foamwright.booklet.words.typeset import ColumnItem
from foamwright.drawing.primitives import Text

GAP, PAGE, WIDTH = 9.0, 100.0, 150.0
COSTS = (0.0, 0.02, 0.1)
SETS = [
    [(60.0, 52.0, 45.0)] * 4,
    [(30.0,), (70.0, 60.0), (20.0,), (85.0, 80.0, 60.0), (40.0, 31.0)],
    [(85.0, 80.0)],
    [(40.0, 35.0, 28.0)] * 6,
]


def whole(heights, costs=COSTS):
    """A block in one row, larger and smaller."""
    return Block(tuple(Setting((ColumnItem(h, ()),), cost) for h, cost in zip(heights, costs)))


def rows(heights, name="", gap=1.0):
    return Block((Setting(tuple(ColumnItem(h, ()) for h in heights)),), ColumnItem(5.0, ()), gap, name=name)


def pages_of(heights, opening):
    """How many pages are begun, one after another as a reader sets them."""
    pages, used = 1, opening
    for number, height in enumerate(heights):
        need = height + (GAP if number else 0.0)
        pages, used = (pages + 1, height) if used + need > PAGE else (pages, used + need)
    return pages


@pytest.mark.parametrize("sizes", SETS)
def test_as_few_pages_as_any_choice_of_sizes(sizes):
    pages = flow([Section("Title", tuple(whole(s) for s in sizes), gap=GAP)], WIDTH, PAGE)
    opening = pages[0][1].top
    assert len(pages) <= min(pages_of(choice, opening) for choice in product(*sizes))


def test_pictures_are_large_where_that_takes_no_page_more():
    pages = flow([Section("Title", tuple(whole(s) for s in [(42.0, 37.0, 28.0)] * 2), gap=GAP)], WIDTH, PAGE)
    assert [len(page) for page in pages] == [3]
    assert sorted(placed.block.height for placed in pages[0][1:]) == [37.0, 42.0]


def test_a_block_goes_over_between_its_rows_below_its_title_once_more():
    first, second = rows([30.0, 20.0]), rows([20.0, 5.0, 20.0, 20.0, 20.0], "second")
    pages = flow([Section("Title", (first, second), gap=GAP)], WIDTH, PAGE)
    assert len(pages) == 2
    over = pages[1][0]
    assert over.block is second.again and over.top == 0.0 and not over.name
    assert [placed.name for page in pages for placed in page if placed.name] == ["second"]
    rows_set = [id(placed.block) for page in pages for placed in page if placed.block is not second.again][1:]
    assert rows_set == [id(row) for block in (first, second) for row in block.settings[0].rows]  # all, in order, once
    for page in pages:
        assert all(a.top + a.block.height <= b.top + 1e-9 for a, b in pairwise(page))
        assert page[-1].top + page[-1].block.height <= PAGE


@pytest.mark.parametrize(("rest", "last", "over"), [(39.0, [8.0, 30.0, 10.0], 0), (91.0, [30.0, 30.0, 8.0], 1)])
def test_less_than_a_few_lines_are_not_left_behind_on_either_side(rest, last, over):
    """The next row would leave one line on the first page; the last row alone would go over. Headings take some 27 mm."""
    whole = Section("Title", (ColumnItem(PAGE - rest, ()),))
    pages = flow([whole, Section("Next", (rows(last, "next"),))], WIDTH, PAGE)
    assert len(pages) == 2
    stay = [p.block for p in pages[0] if p.block in rows(last).settings[0].rows]
    assert [row.height for row in stay] == last[:over]


def test_a_page_is_not_begun_for_what_fits():
    pages = flow([Section("Title", (rows([20.0, 20.0]), rows([20.0, 10.0])), gap=GAP)], WIDTH, PAGE)
    assert len(pages) == 1


def test_no_single_row_of_a_table_stands_alone_at_its_beginning():
    """What is before leaves room for the heading, the titles and one row."""
    before = Section("Before", (ColumnItem(PAGE - 45.0, ()),))
    table = Section("Table", tuple(ColumnItem(8.0, ()) for _ in range(8)), ColumnItem(6.0, ()))
    pages = flow([before, table], WIDTH, PAGE)
    own = [sum(p.block.height for p in page if p.section == "Table" and not p.opens) for page in pages]
    assert own[0] in (0.0, 6.0 + 24.0) and sum(own) > 64.0


def test_what_follows_is_thought_of_when_a_section_is_set():
    """A picture of the first section may be smaller, and the block of the next one then stands on the same page."""
    first = Section("First", (whole((60.0, 30.0), (0.0, 0.1)),))
    pages = flow([first, Section("Second", (ColumnItem(30.0, ()),))], WIDTH, PAGE)
    assert len(pages) == 1


@pytest.mark.parametrize("left", range(10, 60, 4))
@pytest.mark.parametrize("count", [1, 4, 5, 9, 30])
def test_what_is_said_of_a_table_stands_above_its_first_rows(left, count):
    """Whatever room is left on the page: a heading with a sentence, and the table over the page, reads as if it were lost."""
    told = Table((Column("Seam", 0.5), Column("Length", 0.5)), tuple((f"row {i}", "1") for i in range(count)))
    before = Section("Before", (ColumnItem(200.0 - left, ()),))
    pages = flow([before, section(Chapter("Lengths", (Words("Measured on the line."), told)), 170.0)], 170.0, 200.0)
    held = [{item.value for placed in page for item in placed.block.items if isinstance(item, Text)} for page in pages]
    (there,) = [words for words in held if "Measured on the line." in words]
    assert {f"row {i}" for i in range(min(count, 2))} <= there
    assert {f"row {i}" for i in range(count)} <= set().union(*held)


@pytest.mark.parametrize("count", [6, 7, 24, 25, 60])
@pytest.mark.parametrize("long", [0, 1, 4])
def test_a_list_in_two_columns_has_no_gaps_and_all_its_lines_in_order(count, long):
    """Every line as far below the one before it as lines of a list are, however long what stands beside them is."""
    lines = [f"{n} knife" + " with many more words" * 4 * (n == long) for n in range(count)]
    blocks = section(Chapter("Tools", (Bullets(tuple(lines)),)), WIDTH).blocks
    told = [
        [item for item in block.items if isinstance(item, Text) and item.value.strip("·\u2022 ")] for block in blocks
    ]
    firsts = [item for block in told for item in block if item.value.endswith(" knife") or " knife with" in item.value]
    assert [int(item.value.split()[0]) for item in firsts] == list(range(count))
    assert len({item.at[0] for block in told for item in block}) == 2
    columns = [sorted(i.at[1] for i in block if i.at[0] == x) for block in told for x in {i.at[0] for i in block}]
    steps = [high - low for column in columns for low, high in pairwise(column)]
    assert max(steps) - min(steps) < 0.5
