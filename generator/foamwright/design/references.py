"""Which parts a part names, and that no part waits for itself through them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter

from foamwright.design.fields.declare import keys_of
from foamwright.design.fields.quantities import PART_ID
from foamwright.design.messages import mistake
from foamwright.design.records import PartSpec
from foamwright.design.source import Source
from foamwright.registry import kind

WAITS_FOR = ("after", "lies_on", "over")  # keys that name parts which must be in place first
STANDS_ON = ("lies_on", "rests_on", "hangs_from")  # keys that name parts which carry it


@cache
def named_parts(name: str) -> tuple[str, ...]:
    """The keys of a kind that name other parts, one or a list of them."""
    keys = []
    for key, told in keys_of(kind(name).fields).items():
        node = told["node"]
        if PART_ID in (node.get("$ref"), node.get("items", {}).get("$ref")):
            keys.append(key)
    return tuple(keys)


def check_order(parts: Sequence[PartSpec], source: Source) -> None:
    """No part waits for itself, stands on itself or takes its shape from itself, through others or their members.

    Raises DesignError that names every part of the circle. Takes time in proportion to the references.
    """
    _refuse_circles(parts, {part.id: WAITS_FOR for part in parts}, "parts wait for each other", source)
    _refuse_circles(parts, {part.id: STANDS_ON for part in parts}, "parts stand on each other", source)
    shaped = {part.id: kind(part.kind).shaped_by for part in parts}
    _refuse_circles(parts, shaped, "parts take their shape from each other", source)


def in_order_of_shape(parts: Sequence[PartSpec]) -> tuple[PartSpec, ...]:
    """The parts so that each comes after those that its shape or thickness follows."""
    specs = {part.id: part for part in parts}
    sorter = TopologicalSorter({part.id: _ids(part, kind(part.kind).shaped_by) for part in parts})
    return tuple(specs[part] for part in sorter.static_order())


def _ids(part: PartSpec, keys: Sequence[str]) -> list[str]:
    """The parts that `part` names under these keys, each once."""
    unique: dict[str, None] = {}
    for key in keys:
        ids = part.values.get(key) or ()
        unique |= dict.fromkeys((ids,) if isinstance(ids, str) else ids)
    return list(unique)


def circle_in(needs: Mapping[str, Sequence[str]]) -> list[str]:
    """Names of which each needs the next and the last the first; empty if there is no such circle.

    It begins with the one of them that `needs` has first. Takes time in proportion to the needs.
    """
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as error:
        circle = error.args[1][:0:-1]  # it is told from what is needed to what needs it, the first name twice
        order = {name: place for place, name in enumerate(needs)}
        start = min(range(len(circle)), key=lambda i: order[circle[i]])
        return [*circle[start:], *circle[:start]]
    return []


def _refuse_circles(parts: Sequence[PartSpec], keys: Mapping[str, Sequence[str]], wrong: str, source: Source) -> None:
    circle = circle_in({part.id: _ids(part, keys[part.id]) for part in parts})
    if circle:
        specs = {part.id: part for part in parts}
        part, other = specs[circle[-1]], circle[0]
        key = next(key for key in keys[part.id] if other in _ids(part, (key,)))
        ids = part.values[key]
        route = ("parts", part.id, key) if isinstance(ids, str) else ("parts", part.id, key, ids.index(other))
        raise mistake(
            source.where(route), f"{wrong}: {' -> '.join((*circle, circle[0]))}", "one that needs none of them"
        )
