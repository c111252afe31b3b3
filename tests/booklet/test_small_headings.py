"""Small headings within long steps."""

from sample_prop import sample
from test_order import order

from foamwright.assembly.work import headed


def test_long_steps_have_headings_and_short_ones_none():
    told = [("Heat", ["a", "b"]), ("Bend", []), ("Press", ["c"])]
    assert headed(told) == (["a", "b", "c"], {})
    text, heads = headed([*told, ("Check", [str(n) for n in range(9)])])
    assert heads == {0: "Heat", 2: "Press", 3: "Check"} and text[2:4] == ["c", "0"]
    assert headed([("Check", [str(n) for n in range(9)])])[1] == {}  # one heading says no more than the title
    prop, patterns = sample()
    found = {step.title: step.heads for step in order(prop, patterns) if step.heads}
    assert all(0 in heads and max(heads) > 0 for heads in found.values())
    assert any("Sand and mask" in heads.values() for heads in found.values())
