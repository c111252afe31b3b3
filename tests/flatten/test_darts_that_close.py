"""Darts that are searched for can be closed by hand, on a stave of a barrel: the same above and below, left and right."""

import dataclasses

import pytest
from panel_designs import panel, plane, prop, stock

from foamwright.flatten.build import flatten
from foamwright.parts.records import DartRules

FORM = {
    "kind": "superellipsoid",
    "centre": ["115 mm", 0, 0],
    "radii": ["95 mm * scale", "95 mm * scale", "157 mm * scale"],
}
CUTS = {
    "foot": plane("z", -113),
    "head": plane("z", 113),
    "heart": {"plane": {"normal": "x", "at": "115 mm"}},
    "right": plane(["sin(22.5 deg)", "cos(22.5 deg)", 0]),
    "left": plane(["-sin(22.5 deg)", "cos(22.5 deg)", 0]),
}
WHERE = {"foot": "beyond", "head": "before", "heart": "beyond", "right": "beyond", "left": "before"}


@pytest.fixture(scope="module")
def stave(tmp_path_factory):
    return prop(
        tmp_path_factory.mktemp("stave"),
        {"barrel": {**FORM, "cuts": CUTS}},
        {"stave": panel("barrel", WHERE, darts="auto")},
        stock(6.0, strain=0.04),
    )


def test_two_darts_that_close_win_over_a_gaping_one_of_less_length(stave):
    darts = flatten(stave)["stave"].darts
    assert len(darts) > 1
    for dart in darts:
        assert dart.opening < 0.38 * dart.depth  # about 21 degrees; common practice, no source


def test_a_gaping_dart_is_cut_rather_than_none(stave):
    """One dart from an end, as the maker wants it, does not keep the foam within its limit unless it gapes."""
    piece = stave.pieces[0]
    rules = DartRules(edges=("head",), count=1)
    pinned = dataclasses.replace(piece, body=dataclasses.replace(piece.body, automatic=rules))
    (dart,) = flatten(dataclasses.replace(stave, pieces=(pinned,)))["stave"].darts
    assert dart.opening > 0.38 * dart.depth


def test_a_bevelled_edge_that_meets_another_part_gets_darts_only_if_no_other_edge_will_do(tmp_path):
    """It would have to be closed and then glued at its bevel."""
    sides = ("left", "right")
    part = panel("barrel", WHERE, darts="auto", flush=["left", "right"])
    flush = prop(tmp_path, {"barrel": {**FORM, "cuts": CUTS}}, {"stave": part}, stock(6.0, strain=0.04))
    (piece,) = flush.pieces

    def edges(joins, **rules):
        joined = tuple(dataclasses.replace(e, joins=joins if e.id in sides else ()) for e in piece.body.edges)
        body = dataclasses.replace(piece.body, edges=joined, automatic=DartRules(**rules))
        flat = flatten(dataclasses.replace(flush, pieces=(dataclasses.replace(piece, body=body),)))
        return {dart.edge for dart in flat["stave"].darts}

    assert edges(()) <= set(sides)
    assert edges(("other",)) and not edges(("other",)) & set(sides)
    assert edges(("other",), avoid=("head", "foot")) <= set(sides)
    assert edges(("other",), edges=("left",)) == {"left"}
