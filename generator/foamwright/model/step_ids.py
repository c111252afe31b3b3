"""Numbers of the entities of a STEP file that follow from what they say, so that one changed part changes its own lines.

A writer counts entities from 1 on, and one more at the start changes every line after it. Here the number of an entity is
a hash of its text, with what it refers to in the place of numbers, and of the product whose section of the file it
stands in; those that are alike are told apart by their order in that section.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Mapping

from foamwright.errors import FaultError

_ENTITY = re.compile(r"#(\d+)\s*=\s*((?:'(?:[^']|'')*'|[^';])*);\s*")
_BREAK = re.compile(r"('(?:[^']|'')*')|\s*\n\s*")  # a string, which stays, or a line break with what is around it
_REFERENCE = re.compile(r"('(?:[^']|'')*')|#(\d+)")
_PRODUCT = re.compile(r"PRODUCT\((?:\s*)('(?:[^']|'')*')")
_SECTION = "SHAPE_DEFINITION_REPRESENTATION"  # the first entity of each product
_LEAST, _NUMBERS = 10**8, 9 * 10**8  # all of one width, and below 2**31, which readers may count with


Entity = tuple[str, ...]  # its text in pieces: words, number, words, number, ..., words


def with_stable_ids(text: str) -> str:
    """The file with other numbers and one line for each entity. ISO 10303-21 lets numbers be any, in any order."""
    head, data, rest = text.partition("DATA;\n")
    body, ending, tail = rest.rpartition("ENDSEC;")
    entities = {m[1]: _pieces(_BREAK.sub(lambda b: b[1] or "", m[2])) for m in _ENTITY.finditer(body)}
    numbers = _numbers(entities, _contents(entities))
    lines = [f"#{numbers[old]} = {_filled(pieces, numbers, '#')};\n" for old, pieces in entities.items()]
    return head + data + "".join(lines) + ending + tail


def _pieces(words: str) -> Entity:
    """The text parted at what it refers to; what stands in a string refers to nothing."""
    pieces, begun = [], 0
    for reference in _REFERENCE.finditer(words):
        if reference[2]:
            pieces += [words[begun : reference.start()], reference[2]]
            begun = reference.end()
    return (*pieces, words[begun:])


def _filled(pieces: Entity, by_number: Mapping[str, object], sign: str = "") -> str:
    if len(pieces) == 1:
        return pieces[0]
    told = list(pieces)
    told[1::2] = [f"{sign}{by_number[number]}" for number in pieces[1::2]]
    return "".join(told)


def _contents(entities: dict[str, Entity]) -> dict[str, str]:
    """A hash of what each entity says, and all that it refers to says."""
    said: dict[str, str] = {}
    for first in reversed(entities):  # the kernel writes what is referred to after what refers to it
        open_, begun = [first], set()
        while open_:
            at = open_[-1]
            missing = [number for number in entities[at][1::2] if number not in said]
            if not missing:
                said[at] = hashlib.blake2b(_filled(entities[at], said).encode(), digest_size=12).hexdigest()
                open_.pop()
            elif at in begun:
                raise FaultError("a STEP file whose entities refer to each other in a circle")
            else:
                begun.add(at)
                open_ += missing
    return said


def _numbers(entities: Mapping[str, Entity], said: Mapping[str, str]) -> dict[str, int]:
    numbers: dict[str, int] = {}
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


def _sections(entities: Mapping[str, Entity]) -> dict[str, str]:
    """The name of the product whose section begins at an entity."""
    sections: dict[str, str] = {}
    begun = None
    for old, pieces in entities.items():
        if pieces[0].startswith(_SECTION):
            begun = old
        elif begun is not None and (product := _PRODUCT.match(pieces[0])):
            sections[begun] = product[1]
            begun = None
    return sections
