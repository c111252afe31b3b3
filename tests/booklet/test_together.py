"""What hangs together in pictures: the two of a pair, with the figure in both; an axle and what it goes through."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from block_props import piece, scene

from foamwright.assembly.bodies import Touch
from foamwright.assembly.records import Step, StepMove
from foamwright.booklet.pictures.prop_pictures import in_each
from foamwright.booklet.pictures.together import Together
from foamwright.parts.records import Placement, RodBody

LEFT = np.array([0.0, 100.0, 20.0])  # where the figure's middle is


def pair():
    """Two guards of a plate and a strip each, mirrored from one side to the other."""
    parts = [
        piece("plate", (60, 60, 10), (0, 100, 0)), piece("strip", (60, 20, 10), (0, 100, 10)),
        piece("other-plate", (60, 60, 10), (0, -100, 0)), piece("other-strip", (60, 20, 10), (0, -100, 10)),
    ]  # fmt: skip
    found = scene(*parts)
    mirrored = np.diag([1.0, -1.0, 1.0, 1.0])
    both = (Placement(np.eye(4), False), Placement(mirrored, True))
    pieces = tuple(replace(p, id=p.id.removeprefix("other-"), placements=both) for p in found.pieces)
    return replace(found, pieces=pieces, matrices=(np.eye(4), np.eye(4), mirrored, mirrored))


def test_the_figure_is_drawn_in_both_things_of_a_pair():
    arm = trimesh.creation.box((20.0, 30.0, 80.0), trimesh.transformations.translation_matrix(LEFT))
    bodies = pair()
    copies, moves = Together(bodies).at_figure(arm.vertices)
    assert copies == [0, 1] and len(moves) == 1
    points, triangles = in_each(bodies, (arm.vertices, arm.faces))
    both = trimesh.Trimesh(points, triangles, process=False)
    assert both.volume == pytest.approx(2.0 * 20.0 * 30.0 * 80.0)  # the other one is not turned inside out
    assert both.bounds[:, 1] == pytest.approx([-115.0, 115.0])


def test_a_prop_in_one_piece_has_one_figure():
    bodies = scene(piece("plate", (60, 60, 10)), piece("strip", (60, 20, 10), (0, 0, 10)))
    arm = trimesh.creation.box((20.0, 30.0, 80.0))
    assert Together(bodies).at_figure(arm.vertices) == ([0, 1], [])
    assert len(in_each(bodies, (arm.vertices, arm.faces))[0]) == 8


@pytest.mark.parametrize("round_it, drawn", [(360.0, [0, 1]), (120.0, [0])])
def test_an_axle_in_a_hole_is_drawn_in_later_steps_though_nothing_glues_it(round_it, drawn):
    """A bar that lies in a groove is set down there, and not drawn with what goes on the board that has it."""
    found = scene(piece("board", (200, 60, 20)), piece("axle", (20, 200, 20)), piece("lid", (60, 60, 10), (60, 0, 15)))
    board, axle, lid = found.pieces
    body = RodBody(np.array([0.0, -100.0, 0.0]), np.array([0.0, 100.0, 0.0]), 20.0, True)
    loose = replace(axle, body=body, glue="none", rests_on=("board",))
    turn = np.radians(np.linspace(-round_it / 2.0, round_it / 2.0, 40))
    off = np.column_stack([np.cos(turn), 0.0 * turn, np.sin(turn)])
    held = {pair: Touch(*pair, 10.0 * off, off, np.ones(40), False, (0.0, 1.0)) for pair in ((0, 1), (1, 0))}
    bodies = replace(found, pieces=(board, loose, lid), touches={**found.touches, **held})
    glued = Step(3, "", ("lid",), "contact", 5.0, (), (), (), ("lid",), (StepMove((2,), ()),))
    assert Together(bodies).beside([0, 1], [2], glued) == drawn


def test_loose_parts_that_are_alike_are_drawn_on_what_takes_them():
    """Rounds on a shelf are no things of their own, as the two of a pair are."""
    places = [(-60, 0, 10), (0, 0, 10), (60, 0, 10)]
    found = scene(
        piece("shelf", (200, 60, 10)), *(piece(f"round-{k}", (30, 30, 10), at) for k, at in enumerate(places))
    )
    loose = [replace(p, id="round", glue="none", rests_on=("shelf",)) for p in found.pieces[1:]]
    bodies = replace(found, pieces=(found.pieces[0], *loose))
    touches = {pair: replace(touch, glued=False) for pair, touch in bodies.touches.items()}
    together = Together(replace(bodies, touches=touches))
    up = (((0.0, 0.0, 1.0), float("inf")),)
    moves = tuple(StepMove((copy,), up) for copy in (1, 2, 3))
    step = Step(9, "", ("round",), "", 5.0, (), (), (), ("round",), moves)
    stood = together.beside([0], [1, 2, 3], step)
    stood, seen, note = together.one_of_twins(stood, step)
    assert sorted([*stood, *(copy for move in seen.moves for copy in move.copies)]) == [0, 1, 2, 3] and not note
