"""What changed, in the words that a maker uses; the reports are laid out from these."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from foamwright.changes.find import raised
from foamwright.changes.records import UNCHANGED, Amount, Changes, PartChange

_SIZE = 0.05  # mm: smaller differences of length and width are not spoken of


@dataclass(frozen=True)
class Section:
    """A heading and its lines."""

    title: str
    lines: tuple[str, ...]


def headline(changes: Changes) -> tuple[str, ...]:
    """The first sentences: what stays, what to print again."""
    total = len(changes.after.record["parts"])
    same = total - len(changes.recut) - len(changes.added)
    if not changes.cut_lines_changed:
        told = ["Every template is unchanged: foam that is cut already still fits." if total else "There are no parts."]
    else:
        verb = "is" if same == 1 else "are"
        told = [f"{same} of {total} templates {verb} unchanged."]
    if changes.pages:
        told.append(f"Print {'page' if len(changes.pages) == 1 else 'pages'} {runs(changes.pages)} again.")
    return tuple(told)


def sections(changes: Changes) -> tuple[Section, ...]:
    """Everything else, in the order of interest; a section with nothing in it is left out."""
    possible = [
        Section("Cut again", tuple(f"{_named(p.after)}: {_difference(p)}" for p in changes.recut)),
        Section("New parts", tuple(f"{_named(p)}: {_pieces(p)}" for p in changes.added)),
        Section("No longer needed", tuple(f"{_named(p)}: {_pieces(p)}" for p in changes.removed)),
        Section(
            "Called otherwise",
            tuple(f"{_named(p.before)} is now {_named(p.after)}" for p in changes.parts if _renamed(p)),
        ),
        Section("Parameters", tuple(_parameter(*entry) for entry in changes.parameters)),
        Section("The whole pack", tuple(_amount(a) for a in changes.amounts if a.before != a.after)),
    ]
    return tuple(section for section in possible if section.lines)


def version_fault(changes: Changes) -> str | None:
    """Why the newer design may not be published under its version, or None."""
    old, new = (side.record["design"]["version"] for side in (changes.before, changes.after))
    if not changes.cut_lines_changed or raised(old, new):
        return None
    parts = [*(part.after for part in changes.recut), *changes.added, *changes.removed]
    more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
    return (
        f"cut lines changed ({_named(parts[0])}{more}) and the version went from {old} to {new}; "
        f"expected a higher version in the design, as {_next(old)}"
    )


def runs(numbers: Iterable[int]) -> str:
    """Whole numbers in order as people say them: "3, 5 to 8 and 10"."""
    spans: list[list[int]] = []
    for number in sorted(set(numbers)):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    told: list[str] = []
    for first, last in spans:
        told += [f"{first} to {last}"] if last - first > 1 else [str(n) for n in range(first, last + 1)]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def _named(part: Mapping[str, Any]) -> str:
    return f"{part['label']} {part['name']}"


def _renamed(part: PartChange) -> bool:
    return any(part.before[key] != part.after[key] for key in ("label", "name"))


def _pieces(part: Mapping[str, Any]) -> str:
    pieces = f"{part['quantity']} piece{'s' if part['quantity'] != 1 else ''}"
    return f"{pieces} of {part['thickness']:g} mm"


def _difference(part: PartChange) -> str:
    told: list[str] = []
    if part.longer * part.wider > 0.0 and abs(part.longer - part.wider) <= _SIZE < abs(part.longer):
        told.append(f"{abs(part.longer):.1f} mm {'larger' if part.longer > 0.0 else 'smaller'} both ways")
    else:
        told += _one_way(part)
    if part.moved > UNCHANGED:
        told.append(f"the cut line moves by up to {part.moved:.1f} mm")
    return "; ".join([*told, *part.facts])


def _one_way(part: PartChange) -> list[str]:
    told = []
    for change, larger, smaller in ((part.longer, "longer", "shorter"), (part.wider, "wider", "narrower")):
        if abs(change) > _SIZE:
            told.append(f"{abs(change):.1f} mm {larger if change > 0.0 else smaller}")
    return told


def _parameter(name: str, before: float | None, after: float | None) -> str:
    if before is None:
        return f"{name}: new, {after:g}"
    if after is None:
        return f"{name}: gone, was {before:g}"
    return f"{name}: {before:g} to {after:g}"


def _amount(amount: Amount) -> str:
    unit = f" {amount.unit}" if amount.unit else ""
    before, after = ("not told" if v is None else f"{v:g}{unit}" for v in (amount.before, amount.after))
    return f"{amount.what}: {before} to {after}"


def _next(version: str) -> str:
    numbers: Sequence[str] = version.split("-")[0].split("+")[0].split(".")
    return f"{numbers[0]}.{int(numbers[1]) + 1}.0" if len(numbers) == 3 else "the next"
