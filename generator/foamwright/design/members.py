"""Parts of the design file that are built from several kinds of piece, each of which is a part of its own.

A prism gives its side and its ends, a box its plates, a stack its rounds. Every member has its own label and
template; whoever names the whole (`after`, `lies_on`, `over`, joins, steps, overlaps) names all its members.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from foamwright.design.messages import complaint
from foamwright.design.records import PartSpec

FACES = ("top", "bottom", "front", "back", "left", "right")  # of a box; each butts over those after it
_REFERENCES = ("after", "inside", "lies_on", "over", "parts")  # fields that name other parts
_OPPOSITE = dict(zip(FACES, ("bottom", "top", "back", "front", "right", "left")))


def expanded(
    parts: Sequence[PartSpec], thickness: Mapping[str, float]
) -> tuple[tuple[PartSpec, ...], Mapping[str, tuple[str, ...]]]:
    """All parts with those of several members replaced by them, and the ids that each id stands for.

    `thickness` (mm) is that of each stock. Labels are still those of the file. Raises DesignError where a
    member would have the id of another part.
    """
    found: list[PartSpec] = []
    stands_for: dict[str, tuple[str, ...]] = {}
    for part in parts:
        make = _MEMBERS.get(part.kind)
        members = make(part, thickness[part.stock]) if make else (part,)
        stands_for[part.id] = tuple(member.id for member in members)
        found += members
    taken: dict[str, PartSpec] = {}
    for part in found:
        if part.id in taken:
            raise complaint(part.where, f"the part {part.id!r} stands here twice", "another id for one of the two")
        taken[part.id] = part
    return tuple(_with_members_named(part, stands_for) for part in found), stands_for


def named(ids: Sequence[str], stands_for: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The ids of all members of the parts `ids`, each once."""
    return tuple(dict.fromkeys(member for part in ids for member in stands_for.get(part, (part,))))


def _with_members_named(part: PartSpec, stands_for: Mapping[str, tuple[str, ...]]) -> PartSpec:
    lists = {key: named(part.values[key], stands_for) for key in _REFERENCES if key in part.values}
    if "of" in part.values:  # one part: the first member, which is what most of it is
        lists["of"] = stands_for[part.values["of"]][0]
    return replace(part, values={**part.values, **lists})


def _member(part: PartSpec, role: str, title: str, **values: Any) -> PartSpec:
    return replace(
        part,
        id=f"{part.id}_{role}",
        name=f"{part.name}, {title}",
        values={**part.values, "whole": part.id, "member": role, **values},
    )


def _prism(part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
    ends = [end for end in ("floor", "roof") if part.values[end] != "open"]
    return (
        _member(part, "side", "side"),
        *(_member(part, end, end, after=_and(part, "side")) for end in ends),
    )


def _and(part: PartSpec, *roles: str) -> tuple[str, ...]:
    return (*part.values["after"], *(f"{part.id}_{role}" for role in roles))


def _box(part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
    """Opposite plates without openings are alike: one part, cut twice."""
    left_out, openings = part.values["without"], part.values["openings"]
    found, done = [], set()
    for face in FACES:
        if face in left_out or face in done:
            continue
        other = _OPPOSITE[face]
        alike = other not in left_out and other not in done and not openings.get(face) and not openings.get(other)
        faces = (face, other) if alike else (face,)
        done.update(faces)
        found.append(_member(part, "_".join(faces), " and ".join(faces), faces=faces))
    plates = {member.id: member.values["faces"] for member in found}
    return tuple(replace(member, values={**member.values, "plates": plates}) for member in found)


def _stack(part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
    """Rounds one on another: each lies on the one below, its thickness further along the axis."""
    shared = {key: value for key, value in part.values.items() if key not in ("rounds", "at")}
    found: list[PartSpec] = []
    height = 0.0
    for number, given in enumerate(part.values["rounds"], 1):
        at = _raised(part.values["at"], height)
        below = (found[-1].id,) if found else part.values["lies_on"]
        radii = {"radius": given["radius"]}
        kind = "disc"
        if "inner_radius" in given:
            kind, radii = "ring", {"outer_radius": given["radius"], "inner_radius": given["inner_radius"]}
        values = {**shared, **radii, "layers": given["layers"], "at": at, "lies_on": below}
        found.append(
            replace(part, id=f"{part.id}_{number}", name=f"{part.name}, round {number}", kind=kind, values=values)
        )
        height += thickness * given["layers"]
    return tuple(found)


def _raised(at: Mapping[str, Any], height: float) -> Mapping[str, Any]:
    """A placement moved by `height` (mm) along its normal."""
    if "onto" in at:
        return {**at, "onto": {**at["onto"], "offset": at["onto"]["offset"] + height}}
    axes = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
    normal = at["normal"]
    way = axes[normal[-1]] if isinstance(normal, str) else normal
    size = sum(c * c for c in way) ** 0.5 * (-1.0 if isinstance(normal, str) and normal.startswith("-") else 1.0)
    return {**at, "origin": tuple(o + height * c / size for o, c in zip(at["origin"], way))}


_MEMBERS = {"prism": _prism, "box": _box, "stack": _stack}
