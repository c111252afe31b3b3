"""What is told of a finished pack."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from foamwright.pack.pack import Pack

NAMED_FILES = 5  # of those that a rebuild left as they were
NAMED_PARTS = 8


def summary_of(folder: Path, pack: Pack, left: Sequence[str]) -> dict[str, Any]:
    """What a script may want to know of a pack; of a partial one, what its record tells."""
    record = pack.record
    summary = {
        "folder": str(folder),
        "design": record["design"]["name"],
        "version": record["design"]["version"],
        "size": record["design"]["size"],
        "files": len(pack.files),
        "archive": record.get("archive"),
        "left": list(left),  # what else lies in the folder
        "notes": list(record.get("notes", ())),
    }
    if "only" in record:
        summary["only"] = list(record["only"])
    if "parts" in record:
        summary["part_kinds"] = len(record["parts"])
        summary["pieces"] = sum(part["quantity"] for part in record["parts"])
        summary["worst_strain"] = max((part["strain"]["max"] for part in record["parts"]), default=0.0)
        summary["worst_seam_mismatch"] = max(
            (abs(seam["length_a"] - seam["length_b"]) for seam in record["seams"]), default=0.0
        )
        summary["notes"] += [f"{p['label']} {p['name']}: {w}" for p in record["parts"] for w in p.get("warnings", ())]
    if record.get("proof", {}).get("made"):
        summary["built_copies"], summary["built_proven"] = record["proof"]["copies"], record["proof"]["proven"]
        summary["bent_over_model"] = record["proof"]["bent_over_model"]
        summary["fitted_in_place"] = record["proof"].get("fitted_in_place", 0)
        summary["proof_page"] = "proof.pdf" in pack.files
        summary["not_proven"] = [
            part["label"]
            for part in record.get("parts", ())
            if any(part["id"] in own for own in record["proof"]["reasons"].values())
        ]
        if record["proof"]["proven"]:
            summary["built_mean"], summary["built_worst"] = record["proof"]["mean"], record["proof"]["worst"]
            summary["worst_allowed"] = record["proof"]["bound_worst"]
    if any(page["file"] == "templates.pdf" for page in record["pages"]):
        summary["template_pages"] = sum(page["file"] == "templates.pdf" for page in record["pages"])
    if "fit" in record:
        stability = record["fit"]["stability"]
        summary["figure_fits"] = _figure_fits(record["fit"])
        summary["figure_meets"] = _met(record["fit"]["contacts"])
        summary["in_its_way"] = _met((record["fit"]["entry"] or {}).get("blocks", ()))
        summary["stands"] = stability and stability["stands"]
    return summary


def _figure_fits(fit: Mapping[str, Any]) -> bool | None:
    """Neither in its place nor on its way there does the figure run into the prop; None without a figure."""
    if fit["figure"] is None:
        return None
    return not fit["contacts"] and not (fit["entry"] and fit["entry"]["blocks"])


def _met(contacts: Sequence[Mapping[str, Any]]) -> list[str]:
    """The ids of the parts that a figure meets, each once."""
    return list(dict.fromkeys(each["part"] for each in contacts))


def _run_into(summary: Mapping[str, Any]) -> str:
    """By what a figure does not fit: in its place, or where it only cannot get there."""
    parts = summary["figure_meets"] or summary["in_its_way"]
    named = ", ".join(parts[:NAMED_PARTS]) + (
        f" and {len(parts) - NAMED_PARTS} more" if len(parts) > NAMED_PARTS else ""
    )
    if summary["figure_meets"]:
        return f"the figure runs into {named} in its place"
    return f"the figure cannot get to its place: in its way {'is' if len(parts) == 1 else 'are'} {named}"


def _proof(summary: Mapping[str, Any]) -> list[str]:
    """What of a prop did not come out proven when it was built from its templates, a line for each sort."""
    fitted = summary["fitted_in_place"]
    left = summary["built_copies"] - summary["built_proven"] - fitted
    lines = []
    if fitted:
        more = "1 more part fits" if fitted == 1 else f"{fitted} more parts fit"
        lines.append(f"{more}: put where the design has it, each agrees with every line that is drawn for it")
    if left:
        parts = summary["not_proven"]
        more = f" and {len(parts) - NAMED_PARTS} more" if len(parts) > NAMED_PARTS else ""
        page = " (proof.pdf tells why)" if summary["proof_page"] else ""
        named = ", ".join(parts[:NAMED_PARTS])
        lines.append(f"{_parts(left)} not proven: {named}{more}; hold in place dry before gluing{page}")
    return lines


def _parts(number: int) -> str:
    return f"{number} part{'s' * (number != 1)}"


def sentences(summary: Mapping[str, Any]) -> list[str]:
    """The summary in one line, and a line for each note."""
    told = [f"{summary['files']} files of {', '.join(summary['only'])}"] if "only" in summary else []
    if "part_kinds" in summary:
        pages = f" on {summary['template_pages']} pages" if "template_pages" in summary else ""
        told += [
            f"{summary['pieces']} pieces of {summary['part_kinds']} kinds{pages}",
            f"worst strain {summary['worst_strain']:.1%}, worst seam mismatch {summary['worst_seam_mismatch']:.3f} mm",
        ]
    if "built_copies" in summary:
        bent = f", {summary['bent_over_model']} of them bent over the model" if summary["bent_over_model"] else ""
        off = (
            f", {summary['built_mean']:.1f} mm off on average, {summary['built_worst']:.1f} mm at most"
            f" ({summary['worst_allowed']:.1f} mm is allowed)"
            if summary["built_proven"]
            else ""
        )
        told.append(f"{summary['built_proven']} of {_parts(summary['built_copies'])} in place proven{bent}{off}")
    if summary.get("figure_fits") is False:
        told.append(f"{_run_into(summary)} (see Fit in the booklet)")
    if summary.get("stands") is False:
        told.append("it falls over (see Fit in the booklet)")
    notes = [*(_proof(summary) if "built_copies" in summary else ()), *summary["notes"]]
    if summary["left"]:
        more = f" and {len(summary['left']) - NAMED_FILES} more" if len(summary["left"]) > NAMED_FILES else ""
        notes.append(f"not of the pack, left as it was: {', '.join(summary['left'][:NAMED_FILES])}{more}")
    return [f"{summary['folder']}: {'; '.join(told)}", *(f"  {note}" for note in notes)]
