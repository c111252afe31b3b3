"""Calls that are none: one line, what was expected, the nearest right word, exit code 2."""

import pytest

from foamwright.cli import main
from foamwright.commands.designs import changed
from foamwright.errors import DesignError


@pytest.mark.parametrize(
    "call, words",
    [
        ("", "expected COMMAND; see foamwright --help"),
        ("biuld a.yaml", "COMMAND biuld: expected one of build, .*; did you mean build?"),
        ("build", "expected DESIGN; see foamwright build --help"),
        ("build a.yaml --onlly x", "--onlly: there is no such option; did you mean --only?"),
        ("build a.yaml --units inches", "--units inches: expected one of mm, inch, both; did you mean inch?"),
        ("build a.yaml --jobs many", "--jobs many: expected a whole number"),
        ("new a.yaml b.yaml", "b.yaml: more than is expected; see foamwright new --help"),
        (
            "build a.yaml --set scale=1 arm=300",
            "arm=300: more than is expected; each value has its own --set; see foamwright build --help",
        ),
    ],
)
def test_a_wrong_call_is_one_line(call, words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(call.split())
    told = capsys.readouterr()
    assert ended.value.code == 2 and told.out == ""
    assert told.err.startswith("foamwright: ") and told.err.count("\n") == 1
    assert all(part in told.err for part in words.split(".*"))


def test_one_name_has_one_value():
    assert changed(["scale=2", " scale = 2 ", "a=1"]) == {"scale": "2", "a": "1"}
    with pytest.raises(DesignError, match="--set scale: it has two values"):
        changed(["scale=2", "scale=3"])
