"""The whole prop: from three sides with its dimensions, and taken apart."""

import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from block_props import piece, scene
from PIL import Image
from sample_prop import STRUCTURE, sample

from foamwright.assembly.bodies import bodies
from foamwright.assembly.records import Step, StepMove
from foamwright.assembly.sight import basis
from foamwright.booklet.pages.cover import facts
from foamwright.booklet.pages.prop_pages import _level, _upright, whole_prop
from foamwright.booklet.pictures.exploded import carried, exploded
from foamwright.booklet.pictures.prop_pictures import finished, pictures_of, square_on, taken_apart
from foamwright.booklet.pictures.render import corner_normals
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Path, Shading, Text, Tick

ENDLESS = float("inf")
UP = ((0.0, 0.0, 1.0), ENDLESS)


def steps_of(*ways):
    return tuple(
        Step(n + 1, f"Step {n + 1}", (), "contact", 5.0, (), (), (), (), (StepMove((n,), (way,)),))
        for n, way in enumerate(ways)
    )


def stack():
    """A board 300 long, 100 wide, a box on it and a lid on that, and a fin at the front end."""
    parts = (
        piece("board", (300, 100, 20), (0, 0, 10)),
        piece("box", (100, 100, 60), (-50, 0, 50)),
        piece("lid", (100, 100, 10), (-50, 0, 85)),
        piece("fin", (20, 20, 40), (140, 0, 40)),
    )
    return scene(*parts), steps_of(UP, UP, UP, UP)


def views(pictures, smaller=0):
    """The views with dimensions at the largest scale, or the next one."""
    return whole_prop(pictures, 178.0, 249.0).blocks[0].settings[smaller].rows[0]


def texts(block):
    return [item for item in block.items if isinstance(item, Text)]


@pytest.fixture(scope="module")
def pictures():
    return pictures_of(*stack())


def test_the_prop_with_its_figure_is_smoothed_once_for_all_its_views():
    found, steps = stack()
    corners = np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 0.0], [0.0, 9.0, 0.0], [0.0, 0.0, 9.0]])
    figure = corners, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    corner_normals.cache_clear()
    pictures_of(found, steps, figure)
    assert corner_normals.cache_info().misses == 2  # with the figure and without


def test_views_have_the_sizes_of_the_prop_and_forward_is_to_the_left(pictures):
    whole = stack()[0]
    found = square_on(whole, range(len(whole)))
    sizes = {name: np.subtract(view.bounds[2:], view.bounds[:2]) for name, view in found.items()}
    assert sizes["left"] == pytest.approx((300.0, 90.0))
    assert sizes["front"] == pytest.approx((100.0, 90.0))
    assert sizes["above"] == pytest.approx((300.0, 100.0))
    red = replace(STRUCTURE, colour="#ff0000")
    marked = scene(piece("board", (300, 100, 20), (0, 0, 10)), piece("fin", (20, 20, 40), (140, 40, 40), red))
    for name, view in square_on(marked, range(len(marked))).items():  # the fin stands in front and to port
        shown = np.array(Image.open(io.BytesIO(view.png)).convert("RGB")).astype(int)
        rows, columns = np.nonzero(shown[..., 0] - shown[..., 1] > 90)
        place = np.array([columns.mean(), rows.mean()]) / shown.shape[1::-1]
        if name == "front":
            assert place[0] > 0.8  # port is to the right of one who looks at the bow
        else:
            assert place[0] < 0.1
        if name == "above":
            assert place[1] > 0.7  # and next to the view from the left is its far side


def test_dimensions_are_the_lengths_between_their_arrows(pictures):
    """Figures beside dimension lines, times the scale that is printed, against the lines themselves (ISO 129-1: a
    dimension line runs from extension line to extension line, with the figures above it)."""
    block = views(pictures)
    words = texts(block)
    scale = next(float(t.value.split("1:")[1].split(";")[0]) for t in words if "1:" in t.value)
    assert scale in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 20, 50)  # ISO 5455, and round ones between
    lines = [np.array([t.start, t.end]) for t in block.items if isinstance(t, Tick)]
    lengths = {round(float(np.linalg.norm(line[1] - line[0])) * scale, 3) for line in lines}
    figures = [t for t in words if t.value in ("300", "100", "90")]
    assert sorted(t.value for t in figures) == ["100", "300", "90"]
    assert {300.0, 100.0, 90.0} <= lengths
    assert [t.angle for t in figures if t.value == "90"] == [90.0]  # upright figures are read from the right


def test_arrowheads_of_a_short_dimension_stand_outside():
    thin = scene(piece("sheet", (300, 4, 2)), piece("peg", (4, 4, 4), (0, 0, 3)))
    block = views(pictures_of(thin, steps_of(UP, UP)))
    assert {"300", "4", "6"} <= {t.value for t in texts(block)}
    assert min(float(item.points[:, 0].min()) for item in block.items if isinstance(item, Path)) >= 0.0


def test_parts_are_taken_apart_along_their_ways_and_all_have_letters():
    found, steps = stack()
    shifts = exploded(found, steps, basis((-1.0, -1.3, -0.75)))
    assert not shifts[0].any()
    heights = [float(shifts[i][2]) for i in range(4)]
    assert heights[2] > heights[1] > 10.0 and heights[3] > 10.0  # the lid goes with the box and farther
    assert all(np.allclose(shift[:2], 0.0) for shift in shifts.values())
    picture = taken_apart(found, steps)
    assert sorted(b.label for b in picture.bubbles) == ["BOARD", "BOX", "FIN", "LID"]
    assert picture.png == taken_apart(found, steps).png


def test_a_block_that_shows_at_home_comes_out_all_the_same():
    """A knob on a board, and a wall that stands on it: both show at home, and what shows so is not taken apart."""
    parts = [piece("board", (160, 100, 10), (0, 0, -5)), piece("knob", (40, 40, 10), (30, 0, 5))]
    parts += [piece("wall", (6, 100, 120), (-60, 0, 60)), piece("sheet", (20, 20, 2), (60, 30, 1))]
    shifts = exploded(scene(*parts), steps_of(UP, UP, UP, UP), basis((-1.0, -1.3, -0.75)))
    assert shifts[1][2] >= 0.5 * 10.0 and shifts[2][2] >= 0.12 * 160.0
    assert shifts[3][2] < 0.12 * 160.0  # thin sheets need not go so far


def test_a_roof_that_is_only_set_down_is_one_thing():
    """Its sides and its floor go in as one and take no glue: each by itself, the floor would be drawn high above the sides."""
    sides = [loose(piece(f"side_{k}", (10, 100, 60), (x, 0, 30))) for k, x in enumerate((-50, 50))]
    roof = [*sides, loose(piece("floor", (90, 100, 6), (0, 0, 3)))]
    found = scene(piece("base", (120, 120, 10), (0, 0, -5)), *roof)
    step = Step(2, "", ("side_0", "side_1", "floor"), "contact", 5.0, (), (), (), (), (StepMove((1, 2, 3), (UP,)),))
    shifts = exploded(found, (*steps_of(UP), step), basis((-1.0, -1.3, -0.75)))
    assert shifts[3][2] <= shifts[1][2] == pytest.approx(shifts[2][2])
    assert shifts[3][2] > shifts[0][2]


def test_walls_of_a_slender_post_are_taken_apart():
    """They go in as one; moved apart by their places they would stand 20 mm apart on 1.5 m."""
    side = [piece(f"side_{k}", (10, 100, 1500), (x, 0, 750)) for k, x in enumerate((-55, 55))]
    post = scene(piece("foot", (300, 300, 10), (0, 0, -5)), *side)
    step = Step(2, "", ("side_0", "side_1"), "contact", 5.0, (), (), (), (), (StepMove((1, 2), (UP,)),))
    shifts = exploded(post, (*steps_of(UP), step), basis((-1.0, -1.3, -0.75)))
    assert shifts[2][0] - shifts[1][0] > 0.06 * 1500.0


def test_a_part_that_is_shut_in_comes_out_far_enough_to_be_seen():
    parts = [piece("board", (200, 200, 10), (0, 0, -5)), piece("core", (40, 40, 40), (0, 0, 20))]
    parts += [piece("cover", (200, 200, 100), (0, 0, 50))]
    shifts = exploded(scene(*parts), steps_of(UP, UP, UP), basis((-1.0, -1.3, -0.75)))
    assert shifts[2][2] - shifts[1][2] > 60.0  # the bottom of the cover is 60 mm below the top of the core


def loose(made):
    part, mesh = made
    return replace(part, glue="none"), mesh


@pytest.mark.parametrize(
    "parts, ways, wanted",
    [
        # a cushion on the floor of a hut goes in and out through its door, though it lies lower than the walls
        (
            [piece("hut", (200, 200, 100), (0, 0, 60)), loose(piece("cushion", (80, 80, 10), (0, 0, 5)))],
            (UP, ((1.0, 0.0, 0.0), ENDLESS)),
            (1.0, 0.0, 0.0),
        ),
        # a stand of two pieces, built after the hull that will lie on felt on it, comes off it downwards
        (
            [
                piece("hull", (300, 100, 60), (0, 0, 60)),
                piece("base", (200, 90, 10), (0, 0, 5)),
                piece("cradle", (20, 80, 16), (0, 0, 18)),
            ],
            (UP, UP, UP),
            (0.0, 0.0, -1.0),
        ),
        # so does one of one piece whose own way was found without the hull
        (
            [loose(piece("hull", (300, 100, 60), (0, 0, 60))), loose(piece("base", (200, 90, 30), (0, 0, 15)))],
            (UP, UP),
            (0.0, 0.0, -1.0),
        ),
        # and a lid of a box upwards
        (
            [piece("box", (300, 100, 60), (0, 0, 30)), loose(piece("lid", (300, 100, 10), (0, 0, 65)))],
            (UP, UP),
            (0.0, 0.0, 1.0),
        ),
    ],
)
def test_what_is_only_set_down_comes_off_as_it_goes_on(parts, ways, wanted):
    found = scene(*parts)
    shifts = exploded(found, steps_of(*ways), basis((-1.0, -1.3, -0.75)))
    off = np.subtract(shifts[1], shifts[0])
    assert np.linalg.norm(off) > 5.0
    assert off / np.linalg.norm(off) == pytest.approx(wanted, abs=1e-6)


def test_the_far_wheel_is_not_pulled_through_the_cart_with_its_axle():
    """Body, axle below it and a wheel on each of its ends; the axle is drawn out 250 mm to the near side."""
    parts = [
        piece("body", (200, 100, 60), (0, 0, 60)),
        piece("axle", (8, 160, 8), (0, 0, 26)),
        piece("near_wheel", (60, 10, 60), (0, 85, 26)),
        piece("far_wheel", (60, 10, 60), (0, -85, 26)),
        piece("cap", (40, 8, 40), (0, 94, 26)),
    ]
    found, near, far = scene(*parts), np.array([0.0, 1.0, 0.0]), np.array([0.0, -1.0, 0.0])
    out = {1: 250.0 * near}
    assert carried(found, [2], [0, 1], out, near) == pytest.approx(250.0 * near)
    assert carried(found, [3], [0, 1], out, far) == pytest.approx(np.zeros(3))  # the body stands between
    assert carried(found, [3], [1], out, far) == pytest.approx(250.0 * near)  # and here nothing does
    assert carried(found, [3], [0, 1], {**out, 0: 250.0 * near}, far) == pytest.approx(250.0 * near)  # it comes as well
    assert carried(found, [4], [0, 2], {2: 20.0 * near}, near) == pytest.approx(20.0 * near)


def test_the_figure_is_drawn_in_the_prop_and_no_part_of_it():
    found, _ = stack()
    cube = piece("cube", (60, 60, 400), (50, 0, 220))[1]
    alone, together = finished(found, (-1, -1.3, -0.75)), finished(found, (-1, -1.3, -0.75), cube)
    assert together.bounds[3] - together.bounds[1] > 1.5 * (alone.bounds[3] - alone.bounds[1])
    assert together.bubbles == ()


def test_nothing_to_show_gives_no_page():
    none = scene(piece("only", (10, 10, 10)))
    section = whole_prop(pictures_of(none, steps_of(UP)), 178.0, 249.0)
    assert len(section.blocks) == 1  # views, and nothing to take apart


@pytest.mark.parametrize("long, within", [(3.0, False), (5.0, False), (40.0, True)])
def test_the_figures_of_a_short_dimension_stand_beside_it(long, within):
    """Between arrowheads there is room for them only where they are no longer than what is left."""
    for draw in (_level, _upright):
        ends = (10.0, 10.0 + long)
        items = draw(*ends, 0.0, -8.0, 1234.0)
        (figures,) = (item for item in items if isinstance(item, Text))
        low, high = (f(text_box(figures)[:, 0 if draw is _level else 1]) for f in (np.min, np.max))
        assert bool(low >= ends[0] and high <= ends[1]) is within


@pytest.mark.parametrize("off, said", [(0.0, "From below"), (40.0, "From behind")])
def test_what_looks_alike_from_both_sides_is_shown_from_below(off, said):
    """A square post on a square foot looks alike from the front left and from the back right; with the post in one corner it
    does not."""
    found = scene(piece("foot", (160, 160, 20)), piece("post", (40, 40, 60), (off, off, 40)))
    drawn = pictures_of(found, ())
    front, second = drawn.finished
    assert (front.note, second.note) == ("From the front", said)
    assert front.png != second.png
    block = views(drawn)
    titles = {text.value: text.at for text in texts(block)}
    below = "From below, not to scale"
    assert (drawn.below is not None) == (below in titles) == (said != "From below")  # nothing is shown twice
    if below in titles:  # and its picture begins under its title
        corners = [item.at[0] for item in block.items if isinstance(item, Shading)]
        assert titles[below][0] == pytest.approx(corners[-1], abs=1.0)


@pytest.mark.parametrize("size", [(10, 300, 300), (10, 300, 40), (300, 10, 40), (10, 10, 400)])
@pytest.mark.parametrize("smaller", [0, -1])
def test_titles_of_the_views_of_a_thin_prop_stand_clear_of_each_other_and_on_the_page(size, smaller):
    block = views(pictures_of(scene(piece("board", size, (0, 0, 0))), steps_of(UP)), smaller)
    titles = [text_box(text) for text in texts(block) if text.value.startswith("From")]
    assert len(titles) == 3
    for one, other in combinations(titles, 2):
        assert (one.max(axis=0) < other.min(axis=0)).any() or (other.max(axis=0) < one.min(axis=0)).any()
    assert max(box[:, 0].max() for box in titles) < 178.0


def test_a_tall_prop_has_its_parts_beside_its_views_and_a_long_one_below_them():
    """One below the other, a tower's views would be small and two thirds of the page white."""
    tower = scene(*(piece(f"floor-{k}", (90, 90, 40), (0, 0, 40 * k)) for k in range(12)))
    long = scene(*(piece(f"floor-{k}", (600, 90, 20), (0, 0, 20 * k)) for k in range(3)))
    blocks = [whole_prop(pictures_of(one, steps_of(*[UP] * len(one))), 178.0, 249.0).blocks for one in (tower, long)]
    assert [len(each) for each in blocks] == [1, 2]
    for setting in blocks[0][0].settings:
        (row,) = setting.rows
        assert row.height <= 229.0
        shown = [text_box(text) for text in texts(row)]
        assert min(box[:, 0].min() for box in shown) >= 0.0 and max(box[:, 0].max() for box in shown) <= 178.0
        assert {"From above", "FLOOR-0"} <= {text.value for text in texts(row)}


def test_a_picture_of_many_letters_shrinks_less_readily():
    """Forty letters in seven tenths of the breadth are a knot, where four are read as well."""

    def cost(count):
        plates = scene(*(piece(f"p{k}", (600, 90, 20), (0, 0, 20 * k)) for k in range(4)))
        pictures = pictures_of(plates, steps_of(*[UP] * 4))
        apart = replace(pictures.apart, bubbles=(pictures.apart.bubbles * count)[:count])
        settings = whole_prop(replace(pictures, apart=apart), 178.0, 249.0).blocks[1].settings
        return [setting.cost for setting in settings]

    few, many = cost(4), cost(40)
    assert few[0] == many[0] == 0.0
    assert many[1:] == [2.0 * each for each in few[1:]]


def test_a_letter_of_several_copies_stands_by_any_that_is_seen_well():
    """Of rows of knobs on a board the one that shows best is in the middle; a leader from there would run over the others."""
    knobs = [
        piece("knob", (24, 24, 10 + (x == y == 0)), (60 * x, 60 * y, 15)) for x in range(-3, 4) for y in range(-3, 4)
    ]
    plates = scene(piece("board", (460, 460, 20), (0, 0, 0)), *knobs)
    picture = taken_apart(plates, steps_of(*[UP] * len(plates)))
    letter = next(bubble for bubble in picture.bubbles if bubble.label == "KNOB")
    assert np.linalg.norm(np.subtract(letter.spot, letter.at)) < 0.2 * (picture.box[2] - picture.box[0])


def test_of_a_pair_that_nothing_joins_the_size_of_one_is_told():
    """How far apart two guards stand in the model is nobody's measure."""
    guard = piece("guard", (60, 40, 20), (0, 200, 0))
    other = piece("guard", (60, 40, 20), (0, -200, 0))
    one = scene(guard)
    both = bodies((guard[0], other[0]), (guard[1], other[1]), (np.eye(4), np.eye(4)), {})
    for found, alike in ((one, 1), (both, 2)):
        drawn = pictures_of(found, ())
        assert drawn.overall == pytest.approx((60.0, 40.0, 20.0)) and drawn.alike == alike
        assert np.subtract(drawn.square_on["front"].bounds[2:], drawn.square_on["front"].bounds[:2]) == pytest.approx(
            (40.0, 20.0)
        )
        told = dict(facts(*sample(), [], drawn, None, None))["Overall"]
        assert told.startswith("each of the 2 is") is (alike == 2) and "60 mm long, 40 mm wide" in told
