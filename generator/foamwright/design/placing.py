"""The place in the design file for an error of a later step, which knows parts and forms by their ids."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from foamwright.design.read import read_source
from foamwright.design.records import Design, FormSpec, PartSpec, Where
from foamwright.design.source import Route
from foamwright.errors import DesignError

_PLACED = re.compile(r"[^\s].*?:\d+(:\d+)?: ")
_LETTER = re.compile(r"\(U\+([0-9A-F]{4,6})\)")
_KEYS = {"figure": re.compile(r"(?:the )?figure "), "stands": re.compile(r"the prop has no part in its place")}


def at_its_place(words: str, design: Design) -> str:
    """`words` behind the place of the part or form that they name first, else of the figure or letter that they tell of;
    unchanged if they have a place, or tell of nothing that has one."""
    if _PLACED.match(words):
        return words
    places = []
    ones: tuple[PartSpec | FormSpec, ...] = (*design.parts, *design.forms.values())
    for one in ones:
        said = re.search(rf"(?<![\w.-]){re.escape(one.id)}(?![\w-])", words)
        if said is None and isinstance(one, PartSpec) and one.name:
            said = re.search(rf"(?<!\w){re.escape(one.name)}(?!\w)", words)
        if said:
            places.append((said.start(), one.where))
    place = min(places, key=lambda pair: pair[0])[1] if places else _in_the_file(words, design)
    return f"{place}: {words}" if place else words


def _in_the_file(words: str, design: Design) -> Where | None:
    """Where the file says what is neither a part nor a form. A design keeps no file, so it is read once more."""
    key = next((key for key, told in _KEYS.items() if told.match(words)), None)
    letter = _LETTER.search(words)
    if not design.parts or (key is None and letter is None):
        return None
    try:
        source = read_source(design.parts[0].where.file)
    except DesignError:  # it has changed since
        return None
    if key is not None:
        return source.where_key((key,)) if key in source.data else None
    assert letter is not None
    sign = chr(int(letter[1], 16))
    return next((source.where(route) for route, text in _texts(source.data) if sign in text), None)


def _texts(data: Any, route: Route = ()) -> Iterator[tuple[Route, str]]:
    if isinstance(data, str):
        yield route, data
    elif isinstance(data, dict | list):
        for key, item in data.items() if isinstance(data, dict) else enumerate(data):
            yield from _texts(item, (*route, key))
