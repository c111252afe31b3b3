"""What a first look found, for a script and for a maker."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from foamwright.contacts.things import SHARES_ONLY, TO_HOLD_IT, things_told
from foamwright.language import number_ranges

if TYPE_CHECKING:
    from foamwright.look.records import Look


def report(look: Look, folder: str) -> dict[str, Any]:
    """All that was found: lengths in mm, volumes in mm3. `buildable` says that nothing found here bars a pack."""
    low, high = look.box
    return {
        "folder": folder,
        "design": look.design.name,
        "version": look.design.version,
        "size": look.design.size,
        "extent": [round(x, 1) for x in (high - low).tolist()],
        "pieces": len(look.copies),
        "buildable": look.buildable,
        "overlaps": [
            {
                "a": {"part": pair.a.piece.id, "copy": pair.a.number},
                "b": {"part": pair.b.piece.id, "copy": pair.b.number},
                "volume": round(pair.volume, 1),
                "depth": round(pair.depth, 2),
                "at": [round(x, 1) for x in pair.at],
                "declared": pair.declared,
                "hint": pair.hint,
            }
            for pair in look.overlaps
        ],
        "loose": [
            {
                "copies": [{"part": copy.piece.id, "copy": copy.number} for copy in alone.copies],
                "near": {"part": alone.near.piece.id, "copy": alone.near.number},
                "nearest": {"part": alone.other.piece.id, "copy": alone.other.number},
                "gap": round(alone.gap, 1),
                "shares": alone.shares,
            }
            for alone in look.loose
        ],
        "untrue": [
            {"part": each.part, "other": each.other, "gap": round(each.gap, 1), "told": each.told}
            for each in look.untrue
        ],
        "things": [[{"part": copy.piece.id, "copy": copy.number} for copy in thing] for thing in look.things],
        "figure": None
        if look.figure is None
        else {
            "name": look.figure.name,
            "reaches": [
                {
                    "part": each.copy.piece.id,
                    "copy": each.copy.number,
                    "depth": round(each.depth, 2),
                    "at": [round(x, 1) for x in each.at],
                }
                for each in look.figure.reaches
            ],
        },
        "failures": [{"part": failure.part, "reason": failure.reason} for failure in look.failures],
        "remarks": list(look.remarks),
    }


def sentences(report: Mapping[str, Any]) -> list[str]:
    """The report in lines: what was drawn, then each pair that shares space, what nothing holds, what does not touch as declared,
    what the figure runs into, and what failed."""
    extent = " x ".join(f"{x:.0f}" for x in report["extent"])
    lines = [f"{report['folder']}: {report['pieces']} pieces in place, {extent} mm"]
    for numbers, pair in _alike(report["overlaps"]):
        a, b = (f"{pair[side]['part']} ({pair[side]['copy']})" for side in "ab")
        at = ", ".join(f"{x:.0f}" for x in pair["at"])
        meant = ", as the design declares" if pair["declared"] else pair["hint"]
        more = len(numbers) - 1
        others = (
            f", and so {'does' if more == 1 else 'do'} {more} more pair{'s' * (more > 1)} of their copies"
            if more
            else ""
        )
        lines.append(
            f"  {number_ranges(numbers)}  {a} and {b} share {pair['volume']:.0f} mm3, about {pair['depth']:.1f} mm deep, "
            f"near ({at}){others}{meant}"
        )
    for number, alone in enumerate(report["loose"], len(report["overlaps"]) + 1):
        near, other = (f"{alone[side]['part']} ({alone[side]['copy']})" for side in ("near", "nearest"))
        parts = list(dict.fromkeys(copy["part"] for copy in alone["copies"]))
        what = near if len(alone["copies"]) == 1 else ", ".join(parts)
        from_ = "" if len(alone["copies"]) == 1 else f" from {near}"
        near_by = (
            f"{'it' if len(alone['copies']) == 1 else near} shares space with {other}, {SHARES_ONLY}"
            if alone["shares"]
            else f"the nearest, {other}, is {alone['gap']:.1f} mm away{from_}{TO_HOLD_IT}"
        )
        lines.append(f"  {number}  nothing holds {what}: {near_by}")
    lines += [f"  not as declared: {each['told']}" for each in report["untrue"]]
    if report["figure"] and report["figure"]["reaches"]:
        lines.append(f"  {_run_into(report['figure'])}")
    if report["things"]:
        lines.append("  " + things_told(len(report["things"]), [copy["part"] for copy in report["things"][0]]))
    lines += [f"  not built: {failure['reason']}" for failure in report["failures"]]
    lines += [f"  note: {remark}" for remark in report["remarks"]]
    return lines


def _run_into(figure: Mapping[str, Any]) -> str:
    """What the figure runs into in its place, the copy that it does so deepest first."""
    copies = [f"{each['part']} ({each['copy']})" for each in figure["reaches"]]
    deepest = figure["reaches"][0]
    at = ", ".join(f"{x:.0f}" for x in deepest["at"])
    others = f", and into {', '.join(copies[1:])}" if copies[1:] else ""
    return (
        f"the figure {figure['name']} runs into {copies[0]}, about {deepest['depth']:.1f} mm deep, near ({at}){others}"
    )


def _alike(overlaps: Sequence[Mapping[str, Any]]) -> list[tuple[list[int], Mapping[str, Any]]]:
    """Pairs of copies of the same two parts that lie equally deep in each other are told once, with the numbers that they have in
    the picture, from 1."""
    groups: dict[tuple[Any, ...], list[int]] = {}
    for number, pair in enumerate(overlaps, 1):
        what = (pair["a"]["part"], pair["b"]["part"], pair["declared"], pair["hint"], round(pair["depth"], 1))
        groups.setdefault(what, []).append(number)
    return [(numbers, overlaps[numbers[0] - 1]) for numbers in groups.values()]
