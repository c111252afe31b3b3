"""What the record tells of the figure in its place, of parts that share space, and of how the prop stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Contact, Entry, Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Stability


def overlap_entry(overlap: Interference) -> dict[str, Any]:
    return {
        "a": {"part": overlap.part_a, "copy": overlap.copy_a},
        "b": {"part": overlap.part_b, "copy": overlap.copy_b},
        "volume": overlap.volume,
        "depth": overlap.depth,
        "at": list(overlap.at),
    }


def contact_entry(contact: Contact) -> dict[str, Any]:
    return {"part": contact.part, "copy": contact.copy, "depth": contact.depth, "at": list(contact.at)}


def nearest_entry(nearest: Fit | Entry) -> dict[str, Any]:
    return {"part": nearest.part, "copy": nearest.copy, "at": list(nearest.at)}


def way_in_entry(entry: Entry) -> dict[str, Any]:
    return {
        "direction": list(entry.direction),
        "clearance_min": entry.clearance,
        "clearance_at": nearest_entry(entry),
        "blocks": [contact_entry(block) for block in entry.blocks],
        "left": entry.left,
        "taken_out": list(entry.taken_out),
    }


def stability_entry(stability: Stability) -> dict[str, Any]:
    return {
        "mass": stability.mass,
        "centre_of_mass": list(stability.centre),
        "figure_mass": stability.figure_mass,
        "stands": stability.stands,
        "tipping_angle": stability.tipping_angle,
        "towards": list(stability.towards),
        "support": [list(corner) for corner in stability.support],
    }
