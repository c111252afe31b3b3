"""What is painted before it goes in, and what its colours look like: small props of blocks, with distances known."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from block_props import piece, scene

from foamwright.assembly.bodies import close_before
from foamwright.assembly.practice import BRUSH_WIDE
from foamwright.assembly.taking_apart import Move, Stage
from foamwright.assembly.units import Unit
from foamwright.assembly.ways_in import Leg, Way, Ways
from foamwright.booklet.pictures.colours import colour
from foamwright.booklet.words import masking
from foamwright.booklet.words.coats import Coats


def wall_and_board(gap, colours=("cream", "brown")):
    """A board that stands `gap` mm before a wall of its own size, both on a floor."""
    floor = piece("floor", (300, 300, 10), (0, 0, -5))
    wall = piece("wall", (200, 10, 100), (0, 0, 50))
    board = piece("board", (200, 10, 100), (0, 10 + gap, 50))
    painted = [(replace(one[0], paint=how), one[1]) for one, how in zip((wall, board), colours)]
    return scene(floor, *painted)


@pytest.mark.parametrize(
    "gap, apart", [(2.0, True), (BRUSH_WIDE - 3.0, True), (BRUSH_WIDE + 3.0, False), (60.0, False)]
)
def test_what_stands_closer_than_a_brush_before_another_colour_is_painted_first(gap, apart):
    assert close_before(wall_and_board(gap)) == (frozenset({"board"}) if apart else frozenset())


def test_one_colour_is_brushed_on_both_at_once():
    assert not close_before(wall_and_board(2.0, ("cream", "cream")))
    assert not close_before(wall_and_board(2.0, ("cream", "")))


def test_what_lies_on_another_part_is_not_close_before_it():
    wall, label = piece("wall", (200, 200, 10)), piece("label", (80, 40, 2), (0, 0, 6))
    both = [(replace(one[0], paint=how), one[1]) for one, how in ((wall, "cream"), (label, "red"))]
    assert not close_before(scene(*both))


def test_words_for_colours():
    # the names are common ones; what is compared is their order of lightness and which of the three is strongest
    def light(words):
        return float(np.dot(colour(words), [0.2126, 0.7152, 0.0722]))  # weights of ITU-R BT.709

    assert light("dark grey") < light("grey") < light("light grey") < light("white")
    assert max(zip(colour("rust red"), "rgb"))[1] == "r"
    assert max(zip(colour("glossy black-green"), "rgb"))[1] == "g"
    assert colour("yours to choose") is None
    assert colour("Cream outside") == colour("cream")


def prop_of(found, stands=None):
    return SimpleNamespace(pieces=found.pieces, design=SimpleNamespace(stands=stands))


def test_what_stands_on_nothing_that_is_known_shows_from_below():
    """A slab as a wall shield or a guitar's back is: it lies on the ground only where the design says that it stands, and on which
    side. Blocks are drawn on the face that looks down."""
    found = scene(piece("slab", (200, 200, 10)), piece("knob", (40, 40, 40), (0, 0, 25)))

    def grounded(stands):
        coats = Coats((), prop_of(found, stands), Ways(found), ())
        on = coats.stands_on(["slab"], ())
        return [drawn for drawn in (True, False) if on[drawn]], [
            d for d in (True, False) if "slab" in coats.unseen_faces(())[d]
        ]

    assert grounded({"down": "-z"}) == ([True], [True])
    assert grounded(None) == ([], [])
    assert grounded({"down": "-x"}) == ([], [])  # on its edge


def test_what_lies_on_painted_parts_alone_is_painted_with_them():
    """A seat on a deck that is painted on the bench, with a badge on it; not the wall that stands on the deck, nor the shelf
    on the wall."""
    found = scene(
        piece("deck", (200, 200, 10)),
        piece("wall", (10, 200, 100), (95, 0, 55)),
        piece("seat", (60, 60, 10), (0, 0, 10), lies_on=("deck",)),
        piece("badge", (20, 20, 4), (0, 0, 17), lies_on=("seat",)),
        piece("shelf", (60, 60, 4), (60, 0, 80), lies_on=("wall",)),
    )
    up = Way((Leg((0.0, 0.0, 1.0), float("inf")),), 0)
    stages = [
        Stage((Unit(i, (one.id,), "", "", 4, "contact"),), (Move((i,), up),)) for i, one in enumerate(found.pieces)
    ]
    coats = Coats(stages, prop_of(found), Ways(found), ())
    assert [stage.parts for stage in coats._on_painted(0, (), stages[:1])] == [("seat",), ("badge",)]
    assert [stage.parts for stage in coats._on_painted(0, (), stages[1:2])] == [("shelf",)]


def test_hidden_faces_are_those_that_no_brush_reaches():
    """The floor of a box whose walls and lid are 200 mm across: its upper face is shut in, its lower one is not. Blocks are
    drawn on the face that looks down."""
    walls = [piece(f"x{s}", (10, 200, 100), (95 * s, 0, 55)) for s in (1, -1)]
    walls += [piece(f"y{s}", (180, 10, 100), (0, 95 * s, 55)) for s in (1, -1)]
    found = scene(piece("floor", (200, 200, 10)), *walls, piece("lid", (200, 200, 10), (0, 0, 110)))
    coats = Coats((), prop_of(found), Ways(found), ())
    hidden = coats.hidden_faces(["floor", "lid"], ())
    assert {drawn: [piece.id for piece in pieces] for drawn, pieces in hidden.items()} == {
        True: ["lid"],
        False: ["floor"],
    }
    drawn_outside = coats.hidden_faces(["floor"], {"floor"})
    assert [piece.id for piece in drawn_outside[True]] == ["floor"] and not drawn_outside[False]


@pytest.mark.parametrize(
    "size, taped", [((40.0, 3.0), True), ((6.0, 40.0), True), ((40.0, 7.0), False), ((6.0, 6.0), False)]
)
def test_the_place_of_a_narrow_strip_is_masked_with_tape_as_wide(size, taped):
    strip, _ = piece("strip", (*size, 2), (0, 0, 11))
    board, _ = piece("board", (200, 200, 10), (0, 0, 5))
    (line,) = masking.bare_lines([masking.Bare(board, "lines", [strip], "the board")])
    assert ("into strips as wide as that" in line) == taped
    assert f"where {strip.label} will be glued on" in line


@pytest.mark.parametrize("across, far, hidden", [(140, None, False), (140, 6, True), (0, 6, True), (0, None, False)])
def test_what_is_glued_over_is_not_out_of_reach(across, far, hidden):
    """The bottom of a box whose walls are 200 mm across, with a board of 140 mm glued below it: it shows from below but for the
    half that is glued. With a second board 6 mm below it does not."""
    walls = [piece(f"x{s}", (10, 200, 100), (95 * s, 0, 55)) for s in (1, -1)]
    walls += [piece(f"y{s}", (180, 10, 100), (0, 95 * s, 55)) for s in (1, -1)]
    bottom, lid = piece("bottom", (180, 180, 10), (0, 0, 10)), piece("lid", (200, 200, 10), (0, 0, 110))
    board = [piece("board", (across, across, 10))] if across else []
    shade = [piece("shade", (700, 700, 2), (0, 0, -6 - far))] if far else []
    posts = [piece(f"post{s}", (4, 4, 10 + far), (88 * s, 88 * s, -far / 2)) for s in (1, -1)] if far else []
    found = scene(bottom, *walls, lid, *board, *posts, *shade)
    up = Way((Leg((0.0, 0.0, 1.0), float("inf")),), 0)
    stage = Stage((Unit(0, ("bottom",), "", "", 4, "contact"),), (Move((0,), up),))
    coats = Coats([stage], prop_of(found), Ways(found), ())
    assert coats._hidden(stage, (1 << len(found)) - 1, 0.6) == hidden
