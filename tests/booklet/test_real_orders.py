"""The steps of real designs, checked by a graph library and by moving the solids along the ways that were found."""

from pathlib import Path

import networkx as nx
import pytest
from order_checks import entries, faults_of_order, graph_of

from foamwright.assembly.bodies import over_stencils
from foamwright.assembly.ways_in import GIVE, Ways
from foamwright.design import load
from foamwright.making import Request, Stages

DESIGNS = Path(__file__).parents[2] / "designs"


@pytest.fixture(scope="module", params=[("harbour-lantern", "table"), ("beetle-shoulder", "youth")], ids="-".join)
def made(request):
    name, size = request.param
    stages = Stages(Request(load(DESIGNS / f"{name}.yaml", size)))
    return {key: stages.record(key) for key in ("prop", "contacts", "bodies", "steps")}


def test_nothing_is_glued_to_what_does_not_stand_yet(made):
    assert faults_of_order(made["prop"], made["contacts"], made["bodies"], made["steps"]) == []
    graph = graph_of(made["steps"])
    assert nx.is_weakly_connected(graph) and [n for n in graph if graph.out_degree(n) == 0] == [len(graph)]


def test_solids_move_along_their_ways_past_what_stands(made):
    found = made["bodies"]
    moved = entries(found, made["steps"], Ways(found))
    assert sorted(copy for entry in moved for copy in entry.copies) == list(range(len(found)))
    assert {(found.pieces[e.copies[0]].id, e.into): e.depth for e in moved if e.depth > GIVE} == {}


def test_a_part_put_in_too_late_is_found(made):
    """The check itself must be able to fail: the first steps that place parts change places with the last."""
    found, steps = made["bodies"], made["steps"]
    placing = [step for step in steps if step.moves and not step.bench]
    wrong = (*placing[len(placing) // 2 :], *placing[: len(placing) // 2])
    deep = [e for e in entries(found, wrong, Ways(found)) if e.depth > GIVE]
    assert deep or faults_of_order(made["prop"], made["contacts"], found, wrong)


def test_what_lies_over_a_stencilled_face_goes_on_after_the_stencil(made):
    """The window bars would keep the wave stencil off the wall; the toes below the foot keep no stencil off."""
    places = {part: step.number for step in made["steps"] for part in step.places}
    stencils = {part: step.number for step in made["steps"] for part in step.parts if part.endswith("_mask")}
    if not stencils:
        assert over_stencils(made["bodies"], made["prop"]) == frozenset()
        return
    painted = max(number for part, number in stencils.items() if number > 1)
    assert made["bodies"].painted_apart == {"bar_upright", "bar_level", "post"}  # the posts stand 2 mm before the wall
    assert places["bar_upright"] > painted and places["bar_level"] > painted > places["toe"]


def test_paint_comes_before_what_no_brush_reaches_and_leaves_bare_what_is_glued(made):
    """Posts of the lantern before they stand before the walls, bulkheads of the submarine before the hull is closed; each
    coat names what stays bare."""
    places = {part: step.number for step in made["steps"] for part in step.places}
    coats = {part: step.number for step in reversed(made["steps"]) if "primer" in step.uses for part in step.parts}
    for part in {"post", "head", "fore_bulkhead", "aft_bulkhead", "deck"} & set(places):
        early = made["prop"].design.name != "Harbour lantern" or part != "deck"
        assert (coats[part] < places[part]) == early, part
    text = [line for step in made["steps"] if "primer" in step.uses for line in step.instructions]
    if "post" in places:
        told = " ".join(text)
        assert "mask what is glued later" in told
        assert "the holes for G" in told and "the glued ends" in told and "the edges that meet H" in told


def test_posts_are_told_to_go_into_holes_and_a_round_how_it_is_closed(made):
    text = [line for step in made["steps"] for line in step.instructions]
    posts = [line for line in text if "into the holes of" in line]
    rounds = [line for line in text if "leave the last joint open" in line]
    lantern = any(piece.id == "post" for piece in made["bodies"].pieces)
    assert len(posts) == lantern and len(rounds) == (2 if lantern else 0)


def test_whoever_is_to_put_a_light_in_is_warned_of_flames_and_button_cells(made):
    from foamwright.booklet.pages.lists import safety

    told = " ".join(getattr(item, "text", "") for item in safety(made["steps"]).items)
    lit = made["prop"].design.lit_by == "battery"
    assert (
        lit
        == ("never a flame" in told)
        == ("button cell that is swallowed" in told)
        == (made["prop"].design.name == "Harbour lantern")
    )
