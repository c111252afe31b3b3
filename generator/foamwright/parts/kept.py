"""What the shape and the places of a part are worked out from, so that they can be kept while it stays."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from foamwright.design.records import FormSpec, PartSpec
from foamwright.parts.surroundings import Surroundings
from foamwright.registry import kind

_FILE = re.compile(r"\.[A-Za-z]{2,4}$")  # a name with an ending: what stands in the file may change


def told_by(part: PartSpec, among: Surroundings) -> Any:
    """All that the body of a part and its copies depend on beside the program; None where that is not known, as of kinds
    of other packages and of what is read from files.

    It errs on the safe side: of what is named everything counts, and of the parts on the same forms all that one may ask
    of another.
    """
    specs = shaped(part, among)
    forms = _forms(specs, among)
    spoken = [_plain(spec.values) for spec in specs] + [
        [form.values, *(cut.values for cut in form.cuts)] for form in forms
    ]
    if any(not type(kind(spec.kind)).__module__.startswith("foamwright.") for spec in specs):
        return None
    if any(_FILE.search(word) for word in _words(spoken)):
        return None
    stocks = {spec.stock: replace(among.stock(spec), note="", price=None) for spec in specs}
    named = {form.id for form in forms}
    beside = [
        (other.id, other.kind, other.values["form"], other.values["laid"], other.values["where"],
         among.inner_offset(other), among.stock(other).thickness)
        for other in among.parts.values()
        if kind(other.kind).follows_form and other.values["form"] in named
    ]  # fmt: skip
    own = [(replace(spec, values=_plain(spec.values)), among.beneath(spec), among.layers(spec)) for spec in specs]
    return own, forms, stocks, beside


def shaped(part: PartSpec, among: Surroundings) -> list[PartSpec]:
    """The part, and those that its shape follows, straight or by way of others."""
    found, open_ = {part.id: part}, [part]
    while open_:
        spec = open_.pop()
        for key in kind(spec.kind).shaped_by:
            names = spec.values.get(key) or ()
            for name in (names,) if isinstance(names, str) else names:
                if name not in found:
                    found[name] = among.parts[name]
                    open_.append(among.parts[name])
    return list(found.values())


def _forms(specs: Iterable[PartSpec], among: Surroundings) -> list[FormSpec]:
    """The forms that the parts name anywhere, and those that these name, each with those of its cuts alone that are named: no
    part can ask for another."""
    forms = among.design.forms
    words = {word for spec in specs for word in _words(spec.values)}
    found: dict[str, FormSpec] = {}
    told = -1
    while len(words) != told:
        told = len(words)
        for name in [name for name in forms if name in words]:
            cuts = tuple(cut for cut in forms[name].cuts if any(cut.id in word for word in words))
            found[name] = replace(forms[name], cuts=cuts)
            words.update(_words([forms[name].values, *(cut.values for cut in cuts)]))
    return [found[name] for name in forms if name in found]


def _words(values: Any) -> Iterator[str]:
    """Every text within values, keys among them."""
    if isinstance(values, str):
        yield values
    elif isinstance(values, Mapping):
        for key, value in values.items():
            yield from _words(key)
            yield from _words(value)
    elif isinstance(values, Iterable):
        for value in values:
            yield from _words(value)


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != "note"}
