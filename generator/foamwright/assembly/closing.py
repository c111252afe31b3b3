"""Which stages close earlier ones in: after them a part could not go in any more, or no brush would reach its glue."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.assembly import practice
from foamwright.assembly.bodies import Touch
from foamwright.assembly.taking_apart import Stage
from foamwright.assembly.ways_in import Ways


def closed_in(stages: Sequence[Stage], ways: Ways) -> tuple[frozenset[int], ...]:
    """For each stage the numbers (from 0) of those before it that it would bar: they must be done before it."""
    masks = [ways.bodies.mask(copy for move in stage.moves for copy in move.copies) for stage in stages]
    shut_in: list[set[int]] = [set() for _ in stages]
    standing = 0
    for number, stage in enumerate(stages):
        for move in stage.moves:
            later = [i for i in range(number + 1, len(stages)) if masks[i] & move.own]
            for i in later:
                if move.way.blockers & masks[i] & move.own:
                    shut_in[i].add(number)
            glued = [touch for touch in ways.touches_of(move.copies, standing) if touch.glued]
            here = standing & move.own
            if glued and later and _hidden(glued, here | sum(masks[i] for i in later) & move.own, ways):
                for i in later:
                    here |= masks[i] & move.own
                    if _hidden(glued, here, ways):
                        shut_in[i].add(number)
                        break
            standing |= ways.bodies.mask(move.copies)
    return tuple(frozenset(numbers) for numbers in shut_in)


def _hidden(glued: Sequence[Touch], standing: int, ways: Ways) -> bool:
    return ways.sight.reached(glued, standing) < practice.BRUSHED
