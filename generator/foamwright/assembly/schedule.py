"""How long the work takes when one glue dries while something else is done: the critical path of the steps.

The critical-path method of J. E. Kelley and M. R. Walker ("Critical-path planning and scheduling", 1959): a step starts
once all that it waits for are done and dry; the longest chain of such steps is how soon it can be finished at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from foamwright.assembly.records import Step


@dataclass(frozen=True)
class Schedule:
    """Minutes: hands on over all steps, waiting over all steps, and the shortest time from start to end.

    `critical` are the numbers of the steps on the longest chain, in order.
    """

    hands_on: float
    waiting: float
    shortest: float
    critical: tuple[int, ...]


def schedule(steps: Sequence[Step]) -> Schedule:
    """The schedule of steps, each listed after those that it waits for."""
    end: dict[int, float] = {}
    after: dict[int, int | None] = {}
    for step in steps:
        last = max(step.waits_for, key=lambda n: end[n], default=None)
        start = 0.0 if last is None else end[last]
        start += step.rest
        end[step.number], after[step.number] = start + step.minutes + step.wait, last
    here = max(end, key=lambda n: end[n], default=None)
    shortest = end[here] if here is not None else 0.0
    chain: list[int] = []
    while here is not None:
        chain.append(here)
        here = after[here]
    hands = sum(step.minutes for step in steps)
    return Schedule(hands, sum(step.rest + step.wait for step in steps), shortest, tuple(reversed(chain)))
