"""Why the paper alone does not prove a part, by class, for the record and the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set

from foamwright.proof.bench.assembly import Assembly, Group
from foamwright.proof.bench.foam import Foam
from foamwright.proof.bench.folded import folded, turns_sharply
from foamwright.proof.bench.records import APART, BENT, BESIDE, FAR, FOLDED, OPEN, PLACE, SHAPES, UNMARKED, BodyFigures

_ON_LINES = 1.0  # mm from each of its lines, by the middle one of a line's points


def reasons(
    foam: Foam,
    built: Assembly,
    sewn_up: Mapping[BodyFigures, Group],
    unproven: Iterable[str],
    apart: Set[str],
    near: Set[str],
) -> tuple[tuple[str, str], ...]:
    """The id of each part that is not proven, and why; `apart` are those that only an open seam keeps from it, `near` those
    that came out not far beyond the bounds."""
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
    for part in foam.parts.values():
        for mark in part.marks:
            beside.setdefault(part.id, set()).add(mark.part)
            beside.setdefault(mark.part, set()).add(part.id)
    for sewn in foam.sewn:
        if sewn.a.part != sewn.b.part:
            beside.setdefault(sewn.a.part, set()).add(sewn.b.part)
            beside.setdefault(sewn.b.part, set()).add(sewn.a.part)
    every = set(unproven)
    unfolded = {c.part for c in foam.copies if c.part in every and turns_sharply(foam.part(c)) and not folded(foam, c)}

    def why(part: str) -> str:
        cut = foam.parts[part]
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
        if part in left and cut.bent:
            return OPEN
        if beside[part] & every:
            return BESIDE
        if part in on_lines and part in near:
            return FAR
        return BENT if cut.bent and part not in firm else PLACE

    return tuple((part, why(part)) for part in sorted(every))
