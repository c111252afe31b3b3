"""Panels that are one shape in two places get one search, so the same darts: staves of a barrel, turned and mirrored."""

import dataclasses

import pytest
from panel_designs import panel, plane, prop, stock

from foamwright.flatten.alike import twins
from foamwright.flatten.build import flatten
from foamwright.parts.records import DartRules

WHERE = {"foot": "beyond", "head": "before", "heart": "beyond", "right": "beyond", "left": "before"}


def stave(towards: float, right: float = 22.5, left: float = 22.5, head: float = 113) -> dict:
    """A form whose panel stands `towards` that many degrees about z, and so many to the right and to the left of it."""
    cuts = {
        "foot": plane("z", -113),
        "head": plane("z", head),
        "heart": {"plane": {"normal": [f"cos({towards} deg)", f"sin({towards} deg)", 0], "at": "115 mm"}},
        "right": plane([f"-sin({towards - right} deg)", f"cos({towards - right} deg)", 0]),
        "left": plane([f"-sin({towards + left} deg)", f"cos({towards + left} deg)", 0]),
    }
    return {
        "kind": "superellipsoid",
        "centre": [f"115 mm * cos({towards} deg)", f"115 mm * sin({towards} deg)", 0],
        "radii": ["95 mm * scale", "95 mm * scale", "157 mm * scale"],
        "cuts": cuts,
    }


FORMS = {
    "one": stave(0),
    "turned": stave(50),
    "skew": stave(120, 22.5, 12, 80),
    "mirrored": stave(250, 12, 22.5, 80),
    "shorter": stave(180, 22.5, 22.5, 112.5),
}


@pytest.fixture(scope="module")
def staves(tmp_path_factory):
    parts = {name: panel(name, WHERE, darts="auto") for name in FORMS}
    return prop(tmp_path_factory.mktemp("staves"), FORMS, parts, stock(6.0, strain=0.04))


@pytest.fixture(scope="module")
def patterns(staves):
    return flatten(staves)


def test_shapes_are_found_wherever_they_are(staves):
    found = twins(staves.pieces)
    assert {name: (twin.of.id, twin.mirrored) for name, twin in found.items()} == {
        "turned": ("one", False),
        "mirrored": ("skew", True),
    }
    assert found["mirrored"].edges == {
        "left": "right",
        "right": "left",
        "head": "head",
        "foot": "foot",
    }


@pytest.mark.parametrize("first, second", [("one", "turned"), ("skew", "mirrored")])
def test_they_get_the_same_darts(staves, patterns, first, second):
    edges = twins(staves.pieces)[second].edges
    a, b = ([(d.edge, d.depth, d.opening) for d in patterns[name].darts] for name in (first, second))
    assert len(a) == len(b) > 0
    for dart in a:
        assert any(
            (edges[dart[0]], *dart[1:])
            == (other[0], pytest.approx(other[1], abs=0.5), pytest.approx(other[2], abs=0.5))
            for other in b
        )
    assert patterns[first].area == pytest.approx(patterns[second].area, rel=2e-3)


def test_what_else_decides_on_darts_keeps_panels_apart(staves):
    one, turned = (staves.piece(name) for name in ("one", "turned"))

    def alike(**other):
        return set(twins([one, dataclasses.replace(turned, **other)]))

    def with_rules(**rules):
        return alike(body=dataclasses.replace(turned.body, automatic=DartRules(**rules)))

    joined = tuple(dataclasses.replace(e, joins=("one",) if e.id == "left" else ()) for e in turned.body.edges)
    assert alike() == {"turned"}
    assert alike(stock=dataclasses.replace(turned.stock, thickness=5.0)) == set()
    assert alike(body=dataclasses.replace(turned.body, edges=joined)) == set()
    assert with_rules(avoid=("left",)) == set()
    assert with_rules(count=2) == set()
    stated = dataclasses.replace(turned, body=dataclasses.replace(turned.body, automatic=None))
    assert twins([one, stated]) == {}
    assert twins([]) == {}
