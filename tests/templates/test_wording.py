"""The words on a template."""

from dataclasses import replace

import numpy as np
import pytest
import template_props as props

from foamwright.flatten.records import Seam
from foamwright.geometry.frame import Frame
from foamwright.parts.records import Placement
from foamwright.templates import wording


def piece(copies, mirrored=0, layers=1):
    places = [props.HERE] * (copies - mirrored) + [props.mirror_y()] * mirrored
    return props.piece("part", "A", "Part", props.flat_body(props.circle(5)), places, layers)


def edge_of(bevel=(0.0,), joins=(), seam=None):
    return props.edge("rear_edge", props.circle(5), bevel, joins, seam)


def test_count():
    assert wording.count(piece(1)) == ("cut 1",)
    assert wording.count(piece(2, 1))[0] == "cut 2: 1 as drawn, 1 mirrored"
    assert wording.count(piece(4, 2, layers=2))[0] == "cut 8: 4 as drawn, 4 mirrored"
    assert wording.count(piece(1, 1))[0] == "cut 1, all mirrored"
    assert wording.count(piece(2, 1))[1] == "(turn the template over)"


def test_lamination():
    assert wording.lamination(piece(2)) is None
    assert wording.lamination(piece(2, layers=3)) == "they make 2 parts of 3 layers"


def test_foam_names_its_thickness_once():
    assert wording.stock_title(piece(1).stock) == "EVA foam 6 mm"
    other = replace(props.STOCK, name="EVA foam", thickness=3.175)
    assert wording.stock_title(other) == "EVA foam, 3.175 mm"


def test_edges_say_what_they_join():
    disc, other = props.disc(5, "part", "A"), props.disc(5, "other", "AB")
    seam = Seam("s", "other", "keel", "part", "rear_edge", 1.0, 1.0, "contact")
    all_of = props.patterns((disc, other), (seam,))
    assert wording.edge_text(all_of, disc, edge_of(seam="s")) == "seam 1 to AB"
    assert wording.edge_text(all_of, disc, edge_of(joins=("other",))) == "to AB"
    assert wording.edge_text(all_of, disc, edge_of(joins=("part",))) == "to its other end"
    assert wording.edge_text(all_of, disc, edge_of((9.0,))) == "bevel 9°, lower face larger"
    assert wording.edge_text(all_of, disc, edge_of()) is None


def test_copies_with_seams_of_their_own_are_told_with_them():
    disc, other = props.disc(5, "part", "A", placements=(props.HERE, props.moved(30.0))), props.disc(5, "other", "AB")
    seams = tuple(Seam(key, "other", key, "part", "rear_edge", 1.0, 1.0, "contact") for key in ("keel", "rim"))
    all_of, edge = props.patterns((disc, other), seams), edge_of(seam="keel")
    assert wording.edge_text(all_of, disc, edge) == "seam 1 to AB or seam 2 to AB"  # nothing is known of them
    met = {("other", "keel"): (2,), ("other", "rim"): (1,)}
    assert wording.joins(all_of, disc, edge, (), met) == "copy 2: seam 1 to AB, copy 1: seam 2 to AB"
    both = {("other", "keel"): (1, 2), ("other", "rim"): (1,)}
    assert wording.joins(all_of, disc, edge, (), both) == "seam 1 to AB or seam 2 to AB"
    pair = replace(disc, piece=replace(disc.piece, placements=(props.HERE, props.mirror_y())))
    told = wording.joins(props.patterns((pair, other), seams), pair, edge, (), met)
    assert told == "mirrored: seam 1 to AB, as drawn: seam 2 to AB"


def test_a_seam_with_its_own_mirror_image():
    disc = props.disc(5, "part", "A")
    seam = Seam("s", "part", "rear_edge", "part", "rear_edge", 1.0, 1.0, "contact")
    text = wording.edge_text(props.patterns((disc,), (seam,)), disc, edge_of(seam="s"))
    assert text == "seam 1 to mirrored A"


def turned(way):
    """A part whose thickness goes one `way`, from its inside face."""
    x = np.cross(way, (0.3, 0.5, 0.8))
    x /= np.linalg.norm(x)
    return Frame(np.zeros(3), np.column_stack([x, np.cross(way, x), way]))


@pytest.mark.parametrize(
    ("ways", "words"),
    [
        (((0, 0, 1),), "draw on this face: it goes down"),
        (((0, 0, -1),), "draw on this face: it goes up"),
        (((1, 0, 0),), "draw on this face: it goes towards the back"),
        (((0, 1, 0),), "draw on this face: it goes to the right"),
        (((1, 1, 0.2),), "draw on this face"),  # askew, for which there is no word
        (((0, 0, 1), (0, 0, -1)), "draw on this face"),  # copies that lie either way
    ],
)
def test_a_flat_part_says_which_way_its_drawn_face_goes(ways, words):
    flat = props.flat_body(props.circle(5), frame=turned(np.array(ways[0], float) / np.linalg.norm(ways[0])))
    places = [props.HERE, *(Placement(np.diag([1.0, -1.0, -1.0, 1.0]), False) for _ in ways[1:])]
    assert wording.drawn_face(props.piece("part", "A", "Part", flat, places)) == words


@pytest.mark.parametrize("out", [1.0, -1.0])
def test_sides_of_a_tower_have_an_inside(out):
    """Four sides about an axis, 40 mm off it, their thickness outwards; and as four vanes that look away from it."""
    frame = turned(np.array([out, 0.0, 0.0]))
    flat = props.flat_body(props.circle(5), frame=replace(frame, origin=np.array([40.0, 0.0, 0.0])))
    quarter = np.array([[0.0, -1.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]])
    places = [Placement(np.linalg.matrix_power(quarter, n), False) for n in range(4)]
    words = "this side is the inside face: draw on it" if out > 0 else "draw on this face"
    assert wording.drawn_face(props.piece("part", "A", "Part", flat, places)) == words


@pytest.mark.parametrize(
    ("mirror", "words"),
    [
        (
            None,
            "draw on this face: it goes down",
        ),  # the other is cut mirrored, and goes down too
        ((1.0, 0.0, 0.0), "draw on this face: it goes down"),  # turned round
        ((0.0, 0.0, 1.0), "draw on this face"),  # turned over: it goes up
    ],
)
def test_of_a_pair_cut_from_one_template_one_may_be_turned_over(mirror, words):
    pair = replace(piece(2, 1), own_mirror=mirror)
    assert wording.drawn_face(pair) == words
    for place in pair.placements:
        turn = pair.turn_as_cut(place.matrix)
        assert mirror is None or np.linalg.det(turn) == pytest.approx(1.0)  # what is cut can be turned there
