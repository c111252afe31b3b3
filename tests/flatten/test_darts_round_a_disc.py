"""Darts of a disc, domed, whose edge has no ends: they stand evenly round it and have no room beyond its middle."""

import dataclasses

import numpy as np
import pytest
from panel_designs import panel, prop, stock

from foamwright.flatten.build import flatten
from foamwright.flatten.darts import Dart, _Search
from foamwright.flatten.mesh import PanelMesher
from foamwright.parts.records import DartRules

RADIUS = 240.0


def dome(folder, rise, darts="auto", slots=(), radius=RADIUS):
    """A cap of a ball; `slots` are the middles (y, z) of openings in it."""
    ball = (radius**2 + rise**2) / (2 * rise)
    cuts = {"rim": {"prism": {"outline": {"circle": {"radius": f"{radius} * scale"}}, "along": "x", "above": -rise}}}
    for number, (y, z) in enumerate(slots):
        slot = {"outline": {"slot": {"length": 31, "width": 3}}, "along": "x", "centre": [0, y, z], "above": -rise}
        cuts[f"slot{number}"] = {"prism": slot}
    form = {
        "kind": "superellipsoid",
        "axis": "x",
        "centre": [rise - ball, 0, 0],
        "radii": [ball, ball, ball],
        "cuts": cuts,
    }
    where = {cut: "inside" if cut == "rim" else "outside" for cut in cuts}
    return prop(
        folder,
        {"dome": form},
        {"dome": panel("dome", where, darts=darts, square=[c for c in cuts if c != "rim"])},
        stock(),
    )


def laid(found):
    return flatten(found)["dome"]


def even(pattern):
    """Are the darts as deep as each other, and their mouths as far apart on the drawn face?"""
    edge = next(edge for edge in pattern.edges if edge.id == "rim")
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    steps[list(edge.mouths)] = 0.0
    at = np.concatenate([[0.0], np.cumsum(steps)])[list(edge.mouths)] / steps.sum()
    gaps = np.diff(at, append=at[0] + 1)
    depths = np.array([dart.depth for dart in pattern.darts])
    return np.ptp(gaps) < 0.03 / len(at) and np.ptp(depths) < 0.03 * depths.mean()


SLOTS = [(-96.0, 43.4), (96.0, 43.4), (-96.0, -43.4), (96.0, -43.4)]


@pytest.mark.parametrize("rise, slots", [(60.0, []), (60.0, SLOTS), (70.0, []), (120.0, [])])
def test_a_domed_disc_gets_a_few_even_darts(tmp_path, rise, slots):
    pattern = laid(dome(tmp_path, rise, slots=slots))
    assert pattern.strain.max <= 0.03
    assert len(pattern.darts) >= 3 and even(pattern)
    assert all(dart.depth < RADIUS for dart in pattern.darts)


@pytest.mark.parametrize("count", [2, 4, 7])
def test_a_count_is_tried_at_the_depths_that_have_room(tmp_path, count):
    """Of two and more darts that stand round a disc, none has room beyond its middle."""
    pattern = laid(dome(tmp_path, 60.0, darts={"edges": ["rim"], "count": count}))
    assert len(pattern.darts) == count and even(pattern)
    assert pattern.strain.max <= 0.03


def test_a_single_dart_is_searched_for_where_it_is_asked_for(tmp_path):
    assert len(laid(dome(tmp_path, 70.0, darts={"count": 1})).darts) == 1


def search_in(found, **rules):
    piece = found.pieces[0]
    piece = dataclasses.replace(piece, body=dataclasses.replace(piece.body, automatic=DartRules(**rules)))
    return _Search(piece, PanelMesher(piece.body, piece.body.inner_offset), frozenset(), 1.0, {})


@pytest.mark.parametrize("radius", [240.0, 60.0])
def test_the_deepest_darts_with_room_are_found_however_small_the_disc(tmp_path, radius):
    """By reckoning: the tips of three darts round a disc of radius r, which reach a share s of its width, are
    sqrt(3) (r - 2 r s) apart; tried by steps, over a rough map of what is domed, that is found to a few parts in a hundred."""
    search = search_in(dome(tmp_path, 0.2 * radius, radius=radius))
    plan = tuple(Dart("rim", (k + 0.5) / 3) for k in range(3))
    share = search._deepest_with_room(plan, 0.86)
    assert search.lines(tuple(dataclasses.replace(d, reach=share) for d in plan)) is not None
    assert share == pytest.approx((1 - search.clear / np.sqrt(3) / radius) / 2, abs=0.045)


def test_a_row_without_room_is_turned_before_one_dart_is_tried(tmp_path):
    search = search_in(dome(tmp_path, 60.0))
    kinds = [list(plans) for plans in search._plans()]
    assert [min(len(plan) for plan in plans) for plans in kinds[:3]] == [3, 3, 1]
    assert max(len(plan) for plan in kinds[2]) == 2
    pinned = [list(plans) for plans in search_in(dome(tmp_path, 60.0), count=2)._plans()]
    assert {len(plan) for plans in pinned for plan in plans} == {2}
