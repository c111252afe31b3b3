"""What changed, in the words that a maker uses; the reports are laid out from these."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from foamwright.changes.find import raised
from foamwright.changes.records import UNCHANGED, Amount, Changes, PartChange
from foamwright.language import count, decimal, duration, figure, listed, rows, say

_SIZE = 0.05  # mm: smaller differences of length and width are not spoken of
_STRAIN = 0.05  # percent, likewise
_FIRST = 2  # parts that the first sentences name


@dataclass(frozen=True)
class Section:
    """A heading and its lines."""

    title: str
    lines: tuple[str, ...]


def headline(changes: Changes) -> tuple[str, ...]:
    """The first sentences: what is other than it was, what to print again, what stays."""
    total = len(changes.after.record["parts"])
    if not changes.cut_lines_changed:
        return (
            say("Every template is unchanged: foam that is cut already still fits.")
            if total
            else say("There are no parts."),
        )
    told = [f"{_named(part.after)}: {_difference(part)}." for part in changes.recut[:_FIRST]]
    if len(changes.recut) > _FIRST:
        told.append(count("{n} more is to be cut again.", "{n} more are to be cut again.", len(changes.recut) - _FIRST))
    if changes.added:
        told.append(count("{n} part is new.", "{n} parts are new.", len(changes.added)))
    if changes.removed:
        told.append(count("{n} part is no longer needed.", "{n} parts are no longer needed.", len(changes.removed)))
    if changes.pages:
        told.append(
            count(
                "Print page {pages} again.", "Print pages {pages} again.", len(changes.pages), pages=runs(changes.pages)
            )
        )
    same = total - len(changes.recut) - len(changes.added)
    return (
        *told,
        count("{n} of {total} templates is unchanged.", "{n} of {total} templates are unchanged.", same, total=total),
    )


def sections(changes: Changes) -> tuple[Section, ...]:
    """Everything else, in the order of interest; a section with nothing in it is left out."""
    possible = [
        Section(say("Cut again"), tuple(f"{_named(p.after)}: {_difference(p)}" for p in changes.recut)),
        Section(say("New parts"), tuple(f"{_named(p)}: {_pieces(p)}" for p in changes.added)),
        Section(say("No longer needed"), tuple(f"{_named(p)}: {_pieces(p)}" for p in changes.removed)),
        Section(
            say("Called otherwise"),
            tuple(
                say("{before} is now {after}", before=_named(p.before), after=_named(p.after))
                for p in changes.parts
                if _renamed(p)
            ),
        ),
        Section(say("Parameters"), tuple(_parameter(*entry) for entry in changes.parameters)),
        Section(say("Strain"), tuple(line for part in changes.parts if (line := _strain(part)))),
        Section(say("The whole pack"), tuple(_amount(a) for a in changes.amounts if a.before != a.after)),
    ]
    return tuple(section for section in possible if section.lines)


def version_fault(changes: Changes) -> str | None:
    """Why the newer design may not be published under its version, or None."""
    old, new = (side.record["design"]["version"] for side in (changes.before, changes.after))
    if not changes.cut_lines_changed or raised(old, new):
        return None
    parts = [*(part.after for part in changes.recut), *changes.added, *changes.removed]
    more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
    went = f"is still {old}" if new == old else f"went from {old} to {new}"
    return (
        f"cut lines changed ({_named(parts[0])}{more}) and the version {went}; "
        f"expected a higher version in the design, as {_next(old)}"
    )


def runs(numbers: Iterable[int]) -> str:
    """Whole numbers in order as people say them: "3, 5 to 8 and 10"."""
    told: list[str] = []
    for row in rows(sorted(set(numbers))):
        span = [say("{first} to {last}", first=row[0], last=row[-1])]
        told += span if len(row) > 2 else [str(number) for number in row]
    return listed(told)


def _named(part: Mapping[str, Any]) -> str:
    return f"{part['label']} {part['name']}"


def _renamed(part: PartChange) -> bool:
    return any(part.before[key] != part.after[key] for key in ("label", "name"))


def _pieces(part: Mapping[str, Any]) -> str:
    return count(
        "{n} piece of {thickness} mm",
        "{n} pieces of {thickness} mm",
        part["quantity"],
        thickness=figure(part["thickness"]),
    )


def _difference(part: PartChange) -> str:
    told: list[str] = []
    if part.longer * part.wider > 0.0 and abs(part.longer - part.wider) <= _SIZE < abs(part.longer):
        by = decimal(abs(part.longer), 1)
        told.append(
            say("{by} mm larger both ways", by=by) if part.longer > 0.0 else say("{by} mm smaller both ways", by=by)
        )
    else:
        told += _one_way(part)
    if part.moved > UNCHANGED:
        told.append(say("the cut line moves by up to {by} mm", by=decimal(part.moved, 1)))
    return "; ".join([*told, *part.facts])


def _one_way(part: PartChange) -> list[str]:
    told = []
    if abs(part.longer) > _SIZE:
        by = decimal(abs(part.longer), 1)
        told.append(say("{by} mm longer", by=by) if part.longer > 0.0 else say("{by} mm shorter", by=by))
    if abs(part.wider) > _SIZE:
        by = decimal(abs(part.wider), 1)
        told.append(say("{by} mm wider", by=by) if part.wider > 0.0 else say("{by} mm narrower", by=by))
    return told


def _strain(part: PartChange) -> str:
    """What the foam of a part must give now, if that is another share of it; "" if not."""
    before, after = (100.0 * side["strain"]["max"] for side in (part.before, part.after))
    if abs(after - before) < _STRAIN:
        return ""
    return say(
        "{part}: {after} instead of {before}",
        part=_named(part.after),
        after=f"{decimal(after, 1)} %",
        before=f"{decimal(before, 1)} %",
    )


def _parameter(name: str, before: float | None, after: float | None) -> str:
    was, is_ = ("" if value is None else figure(value) for value in (before, after))
    if before is None:
        return say("{name}: new, {after}", name=name, after=is_)
    if after is None:
        return say("{name}: gone, was {before}", name=name, before=was)
    return say("{name}: {before} to {after}", name=name, before=was, after=is_)


def _amount(amount: Amount) -> str:
    before, after = (_much(value, amount.unit) for value in (amount.before, amount.after))
    what = say(amount.what, material=amount.material)
    return say("{name}: {before} to {after}", name=what, before=before, after=after)


def _much(value: float | None, unit: str) -> str:
    if value is None:
        return say("not told")
    return duration(value) if unit == "min" else f"{figure(value)} {unit}".rstrip()


def _next(version: str) -> str:
    numbers: Sequence[str] = version.split("-")[0].split("+")[0].split(".")
    return f"{numbers[0]}.{int(numbers[1]) + 1}.0" if len(numbers) == 3 else "the next"
