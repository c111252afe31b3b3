"""Values of the caller's own make another size, with a name of its own."""

import re

import pytest

import foamwright
from foamwright.design import starter


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "lamp.yaml"
    file.write_text(starter("Lamp"), "utf-8")
    return file


def test_the_name_tells_what_was_changed(path):
    plain, changed = foamwright.load(path), foamwright.load(path, None, {"scale": "1.25"})
    assert changed.size.startswith(f"{plain.size}-scale-1.25-") and changed.base_size == plain.size
    assert changed.changes == {"scale": 1.25}
    assert "scale = 1.25" in changed.size_note and plain.size_note not in ("", changed.size_note)
    assert re.fullmatch(r"[a-z0-9][A-Za-z0-9_.-]*", changed.size)


def test_a_value_that_is_the_same_changes_nothing(path):
    plain = foamwright.load(path)
    scale = next(p.value for p in plain.parameters if p.name == "scale")
    same = foamwright.load(path, None, {"scale": repr(scale)})
    assert (same.size, same.size_note, same.changes) == (plain.size, plain.size_note, {})


def test_different_values_never_share_a_name_and_the_order_of_the_call_is_no_difference(path):
    names = [foamwright.load(path, None, {"scale": text}).size for text in ("1.25", "1.2500001", "1.2500002", "0.8")]
    assert len(set(names)) == len(names)
    changes = {"scale": "1.1", "clearance": "0.5 mm"}
    backwards = dict(reversed(changes.items()))
    assert foamwright.load(path, None, changes).size == foamwright.load(path, None, backwards).size


def test_a_long_list_of_changes_stays_a_short_name(path):
    plain = foamwright.load(path)
    all_of_them = {p.name: p.value * 1.01 for p in plain.parameters if p.maximum is None or p.value * 1.01 < p.maximum}
    assert len(foamwright.load(path, None, all_of_them).size) <= len(plain.size) + 50


@pytest.mark.slow
def test_it_lies_beside_the_named_size_and_says_so(path, tmp_path):
    from foamwright.cli import main

    out = tmp_path / "out"
    for changes in ([], ["--set", "scale=1.25"]):
        assert main(["build", str(path), "--only", "cut_list", "--out", str(out), *changes]) == 0
    plain, changed = foamwright.load(path), foamwright.load(path, None, {"scale": "1.25"})
    assert sorted(folder.name for folder in (out / "lamp").iterdir()) == sorted([plain.size, changed.size])
    import json

    design = json.loads((out / "lamp" / changed.size / "pack.json").read_text("utf-8"))["design"]
    assert design["changes"] == {"scale": 1.25} and design["base_size"] == plain.size
