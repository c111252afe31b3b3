"""Numbers of the entities of a STEP file that follow from what they say, so that one changed part changes its own lines.

A writer counts entities from 1 on, and one more at the start changes every line after it. Here the number of an entity is
a hash of its text, with what it refers to in the place of numbers, and of the product whose section of the file it
stands in; those that are alike are told apart by their order in that section.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter

from foamwright.errors import FaultError

_ENTITY = re.compile(r"#(\d+)\s*=\s*((?:'(?:[^']|'')*'|[^';])*);\s*")
_BREAK = re.compile(r"('(?:[^']|'')*')|\s*\n\s*")  # a string, which stays, or a line break with what is around it
_REFERENCE = re.compile(r"('(?:[^']|'')*')|#(\d+)")
_PRODUCT = re.compile(r"PRODUCT\((?:\s*)('(?:[^']|'')*')")
_SECTION = "SHAPE_DEFINITION_REPRESENTATION"  # the first entity of each product
_LEAST, _NUMBERS = 10**8, 9 * 10**8  # all of one width, and below 2**31, which readers may count with


def with_stable_ids(text: str) -> str:
    """The file with other numbers and one line for each entity. ISO 10303-21 lets numbers be any, in any order."""
    head, data, rest = text.partition("DATA;\n")
    body, ending, tail = rest.rpartition("ENDSEC;")
    entities = {int(m[1]): _BREAK.sub(lambda b: b[1] or "", m[2]) for m in _ENTITY.finditer(body)}
    said = _contents(entities)
    numbers = _numbers(entities, said)
    lines = [f"#{numbers[old]} = {_renumbered(words, numbers)};\n" for old, words in entities.items()]
    return head + data + "".join(lines) + ending + tail


def _contents(entities: dict[int, str]) -> dict[int, str]:
    """A hash of what each entity says, and all that it refers to says."""
    said: dict[int, str] = {}
    for first in entities:
        open_ = [first]
        begun: set[int] = set()
        while open_:
            at = open_[-1]
            if at in said:
                open_.pop()
                continue
            missing = [r for r in _referred(entities[at]) if r not in said]
            if missing and at in begun:
                raise FaultError("a STEP file whose entities refer to each other in a circle")
            if missing:
                begun.add(at)
                open_ += missing
                continue
            words = _REFERENCE.sub(lambda m: m[1] or said[int(m[2])], entities[at])
            said[at] = hashlib.blake2b(words.encode(), digest_size=12).hexdigest()
            open_.pop()
    return said


def _numbers(entities: dict[int, str], said: dict[int, str]) -> dict[int, int]:
    numbers: dict[int, int] = {}
    taken: set[int] = set()
    alike: Counter[tuple[str, str]] = Counter()
    section = ""
    names = _sections(entities)
    for old in entities:
        section = names.get(old, section)
        key = (section, said[old])
        digest = hashlib.blake2b(f"{section} {said[old]} {alike[key]}".encode(), digest_size=8).digest()
        alike[key] += 1
        number = _LEAST + int.from_bytes(digest, "big") % _NUMBERS
        while number in taken:
            number = _LEAST + (number - _LEAST + 1) % _NUMBERS
        taken.add(number)
        numbers[old] = number
    return numbers


def _sections(entities: dict[int, str]) -> dict[int, str]:
    """The name of the product whose section begins at an entity."""
    found: dict[int, str] = {}
    begun = None
    for old, words in entities.items():
        if words.startswith(_SECTION):
            begun = old
        elif begun is not None and (product := _PRODUCT.match(words)):
            found[begun] = product[1]
            begun = None
    return found


def _referred(words: str) -> list[int]:
    return [int(m[2]) for m in _REFERENCE.finditer(words) if m[2]]


def _renumbered(words: str, numbers: dict[int, int]) -> str:
    return _REFERENCE.sub(lambda m: m[1] or f"#{numbers[int(m[2])]}", words)
