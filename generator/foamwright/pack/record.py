"""The record that every pack carries, `pack.json`: everything that was computed, as plain data.

Lengths in mm, angles in degrees, areas in mm2, times in minutes; `schema.json` beside this module describes
it. Numbers are rounded (`plain.py`), so that the record says no more than the geometry does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from foamwright.assembly.records import Pictures, Step
from foamwright.booklet.pages.materials import stocks_used
from foamwright.design.records import Design
from foamwright.drawing.document import Document, Page
from foamwright.flatten.records import Patterns
from foamwright.layout.records import FoamSheet
from foamwright.pack.files import file_entries
from foamwright.pack.fit_entries import contact_entry, nearest_entry, overlap_entry, stability_entry, way_in_entry
from foamwright.pack.pattern_entries import pattern_entry
from foamwright.pack.plain import plain
from foamwright.parts.records import Prop
from foamwright.stages import needs

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.contacts.records import Contacts
    from foamwright.model.figure import Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance
    from foamwright.proof.bench.records import Proof
    from foamwright.templates.records import Template
    from foamwright.templates.touched import Touched

FORMAT = 1


def pack_record(known: Mapping[str, Any]) -> dict[str, Any]:
    """The record as JSON-ready data with a fixed order of keys.

    `known` holds the records of stages by name (see `foamwright.pipeline`); beside them `files`, every file of the
    pack but the record itself and the archive, `documents`, the pages of each of them that has pages, and `only`,
    the names of the outputs of a pack that is not whole, and `archive`, the path
    of the file that holds all others. A section is there if all that it needs is known: those of
    a whole pack always are, and a partial pack tells what its own files were made from.
    """
    record = {"format": FORMAT}
    for name, section in SECTIONS.items():
        wanted = needs(section)
        if all(key in known for key in wanted):
            record[name] = section(**{key: known[key] for key in wanted})
    told: dict[str, Any] = plain(record)
    return told


def _only(only: Sequence[str]) -> list[str]:
    return list(only)


def _design(design: Design) -> dict[str, Any]:
    told: dict[str, Any] = {
        "name": design.name,
        "version": design.version,
        "size": design.size,
        "parameters": {p.name: p.value for p in design.parameters},
        "digest": design.digest,
    }
    if design.changes:
        told |= {"base_size": design.base_size, "changes": dict(design.changes)}
    return told


def _about(design: Design) -> dict[str, Any]:
    """What the maker of the design says of it, and what a maker of the prop may choose."""
    about: dict[str, Any] = {
        "id": design.id,
        "author": design.author,
        "licence": design.licence,
        "summary": design.summary,
        "address": design.address,
        "language": design.language,
        "size_note": design.size_note,
        "used_by": list(design.used_by),
        "history": [dict(change) for change in design.history],
        "choices": [
            {
                "name": p.name,
                "value": p.value,
                "unit": p.unit,
                "min": p.minimum,
                "max": p.maximum,
                "note": p.note,
                "measure": p.measure,
            }
            for p in design.parameters
        ],
    }
    if design.channel:
        about["channel"] = dict(design.channel)
    return about


def _work(prop: Prop, patterns: Patterns, steps: Sequence[Step]) -> dict[str, Any]:
    from foamwright.assembly.schedule import schedule
    from foamwright.booklet.pages.cover import effort

    plan = schedule(steps)
    level, _ = effort(prop, patterns)
    return {"difficulty": level, "hands_on": plan.hands_on, "start_to_end": plan.shortest}


def _overall(pictures: Pictures) -> list[float] | None:
    return None if pictures.overall is None else list(pictures.overall)


def _libraries(libraries: Mapping[str, str]) -> dict[str, str]:
    return dict(libraries)


def _materials(prop: Prop) -> list[dict[str, Any]]:
    return [
        {
            "id": s.id,
            "thickness": s.thickness,
            "k": s.k,
            "strain_limit": s.strain_limit,
            "name": s.name,
            "colour": s.colour,
            "type": s.material_type,
        }
        | ({} if s.kerf is None else {"kerf": s.kerf})
        for s in stocks_used(prop)
    ]


def _parts(patterns: Patterns) -> list[dict[str, Any]]:
    return [pattern_entry(pattern) for pattern in patterns.patterns]


def _seams(patterns: Patterns) -> list[dict[str, Any]]:
    return [
        {
            "id": seam.id,
            "a": {"part": seam.part_a, "edge": seam.edge_a},
            "b": {"part": seam.part_b, "edge": seam.edge_b},
            "length_a": seam.length_a,
            "length_b": seam.length_b,
            "glue": seam.glue,
            "step": seam.step,
            "flush": seam.flush,
            "touch_a": list(seam.touch_a),
            "touch_b": list(seam.touch_b),
        }
        for seam in patterns.seams
    ]


def _laps(prop: Prop) -> list[dict[str, Any]]:
    return [{"upper": lap.upper, "lower": lap.lower, "glue": lap.glue} for lap in prop.laps]


def _marks(templates: Sequence[Template]) -> list[dict[str, Any]]:
    """Lines drawn on parts where others are glued on, in the coordinates of their outlines."""
    return [
        {
            "on": template.pattern.piece.id,
            "part": mark.upper.id,
            "face": "inside" if mark.on_inside else "outside",
            "copies": list(mark.copies),
            "of": [list(pair) for pair in mark.of],
            "glued": mark.glued,
            "lines": list(mark.lines),
        }
        for template in templates
        for mark in template.marks
    ]


def _contacts(prop: Prop, contacts: Contacts) -> list[dict[str, Any]]:
    from foamwright.contacts.joins import glued

    return [
        {
            "a": {"part": contact.a.part, "copy": contact.a.copy, "face": contact.a.face},
            "b": {"part": contact.b.part, "copy": contact.b.copy, "face": contact.b.face},
            "kind": contact.kind,
            "area": contact.area,
            "length": contact.length,
            "gap": contact.mean_gap,
            "glued": glued(prop, contact),
        }
        | ({"opens": contact.wedge} if contact.wedge else {})
        | ({"overhang": contact.overhang, "hangs": "a" if contact.hangs == contact.a else "b"} if contact.hangs else {})
        for contact in contacts.found
    ]


def _touched(touched: Sequence[Touched]) -> list[dict[str, Any]]:
    return [
        {"contact": own.contact, "part": own.part, "copy": own.copy, "face": own.face, "lines": list(own.lines)}
        for own in touched
    ]


def _sheets(sheets: Sequence[FoamSheet]) -> list[dict[str, Any]]:
    return [_sheet(sheet) for sheet in sheets]


def _pages(documents: Mapping[str, Document]) -> list[dict[str, Any]]:
    return [_page(file, document.paper, page) for file, document in documents.items() for page in document.pages]


def _steps(steps: Sequence[Step]) -> list[dict[str, Any]]:
    return [
        {
            "number": step.number,
            "title": step.title,
            "parts": list(step.parts),
            "glue": step.glue,
            "minutes": step.minutes,
            "waits_for": list(step.waits_for),
            "rest": step.rest,
            "wait": step.wait,
            "cautions": list(step.cautions),
        }
        for step in steps
    ]


def _fit(fit: Fit | None, interferences: Sequence[Interference], balance: Balance | None) -> dict[str, Any]:
    return {
        "figure": fit.figure if fit else None,
        "clearance_min": fit.clearance if fit else None,
        "clearance_at": nearest_entry(fit) if fit else None,
        "contacts": [contact_entry(one) for one in fit.contacts] if fit else [],
        "entry": way_in_entry(fit.entry) if fit and fit.entry else None,
        "mass": balance.mass if balance else None,
        "centre_of_mass": list(balance.centre) if balance else None,
        "stability": stability_entry(balance.stability) if balance and balance.stability else None,
        "interferences": [overlap_entry(one) for one in interferences],
    }


def _files(files: Mapping[str, bytes]) -> list[dict[str, Any]]:
    return file_entries(files)


def _archive(archive: str) -> str:
    return archive


def _notes(notes: Sequence[str]) -> list[str]:
    return list(notes)


# Each section with what makes it, in the order of the record; parameters name stages, as in the pipeline.
def _checks(patterns: Patterns) -> dict[str, float]:
    differences = patterns.differences
    return {
        "section_difference_max": differences.section,
        "strip_difference_max": differences.strip,
        "panel_edge_difference_max": differences.panel_edge,
    }


def _proof(proof: Proof | None) -> dict[str, Any]:
    """Of the virtual build from the written files; `made` is false where it was left out."""
    if proof is None:
        return {"made": False}
    from foamwright.proof.bench.records import REASONS

    mean, worst = proof.bounds
    return {
        "made": True,
        "mean": proof.mean,
        "worst": proof.worst,
        "worst_part": proof.worst_part,
        "bound_mean": mean,
        "bound_worst": worst,
        "copies": proof.copies,
        "proven": proof.proven,
        "bent_over_model": proof.formed,
        "fitted_in_place": proof.fitted,
        "not_determined": list(proof.loose),
        "not_built": list(proof.left),
        "reasons": {why: own for why in REASONS if (own := [part for part, told in proof.reasons if told == why])},
        "seams": {
            "judged": proof.seams,
            "gap_max": proof.seam_gap,
            "worst": proof.seam_worst,
            "not_judged": [
                {"seam": own.seam, "parts": list(own.parts), "unproven": list(own.unproven)}
                | ({} if own.gap is None else {"gap": own.gap})
                for own in proof.open_seams
            ],
        },
        "marks": {"judged": proof.marks, "gap_max": proof.mark_gap},
        "bodies": [
            {
                "parts": list(body.parts),
                "copies": body.copies,
                "bent": body.bent,
                "judged": body.judged,
                "mean": body.mean,
                "worst": body.worst,
                "apart": body.apart,
                "bent_over_model": body.formed,
            }
            for body in proof.bodies
        ],
    }


SECTIONS: dict[str, Callable[..., Any]] = {
    "only": _only,
    "design": _design,
    "about": _about,
    "work": _work,
    "overall": _overall,
    "libraries": _libraries,
    "materials": _materials,
    "parts": _parts,
    "seams": _seams,
    "laps": _laps,
    "marks": _marks,
    "contacts": _contacts,
    "touched": _touched,
    "sheets": _sheets,
    "pages": _pages,
    "steps": _steps,
    "fit": _fit,
    "files": _files,
    "archive": _archive,
    "notes": _notes,
    "checks": _checks,
    "proof": _proof,
}


def _sheet(sheet: FoamSheet) -> dict[str, Any]:
    return {
        "material": sheet.material,
        "size": list(sheet.size),
        "placed": [
            {
                "part": p.part,
                "segment": p.segment,
                "copy": p.copy,
                "x": p.x,
                "y": p.y,
                "angle": p.angle,
                "flipped": p.flipped,
            }
            for p in sheet.placed
        ],
        "used": sheet.used,
        "length": sheet.length,
        "on_hand": sheet.on_hand,
    }


def _page(file: str, paper: str, page: Page) -> dict[str, Any]:
    return {
        "file": file,
        "paper": paper,
        "page": page.number,
        "row": page.row,
        "column": page.column,
        "parts": list(page.parts),
    }
