"""The units of the assembly: what the design keeps together, in ranks, with what must come first."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import Any

from foamwright.assembly.joints import beneath
from foamwright.errors import BuildError, DesignError
from foamwright.parts.records import FlatBody, Piece, Prop

_BARE = ("paper", "acrylic", "cloth")  # left as it is bought
_SOFT = 60.0  # kg/m3; a lighter foam is for cushions (common practice, no source)


@dataclass(frozen=True)
class Unit:
    """Parts that the design wants in one step, or one part alone. `index` is its place in the design."""

    index: int
    parts: tuple[str, ...]
    title: str
    note: str
    rank: int
    glue: str
    listed: int | None = None  # its place among the design's own steps
    uses: tuple[str, ...] = ()  # ids of what the design wants bought for it
    minutes: float = 0.0  # what its note asks for beside the gluing
    whole: str = ""  # name of the one thing that the parts are the members of, as the plates of a box are

    @property
    def noted(self) -> bool:
        return bool(self.title or self.note)


def is_bare(piece: Piece) -> bool:
    """Is a part left unpainted: paper, clear sheet, cloth, what the design wants left as it is, and, where that names no colour
    for it, wood and a loose cushion of soft foam?"""
    soft = piece.glue == "none" and piece.stock.density < _SOFT
    natural = not piece.paint and (soft or piece.stock.material_type == "plywood")
    return piece.left_as_it_is or piece.stock.material_type in _BARE or natural


def goes_in_late(piece: Piece) -> bool:
    """Does a part go in as late as it can, after the paint: is it left unpainted, or only laid in?"""
    return is_bare(piece) or piece.glue == "none"


def rests(one: Piece, other: Piece) -> bool:
    """Does one of two parts only stand on the other or hang from it, without glue?"""
    return other.id in one.carried_by or one.id in other.carried_by


def prerequisites(prop: Prop) -> dict[str, set[str]]:
    """For each part, the parts that must be in place before it."""
    below = beneath(prop)
    needs = {piece.id: {*piece.after, *below[piece.id]} - {piece.id} for piece in prop.pieces}
    pieces = {piece.id: piece for piece in prop.pieces}
    for lap in prop.laps:  # what is glued to a thing that lifts out is put on that, whichever of the two is named first
        upper, lower = pieces[lap.upper], pieces[lap.lower]
        if lifts_out(upper) and not lifts_out(lower) and lower.id not in (*upper.lies_on, *upper.after):
            needs[upper.id].discard(lower.id)
            needs[lower.id].add(upper.id)
    return needs


def lifts_out(piece: Piece) -> bool:
    """Does a part only rest where it is, so that it comes off again with all that is glued to it?"""
    return piece.glue == "none" and bool(piece.rests_on)


def when_cured(note: Mapping[str, Any], pieces: Mapping[str, Piece]) -> bool:
    """Does a step of the design come at the very end? It says so, or all that it names hangs, and is hung up then."""
    parts = note.get("parts", ())
    return note.get("when") == "cured" or (bool(parts) and all(p in pieces and pieces[p].hangs_from for p in parts))


def units(prop: Prop, needs: Mapping[str, set[str]], rank: Callable[[Piece], int]) -> tuple[Unit, ...]:
    """One unit for each step note of the design, one for each part that no note names.

    DesignError: a note that names an unknown part or one that another note has, or units that wait for
    each other in a circle. BuildError: a note whose parts wait for what a later note brings.
    """
    index = {piece.id: i for i, piece in enumerate(prop.pieces)}
    pieces = {piece.id: piece for piece in prop.pieces}
    title_by_part: dict[str, str] = {}
    formed = []
    for listed, note in enumerate(prop.design.steps):
        if when_cured(note, pieces):
            continue
        title, parts = str(note.get("title", "")), tuple(note.get("parts", ()))
        for part in parts:
            if part not in pieces:
                raise DesignError(f"step '{title}' names part '{part}', which the design does not have")
            if part in title_by_part:
                raise DesignError(f"part '{part}' stands in two steps: '{title_by_part[part]}' and '{title}'")
            title_by_part[part] = title
        if parts:
            earliest = min(index[part] for part in parts)
            lowest = min(rank(pieces[part]) for part in parts)
            glue = "contact" if any(pieces[part].glue == "contact" for part in parts) else "instant"
            uses, minutes = tuple(note.get("uses", ())), note.get("minutes") or 0.0
            whole, said = _noted_whole(prop, parts), str(note.get("note", ""))
            formed.append(Unit(earliest, parts, title, said, lowest, glue, listed, uses, minutes, whole))
    for key, members in _wholes(prop, title_by_part).items():
        first = pieces[members[0]]
        name = _name_of_whole(prop, members[0]) if key != members[0] else ""
        lowest = min(rank(pieces[part]) for part in members)
        formed.append(Unit(index[members[0]], members, "", "", lowest, first.glue, whole=name))
    formed.sort(key=lambda unit: unit.index)
    _refuse_circles(formed, needs)
    _refuse_later_needs(formed, needs)
    return tuple(formed)


def _wholes(prop: Prop, taken: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """The parts that no note names: the members of one thing together, every other part alone, and each plate of a box that
    tabs enter: what has them goes in between the plates."""
    whole = {spec.id: str(spec.values.get("whole", spec.id)) for spec in prop.design.parts}
    entered = {whole[piece.id] for piece in prop.pieces if isinstance(piece.body, FlatBody) and piece.body.slots}
    wholes: dict[str, tuple[str, ...]] = {}
    for piece in prop.pieces:
        if piece.id not in taken:
            key = whole.get(piece.id, piece.id)
            key = piece.id if key in entered else key
            wholes[key] = (*wholes.get(key, ()), piece.id)
    return wholes


def _noted_whole(prop: Prop, parts: Sequence[str]) -> str:
    """What the one thing is called that a note of the design is about, all of its members and nothing else, as a box with butted
    edges; "" for others, and for one that is joined along seams, each of which is told."""
    alone = [members for key, members in _wholes(prop, {}).items() if key not in members]
    if not any({*members} == {*parts} for members in alone):
        return ""
    return "" if any({s.a.part, s.b.part} <= {*parts} for s in prop.seams) else _name_of_whole(prop, parts[0])


def _name_of_whole(prop: Prop, member: str) -> str:
    """What the design calls the thing that a part is a member of: the name of the member less its role."""
    return next(spec.name for spec in prop.design.parts if spec.id == member).rsplit(", ", 1)[0]


def _refuse_circles(formed: Sequence[Unit], needs: Mapping[str, set[str]]) -> None:
    unit_of = {part: unit for unit in formed for part in unit.parts}
    before = {
        unit.index: sorted({unit_of[p].index for part in unit.parts for p in needs[part]} - {unit.index})
        for unit in formed
    }
    try:
        TopologicalSorter(before).prepare()
    except CycleError as error:
        name = {unit.index: unit.title or unit.parts[0] for unit in formed}
        circle = " -> ".join(name[index] for index in error.args[1])
        raise DesignError(f"these wait for each other and can never be fitted: {circle}") from None


def _refuse_later_needs(formed: Sequence[Unit], needs: Mapping[str, set[str]]) -> None:
    unit_of = {part: unit for unit in formed for part in unit.parts}
    for unit in formed:
        found = _needed_later(unit, unit_of, needs) if unit.listed is not None else None
        if found is not None:
            chain, later = found
            raise BuildError(
                f"step '{unit.title}': part {chain[0]} needs {', and that '.join(chain[1:])} in place below or before it, "
                f"which comes only in the later step '{later.title}'; list that step first, or both parts in one step"
            )


def _needed_later(
    unit: Unit, unit_of: Mapping[str, Unit], needs: Mapping[str, set[str]]
) -> tuple[tuple[str, ...], Unit] | None:
    """What a unit needs, straight or by way of others, that the design lists after it: the parts on the way there, each of which
    needs the next, and the unit that brings the last; None if there is nothing."""
    place = unit.listed or 0
    open_: list[tuple[str, ...]] = [(part,) for part in unit.parts]
    met = {unit.index}
    for chain in open_:  # it grows: the shortest way is found first
        for part in sorted(needs[chain[-1]]):
            other = unit_of.get(part)
            if other is None or other.index in met:
                continue
            met.add(other.index)
            if other.listed is not None and other.listed > place:
                return (*chain, part), other
            open_ += [(*chain, one) for one in other.parts]
    return None
