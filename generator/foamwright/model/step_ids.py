"""Numbers of the entities of a STEP file that follow from what they say, so that one changed part changes its own lines.

A writer counts entities from 1 on, and one more at the start changes every line after it. Here the number of an entity is
a hash of its text, with what it refers to in the place of numbers, and of the product whose section of the file it
stands in; those that are alike are told apart by their order in that section.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping

from foamwright.errors import FaultError

_ENTITY = re.compile(r"#(\d+)\s*=\s*((?:'(?:[^']|'')*'|[^';]++)*);\s*")
_BREAK = re.compile(r"('(?:[^']|'')*')|\s*\n\s*")  # a string, which stays, or a line break with what is around it
_REFERENCE = re.compile(r"('(?:[^']|'')*')|#(\d+)")
_NUMBER = re.compile(r"#(\d+)")
_PRODUCT = re.compile(r"PRODUCT\((?:\s*)('(?:[^']|'')*')")
_SECTION = "SHAPE_DEFINITION_REPRESENTATION"  # the first entity of each product
_LEAST, _NUMBERS = 10**8, 9 * 10**8  # all of one width, and below 2**31, which readers may count with


Entity = tuple[str, ...]  # its text in pieces: words, number, words, number, ..., words


def with_stable_ids(text: str) -> str:
    """The file with other numbers and one line for each entity. ISO 10303-21 lets numbers be any, in any order."""
    head, data, rest = text.partition("DATA;\n")
    body, ending, tail = rest.rpartition("ENDSEC;")
    entities = {number: _pieces(words) for number, words in _ENTITY.findall(body)}
    numbers = _numbers(entities, _contents(entities))
    lines = [f"{numbers[old]} = {_filled(pieces, numbers)};\n" for old, pieces in entities.items()]
    return head + data + "".join(lines) + ending + tail


def _pieces(words: str) -> Entity:
    """The text on one line, parted at what it refers to; what stands in a string refers to nothing."""
    if "\n" in words:
        words = _BREAK.sub(lambda part: part[1] or "", words)
    if "#" not in words:  # as of all points
        return (words,)
    if words.count("'") == 2 * words.count("''"):  # no string but empty ones, as of most entities
        return tuple(_NUMBER.split(words))
    pieces, begun = [], 0
    for reference in _REFERENCE.finditer(words):
        if reference[2]:
            pieces += [words[begun : reference.start()], reference[2]]
            begun = reference.end()
    return (*pieces, words[begun:])


def _filled(pieces: Entity, by_number: Mapping[str, str]) -> str:
    """KeyError: what it refers to is not told."""
    if len(pieces) == 1:
        return pieces[0]
    told = list(pieces)
    told[1::2] = map(by_number.__getitem__, pieces[1::2])
    return "".join(told)


def _contents(entities: dict[str, Entity]) -> dict[str, str]:
    """A hash of what each entity says, and all that it refers to says."""
    said: dict[str, str] = {}
    for first in reversed(entities):  # the kernel writes what is referred to after what refers to it
        if first in said:
            continue
        open_, begun = [first], set()
        while open_:
            at = open_[-1]
            try:
                words = _filled(entities[at], said)
            except KeyError:
                if at in begun:
                    raise FaultError("a STEP file whose entities refer to each other in a circle") from None
                begun.add(at)
                open_ += [number for number in entities[at][1::2] if number not in said]
            else:
                said[at] = hashlib.blake2b(words.encode(), digest_size=12).hexdigest()
                open_.pop()
    return said


def _numbers(entities: Mapping[str, Entity], said: Mapping[str, str]) -> dict[str, str]:
    numbers: dict[str, str] = {}
    taken: set[int] = set()
    alike: dict[str, int] = {}
    section = ""
    names = _sections(entities)
    for old in entities:
        section = names.get(old, section)
        key = f"{section} {said[old]} "
        alike[key] = before = alike.get(key, -1) + 1
        digest = hashlib.blake2b(f"{key}{before}".encode(), digest_size=8).digest()
        number = _LEAST + int.from_bytes(digest, "big") % _NUMBERS
        while number in taken:
            number = _LEAST + (number - _LEAST + 1) % _NUMBERS
        taken.add(number)
        numbers[old] = f"#{number}"
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
