"""Which way the drawn faces of flat parts go. Worked out by hand: a plate reflected in y keeps its faces; one that is
cut as drawn and goes there is turned over, so that its drawn face looks the other way."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from block_props import piece, scene

from foamwright.assembly.naming import capital, the
from foamwright.booklet.words.drawn_faces import _against, _facing, _goes_round, ends_told, lies_on, turned_to
from tests.templates import template_props as props


@pytest.mark.parametrize(
    ("mirror", "words"),
    [(None, "down"), ((1.0, 0.0, 0.0), "down"), ((0.0, 0.0, 1.0), "down on the left, up on the right")],
)
def test_of_a_pair_of_one_template_one_is_turned_over(mirror, words):
    fin = props.piece("fin", "A", "Fin", props.flat_body(props.circle(5)), [props.HERE, props.mirror_y()])
    bodies = SimpleNamespace(
        pieces=(replace(fin, own_mirror=mirror),) * 2,
        matrices=tuple(place.matrix for place in fin.placements),
        spheres=np.array([[0.0, 40.0, 0.0, 5.0], [0.0, -40.0, 0.0, 5.0]]),
    )
    assert _facing(bodies, (0, 1), -1.0) == words


@pytest.mark.parametrize(
    ("mirror", "words"),
    [
        ((1.0, 0.0, 0.0), "against H"),
        ((0.0, 0.0, 1.0), "against H on the left and away from it on the right"),
    ],
)
def test_of_a_lopsided_pair_on_two_walls_one_shows_its_drawn_face(mirror, words):
    """An emblem lies on a wall at the left, and its mirror image in y on one at the right: both times it is glued below, which
    is the face that is drawn on of the left one. Turned round in x the right one keeps that, turned over it does not."""
    emblem = props.piece("emblem", "L", "Emblem", props.flat_body(props.circle(5)), [props.HERE, props.mirror_y()])
    wall = SimpleNamespace(label="H")
    touch = SimpleNamespace(off=np.array([0.0, 0.0, 1.0]))
    bodies = SimpleNamespace(
        pieces=(replace(emblem, own_mirror=mirror),) * 2 + (wall,) * 2,
        matrices=tuple(place.matrix for place in emblem.placements),
        spheres=np.array([[0.0, 40.0, 0.0, 5.0], [0.0, -40.0, 0.0, 5.0]]),
        touches={(0, 2): touch, (1, 3): touch},
    )
    assert _against(bodies, (0, 1), -1.0, SimpleNamespace(pairs=((0, 2), (1, 3)))) == words


@pytest.mark.parametrize(("sign", "words"), [(-1.0, "towards each other"), (1.0, "away from each other")])
@pytest.mark.parametrize("ahead", [0.0, 200.0])
def test_the_wheels_of_an_axle_look_at_each_other_however_far_ahead_it_is(sign, words, ahead):
    """The inside face of the left one looks to the right, and that of its mirror image to the left."""
    upright = props.Frame(np.zeros(3), np.column_stack([[-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]))
    wheel = props.piece(
        "wheel", "W", "Wheel", props.flat_body(props.circle(5), frame=upright), [props.HERE, props.mirror_y()]
    )
    bodies = SimpleNamespace(
        pieces=(replace(wheel, own_mirror=(0.0, 0.0, 1.0)),) * 2,
        matrices=tuple(place.matrix for place in wheel.placements),
        spheres=np.array([[ahead, 40.0, 0.0, 5.0], [ahead, -40.0, 0.0, 5.0], [-ahead, 0.0, 0.0, 5.0]]),
    )
    assert _facing(bodies, (0, 1), sign) == words


def copies_that_look(ways, places, others=()):
    """Bodies of one flat part, a copy for each of `ways` (3,) that its drawn face looks at a place (3,), beside other bodies."""
    plate = props.piece("plate", "P", "Plate", props.flat_body(props.circle(5)), [props.HERE] * len(ways))
    matrices = []
    for way in np.array(ways, float):  # its drawn face looks down before it is set in its place
        side = np.cross(-way, np.eye(3)[int(np.argmin(np.abs(way)))])
        side /= np.linalg.norm(side)
        matrix = np.eye(4)
        matrix[:3, :3] = np.column_stack([side, np.cross(-way, side), -way])
        matrices.append(matrix)
    spheres = np.array([[*place, 5.0] for place in (*places, *others)], float)
    return SimpleNamespace(
        pieces=(plate,) * len(ways),
        matrices=tuple(matrices),
        spheres=spheres,
        of=lambda part: tuple(range(len(ways))),
        mesh=lambda copies: (spheres[list(copies), :3], None),
        numbered=frozenset(),
    )


SLOPE = np.sqrt(0.5)


@pytest.mark.parametrize(
    ("ways", "places", "others", "words"),
    [  # two walls of a cap, with all else far ahead of both
        (([-1, 0, 0], [1, 0, 0]), ([50, 0, 0], [-50, 0, 0]), ([400, 0, 0], [500, 0, 0]), "towards each other"),
        (([1, 0, 0], [-1, 0, 0]), ([50, 0, 0], [-50, 0, 0]), ([400, 0, 0],), "away from each other"),
        # frames on three of the sides of a tower, the fourth of which has the door
        (([0, -1, 0], [1, 0, 0], [0, 1, 0]), ([0, 50, 0], [-50, 0, 0], [0, -50, 0]), ([50, 0, 0],), "inwards"),
        # two that are next to each other there look past the middle between them, but to that of the prop
        (([0, -1, 0], [1, 0, 0]), ([0, 50, 0], [-50, 0, 0]), ([50, 0, 0], [0, -50, 0]), "inwards"),
        # a lectern
        (([SLOPE, 0, SLOPE],), ([0, 0, 0],), (), "towards the front and up"),
        (([0, 0, -1],), ([0, 0, 0],), (), "down"),
        # of three in a row the last is the other way round
        (
            ([0, 0, -1], [0, 0, -1], [0, 0, 1]),
            ([90, 0, 0], [0, 50, 0], [-90, 0, 0]),
            (),
            "at the front down, on the left down and at the back up",
        ),
        # brackets that stand out from a post: what is on the right of one who looks at the front one is the prop's left
        (([0, 1, 0], [-1, 0, 0]), ([50, 0, 0], [0, 50, 0]), ([-100, -100, 0],), "to the right, seen from outside"),
        (
            ([0, -1, 0], [1, 0, 0], [0, 1, 0], [-1, 0, 0]),
            ([50, 0, 0], [0, 50, 0], [-50, 0, 0], [0, -50, 0]),
            (),
            "to the left, seen from outside",
        ),
        # shelves, of which nine look down
        (([0, 0, -1],) * 9 + ([0, 0, 1],), [[0, 0, 10 * i] for i in range(10)], (), ""),
    ],
)
def test_every_flat_part_is_told_where_its_drawn_face_goes(ways, places, others, words):
    assert _facing(copies_that_look(ways, places, others), range(len(ways)), -1.0) == words


@pytest.mark.parametrize(
    ("outside", "words"), [((), "over to its edge on a bit of tape"), (("floor",), "Turn the floor (FLOOR) so")]
)
def test_the_arrow_of_a_plate_that_goes_in_face_down_is_carried_to_its_edge(outside, words):
    """An oblong floor between two numbered walls, whose inside face looks down."""
    floor = piece("floor", (200, 60, 10), (0, 0, 5))
    front, back = (piece(name, (10, 60, 50), (x, 0, 25)) for name, x in (("front", 105), ("back", -105)))
    bodies = replace(scene(floor, front, back), numbered=frozenset({"front", "back"}))
    meeting = SimpleNamespace(new="floor", pairs=((0, 1), (0, 2)))
    told = SimpleNamespace(
        own=lambda part: [0], bodies=bodies, meetings=[meeting], drawn_outside=outside, whole_of=lambda piece: ""
    )
    (line,) = turned_to(told, [floor[0]])
    assert words in line and "front" in line


@pytest.mark.parametrize(
    ("outline", "round_"),
    [
        (props.circle(5), True),
        (props.circle(5, count=4), False),
        (props.circle(5, count=8), True),  # corners and sides differ by 0.38 mm: its template has no arrow either
        (props.circle(20, count=8), False),
    ],
)
def test_a_square_has_its_corners_on_a_circle_and_does_not_go_round(outline, round_):
    level = np.column_stack([outline - outline.mean(axis=0), np.zeros(len(outline))])
    told = SimpleNamespace(bodies=SimpleNamespace(spheres=np.zeros((1, 4))))
    assert _goes_round(SimpleNamespace(outlines=((level,),)), told, 0, np.eye(3)) is round_


def met(other, on_broad, up):
    return SimpleNamespace(new="plate", other=other, broad=True, on_broad=on_broad, from_other=(0.0, 0.0, up), pairs=())


def test_a_level_plate_lies_on_edges_as_well_and_on_a_face_first():
    """Work that is turned over has its up and down the wrong way round for the eye."""
    assert lies_on([met("walls", False, 1.0)])["plate"].other == "walls"
    assert lies_on([met("walls", False, 1.0), met("floor", True, 1.0)])["plate"].other == "floor"
    assert not lies_on([met("deck", False, 0.1)])


@pytest.mark.parametrize(("at", "painted", "told"), [(14, True, True), (0, True, False), (14, False, False)])
def test_a_painted_bar_is_told_which_end_is_which(at, painted, told):
    """Its arrow is under the paint; a rail crosses it 14 mm to the left of its middle, or in it."""
    found = scene(
        piece("wall", (160, 200, 10)), piece("bar", (8, 140, 10), (0, 0, 10)), piece("rail", (60, 8, 10), (0, at, 20))
    )
    found = replace(found, touches={pair: replace(touch, broad=(1.0, 1.0)) for pair, touch in found.touches.items()})
    (bar,) = [p for p in found.pieces if p.id == "bar"]
    step = SimpleNamespace(pieces=[bar], painted={"bar"} if painted else (), bodies=found, own=lambda piece: [1])
    said = f"{capital(the(bar))} would fit turned end for end as well: the end nearer to its place for {found.pieces[2].label} goes on the left."
    assert ends_told(step) == ([said] if told else [])
