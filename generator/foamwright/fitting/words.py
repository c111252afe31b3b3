"""What is told of a design that was made to measures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from foamwright.design.lengths import printed
from foamwright.design.records import Design, Parameter
from foamwright.fitting.records import Fitted, Packed
from foamwright.language import Reader, decimal, figure, reading, say
from foamwright.model.figure import Entry, Fit

_FELT = 0.05  # mm


def report(fitted: Fitted, base: Design, packed: Packed | None) -> dict[str, Any]:
    """What a script may want to know; `packed` is None where no pack was made."""
    before, after = fitted.before, fitted.after
    sheets = {} if packed is None else packed.sheets
    return {
        "design": base.id,
        "size": base.size,
        "seat": list(fitted.wanted.seat),
        "values": dict(fitted.values),
        "clearance": {
            "asked": round(fitted.clearance, 2),
            "before": round(before.gap, 2),
            "after": round(after.gap, 2),
            "in_the_pack": None if packed is None or packed.gap is None else round(packed.gap, 2),
        },
        "nearest": {"part": after.fit.part, "copy": after.fit.copy, "at": [round(x, 1) for x in after.fit.at]},
        "way_in": None if after.passage is None else round(after.passage, 2),
        "tips_at": None if after.stability is None else round(after.stability.tipping_angle, 1),
        "ruled_by": [{"measure": r.measure, "lost_by_a_hundredth": round(r.lost, 2)} for r in fitted.ruling],
        "at_limit": dict(fitted.limits),
        "foam_kg": {"before": round(before.foam, 3), "after": round(after.foam, 3)},
        "sheets": {stock: {"before": a, "after": b} for stock, (a, b) in sheets.items()},
        "trials": fitted.tried,
        "folder": None if packed is None else packed.folder,
    }


def sentences(fitted: Fitted, base: Design, packed: Packed | None) -> list[str]:
    """The same in lines for a maker."""
    was = {parameter.name: parameter for parameter in base.parameters}
    lines = [f"{base.id}, from size {base.size}: {_changes(fitted, was)}"]
    before, after = fitted.before, fitted.after
    lines.append(
        f"  clearance {after.gap:.1f} mm, nearest at {_place(base, after.fit)}; "
        f"asked for {fitted.clearance:.1f} mm, before {before.gap:.1f} mm"
    )
    if fitted.wanted.seat:
        names = [f"{part.label} {part.name}" for part in base.parts if part.id in fitted.wanted.seat]
        lines.append(f"  the figure rests on {' and '.join(names)}, whose gap does not count")
    if after.passage is not None and after.fit.entry is not None:
        lines.append(f"  on the way in {after.passage:.1f} mm, nearest at {_place(base, after.fit.entry)}")
    if after.stability is not None:
        lines.append(f"  it stands, and tips at {after.stability.tipping_angle:.0f}°")
    ruling = [one for one in fitted.ruling if one.lost >= _FELT]
    lines += [
        f"  {one.measure} rules: a hundredth more of it takes {one.lost:.1f} mm of the room" for one in ruling[:1]
    ]
    lines += [f"    {one.measure}: {one.lost:.1f} mm" for one in ruling[1:]]
    if fitted.ruling and not ruling:
        lines.append("  no measure rules: the prop grows with all of them")
    lines += [f"  {name} stands at the {end} that the design allows" for name, end in fitted.limits.items()]
    lines.append(f"  foam {after.foam:.2f} kg instead of {before.foam:.2f} kg")
    if packed is not None:
        told = ", ".join(f"{base.stock[stock].name} {b} instead of {a}" for stock, (a, b) in packed.sheets.items())
        lines.append(f"  sheets: {told}")
        lines += _in_the_pack(fitted, packed)
    return lines


def _in_the_pack(fitted: Fitted, packed: Packed) -> list[str]:
    if packed.gap is None:
        return [f"{packed.folder}: the pack"]
    short = fitted.clearance - packed.gap
    less = f", {short:.1f} mm less than asked for: ask for that much more" if short > _FELT else ""
    return [f"{packed.folder}: the pack; its solids leave the figure {packed.gap:.1f} mm{less}"]


def note_of(fitted: Fitted, base: Design) -> str:
    """What a size that is written into the design says of itself, in the language of the design."""
    units = {parameter.name: parameter.unit for parameter in base.parameters}
    with reading(Reader(base.language)):
        told = ", ".join(
            f"{name} {figure(value)}{' mm' if units[name] == 'mm' else ''}"
            for name, value in fitted.values.items()
            if name in fitted.wanted.measures
        )
        if told:
            return say("made to measure: {measures}", measures=told)
        return say("with {room} mm around the figure", room=decimal(fitted.clearance, 1))


def changes(fitted: Fitted, base: Design) -> str:
    """The values that were found, each with that of the size it began from."""
    return _changes(fitted, {parameter.name: parameter for parameter in base.parameters})


def _changes(fitted: Fitted, was: Mapping[str, Parameter]) -> str:
    if not fitted.values:
        return "as it is, it has the room"
    return ", ".join(
        f"{name} {printed(value, was[name].unit)} (before {was[name].value:.6g})"
        for name, value in fitted.values.items()
    )


def _place(base: Design, fit: Fit | Entry) -> str:
    part = next(part for part in base.parts if part.id == fit.part)
    return f"{part.label} {part.name}" + (f" ({fit.copy})" if fit.copy > 1 else "")


def measures(parameters: Sequence[Parameter]) -> list[str]:
    """What there is to measure, and what the size has for it."""
    return [f"  {p.name}: {printed(p.value, p.unit)}. {p.measure}" for p in parameters]
