"""Why the paper alone does not prove a part, by class, for the record and the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set

from foamwright.proof.bench.assembly import Assembly, Group
from foamwright.proof.bench.foam import Foam, ring_area
from foamwright.proof.bench.folded import folded, turns_sharply
from foamwright.proof.bench.footings import stuck
from foamwright.proof.bench.records import (
    APART,
    BENT,
    BESIDE,
    FAR,
    FOLDED,
    OPEN,
    PLACE,
    SHAPES,
    SHARED,
    UNMARKED,
    BodyFigures,
)

_ON_LINES = 1.0  # mm from each of its lines, by the middle one of a line's points


def reasons(
    foam: Foam,
    built: Assembly,
    sewn_up: Mapping[BodyFigures, Group],
    unproven: Iterable[str],
    apart: Set[str],
    near: Set[str],
    sharing: Set[str] = frozenset(),
) -> tuple[tuple[str, str], ...]:
    """The id of each part that is not proven, and why; `apart` are those that only an open seam keeps from it, `near` those
    that came out not far beyond the bounds, `sharing` those that share space with others."""
    on_lines = {
        copy.part
        for standing in built.sets
        if standing.fit.sure and max(standing.fit.by_mark, default=0.0) <= _ON_LINES
        for copy in standing.copies
    }
    left = {copy.part for copy in built.left}
    open_ = {part for body in sewn_up if body.bent and not (body.judged or body.formed) for part in body.parts}
    firm = {part for body in sewn_up if body.judged for part in body.parts}
    several = {part for body, group in sewn_up.items() if not group.determined for part in body.parts}
    beside: dict[str, set[str]] = {}
    marked = [(part.id, mark.part) for part in foam.parts.values() for mark in part.marks]
    joined = [(sewn.a.part, sewn.b.part) for sewn in foam.sewn if sewn.a.part != sewn.b.part]
    in_holes = [(one.plate.part, one.bar.part) for one in stuck(foam)]
    for one, other in (*marked, *joined, *in_holes):
        beside.setdefault(one, set()).add(other)
        beside.setdefault(other, set()).add(one)
    every = set(unproven)
    unfolded = {c.part for c in foam.copies if c.part in every and turns_sharply(foam.part(c)) and not folded(foam, c)}

    def own(part: str) -> str | None:
        """The cause that lies in the part itself."""
        if part in sharing:
            return SHARED
        if part in several:
            return SHAPES
        if part in unfolded:
            return FOLDED
        if part in open_:
            return OPEN
        if part in apart:
            return APART
        if part not in beside:
            return UNMARKED
        return OPEN if part in left and foam.parts[part].bent else None

    causes = {part: cause for part in every if (cause := own(part)) is not None}
    begun = {copy.part: n for n, standing in reversed(list(enumerate(built.sets))) for copy in standing.copies}
    # of parts that stand beside each other, with no such cause, those that were there first: the others stand on them
    order = sorted(
        every, key=lambda part: (part not in causes, begun.get(part, -1), -ring_area(foam.parts[part].rings), part)
    )
    first = _first_of_each(order, {part: some & every for part, some in beside.items()})

    def why(part: str) -> str:
        if part in causes:
            return causes[part]
        if part not in first:
            return BESIDE
        if part in on_lines and part in near:
            return FAR
        return BENT if foam.parts[part].bent and part not in firm else PLACE

    return tuple((part, why(part)) for part in sorted(every))


def _first_of_each(order: Sequence[str], beside: Mapping[str, Set[str]]) -> set[str]:
    """The first of every group of parts that are beside each other."""
    first: set[str] = set()
    known: set[str] = set()
    for part in order:
        if part in known:
            continue
        first.add(part)
        reached = [part]
        for here in reached:
            reached += sorted(beside.get(here, set()) - {*reached})
        known |= {*reached}
    return first
