"""Parts of the design file that are built from several pieces, each of which is a part of its own.

A prism gives its side and its ends, a box its plates, a stack its rounds. Every member has its own label and
template; whoever names the whole (`after`, `lies_on`, `over`, joins, steps, overlaps) names all its members.
Without glue is the whole alone: its members are glued to each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from foamwright.design.messages import mistake
from foamwright.design.records import PartSpec
from foamwright.design.references import named_parts
from foamwright.registry import Kind, kind


def expanded(
    parts: Sequence[PartSpec], thickness: Mapping[str, float]
) -> tuple[tuple[PartSpec, ...], Mapping[str, tuple[str, ...]]]:
    """All parts with those of several members replaced by them, and the ids that each id stands for.

    `thickness` (mm) is that of each stock; what tabs of others enter is `slotted`. Labels are still those of the file. Raises
    DesignError where a member would have the id of another part.
    """
    parts_of_all: list[PartSpec] = []
    stands_for: dict[str, tuple[str, ...]] = {}
    entered = {tab["into"] for part in parts for tab in part.values.get("tabs") or ()}
    for one in parts:
        part = replace(one, values={**one.values, "slotted": True}) if one.id in entered else one
        members = _held_together(part, kind(part.kind).members(part, thickness[part.stock]))
        stands_for[part.id] = tuple(one.id for one in members)
        parts_of_all += members
    taken: dict[str, PartSpec] = {}
    for part in parts_of_all:
        if part.id in taken:
            raise mistake(part.where, f"the part {part.id!r} stands here twice", "another id for one of the two")
        taken[part.id] = part
    return tuple(_with_members_named(part, stands_for) for part in parts_of_all), stands_for


def _held_together(part: PartSpec, members: tuple[PartSpec, ...]) -> tuple[PartSpec, ...]:
    """The members of a part, glued to each other where it is put in place without glue as a whole.

    DesignError: nothing says what such a whole rests on.
    """
    if len(members) < 2 or part.values.get("glue") != "none":
        return members
    if not part.values.get("rests_on"):
        wrong = f"glue: none of a {part.kind}, whose members are glued to each other"
        raise mistake(part.where, wrong, "rests_on with what it is set on without glue as a whole")
    return tuple(replace(one, values={**one.values, "glue": "contact"}) for one in members)


def named(ids: Sequence[str], stands_for: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The ids of all members of the parts `ids`, each once."""
    return tuple(dict.fromkeys(member for part in ids for member in stands_for.get(part, (part,))))


def member(part: PartSpec, role: str, title: str, **values: Any) -> PartSpec:
    """A member of `part` with the fields of the whole: its id and name end with its role in it."""
    return replace(
        part,
        id=f"{part.id}_{role}",
        name=f"{part.name}, {title}",
        values={**part.values, "whole": part.id, "member": role, **values},
    )


def and_after(part: PartSpec, *roles: str) -> tuple[str, ...]:
    """What a member comes after: what the whole does, and the members of these roles."""
    return (*part.values["after"], *(f"{part.id}_{role}" for role in roles))


def whole_of(piece: str, parts: Mapping[str, Any]) -> str | None:
    """The part of the file, of those of several members, that a piece of this id would be of; None if there is none."""
    wholes = [part for part in parts if piece.startswith(f"{part}_") and _has_members(parts[part]["kind"])]
    return max(wholes, key=len, default=None)


def _has_members(name: str) -> bool:
    return type(kind(name)).members is not Kind.members


def _with_members_named(part: PartSpec, stands_for: Mapping[str, tuple[str, ...]]) -> PartSpec:
    changed: dict[str, Any] = {}
    for key in named_parts(part.kind):
        ids = part.values.get(key)
        if isinstance(ids, str):  # one part: the first member, which is what most of it is
            changed[key] = stands_for.get(ids, (ids,))[0]
        elif ids is not None:
            changed[key] = named(ids, stands_for)
    return replace(part, values={**part.values, **changed})
