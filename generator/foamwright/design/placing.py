"""The place in the design file for an error of a later step, which knows parts and forms by their ids."""

from __future__ import annotations

import re

from foamwright.design.records import Design, FormSpec, PartSpec

_PLACED = re.compile(r"[^\s].*?:\d+(:\d+)?: ")


def at_its_place(words: str, design: Design) -> str:
    """`words` behind the place of the part or form that they name first; unchanged if they have one, or name none."""
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
    return f"{min(places, key=lambda pair: pair[0])[1]}: {words}" if places else words
