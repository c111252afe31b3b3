"""A kind is known in its own module only: what steps ask of it are the properties and methods of `Kind`."""

import ast
from pathlib import Path

import pytest

from foamwright.design.fields.declare import keys_of
from foamwright.design.fields.part import PartFields, SheetFields
from foamwright.registry import RANK, kinds

PACKAGE = Path(__file__).parents[2] / "generator" / "foamwright"
NAMES = {kind.name for kind in kinds()}
OTHERS = {"prism", "step", "solid"}  # words that are a kind of cut or of form as well
VOCABULARY = PACKAGE / "design" / "usage.py"  # which design shows what: it reads designs as they are written


def named_kinds(tree):
    """Names of kinds that some `x.kind` is compared with or looked up by."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(isinstance(side, ast.Attribute) and side.attr == "kind" for side in sides):
                for side in sides:
                    yield from (c.value for c in ast.walk(side) if isinstance(c, ast.Constant))
        if isinstance(node, ast.Dict):
            words = {key.value for key in node.keys if isinstance(key, ast.Constant)}
            if len(words & (NAMES - OTHERS)) >= 3 and not words <= set(RANK):
                yield from words & NAMES


def test_the_search_finds_what_it_looks_for():
    assert list(named_kinds(ast.parse("if piece.kind in ('panel', 'cover'): pass"))) == ["panel", "cover"]
    assert set(named_kinds(ast.parse("RULES = {'panel': 1, 'filler': 2, 'mask': 3, 'x': 4}"))) == {
        "panel",
        "filler",
        "mask",
    }


def test_no_other_module_asks_for_a_kind_by_its_name():
    found = {
        f"{path.relative_to(PACKAGE)}: {word}"
        for path in PACKAGE.rglob("*.py")
        if path.parent != PACKAGE / "kinds" and path != VOCABULARY
        for word in named_kinds(ast.parse(path.read_text("utf-8")))
        if word in NAMES - OTHERS
    }
    assert not found


@pytest.mark.parametrize("kind", kinds(), ids=lambda kind: kind.name)
def test_what_a_kind_says_of_itself_holds_together(kind):
    keys = keys_of(kind.fields)
    assert set(kind.shaped_by) <= keys.keys()
    assert keys_of(SheetFields).keys() <= keys.keys()
    assert kind.stands == (keys_of(PartFields).keys() <= keys.keys())  # what stands nowhere is not glued or repeated
    assert kind.stands or "count" in keys
    if kind.follows_form:
        assert {"form", "where", "laid", "over", "flush", "square", "darts"} <= keys.keys()
    if kind.sets_gaps:
        assert "of" in keys and "of" in kind.shaped_by and not kind.stands
    if kind.in_rows:
        assert "at" in keys


def test_no_place_in_the_order_is_without_a_kind():
    assert set(RANK) == {
        place for one in kinds() for place in (one.rank, one.rank_on_shell, one.rank_of_small) if place
    }
