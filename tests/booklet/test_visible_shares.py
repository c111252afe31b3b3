"""The table of visible shares over small props: of each new part at least 60 % shows in the picture of its step, told by the
picture and counted again on its pixels against the outline that the part alone would have."""

import io
from dataclasses import replace

import numpy as np
import pytest
import shapely
from block_props import piece, scene
from PIL import Image
from sample_prop import SHELL
from scipy.ndimage import binary_dilation

from foamwright.assembly.records import Step, StepMove
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.booklet.pictures.step_views import VIEWS, staged, view_of

LEAST_SEEN = 0.6
SAND, BLUE = replace(SHELL, colour="#e8b23a"), replace(SHELL, colour="#1040d0")
UP, DOWN, FRONT, LEFT = ((axis, float("inf")) for axis in ((0.0, 0, 1), (0.0, 0, -1), (1.0, 0, 0), (0.0, 1, 0)))


def box(height, floor=True):
    sides = [((10, 120, height), (s * 55, 0, height / 2)) for s in (1, -1)]
    sides += [((100, 10, height), (0, s * 55, height / 2)) for s in (1, -1)]
    return [*([((120, 120, 10), (0, 0, -5))] if floor else []), *sides]


PROPS = {
    "plate on a plate": ([((200, 150, 10), (0, 0, 0))], ((60, 60, 10), (20, 0, 10)), UP),
    "seat deep in a box": (box(110), ((90, 90, 10), (0, 0, 5)), UP),
    "plug in the floor of a box": (box(90), ((20, 20, 10), (30, 30, 5)), UP),
    "foot under a box": (box(60), ((30, 30, 10), (40, 40, -15)), DOWN),
    "plate under a wide floor": ([((300, 300, 10), (0, 0, 0))], ((200, 40, 10), (0, 0, -10)), DOWN),
    "back of a wall": ([((10, 300, 200), (0, 0, 0))], ((10, 60, 60), (-10, 0, 0)), ((-1.0, 0, 0), float("inf"))),
    "shelf between walls": (box(100, False)[:2], ((100, 100, 10), (0, 0, 50)), LEFT),
    "drawer in a case": (
        [b for i, b in enumerate(box(40)) if i != 1] + [((120, 120, 10), (0, 0, 45))],
        ((95, 95, 20), (7, 0, 10)),
        FRONT,
    ),
    "small stud on a long beam": ([((1200, 60, 30), (0, 0, 0))], ((8, 8, 4), (500, 0, 17)), UP),
    "large lid on a small foot": ([((20, 20, 20), (0, 0, 0))], ((400, 300, 10), (0, 0, 15)), UP),
}


@pytest.mark.parametrize("name", PROPS)
def test_most_of_a_new_part_shows_in_its_step(name):
    standing, (size, at), way = PROPS[name]
    parts = [piece(f"s{i}", *each, SAND) for i, each in enumerate(standing)] + [piece("new", size, at, BLUE)]
    found, last = scene(*parts), len(standing)
    steps = [
        Step(
            n + 1, "", (made.id,), "contact", 5.0, (), (), (), (made.id,), (StepMove((n,), (UP if n < last else way,)),)
        )
        for n, (made, _) in enumerate(parts)
    ]
    drawn = step_pictures(found, steps)
    table = {number: round(picture.share, 2) for number, picture in drawn.items()}
    assert min(table.values()) >= LEAST_SEEN, table
    step, picture = steps[-1], drawn[len(steps)]
    assert [bubble.label for bubble in picture.bubbles if bubble.new] == ["NEW"]
    assert picture.arrows, "its way in is shown"
    views = [view for view in VIEWS if shows(found, step, last, view, picture) >= 0.85 * LEAST_SEEN]
    assert views, "counted on the pixels, too little of it shows"


def shows(found, step, copy, view, picture):
    """The share of the outline of a block in a view, where it is drawn there, that has its colour in a picture."""
    stage = staged(found, (), step, list(range(copy)))
    choice = stage.choose(list(range(copy)), [copy], step, view)
    if choice.name != view:
        return 0.0
    points = stage.placed([copy], choice.shifts)[-8:] @ basis(VIEWS[view][0])[:2].T
    alone = shapely.MultiPoint(points).convex_hull.area
    colours = np.array(Image.open(io.BytesIO(picture.png)).convert("RGB")).astype(int)
    blue = colours[..., 2] > colours[..., 0] + 40
    blue |= binary_dilation(blue, iterations=4) & (colours.max(axis=2) < 90)  # with its outline
    cell = (picture.box[2] - picture.box[0]) / colours.shape[1]
    return float(blue.sum()) * cell**2 / alone


FLOOR = ((300, 300, 20), (0, 0, 0))
TOWARDS = ((1.0, 0, 0), float("inf"))


def chosen(standing, size, at, way, last):
    """What is chosen for the last of some blocks, and the stage; before it the prop was seen from `last`."""
    found = scene(*(piece(f"s{i}", *each, SAND) for i, each in enumerate(standing)), piece("new", size, at, BLUE))
    new = len(standing)
    step = Step(1, "", ("new",), "contact", 5.0, (), (), (), ("new",), (StepMove((new,), (way,)),))
    stage = staged(found, (), step, list(range(new)))
    return stage, stage.choose(list(range(new)), [new], step, last)


@pytest.mark.parametrize("at", [(0, 0, 15), (90, -90, 15)])
def test_what_is_laid_flat_on_something_is_not_shown_by_its_edge(at):
    _, choice = chosen([FLOOR], (100, 100, 10), at, UP, "side")
    assert abs(basis(VIEWS[choice.name][0])[2] @ (0.0, 0.0, 1.0)) > 0.4


@pytest.mark.parametrize(
    "standing, size, at, way",
    [
        ([((20, 40, 40), (0, 0, 0))], (10, 400, 400), (15, 0, 0), TOWARDS),  # a board on its grip
        ([((40, 40, 20), (0, 0, 0))], (400, 400, 10), (0, 0, 15), UP),
        ([((40, 40, 20), (90, 0, 0)), ((40, 40, 20), (-90, 0, 0))], (400, 400, 10), (0, 0, 15), UP),
    ],
)
def test_a_large_part_does_not_hide_all_that_it_is_put_on(standing, size, at, way):
    stage, choice = chosen(standing, size, at, way, "front")
    new = len(standing)
    points = stage.placed([new], choice.shifts)
    shown = list(range(new + 1))
    seen = render.window(points, stage.bodies, shown, view_of(choice.name), (300, 232))
    met = render.look(points, stage.bodies, shown, seen).met
    alone = sum(render.alone(points, stage.bodies, i, seen) for i in range(new))
    assert met[:new].sum() >= 0.1 * alone and choice.share >= LEAST_SEEN
