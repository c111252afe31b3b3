"""The wording of every message about a design file: one line, with its place and the nearest right word."""

from __future__ import annotations

from collections.abc import Iterable

from foamwright.design.records import Where
from foamwright.errors import DesignError, nearest

MANY = 8  # choices: more than one reads at a glance


def mistake(
    place: Where | str, wrong: str, expected: str = "", word: str = "", choices: Iterable[str] = ()
) -> DesignError:
    """The error `place: wrong; expected ...; did you mean X?`.

    X is the one of `choices` that `word` comes nearest to, if any is near. Without `expected`, the choices
    themselves are what was expected, unless they are many and X says it better.
    """
    choices = list(choices)
    near = nearest(word, choices)
    if not expected and choices and not (near and len(choices) > MANY):
        expected = one_of(choices)
    clauses = [f"{place}: {wrong}"]
    if expected:
        clauses.append(f"expected {expected}")
    if near:
        clauses.append(f"did you mean {near}?")
    return DesignError(" ".join("; ".join(clauses).split()))


def one_of(choices: Iterable[str]) -> str:
    choices = list(choices)
    return choices[0] if len(choices) == 1 else "one of " + ", ".join(choices)
