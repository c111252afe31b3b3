"""Every new part shows in the picture of its step, in colour and in grey, with its letter: measured on the pictures."""

import colorsys
import io
import struct
from dataclasses import replace
from itertools import combinations, pairwise

import igl
import numpy as np
import pytest
import shapely
from block_props import piece, scene
from PIL import Image
from sample_prop import SHELL

from foamwright.assembly.bodies import bodies
from foamwright.assembly.records import Bubble, Step, StepMove
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import bubbles, render
from foamwright.booklet.pictures.assembling import Assembler
from foamwright.booklet.pictures.cut_into import cut_into
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.lettering import PRINTED, front_arrow
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.prop_pictures import pictures_of
from foamwright.booklet.pictures.render import Window, look, png, window
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.booklet.pictures.step_views import LEAST_SEEN, Choice, View, staged, view_of
from foamwright.booklet.pictures.wrapping import half_wrapped
from foamwright.drawing.primitives import Shading, Text
from foamwright.parts.records import BandBody, Placement

UP = ((0.0, 0.0, 1.0), float("inf"))
BLACK, WHITE, RED, SAND = (replace(SHELL, colour=c) for c in ("#161616", "#ffffff", "#c02020", "#e8b23a"))


def step(number, parts, moves, bench=()):
    return Step(number, f"Step {number}", parts, "contact", 5.0, (), (), (), parts, moves, bench)


def walls(height=90.0):
    sizes = (
        ("floor", (120, 120, 10), (0, 0, -5)),
        ("east", (10, 120, height), (55, 0, height / 2)),
        ("west", (10, 120, height), (-55, 0, height / 2)),
        ("north", (100, 10, height), (0, 55, height / 2)),
        ("south", (100, 10, height), (0, -55, height / 2)),
    )
    return [piece(name, size, at) for name, size, at in sizes]


def one_by_one(parts, way=UP):
    """A step for each part but that the first step puts in all but the last."""
    last = len(parts) - 1
    first = tuple(made.id for made, _ in parts[:-1])
    return (
        step(1, first, tuple(StepMove((i,), (way,)) for i in range(last))),
        step(2, (parts[-1][0].id,), (StepMove((last,), (way,)),)),
    )


def pixels(picture):
    return np.array(Image.open(io.BytesIO(picture.png)).convert("RGB"))


def luminance(colour):
    """Relative luminance of sRGB, from its definition in WCAG 2.1."""
    part = np.asarray(colour, float) / 255.0
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4) @ (0.2126, 0.7152, 0.0722)


def test_a_part_behind_a_wall_is_shown_by_another_view_or_pulled_out_or_without_the_wall():
    parts = [*walls(), piece("block", (30, 30, 10), (0, 0, 5))]
    found, steps = scene(*parts), one_by_one(parts)
    drawn = step_pictures(found, steps)
    table = {number: picture.share for number, picture in drawn.items()}
    assert table[2] >= LEAST_SEEN, table
    assert [bubble.label for bubble in drawn[2].bubbles if bubble.new] == ["BLOCK"]
    assert drawn[2].alt.startswith("Step 2: Step 2.") and drawn[2].arrows
    for way in drawn[2].arrows:  # it comes from above, and the head is its last point
        assert way[0, 1] > way[-1, 1]
    assert drawn[2].png == step_pictures(found, steps)[2].png  # the same bytes again


def test_a_part_that_is_shut_in_is_drawn_without_what_hides_it():
    parts = [*walls(30.0), piece("lid", (120, 120, 10), (0, 0, 35)), piece("core", (30, 30, 10), (0, 0, 5))]
    found = scene(*parts)
    steps = (
        step(1, tuple(made.id for made, _ in parts[:-1]), tuple(StepMove((i,), (UP,)) for i in range(6))),
        step(2, ("core",), (StepMove((6,), ()),)),  # no way out is known
    )
    picture = step_pictures(found, steps)[2]
    assert picture.share >= LEAST_SEEN and "outlines" in picture.note
    assert [bubble.label for bubble in picture.bubbles if bubble.new] == ["CORE"]


def hoop(inner, thick, height):
    """A closed band around a square post, and its mesh, a wall on each side."""
    half, middle = inner / 2.0, inner / 2.0 + thick / 2.0
    long, short = (inner + 2 * thick, thick, height), (thick, inner, height)
    sides = [(long, (0, middle)), (long, (0, -middle)), (short, (middle, 0)), (short, (-middle, 0))]
    meshes = [piece("side", size, (*at, 0.0))[1] for size, at in sides]
    points = np.vstack([mesh[0] for mesh in meshes])
    triangles = np.vstack([mesh[1] + 8 * k for k, mesh in enumerate(meshes)])
    corners = np.array([[1, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0], [1, 1, 0]], float)
    side = np.full(5, height / 2.0)
    body = BandBody(half * corners, corners, np.array([0, 0, 1.0]), -side, side, 0.0, True, 0.0, 0.0, (), ())
    return replace(piece("hoop", long)[0], body=body), (points, triangles)


def test_a_band_around_a_post_is_shown_from_where_one_stands():
    """At most half of a band can be seen on its post: that is no reason to look from below or to leave the post out."""
    parts = [
        piece("base", (200, 200, 10), (0, 0, -65)),
        piece("post", (60, 60, 120), (0, 0, 0)),
        piece("roof", (200, 200, 10), (0, 0, 65)),
        hoop(60.0, 6.0, 20.0),
    ]
    picture = step_pictures(scene(*parts), one_by_one(parts))[2]
    assert picture.share >= LEAST_SEEN and picture.note in ("", "Close view.")


def test_a_band_is_drawn_half_laid_on_with_the_glue_where_the_rest_goes():
    """The loose end stands off, as a strip does that is laid on bit by bit; its arrow ends where it is laid."""
    parts = [piece("post", (60, 60, 120), (0, 0, 0)), hoop(60.0, 6.0, 20.0)]
    picture = step_pictures(scene(*parts), one_by_one(parts))[2]
    red = (pixels(picture).astype(int) @ (1, -1, 0)) > 90
    assert red.sum() > 100  # at home the band would hide all of it
    assert len(picture.arrows) == 1 and np.linalg.norm(picture.arrows[0][0] - picture.arrows[0][-1]) > 20.0


@pytest.mark.parametrize("trimmed", ["trim_start", "trim_end"])
@pytest.mark.parametrize("eye", [FRONT, tuple(-x for x in FRONT)])
def test_the_end_that_is_trimmed_goes_on_last(trimmed, eye):
    """Whatever side it is seen from: a reader who laid the other end first would run the strip the wrong way round."""
    part, mesh = hoop(60.0, 6.0, 20.0)
    part = replace(part, body=replace(part.body, **{trimmed: 10.0}))
    found = scene(piece("post", (60, 60, 120), (0, 0, 0)), (part, mesh))
    drawn = half_wrapped(found, 1, basis(eye)[2], None)
    curve = part.body.curve
    along = np.vstack([np.linspace(a, b, 40, endpoint=False) for a, b in pairwise(curve)])  # from its start on
    laid = drawn.laid(along)
    first, last = laid[2:38], laid[-38:-2]  # the first side of the square, and the last
    assert (last.all() and not first.any()) if trimmed == "trim_start" else (first.all() and not last.any())


@pytest.mark.parametrize("trimmed", ["trim_start", "trim_end"])
@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_the_end_that_goes_on_last_is_not_behind_what_it_goes_round(trimmed, turn):
    """Wherever the joint of a hoop is: a guide would lead right across the post to a place that nobody sees."""
    part, mesh = hoop(60.0, 6.0, 20.0)
    corners = np.roll(part.body.curve[:-1], turn, axis=0)
    body = replace(part.body, curve=np.vstack([corners, corners[:1]]), **{trimmed: 10.0})
    parts = [piece("post", (60, 60, 120), (0, 0, 0)), (replace(part, body=body), mesh)]
    last = one_by_one(parts)[1]
    stage = staged(scene(*parts), (), last, [0])
    chosen = stage.choose([0], [1], last, "front")
    (wrapped,) = stage.wrapped.values()
    along = view_of(chosen.name)[2]
    assert wrapped.side @ along <= 0.35 * np.linalg.norm(wrapped.side) + 1e-9
    start, end = wrapped.arrow(along)
    assert np.linalg.norm(start - end) > 5.0


def test_a_small_part_on_a_large_one_is_seen_close_and_a_large_one_whole():
    small, large = (
        [piece("base", (400, 300, 40), (0, 0, 0)), piece("block", (wide, wide, 10), (100, 80, 25))]
        for wide in (20.0, 280.0)
    )
    near, whole = (step_pictures(scene(*parts), one_by_one(parts))[2] for parts in (small, large))
    wide_of = [picture.box[2] - picture.box[0] for picture in (near, whole)]
    assert wide_of[0] < 0.7 * wide_of[1]
    assert near.note == "Close view." and len(near.old) == 1 and whole.note == "" and whole.old == ()
    assert near.bubbles[0].label == "BLOCK" and near.arrows


def test_small_parts_beside_each_other_are_seen_as_large_as_their_letters():
    """Five letters 20 mm high on the front of something 600 mm high: half of it all around them would leave each 4 mm on paper."""
    wall = piece("wall", (20, 400, 600), (0, 0, 300))
    letters = [piece(f"l{n}", (4, 18, 20), (12, 26 * (n - 2), 300)) for n in range(5)]
    there = scene(wall, *letters)
    out = ((1.0, 0.0, 0.0), float("inf"))
    names = tuple(made.id for made, _ in letters)
    steps = (
        step(1, ("wall",), (StepMove((0,), (UP,)),)),
        step(2, names, tuple(StepMove((n,), (out,)) for n in range(1, 6))),
    )
    picture = step_pictures(there, steps)[2]
    x0, y0, x1, y1 = picture.box
    assert picture.note == "Close view."
    assert 20.0 * min(PRINTED[0] / (x1 - x0), PRINTED[1] / (y1 - y0)) > 7.0


def test_a_part_at_the_end_of_the_whole_keeps_off_the_edge_of_its_close_view():
    """One that touches the edge looks as if it went on beyond."""
    parts = [piece("base", (400, 300, 40), (0, 0, 0)), piece("block", (20, 20, 60), (-185, 130, 50))]
    there = scene(*parts)
    picture = step_pictures(there, one_by_one(parts))[2]
    assert picture.note == "Close view."
    shown = np.array(Image.open(io.BytesIO(picture.png)).convert("RGB"))
    assert (shown[:4] == 255).all()


def test_arrows_have_shafts_and_lead_to_places_that_are_seen():
    parts = [*walls(), piece("block", (30, 30, 10), (0, 0, 5)), piece("lid", (120, 120, 10), (0, 0, 95))]
    picture = step_pictures(scene(*parts), one_by_one(parts))[2]
    wide = max(picture.box[2] - picture.box[0], picture.box[3] - picture.box[1])
    assert len(picture.arrows) == 2  # one at each side of a wide joint
    for way in picture.arrows:
        assert np.linalg.norm(np.diff(way, axis=0), axis=1).sum() > 0.09 * wide
        assert way[0, 1] > way[-1, 1]


def test_new_parts_of_one_colour_are_told_apart():
    parts = [piece("left", (100, 100, 20), (0, 0, 0), SAND), piece("right", (100, 100, 20), (100.0, 0, 0), SAND)]
    both = step(1, ("left", "right"), (StepMove((0,), (UP,)), StepMove((1,), (UP,))))
    shown = luminance(pixels(step_pictures(scene(*parts), (both,))[1]))
    values, counts = np.unique(np.round(shown, 3), return_counts=True)
    faces = values[(values < 0.99) & (values > 0.03) & (counts > 0.01 * shown.size)]
    assert 1 + (np.diff(faces) > 0.012).sum() > 3, faces  # a block shows three faces, and two alike no more tones


@pytest.mark.parametrize("painted, is_yellow", [(False, False), (True, True)])
def test_what_has_been_painted_goes_in_in_the_colour_of_its_paint(painted, is_yellow):
    made, mesh = piece("cheese", (60, 60, 30), (0, 0, 25), stock=RED)
    found = scene(piece("shelf", (200, 150, 20), (0, 0, 0), SAND), (replace(made, paint="yellow"), mesh))
    coat = Step(2, "", ("shelf", "cheese"), "", 5.0, (), (), (), uses=("paint",) if painted else ())
    steps = (step(1, ("shelf",), (StepMove((0,), (UP,)),)), coat, step(3, ("cheese",), (StepMove((1,), (UP,)),)))
    shown = pixels(step_pictures(found, steps)[3]).reshape(-1, 3).astype(int)
    yellow = (shown[:, 1] > 130) & (shown[:, 2] < 90)
    assert (yellow.mean() > 0.01) == is_yellow


def test_a_view_that_changes_is_announced_and_one_that_stays_is_not():
    floor, top = piece("floor", (120, 120, 10), (0, 0, -5)), piece("top", (60, 60, 10), (0, 0, 5))
    under, more = piece("under", (40, 40, 10), (0, 0, -15)), piece("more", (20, 20, 10), (0, 0, 15))
    found = scene(floor, top, under, more)
    down = ((0.0, 0.0, -1.0), float("inf"))
    ways = (UP, UP, down, UP)
    ids = ("floor", "top", "under", "more")
    steps = tuple(step(n + 1, (ids[n],), (StepMove((n,), (ways[n],)),)) for n in range(4))
    notes = [step_pictures(found, steps)[n].note for n in (1, 2, 3, 4)]
    assert notes[0] == notes[1] == ""
    assert notes[2].startswith("Turn it over") and notes[3].startswith("Turn it back")


@pytest.mark.parametrize("standing", [BLACK, WHITE, RED, SAND], ids=lambda stock: stock.colour)
@pytest.mark.parametrize("new", [BLACK, WHITE, RED, SAND], ids=lambda stock: stock.colour)
def test_what_is_new_is_told_from_what_stands_in_grey(standing, new):
    """The lit upper faces of a standing block and a new one beside it. The outline of the new one has the contrast of
    3 to 1 with what stands that WCAG 2.1, success criterion 1.4.11, asks of graphics."""
    parts = [
        piece("base", (100, 100, 20), (0, 0, 0), standing),
        piece("block", (100, 100, 20), (100.0, 0, 0), new),
    ]
    picture = step_pictures(scene(*parts), one_by_one(parts))[2]
    shown = luminance(pixels(picture))
    values, counts = np.unique(np.round(shown, 3), return_counts=True)
    large = values[(counts > 0.02 * shown.size) & (values < 0.999)]
    light, dark = large.max(), large.min()
    assert light - dark > 0.2, large  # what stands is paler than anything new
    ink = shown.min()
    assert (light + 0.05) / (ink + 0.05) >= 3.0
    assert (shown < 0.03).sum() > 300  # the bold outline is there


@pytest.mark.parametrize("foam, least", [("#e8b23a", 3.0), ("#f6e05e", 1.0), ("#f6efd8", 0.1)])
def test_yellow_foam_darkened_turns_golden_and_not_olive(foam, least):
    """The hue of yellow, 60 degrees in the HSV model (A. R. Smith, "Color gamut transform pairs", SIGGRAPH 1978), is held by a
    mix with black and reads as olive; so it moves to orange, at 30, and never towards green."""
    own = tuple(int(foam[k : k + 2], 16) for k in (1, 3, 5))
    hue = [
        colorsys.rgb_to_hsv(*(np.array(c) / 255.0))[0] * 360.0 for c in (own, render.darkened(np.array([own]), 0.4)[0])
    ]
    assert 20.0 < hue[1] < hue[0] - least  # cream is nearly grey
    grey = render.darkened(np.array([[200.0, 200.0, 200.0]]), 0.4)[0]
    assert grey == pytest.approx([120.0] * 3)


def test_letters_stand_clear_of_parts_and_of_each_other():
    """Forty plates on a board: forty bubbles, and leaders that end on their plates."""
    board = piece("board", (420, 300, 10), (0, 0, -5))
    plates = [piece(f"p{i}", (30, 30, 10), (45.0 * (i % 8) - 157.0, 55.0 * (i // 8) - 110.0, 5.0)) for i in range(40)]
    found = scene(board, *plates)
    moves = tuple(StepMove((i + 1,), (UP,)) for i in range(40))
    steps = (
        step(1, ("board",), (StepMove((0,), (UP,)),)),
        step(2, tuple(made.id for made, _ in plates), moves),
    )
    picture = step_pictures(found, steps)[2]
    assert sorted(b.label for b in picture.bubbles) == sorted(f"P{i}" for i in range(40))
    spots = np.array([b.spot for b in picture.bubbles])
    radius = picture.bubbles[0].radius
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2) + 1e9 * np.eye(40)
    assert apart.min() > 2.0 * radius
    low, high = np.array(picture.bounds[:2]), np.array(picture.bounds[2:])
    assert (spots - radius >= low - 1e-6).all() and (spots + radius <= high + 1e-6).all()  # nothing is clipped
    colours, box = pixels(picture), np.array(picture.box)
    scale = np.array(colours.shape[1::-1]) / (box[2:] - box[:2])
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    ring = 0.95 * radius * np.column_stack([np.cos(turn), np.sin(turn)])
    for spot in spots:  # all of a bubble is on white paper
        cells = ((spot + ring - box[:2]) * scale).astype(int)
        inside = ((cells >= 0) & (cells < colours.shape[1::-1])).all(axis=1)
        assert (colours[colours.shape[0] - 1 - cells[inside, 1], cells[inside, 0]] == 255).all()
    for bubble in picture.bubbles:  # and a leader ends on its part
        column, row = ((np.array(bubble.at) - box[:2]) * scale).astype(int)
        assert (colours[colours.shape[0] - 1 - row, column] < 255).any()


def test_glue_is_hatched_where_parts_meet_and_nowhere_else():
    parts = [piece("base", (100, 100, 20), (0, 0, 0)), piece("block", (40, 40, 20), (0, 0, 20))]
    steps = one_by_one(parts)
    hatched = step_pictures(scene(*parts), steps)[2]
    red = (pixels(hatched).astype(int) @ (1, -1, 0)) > 90
    assert red.sum() > 200
    resting = [parts[0], piece("block", (40, 40, 20), (0, 0, 20), glue="none")]
    free = step_pictures(scene(*resting), steps)[2]
    assert ((pixels(free).astype(int) @ (1, -1, 0)) > 90).sum() == 0


@pytest.mark.parametrize("size", [0.05, 1.0, 25.0])  # of a 400 mm prop: 20 mm, and 10 m
def test_pictures_do_not_depend_on_the_size_of_the_prop(size):
    made = [("base", (400, 300, 40), (0, 0, 0)), ("block", (100, 100, 80), (0, 0, 60))]
    parts = [piece(name, tuple(size * v for v in box), tuple(size * v for v in at)) for name, box, at in made]
    picture = step_pictures(scene(*parts), one_by_one(parts))[2]
    assert picture.share == pytest.approx(1.0, abs=0.02)
    assert picture.bubbles[0].radius / (picture.bounds[2] - picture.bounds[0]) == pytest.approx(0.04, abs=0.015)


def test_a_prop_of_one_part_and_a_step_of_nothing():
    only = piece("only", (100, 60, 10))
    steps = (step(1, ("only",), (StepMove((0,), (UP,)),)), step(2, (), ()))
    found = scene(only)
    shown = step_pictures(found, steps)
    assert list(shown) == [1] and shown[1].share == 1.0
    drawn = pictures_of(found, steps)
    assert drawn.apart is None
    assert len(drawn.finished) == 2 and drawn.overall == pytest.approx((100.0, 60.0, 10.0))


def test_of_two_that_are_mirror_images_one_is_drawn():
    def half(side):
        base, mesh = piece("base", (100, 100, 20), (0, 200.0 * side, 0))
        return replace(base, placements=(base.placements[0], Placement(np.diag([1.0, -1, 1, 1]), True))), mesh

    parts = [half(-1), half(1)]
    found = scene(*parts)
    picture = step_pictures(found, (step(1, ("base",), (StepMove((0,), (UP,)), StepMove((1,), (UP,)))),))[1]
    assert "mirror image" in picture.note
    assert picture.bounds[2] - picture.bounds[0] < 220.0  # both together are more than 300 mm wide


def test_a_loose_lid_is_drawn_over_what_it_lies_on():
    lid, mesh = piece("lid", (120, 120, 10), (0, 0, 45), glue="none")
    parts = [*walls(40.0), (replace(lid, rests_on=("east", "west", "north", "south")), mesh)]
    for way in (UP, ((0.0, 0.0, -1.0), float("inf"))):  # found without what it is laid on, it could be any
        picture = step_pictures(scene(*parts), one_by_one(parts, way))[2]
        assert picture.bounds[3] - picture.bounds[1] > 110.0  # the lid alone is less than 100 mm high
        assert picture.arrows and all(arrow[0, 1] > arrow[-1, 1] for arrow in picture.arrows)


def test_a_cap_that_is_glued_up_on_the_table_is_drawn_without_the_box_that_it_will_lie_on():
    ring, mesh = piece("ring", (120, 120, 10), (0, 0, 45))
    ring = (replace(ring, rests_on=("east", "west", "north", "south")), mesh)
    parts = [*walls(40.0), ring, piece("top", (110, 110, 10), (0, 0, 55))]
    box, cap = tuple(range(5)), (5, 6)
    glued = (
        step(1, ("floor",), tuple(StepMove((i,), (UP,)) for i in box)),
        step(2, ("ring", "top"), tuple(StepMove((i,), (UP,)) for i in cap)),
    )
    picture = step_pictures(scene(*parts), glued)[2]
    assert {bubble.label for bubble in picture.bubbles} == {"RING", "TOP"} and "outlines" not in picture.note
    laid = (glued[0], replace(glued[1], glue=""))  # laid on in one go, it is drawn over what it lies on
    assert len({bubble.label for bubble in step_pictures(scene(*parts), laid)[2].bubbles}) > 2


def test_what_is_painted_stands_in_full_colour_with_its_letters():
    parts = [piece("base", (100, 100, 20), (0, 0, 0), RED), piece("block", (40, 40, 20), (0, 0, 20), RED)]
    paint = replace(step(3, ("block",), ()), parts=("block",), places=(), uses=("primer", "paint"))
    picture = step_pictures(scene(*parts), (*one_by_one(parts), paint))[3]
    assert [b.label for b in picture.bubbles] == ["BLOCK"] and picture.arrows == () and "Painted: BLOCK" in picture.alt
    shown = pixels(picture).astype(int)
    strong = ((shown[..., 0] - shown[..., 1]) > 90).sum()  # red at full: of the block alone
    assert 0.05 < strong / (shown < 255).any(axis=2).sum() < 0.5
    wiped = step_pictures(scene(*parts), (*one_by_one(parts), replace(paint, uses=("cloth",))))[3]
    assert "Worked on: BLOCK" in wiped.alt


@pytest.mark.parametrize("gap", [0.0, 4.0])  # 4 mm: felt
def test_what_is_set_down_at_last_is_drawn_over_what_carries_it(gap):
    hull, mesh = piece("hull", (300, 90, 60), (0, 0, 60 + gap), RED)
    parts = [
        piece("base", (200, 120, 20), (0, 0, 10)),
        piece("rail", (200, 10, 10), (0, 40, 25)),
        (replace(hull, rests_on=("rail",)), mesh),
        piece("fin", (40, 40, 40), (100, 0, 110 + gap), RED),
    ]
    found, steps = scene(*parts), one_by_one(parts)
    last = replace(step(3, ("hull",), ()), glue="", places=(), sets=(StepMove((2, 3), (UP,)),))
    picture = step_pictures(found, (*steps, last))[3]
    letters = {bubble.label: bubble.new for bubble in picture.bubbles}
    assert letters == {"HULL": True, "RAIL": False}  # what touches, and nothing else of the two
    assert picture.arrows and all(arrow[0, 1] > arrow[-1, 1] for arrow in picture.arrows)
    at_home = pictures_of(found, (*steps, last)).finished[0].bounds
    assert picture.box[3] - picture.box[1] > at_home[3] - at_home[1] + 4.0  # it is lifted clear
    assert "Set down in the picture: HULL" in picture.alt
    plain = step_pictures(found, (*steps, replace(last, sets=())))[3]
    assert not plain.arrows and [bubble.label for bubble in plain.bubbles] == ["HULL"]  # only worked on


def test_what_goes_on_from_below_is_drawn_upside_down():
    """Turned over on the bench, the part comes from above: its arrow points down."""
    parts = [*walls(40.0), piece("foot", (60, 60, 10), (0, 0, -15))]
    down = ((0.0, 0.0, -1.0), float("inf"))
    picture = step_pictures(scene(*parts), one_by_one(parts, down))[2]
    assert picture.note.startswith("Turn it over")
    assert picture.arrows and all(arrow[0, 1] > arrow[-1, 1] for arrow in picture.arrows)


def test_a_thing_that_is_begun_has_not_been_turned():
    """A box is turned over for its foot; the tray that is glued up next stands before one as any does, the box is turned back."""
    down = ((0.0, 0.0, -1.0), float("inf"))
    parts = [*walls(40.0), piece("foot", (60, 60, 10), (0, 0, -15))]
    parts += [piece("tray", (80, 80, 10), (400, 0, 0)), piece("rim", (80, 80, 10), (400, 0, 10))]
    parts += [piece("knob", (20, 20, 20), (0, 0, 10))]
    ways, ids = [UP] * 5 + [down, UP, UP, UP], [made.id for made, _ in parts]
    groups = (range(5), (5,), (6, 7), (8,))
    steps = tuple(
        step(n + 1, tuple(ids[i] for i in group), tuple(StepMove((i,), (ways[i],)) for i in group))
        for n, group in enumerate(groups)
    )
    notes = [step_pictures(scene(*parts), steps)[n].note for n in (1, 2, 3, 4)]
    assert notes[1].startswith("Turn it over")
    assert "urn it" not in notes[2] and "again" not in notes[2]
    assert notes[3].startswith("Turn it back")


def test_what_is_painted_and_hidden_from_the_front_is_shown_from_two_sides_more():
    """A block deep in a box shows from above alone, and a foot from below alone."""
    parts = [*walls(110.0), piece("deep", (30, 30, 10), (0, 0, 5), RED), piece("foot", (30, 30, 10), (0, 0, -15), RED)]
    ids = tuple(made.id for made, _ in parts)
    paint = replace(step(len(parts) + 1, ids, ()), places=(), uses=("primer", "paint"))
    steps = tuple(step(n + 1, (part,), (StepMove((n,), (UP,)),)) for n, part in enumerate(ids))
    picture = step_pictures(scene(*parts), (*steps, paint))[paint.number]
    letters = [{item.value for item in inset.items if isinstance(item, Text)} for inset in picture.details]
    assert len(picture.details) == 2 and {"DEEP", "FOOT"} <= set().union(*letters)
    assert len({inset.said for inset in picture.details}) == 2


def test_a_tall_thing_from_another_side_is_as_wide_as_its_letters_need():
    """A chest of 100 x 100 x 230 from below: 11 mm wide in the room of other small drawings, and letters larger than that."""
    parts = [*walls(230.0), piece("foot", (30, 30, 10), (0, 0, -15), RED)]
    ids = tuple(made.id for made, _ in parts)
    paint = replace(step(len(parts) + 1, ids, ()), places=(), uses=("primer", "paint"))
    steps = tuple(step(n + 1, (part,), (StepMove((n,), (UP,)),)) for n, part in enumerate(ids))
    (below,) = step_pictures(scene(*parts), (*steps, paint))[paint.number].details
    (drawn,) = (item for item in below.items if isinstance(item, Shading))
    assert drawn.width > 18.0 and below.height > INSET[1]


@pytest.mark.parametrize("off", [1.0, 2.1, 2.5, 3.0, -1.0, -2.2])
def test_the_word_at_the_arrow_to_the_front_is_clear_of_letters(off):
    """A letter that stands `off` radii above where the arrow would go by choice."""
    found = scene(piece("base", (100, 100, 100), (0, 0, 0)))
    seen = window(found.points, found, [0], basis(FRONT), (300, 242))
    shown, radius = look(found.points, found, [0], seen), 4.0
    low = seen.low
    high = low + seen.step * np.array(seen.shape[::-1])
    free = front_arrow(shown, seen, (), (), radius, low, high)
    spot = np.array(free[:2]) + np.array(free[2:]) / 2.0 + (0.0, off * radius)
    letter = Bubble("A", (0.0, 0.0), tuple(spot), radius)
    assert off > 1.0 or _over(free, spot, radius)
    assert not _over(front_arrow(shown, seen, (letter,), (), radius, low, high), spot, radius)


def _over(front, spot, radius):
    """Does a letter's bubble reach over the arrow to the front, or over its word, which is 3.2 mm below it?"""
    ends = np.array([front[:2], np.add(front[:2], front[2:])])
    low, high = ends.min(axis=0) - (0.2 * radius, 1.1 * radius), ends.max(axis=0)
    return bool(np.linalg.norm(np.maximum(np.maximum(low - spot, spot - high), 0.0)) < radius)


def test_the_arrow_to_the_front_stands_where_the_picture_is_empty():
    """A picture as high as the square of a ball: in its corner, and not below it, where it takes paper."""
    found = scene(piece("base", (100, 100, 100), (0, 0, 0)))
    step, radius = 0.5, 3.5
    y, x = np.mgrid[:200, :200]
    ball = np.where(np.hypot(x - 99.5, y - 99.5) < 100.0, 0, -1).astype(np.int32)
    shown = replace(
        look(found.points, found, [0], window(found.points, found, [0], basis(FRONT), (300, 242))), owner=ball
    )
    seen = Window(basis(FRONT), np.zeros(2), step, (200, 200))
    x, y, dx, dy = front_arrow(shown, seen, (), (), radius, np.zeros(2), np.full(2, 100.0))
    assert 0.0 < y < 100.0
    assert np.hypot(x + dx / 2.0 - 50.0, y + dy / 2.0 - 50.0) > 50.0
    line = np.column_stack([np.full(2, x + dx / 2.0), [0.0, 100.0]])  # a guide where it stood
    x2, *_ = front_arrow(shown, seen, (), (line,), radius, np.zeros(2), np.full(2, 100.0))
    assert abs(x2 - x) > radius


def test_a_png_is_read_back_by_another_library():
    colours = (np.indices((7, 5)).sum(axis=0)[..., None] * np.array([9, 17, 5]) % 256).astype(np.uint8)
    data = png(colours)
    read = np.array(Image.open(io.BytesIO(data)).convert("RGB"))
    assert read.shape == colours.shape and struct.unpack(">II", data[16:24]) == (5, 7)
    assert np.abs(read.astype(int) - colours).max() <= 4  # tones are rounded to a sixty-fourth


def test_what_is_met_first_is_what_a_ray_meets_first():
    """Random triangles, some of them slivers, against rays that libigl shoots along the lines of sight."""
    random = np.random.default_rng(7)
    corners = random.uniform(-40.0, 40.0, (60, 3, 3))
    corners[::5, 2] = corners[::5, 0] + 0.03 * (corners[::5, 2] - corners[::5, 1])
    triangles = np.arange(180).reshape(60, 3)
    found = bodies((piece("soup", (1, 1, 1))[0],), [(corners.reshape(-1, 3), triangles)], (np.eye(4),))
    seen = window(found.points, found, [0], basis((0.3, -0.8, -0.5)), (60, 50))
    met = look(found.points, found, [0], seen)
    rows, columns = np.indices(met.face.shape)
    across = seen.low + seen.step * np.column_stack([columns.ravel(), rows.ravel()])
    starts = np.column_stack([across, np.full(len(across), -500.0)]) @ seen.frame
    tree = igl.AABB()
    tree.init(found.points, triangles)
    along = np.tile(seen.frame[2], (len(starts), 1))
    first = np.asarray(tree.intersect_ray_first(found.points, triangles, starts, along)[0]).reshape(-1)
    differ = first.reshape(met.face.shape) != met.face
    assert (met.face >= 0).mean() > 0.2 and differ.mean() < 0.002  # rays along an edge may fall to either side


def test_two_plates_that_go_up_the_same_way_do_not_hide_each_other():
    """A loft and a floor are pushed into a tower from below, one after the other: each is drawn clear of the other."""
    walls = [piece(f"wall_{x}", (6, 100, 100), (x, 0, 50)) for x in (-50, 50)]
    walls += [piece(f"side_{y}", (94, 6, 100), (0, y, 50)) for y in (-47, 47)]
    there = scene(*walls, piece("loft", (94, 88, 8), (0, 0, 60)), piece("floor", (94, 88, 8), (0, 0, 4)))
    down = ((0.0, 0.0, -1.0), float("inf"))
    stand = Step(1, "", (), "contact", 5.0, (), (), (), (), tuple(StepMove((i,), ()) for i in range(4)))
    both = Step(2, "", (), "contact", 5.0, (), (), (), (), (StepMove((4,), (down,)), StepMove((5,), (down,))))
    assert step_pictures(there, (stand, both))[2].share >= LEAST_SEEN


def test_what_takes_a_part_has_its_letter_in_a_thin_ring():
    parts = [piece("board", (200, 200, 10), (0, 0, -5)), piece("far", (30, 30, 30), (-80, 80, 15))]
    parts.append(piece("post", (40, 40, 60), (0, 0, 30)))
    drawn = step_pictures(scene(*parts), one_by_one(parts))[2]
    told = {bubble.label: bubble.new for bubble in drawn.bubbles}
    assert told == {"POST": True, "BOARD": False}  # and nothing of what it does not touch


def test_left_and_right_of_a_pair_are_told_apart():
    """Where both go in together; the left one stands at positive y, as x is forward and z up."""

    def wing(side):
        made, mesh = piece("wing", (60, 20, 40), (0, 60.0 * side, 20), lies_on=("board",))
        there = Placement(np.diag([1.0, -1.0, 1.0, 1.0]), mirrored=True)
        return replace(made, placements=(*made.placements, there)), mesh

    found = scene(piece("board", (200, 200, 10), (0, 0, -5)), wing(1), wing(-1))
    floor, both = StepMove((0,), (UP,)), (StepMove((1,), (UP,)), StepMove((2,), (UP,)))
    drawn = step_pictures(found, (step(1, ("board",), (floor,)), step(2, ("wing",), both)))[2]
    told = {bubble.label: bubble for bubble in drawn.bubbles if bubble.new}
    assert set(told) == {"WING L", "WING R"}
    across = basis(FRONT)[:2] @ np.array([0.0, 1.0, 0.0])
    assert np.subtract(told["WING L"].at, told["WING R"].at) @ across > 0.0
    one = step_pictures(found, (step(1, ("board",), (floor,)), step(2, ("wing",), both[:1])))[2]
    assert [bubble.label for bubble in one.bubbles if bubble.new] == ["WING"]


def test_guides_of_many_parts_are_no_knot():
    """Six posts that go down behind each other: no guide comes near another one, and one at least is drawn."""
    posts = [piece(f"post{k}", (14, 14, 80), (0, 22 * k - 55, 40)) for k in range(6)]
    parts = [piece("board", (200, 200, 10), (0, 0, -5)), *posts]
    moves = tuple(StepMove((k + 1,), (UP,)) for k in range(6))
    steps = (step(1, ("board",), (StepMove((0,), (UP,)),)), step(2, tuple(made.id for made, _ in posts), moves))
    drawn = step_pictures(scene(*parts), steps)[2]
    lines = [shapely.LineString(line) for line in drawn.arrows]
    size = max(np.ptp(np.reshape(drawn.box, (2, 2)), axis=0))
    assert lines
    assert all(a.distance(b) > 0.015 * size for a, b in combinations(lines, 2))


def test_what_is_set_in_without_glue_is_drawn_with_what_it_stands_on():
    """A pail of two parts that are glued to each other, on a floor that they only rest on."""
    parts = [piece("floor", (200, 200, 10), (0, 0, -5)), piece("can", (50, 50, 60), (0, 0, 30))]
    parts.append(piece("grip", (20, 50, 10), (0, 0, 65)))
    parts[1] = (replace(parts[1][0], rests_on=("floor",)), parts[1][1])
    floor = step(1, ("floor",), (StepMove((0,), (UP,)),))
    set_in = replace(step(2, ("can", "grip"), (StepMove((1, 2), (UP,)),)), glue="")
    drawn = step_pictures(scene(*parts), (floor, set_in))[2]
    assert drawn.bounds[2] - drawn.bounds[0] > 150.0


@pytest.mark.parametrize("glue", ["contact", ""])
def test_what_is_only_set_down_is_not_drawn_from_below(glue):
    """A bowl with a plate that closes its foot, which from above is hidden by the floor of the bowl."""
    parts = [
        piece("floor", (300, 300, 10), (0, 0, -5)),
        piece("bowl", (120, 120, 40), (0, 0, 24)),
        piece("foot", (100, 100, 4), (0, 0, 2)),
    ]
    parts[1:] = [(replace(made, rests_on=("floor",)), mesh) for made, mesh in parts[1:]]
    floor = step(1, ("floor",), (StepMove((0,), (UP,)),))
    set_in = replace(step(2, ("bowl", "foot"), (StepMove((1, 2), (UP,)),)), glue=glue)
    drawn = step_pictures(scene(*parts), (floor, set_in))[2]
    assert ("below" in drawn.note) == bool(glue), drawn.note


@pytest.mark.parametrize("glue, on_panes", [("instant", False), ("contact", True)])
def test_instant_glue_goes_on_one_face_and_contact_cement_on_both(glue, on_panes):
    """Two panes inside of two walls, pulled up: the face of the far wall shows and that of the near pane. A pane of paper stays
    clean where its wall shows."""
    parts = [piece("near", (200, 10, 100), (0, 60, 0)), piece("far", (200, 10, 100), (0, -60, 0))]
    parts += [piece("pane", (160, 4, 80), (0, 53, 0)), piece("other", (160, 4, 80), (0, -53, 0))]
    found = scene(*parts)
    step = Step(1, "", ("pane", "other"), glue, 5.0, (), (), (), ("pane", "other"), (StepMove((2, 3), (UP,)),))
    stage = staged(found, (), step, [0, 1])
    shifts = {i: np.array([0.0, 0.0, 130.0]) for i in (2, 3)}
    points = stage.placed([2, 3], shifts)
    view = View(stage, points, (0, 1, 2, 3), (0, 1), (2, 3), Choice("front", 1.0, shifts), glue == "instant")
    drawn = Assembler(found).drawn(view, window(points, found, [0, 1, 2, 3], basis(FRONT), (300, 240)))
    shown = np.array(Image.open(io.BytesIO(drawn.png)).convert("RGB").resize(drawn.scene.owner.shape[::-1])).astype(int)
    red = (shown[::-1] @ (1, -1, 0)) > 60
    assert (red & (drawn.scene.owner == 1)).sum() > 50
    assert ((red & (drawn.scene.owner == 2)).sum() > 50) == on_panes


def test_a_leader_does_not_run_over_another_part_that_has_a_letter():
    """A small disc before a larger one: the leader of the larger one, whose middle is nearest behind the small one, goes round it."""
    owner = np.full((200, 300), -1, np.int32)
    owner[60:140, 100:200] = 0
    owner[120:150, 130:170] = 1
    ground = bubbles.Ground(owner, np.zeros(2), 1.0)
    letters = {bubble.label: bubble for bubble in bubbles.placed(ground, (("A", 0), ("B", 1)), 12.0)}
    leader = bubbles.along(np.array([letters["A"].spot, letters["A"].at]), 1.0)
    cells = np.rint(leader).astype(int)
    inside = ((cells >= 0) & (cells < (300, 200))).all(axis=1)
    assert not (owner[cells[inside, 1], cells[inside, 0]] == 1).any()


def test_one_letter_is_not_sent_far_off_because_it_came_last():
    """Eight small parts in a row: no leader is longer than the whole row."""
    owner = np.full((220, 400), -1, np.int32)
    owner[20:120, 40:360] = 8
    for i in range(8):
        owner[120:132, 150 + 12 * i : 161 + 12 * i] = i
    ground = bubbles.Ground(owner, np.zeros(2), 1.0)
    named = [(chr(65 + i), i) for i in range(9)]
    letters = bubbles.placed(ground, named, 9.0)
    assert len(letters) == 9
    assert max(float(np.linalg.norm(np.subtract(b.spot, b.at))) for b in letters) < 100.0


@pytest.mark.parametrize("gap, is_scrap", [(0.0, False), (6.0, True), (60.0, False)])
def test_of_what_goes_on_both_sides_a_scrap_seen_through_a_slit_is_left_out(gap, is_scrap):
    """Two strips, one before a wall and one behind it, of which a slit of 6 in 100 mm shows next to nothing."""
    here, behind = np.eye(4), np.eye(4)
    behind[1, 3] = -80.0
    strip, (points, triangles) = piece("strip", (100, 6, 10), (0, 40, 0))
    strip = replace(strip, placements=(Placement(here, False), Placement(behind, False)))
    parts = [
        (strip, (points, triangles)),
        (strip, (points + behind[:3, 3], triangles)),
        piece("west", (120, 2, 80), (-60 - gap / 2, 0, 0)),
        piece("east", (120, 2, 80), (60 + gap / 2, 0, 0)),
    ]
    there = bodies(*zip(*parts), (here, behind, here, here), {})
    hidden = Assembler(there)._scraps(there.points, (2, 3), (0, 1), Choice("side", 1.0, {}))
    assert hidden == ({1} if is_scrap else set())


def test_a_step_that_puts_nothing_in_shows_what_is_worked_on():
    """Straps are threaded through two of three parts: these stand in colour with their letters, the third is pale without."""
    parts = [
        piece("one", (60, 40, 10)),
        piece("two", (60, 40, 10), (0, 0, 10)),
        piece("three", (60, 40, 10), (0, 0, 20)),
    ]
    found = scene(*parts)
    built = step(1, ("one", "two", "three"), tuple(StepMove((i,), (UP,)) for i in range(3)))
    straps = Step(2, "Thread the straps", ("one", "three"), "", 5.0, (), (), ())
    cure = Step(3, "Let it cure", ("one", "two", "three"), "", 5.0, (), (), ())
    drawn = step_pictures(found, (built, straps, cure))
    assert {bubble.label for bubble in drawn[2].bubbles} == {"ONE", "THREE"}
    assert "Worked on: ONE, THREE" in drawn[2].alt
    assert 3 not in drawn  # what is done to all of it needs none


@pytest.mark.parametrize("wide, said", [(20, ["Close view of TAG, seen from behind on the left."]), (200, [])])
def test_a_small_part_that_turns_its_edge_to_the_eye_is_seen_close_from_another_side(wide, said):
    """A tag that goes in with a large lid, which the picture shows well."""
    tag, (points, triangles) = piece("tag", (wide, 2, wide))
    edge_on = np.arctan2(FRONT[1], FRONT[0])
    turn = np.array([[np.cos(edge_on), np.sin(edge_on), 0], [-np.sin(edge_on), np.cos(edge_on), 0], [0, 0, 1]])
    wall = piece("wall", (300, 200, 200))
    lid = piece("lid", (300, 200, 20), (0, 0, 110))
    found = scene(wall, lid, (tag, (points @ turn + (0.0, 220.0, 0.0), triangles)))
    steps = (
        step(1, ("wall",), (StepMove((0,), (UP,)),)),
        step(2, ("lid", "tag"), (StepMove((1,), (UP,)), StepMove((2,), (UP,)))),
    )
    assert [inset.said for inset in step_pictures(found, steps)[2].details] == said


def test_the_upper_end_of_a_tall_thing_is_seen_close_where_a_part_goes_on_it():
    """Such a picture is small on paper, as it is no higher than a page has room for."""
    tall, low = (
        [piece("post", (160, 160, high), (0, 0, high / 2)), piece("lid", (160, 160, 20), (0, 0, high + 10))]
        for high in (360.0, 120.0)
    )
    assert [step_pictures(scene(*parts), one_by_one(parts))[2].note for parts in (tall, low)] == ["Close view.", ""]


def test_what_a_tall_thing_is_begun_with_is_no_close_view():
    found = scene(piece("post", (60, 60, 400), (0, 0, 200)), piece("lid", (60, 60, 10), (0, 0, 405)))
    both = step(1, ("post", "lid"), (StepMove((0,), (UP,)), StepMove((1,), (UP,))))
    assert step_pictures(found, (both,))[1].note == ""


def test_a_tiny_part_that_goes_on_one_drawn_off_its_place_has_a_close_view_of_where_it_goes_there():
    post, tray, stud = (
        piece("post", (100, 100, 500), (0, 0, 250)),
        piece("tray", (200, 200, 10), (0, 0, 505)),
        piece("stud", (24, 24, 20), (60, -60, 520)),
    )
    found = scene(post, tray, stud)
    moves = tuple(StepMove((n,), (UP,)) for n in range(3))
    together = step(1, ("post", "tray", "stud"), moves)
    assert [each.said for each in step_pictures(found, (together,))[1].details] == ["Close view of STUD."]


def test_what_was_put_on_a_part_at_the_bench_need_not_show_again_when_that_goes_in():
    """A board with a block on its far side, one of two that stand on a floor: it is seen from the front still."""
    parts = (
        piece("floor", (300, 300, 10), (0, 0, -5)),
        piece("board", (10, 200, 200), (0, 0, 100)),
        piece("block", (10, 60, 60), (-10, 0, 100)),
    )
    back = ((-1.0, 0.0, 0.0), float("inf"))
    steps = (
        step(1, ("floor",), (StepMove((0,), (UP,)),)),
        step(2, ("block",), (StepMove((2,), (back,)),), ("board",)),
        step(3, ("board", "block"), (StepMove((1, 2), (UP,)),)),
    )
    drawn = step_pictures(scene(*parts), steps)
    assert drawn[3].note == "" and drawn[3].share >= LEAST_SEEN
    assert drawn[2].share >= LEAST_SEEN  # and at the bench it shows


def under_a_hole():
    """A deck of four boards that leave a hole, and a bar below it, of which a speck shows through that."""
    parts = [
        piece("east", (80, 180, 10), (50, 0, 0)),
        piece("west", (80, 180, 10), (-50, 0, 0)),
        piece("north", (20, 80, 10), (0, 50, 0)),
        piece("south", (20, 80, 10), (0, -50, 0)),
        piece("bar", (16, 120, 6), (0, 0, -8), RED),
    ]
    return parts, tuple(made.id for made, _ in parts)


def test_what_shows_as_a_scrap_through_a_hole_has_its_letter_where_it_is_seen():
    """A bubble that points through a hole at a scrap of what is painted tells nobody what it is."""
    parts, ids = under_a_hole()
    paint = replace(step(len(parts) + 1, ids, ()), places=(), uses=("primer", "paint"))
    steps = tuple(step(n + 1, (part,), (StepMove((n,), (UP,)),)) for n, part in enumerate(ids))
    picture = step_pictures(scene(*parts), (*steps, paint))[paint.number]
    assert {bubble.label for bubble in picture.bubbles} == {"EAST", "WEST", "NORTH", "SOUTH"}
    (below,) = picture.details
    assert {item.value for item in below.items if isinstance(item, Text)} == {"BAR"}


def test_a_copy_on_the_far_side_that_is_not_drawn_has_a_small_picture_from_there():
    """Two fins at a hull, one of which shows as a speck below it: where it goes is not to be made out from a sentence alone."""
    hull = piece("hull", (200, 60, 60), (0, 0, 0))
    (fin, near), (_, far) = (piece("fin", (60, 4, 30), (0, y, -16), RED) for y in (32.0, -32.0))
    pieces, meshes = (hull[0], fin, fin), (hull[1], near, far)
    both = bodies(pieces, meshes, tuple(np.eye(4) for _ in pieces), {})
    both = replace(both, numbered=frozenset({"fin"}))
    moves = tuple(StepMove((n,), (((0.0, y, 0.0), 100.0),)) for n, y in ((1, 1.0), (2, -1.0)))
    assembler, own = Assembler(both), step(1, ("fin",), moves)
    stage = staged(both, (), own, (0,))
    ways = {1: np.array([0.0, 20.0, 0.0]), 2: np.array([0.0, -20.0, 0.0])}
    chosen = Choice("front", 1.0, ways)
    assembler._scraps = lambda *_: {2}
    picture = assembler.assembled(stage, (0,), own, chosen, "front", "")
    assert [bubble.label for bubble in picture.bubbles if bubble.new] == ["FIN 1"]
    (far_side,) = (inset for inset in picture.details if inset.said.startswith("The far side."))
    assert "FIN 2" in {item.value for item in far_side.items if isinstance(item, Text)}
    assert "not drawn" not in picture.note


@pytest.mark.parametrize("room", [2.0, 60.0])
def test_what_is_drawn_apart_does_not_stand_in_the_wall_around_it(room):
    """A box that goes down between four walls: its sides, drawn a little apart, would cut into them, and look notched."""
    half = 40.0 + room
    stood = [
        piece("floor", (2 * half + 20, 2 * half + 20, 10), (0, 0, -5)),
        *(piece(f"east{n}", (10, 2 * half, 60), (x, 0, 30)) for n, x in enumerate((half + 5, -half - 5))),
        *(piece(f"north{n}", (2 * half + 20, 10, 60), (0, y, 30)) for n, y in enumerate((half + 5, -half - 5))),
    ]
    box = [
        piece("bottom", (80, 80, 8), (0, 0, 4)),
        *(piece(f"end{n}", (8, 80, 30), (x, 0, 23)) for n, x in enumerate((36, -36))),
        *(piece(f"side{n}", (64, 8, 30), (0, y, 23)) for n, y in enumerate((36, -36))),
        piece("top", (80, 80, 8), (0, 0, 42)),
    ]
    parts = [*stood, *box]
    found = scene(*parts)
    whole = tuple(range(len(stood), len(parts)))
    own = step(1, tuple(made.id for made, _ in box), (StepMove(whole, (UP,)),))
    stage = staged(found, (), own, range(len(stood)))
    shifts, _ = stage._pulled(range(len(stood)), whole, own, 0.0)
    lifted = min(float(shifts[copy][2]) for copy in whole)
    assert not cut_into(found, whole, shifts, range(len(stood)))
    assert (lifted > 60.0) is (room < 10.0)
