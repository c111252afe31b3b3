"""What is different between the records of two packs."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np

from foamwright.changes.outlines import distance, extent
from foamwright.changes.records import UNCHANGED, Amount, Changes, PartChange, Side
from foamwright.language import count, decimal, figure, phrase, say

Part = Mapping[str, Any]

_BEVEL, _LENGTH = 0.1, 0.05  # degrees, mm: less cannot be seen on paper or in foam
_TEMPLATES = "templates.pdf"
_FACES = {
    "inside": phrase("drawn on its inside face now"),
    "outside": phrase("drawn on its outside face now"),
}
_OTHER_FACE = phrase("drawn on its other face now")


def compare(before: Side, after: Side) -> Changes:
    """Everything that is different between two packs; parts are matched by their ids, then by their cut lines."""
    old, new = _by_id(before), _by_id(after)
    pairs = {id_: id_ for id_ in new if id_ in old}
    pairs |= _renamed([p for i, p in old.items() if i not in pairs], [p for i, p in new.items() if i not in pairs])
    names = _stock_names(before) | _stock_names(after)
    changed = tuple(_part(old[pairs[id_]], part, names) for id_, part in new.items() if id_ in pairs)
    added = tuple(part for id_, part in new.items() if id_ not in pairs)
    again = {part["id"] for part in added} | {part.after["id"] for part in changed if part.recut}
    return Changes(
        before=before,
        after=after,
        added=added,
        removed=tuple(part for id_, part in old.items() if id_ not in pairs.values()),
        parts=changed,
        parameters=_parameters(before, after),
        pages=tuple(
            page["page"]
            for page in after.record["pages"]
            if page["file"] == _TEMPLATES and again.intersection(page["parts"])
        ),
        amounts=tuple(_amounts(before, after, names)),
    )


def _stock_names(side: Side) -> dict[str, str]:
    """What each foam is bought as, by its id."""
    return {material["id"]: material["name"] for material in side.record.get("materials", ())}


def _by_id(side: Side) -> dict[str, Part]:
    return {part["id"]: part for part in side.record["parts"]}


def _renamed(old: Sequence[Part], new: Sequence[Part]) -> dict[str, str]:
    """New id to old id of parts of one kind and foam whose cut lines are the same."""
    old_ids: dict[str, str] = {}
    for part in new:
        for other in old:
            if other["id"] in old_ids.values() or any(part[key] != other[key] for key in ("kind", "thickness")):
                continue
            if distance(_lines(other), _lines(part))[0] <= UNCHANGED:
                old_ids[part["id"]] = other["id"]
                break
    return old_ids


def _part(before: Part, after: Part, names: Mapping[str, str]) -> PartChange:
    moved, laid = distance(_lines(before), _lines(after))
    (length, width), (length_now, width_now) = extent(_lines(before)[0]), extent(_lines(after)[0])
    return PartChange(
        before=before,
        after=after,
        moved=moved,
        longer=length_now - length,
        wider=width_now - width,
        lines=(laid, _lines(after)),
        facts=tuple(_facts(before, after, names)),
    )


def _lines(part: Part) -> tuple[np.ndarray, ...]:
    return tuple(np.asarray(line, float) for line in (part["outline"], *part["holes"]))


def _facts(before: Part, after: Part, names: Mapping[str, str]) -> Iterator[str]:
    """What is different besides the cut lines, each in words that finish "the deck: ..."."""
    if before["thickness"] != after["thickness"]:
        yield say(
            "cut from {after} mm instead of {before} mm",
            after=figure(after["thickness"]),
            before=figure(before["thickness"]),
        )
    elif before["material"] != after["material"]:
        is_, was = (names.get(side["material"], side["material"]) for side in (after, before))
        yield say("cut from {after} instead of {before}", after=is_, before=was)
    if before["quantity"] != after["quantity"]:
        yield say("{after} to cut instead of {before}", after=after["quantity"], before=before["quantity"])
    if before["mirrored"] != after["mirrored"]:
        yield say("{after} of them mirrored instead of {before}", after=after["mirrored"], before=before["mirrored"])
    if before.get("drawn_face") != after.get("drawn_face"):
        yield say(_FACES.get(str(after.get("drawn_face")), _OTHER_FACE))
    if len(before["holes"]) != len(after["holes"]):
        yield count(
            "{n} opening instead of {before}",
            "{n} openings instead of {before}",
            len(after["holes"]),
            before=len(before["holes"]),
        )
    turned = _bevel_difference(before, after)
    if turned is None:
        yield count(
            "{n} edge instead of {before}",
            "{n} edges instead of {before}",
            len(after["edges"]),
            before=len(before["edges"]),
        )
    elif turned > _BEVEL:
        yield say("bevels that differ by up to {angle}°", angle=decimal(turned, 1))
    if len(before["darts"]) != len(after["darts"]):
        yield count(
            "{n} dart instead of {before}",
            "{n} darts instead of {before}",
            len(after["darts"]),
            before=len(before["darts"]),
        )
    else:
        opening = max(
            (abs(a["opening"] - b["opening"]) for a, b in zip(before["darts"], after["darts"], strict=True)),
            default=0.0,
        )
        if opening > _LENGTH:
            yield say("darts whose openings differ by up to {length} mm", length=decimal(opening, 1))


def _bevel_difference(before: Part, after: Part) -> float | None:
    """The largest difference of a bevel in degrees; None if the parts have different edges."""
    old = {edge["id"]: np.atleast_1d(edge["bevel"]) for edge in before["edges"]}
    new = {edge["id"]: np.atleast_1d(edge["bevel"]) for edge in after["edges"]}
    if len(old) != len(new):
        return None
    # an edge that was only renamed keeps its place in the list
    pairs = (
        [(old[id_], new[id_]) for id_ in new] if old.keys() == new.keys() else list(zip(*map(dict.values, (old, new))))
    )
    worst = 0.0
    for a, b in pairs:
        at = np.linspace(0.0, 1.0, 33)
        along = [np.interp(at, np.linspace(0.0, 1.0, len(side)), side) if len(side) > 1 else side[0] for side in (a, b)]
        worst = max(worst, float(np.max(np.abs(np.asarray(along[0]) - along[1]))))
    return worst


def _parameters(before: Side, after: Side) -> tuple[tuple[str, float | None, float | None], ...]:
    old, new = (side.record["design"]["parameters"] for side in (before, after))
    return tuple((name, old.get(name), new.get(name)) for name in {**new, **old} if old.get(name) != new.get(name))


def _amounts(before: Side, after: Side, names: Mapping[str, str]) -> Iterator[Amount]:
    """What the whole pack takes: pieces, pages, sheets of each foam, strain, time, cost."""
    a, b = before.record, after.record

    def amount(what: str, unit: str, of: Callable[[Part], float | None], material: str = "") -> Amount:
        return Amount(what, unit, of(a), of(b), material)

    yield amount(phrase("pieces"), "", lambda r: float(sum(part["quantity"] for part in r["parts"])))
    yield amount(
        phrase("pages of templates"), "", lambda r: float(sum(page["file"] == _TEMPLATES for page in r["pages"]))
    )
    for material in dict.fromkeys(sheet["material"] for r in (a, b) for sheet in r.get("sheets", ())):
        of = partial(_sheets, material=material)
        yield amount(phrase("sheets of {material}"), "", of, names.get(material, material))
    yield amount(phrase("worst strain"), "%", _worst)
    yield amount(phrase("worst seam mismatch"), "mm", _mismatch)
    yield amount(phrase("time at the bench"), "min", _minutes)
    for currency in dict.fromkeys([*before.costs, *after.costs]):
        yield Amount(phrase("cost"), currency, before.costs.get(currency), after.costs.get(currency))


def _sheets(record: Part, material: str) -> float | None:
    if "sheets" not in record:
        return None
    return float(sum(sheet["material"] == material for sheet in record["sheets"]))


def _worst(record: Part) -> float:
    return round(100.0 * max((part["strain"]["max"] for part in record["parts"]), default=0.0), 2)


def _mismatch(record: Part) -> float:
    return round(max((abs(s["length_a"] - s["length_b"]) for s in record["seams"]), default=0.0), 3)


def _minutes(record: Part) -> float | None:
    if "steps" not in record:
        return None
    return float(sum(step["minutes"] for step in record["steps"]))


_SEMVER = re.compile(r"(\d+)\.(\d+)\.(\d+)(?:-([0-9A-Za-z.-]+))?")


def raised(before: str, after: str) -> bool:
    """Whether the version after is the higher one, by the order of Semantic Versioning 2.0.0, paragraph 11."""
    return order_of(after) > order_of(before)


def order_of(version: str) -> tuple[object, ...]:
    """A key that sorts versions as that paragraph does."""
    parsed = _SEMVER.match(version)
    if parsed is None:
        return ((0, 0, 0), True, ())
    *core, pre = parsed.groups()
    parts = () if pre is None else pre.split(".")
    # figures are lower than words, and a release is higher than what came before it
    ranked = tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts)
    return (tuple(map(int, core)), pre is None, ranked)
