"""What is told of a design that was made to measures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from foamwright.design.lengths import printed
from foamwright.design.records import Design, Parameter
from foamwright.fitting.records import Fitted
from foamwright.model.figure import Entry, Fit

_FELT = 0.05  # mm


def report(fitted: Fitted, base: Design, sheets: Mapping[str, tuple[int, int]]) -> dict[str, Any]:
    """What a script may want to know. `sheets` says for each stock how many there were before and are now."""
    before, after = fitted.before, fitted.after
    return {
        "design": base.id,
        "size": base.size,
        "values": dict(fitted.values),
        "clearance": {
            "asked": round(fitted.clearance, 2),
            "before": round(before.gap, 2),
            "after": round(after.gap, 2),
        },
        "nearest": {"part": after.fit.part, "copy": after.fit.copy, "at": [round(x, 1) for x in after.fit.at]},
        "way_in": None if after.passage is None else round(after.passage, 2),
        "tips_at": None if after.stability is None else round(after.stability.tipping_angle, 1),
        "ruled_by": [{"measure": r.measure, "lost_by_a_hundredth": round(r.lost, 2)} for r in fitted.ruling],
        "at_limit": dict(fitted.limits),
        "foam_kg": {"before": round(before.foam, 3), "after": round(after.foam, 3)},
        "sheets": {stock: {"before": a, "after": b} for stock, (a, b) in sheets.items()},
        "trials": fitted.tried,
    }


def sentences(fitted: Fitted, base: Design, sheets: Mapping[str, tuple[int, int]]) -> list[str]:
    """The same in lines for a maker."""
    was = {parameter.name: parameter for parameter in base.parameters}
    lines = [f"{base.id}, from size {base.size}: {_changes(fitted, was)}"]
    before, after = fitted.before, fitted.after
    lines.append(
        f"  clearance {after.gap:.1f} mm, nearest at {_place(base, after.fit)}; "
        f"asked for {fitted.clearance:.1f} mm, before {before.gap:.1f} mm"
    )
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
    if sheets:
        told = ", ".join(f"{base.stock[stock].name} {b} instead of {a}" for stock, (a, b) in sheets.items())
        lines.append(f"  sheets: {told}")
    return lines


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
