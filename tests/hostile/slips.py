"""Slips of the hand: one letter, sign or line of the design that `foamwright new` writes is lost, doubled or another one."""

from __future__ import annotations

import random
import re
import string
from collections.abc import Iterator

from foamwright.design.starter import starter
from tests.hostile.trial import Trial

MANY = 400
_SIGNS = "[]{}(),:'\"*-"


def trials() -> list[Trial]:
    chance = random.Random(14)
    lines = starter("Lamp").splitlines()
    found = [(number, *slip) for number in range(len(lines)) for slip in _slips(lines[number], chance)]
    return [
        Trial(f"line {number + 1}: {name}, {i}", {"tag.yaml": "\n".join([*lines[:number], *new, *lines[number + 1 :], ""]).encode()})
        for i, (number, name, new) in enumerate(chance.sample(found, MANY))
    ]  # fmt: skip


def _slips(line: str, chance: random.Random) -> Iterator[tuple[str, list[str]]]:
    """What may be written instead of a line, with a name for it."""
    body = line.split(" #")[0]
    indent = len(line) - len(line.lstrip())
    if not body.strip() or body.lstrip().startswith("#"):
        return
    yield "a space more", [" " + line]
    yield "twice", [line, line]
    yield "gone", []
    if indent:
        yield "a space less", [line[1:]]
        yield "a tab", ["\t" + line[indent:]]
    letters = [i for i, letter in enumerate(body) if letter.isalpha()]
    for i in chance.sample(letters, min(3, len(letters))):
        yield "a letter lost", [line[:i] + line[i + 1 :]]
        yield "a letter twice", [line[:i] + line[i] + line[i:]]
        yield "another letter", [line[:i] + chance.choice(string.ascii_lowercase) + line[i + 1 :]]
        yield "two letters changed over", [line[:i] + line[i : i + 2][::-1] + line[i + 2 :]]
        yield "a capital", [line[:i] + line[i].swapcase() + line[i + 1 :]]
    for sign in _SIGNS:
        places = [i for i, letter in enumerate(body) if letter == sign]
        if places:
            i = chance.choice(places)
            yield f"no {sign}", [line[:i] + line[i + 1 :]]
            yield f"{sign} twice", [line[:i] + sign + line[i:]]
            yield f"; for {sign}", [line[:i] + ";" + line[i + 1 :]]
    for old, new in (
        (r"(\d)\.(\d)", r"\1,\2"),
        (r"(\d) mm", r"\1 mmm"),
        (r"(\d) mm", r"\1 MM"),
        ("0", "o"),
        (": ", ":"),
        (": ", " = "),
    ):
        changed = re.sub(old, new, body, count=1)
        if changed != body:
            yield f"{new} for {old}", [changed]
