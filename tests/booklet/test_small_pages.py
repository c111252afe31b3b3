"""The pages of the templates small, with the letters of their parts."""

import numpy as np
import pytest
import shapely

from foamwright.booklet.pages.flowing import Section, flow
from foamwright.booklet.pages.small_pages import small_templates
from foamwright.booklet.words.typeset import ColumnItem
from foamwright.drawing.document import Document, Page
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Path, Text


def texts(block):
    return [item for item in block.items if isinstance(item, Text)]


def test_templates_are_shown_small_page_by_page():
    square = np.array([[20.0, 40.0], [120.0, 40.0], [120.0, 140.0], [20.0, 140.0]])
    part = Drawing((Path(square, "cut", True), Text((70.0, 90.0), "AB", 6.0, "note", "middle", role="label")))
    pages = [Page(1, 210.0, 297.0, "How to print", (), None, None, Drawing(()))]
    pages += [Page(n, 210.0, 297.0, f"p{n}", ("ab",), None, None, part) for n in range(2, 9)]
    section = small_templates(Document("t", "s", "A4", tuple(pages)), {"ab": "AB"}, 178.0, 249.0)
    rows = section.blocks[0].settings[0].rows
    words = [text.value for row in rows for text in texts(row)]
    assert [w for w in words if w.startswith("page ")] == [f"page {n}: AB" for n in range(2, 9)]
    assert words.count("AB") == 7
    items = [item for row in rows for item in row.items if isinstance(item, Path)]
    cuts = [item for item in items if item.layer == "bevel"]
    edges = [item for item in items if item.layer == "page"]
    ratio = np.ptp(cuts[0].points, axis=0)[0] / np.ptp(edges[0].points, axis=0)[0]
    assert ratio == pytest.approx(100.0 / 210.0)


def test_small_pages_stand_in_their_order_and_those_that_lie_are_turned():
    """Lying pages between upright ones made rows half white; sorted by how they lie, nobody found page 8. A quarter turn to the
    left: a corner that is up and to the right on a page that lies is up and to the left."""
    lying, upright = (297.0, 210.0), (210.0, 297.0)
    corner = Drawing((_square(190, 103, 100), Text((240.0, 153.0), "AB", 8.0, "note", "middle", role="label")))
    leaf = [Page(n, *(lying if n % 2 else upright), f"p{n}", ("ab",), None, None, corner) for n in range(2, 18)]
    section = small_templates(Document("t", "s", "A4", tuple(leaf)), {"ab": "AB"}, 178.0, 249.0)
    for setting in section.blocks[0].settings:
        told = [int(t.value.split()[1][:-1]) for row in setting.rows for t in texts(row) if t.value.startswith("page ")]
        assert told == [*range(2, 18)]
        papers = [i.points for row in setting.rows for i in row.items if isinstance(i, Path) and i.layer == "page"]
        assert all(np.ptp(p[:, 1]) / np.ptp(p[:, 0]) == pytest.approx(297.0 / 210.0) for p in papers)
        cuts = [i.points for row in setting.rows for i in row.items if isinstance(i, Path) and i.layer == "bevel"]
        for page, paper, cut in zip(leaf, papers, cuts, strict=True):
            (left, low), (wide, high) = paper.min(axis=0), np.ptp(paper, axis=0)
            if page.width > page.height:
                place = (cut.mean(axis=0) - (left, low)) / (wide, high)
                assert place == pytest.approx((1.0 - 153.0 / 210.0, 240.0 / 297.0))


@pytest.mark.parametrize(
    "count, room, pages", [(29, 249.0, 1), (29, 160.0, 1), (29, 110.0, 2), (9, 160.0, 1), (200, 249.0, 4)]
)
def test_small_templates_take_no_page_more_than_they_need(count, room, pages):
    """`room` is left on the page on which they begin: smaller ones fill it, or they have a page of their own."""
    drawn = Drawing((_square(10, 80, 100),))
    leaf = [Page(n, 210.0, 297.0, f"p{n}", ("ab",), None, None, drawn) for n in range(count)]
    section = small_templates(Document("t", "s", "A4", tuple(leaf)), {"ab": "AB"}, 178.0, 249.0)
    before = Section("Before", (ColumnItem(249.0 - room, ()),)) if room < 249.0 else None
    columns = flow([one for one in (before, section) if one], 178.0, 249.0)
    assert len(columns) == pages


def _one_page(*items, window=None):
    page = Page(2, 200.0, 200.0, "", ("one", "two", "three"), None, None, Drawing(items), window)
    section = small_templates(Document("", "", "A4", (page,)), {"one": "A", "two": "B", "three": "C"}, 178.0, 240.0)
    return [item for row in section.blocks[0].settings[0].rows for item in row.items]


def _square(x, y, side, layer="cut"):
    return Path(np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]], float), layer, True)


@pytest.mark.parametrize("beside", [(112, 40), (60, 20)])
def test_each_part_of_a_small_page_has_its_own_letter(beside):
    """B and C stand beside their parts, C nearer to B's, which is told by the order in which parts are drawn."""
    parts = (_square(10, 80, 100), _square(130, 20, 40), _square(20, 10, 30))
    letters = [
        Text((40, 120), "A", 8.0, role="label"),
        Text(beside, "B", 6.0, role="label"),
        Text((125, 30), "C", 6.0, role="label"),
    ]
    items = _one_page(*(item for pair in zip(parts, letters) for item in pair))
    shapes = [np.asarray(i.points) for i in items if isinstance(i, Path) and i.layer in ("page", "shade")][:4]
    scale = np.ptp(shapes[0][:, 0]) / 200.0
    for shape, letter in zip(shapes[1:], "ABC"):
        text = next(item for item in items if isinstance(item, Text) and item.value == letter)
        assert (shape.min(axis=0) < text.at).all() and (text.at < shape.max(axis=0)).all()
    assert np.ptp(shapes[1][:, 0]) == pytest.approx(100.0 * scale)


@pytest.mark.parametrize("seed", range(12))
def test_letters_of_many_small_parts_are_all_there_in_the_frame_and_apart(seed):
    """Strips and discs from 4 mm on, many of them close together and at the rim of the paper."""
    random = np.random.default_rng(seed)
    items, count = [], 8
    for n in range(count):
        x, y = 8 + 46 * (n % 4) + random.uniform(0, 4), 8 + 120 * (n // 4) + random.uniform(0, 60)
        wide, high = random.uniform(4, 38), random.uniform(4, 12)
        corners = np.array([[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]])
        items += [Path(corners, "cut", True), Text((x + wide + 4, y), f"A{chr(65 + n)}", 6.0, role="label")]
    page = Page(2, 210.0, 297.0, "", ("one",), None, None, Drawing(tuple(items)))
    section = small_templates(Document("", "", "A4", (page,)), {"one": "A"}, 178.0, 240.0)
    for setting in section.blocks[0].settings[:4]:  # to six in a row
        drawn = [item for row in setting.rows for item in row.items]
        (paper,) = (shapely.Polygon(i.points) for i in drawn if isinstance(i, Path) and i.layer == "page")
        words = [i for i in drawn if isinstance(i, Text) and i.height == pytest.approx(2.6)]
        assert sorted(w.value for w in words) == [f"A{chr(65 + n)}" for n in range(count)]
        boxes = [shapely.Polygon(text_box(word)) for word in words]
        assert all(paper.buffer(0.1).contains(box) for box in boxes)
        assert all(a.intersection(b).area < 0.1 for i, a in enumerate(boxes) for b in boxes[:i])


def test_a_letter_does_not_cover_a_part_that_is_no_larger():
    small = [_square(60, 60, 8), Text((64, 64), "A", 6.0, role="label")]
    items = _one_page(*small)
    (part,) = (shapely.Polygon(i.points) for i in items if isinstance(i, Path) and i.layer == "bevel")
    (ground,) = (
        shapely.Polygon(i.points) for i in items if isinstance(i, Path) and i.fill == "#ffffff" and i.layer == "shade"
    )
    assert part.area < ground.area
    assert part.intersection(ground).area < 0.4 * part.area and part.distance(ground) < 1.0


@pytest.mark.parametrize("right", [190.0, np.nextafter(190.0, 0.0), np.nextafter(190.0, 200.0)])
def test_what_is_parted_over_pages_is_tinted_as_far_as_it_goes(right):
    """An L that runs off the page at its right side: cut lines go round the foam counter-clockwise, and end there to the last
    digit but one."""
    line = Path(np.array([[right, 150], [20, 150], [20, 20], [80, 20], [80, 90], [right, 90]], float), "cut")
    (shape,) = _tinted(_one_page(line, window=(10.0, 10.0, 190.0, 190.0)))
    x, y = np.asarray(shape.points).T
    area = abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0
    box = np.ptp(x) * np.ptp(y)
    assert area / box == pytest.approx((170.0 * 130.0 - 110.0 * 70.0) / (170.0 * 130.0))


def _tinted(items):
    return [i for i in items if isinstance(i, Path) and i.layer == "shade" and i.fill not in (None, "#ffffff")]


@pytest.mark.parametrize("x, share", [(130.0, 2.0 / 3.0), (40.0, 1.0 / 6.0)])
def test_a_page_with_one_straight_cut_is_tinted_up_to_it(x, share):
    """The foam is to the left of a line that runs up the page."""
    up = Path(np.array([[x, 0.0], [x, 200.0]]), "cut")
    (shape,) = _tinted(_one_page(up, window=(10.0, 10.0, 190.0, 190.0)))
    (whole,) = _tinted(_one_page(window=(10.0, 10.0, 190.0, 190.0)))  # and one that shows no cut line is all foam
    assert np.ptp(np.asarray(shape.points)[:, 0]) == pytest.approx(share * np.ptp(np.asarray(whole.points)[:, 0]))


@pytest.mark.parametrize("wide", [0.5, 14.0, 100.0])
def test_a_strip_that_goes_over_the_whole_page_is_tinted_and_nothing_beside_it(wide):
    lines = [np.array([[10.0, 50.0], [190.0, 50.0]]), np.array([[190.0, 50.0 + wide], [10.0, 50.0 + wide]])]
    items = _one_page(*(Path(line, "cut") for line in lines), window=(10.0, 10.0, 190.0, 190.0))
    (shape,) = _tinted(items)
    high, across = np.ptp(np.asarray(shape.points), axis=0)[::-1]
    assert high / across == pytest.approx(wide / 180.0)


def test_of_very_many_pages_those_within_a_part_are_left_out():
    inner = [Page(n, 210.0, 297.0, "", ("ab",), 1, 1, Drawing(()), (10.0, 10.0, 200.0, 280.0)) for n in range(60)]
    rim = Page(60, 210.0, 297.0, "", ("ab",), 1, 1, Drawing((_square(10, 80, 100),)), (10.0, 10.0, 200.0, 280.0))
    words = [
        text.value
        for pages in ((*inner, rim), (*inner[:4], rim))
        for row in small_templates(Document("", "", "A4", pages), {"ab": "AB"}, 178.0, 249.0).blocks[0].settings[0].rows
        for text in texts(row)
    ]
    assert sum(word.startswith("page ") for word in words) == 1 + 5
