"""The last sheet of a layout made as short as can be. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Event

import numpy as np

from foamwright.nesting.placing import cut_to, swapped, top
from foamwright.nesting.search import Layout, separate

_STEP, _STEP_BETWEEN = 0.04, 0.01  # shares of its length by which a sheet is shortened at first
_STEP_FINE, _STEP_LEAST = 0.005, 0.001  # and then
_COARSE = 0.6  # share of the effort that goes into the first
_IDLE = 0.04  # share of it after which a search without success ends
_TRIES = 2  # searches for one length


@dataclass
class Budget:
    """What may still be spent, in pairs of polygons, unless the whole search is `stopped`."""

    left: int
    stopped: Event

    @property
    def empty(self) -> bool:
        return self.left <= 0 or self.stopped.is_set()


def attempt(layout: Layout, rng: np.random.Generator, budget: Budget) -> Layout | None:
    """A layout on the same sheets without overlaps, or None when the searches or the budget came to an end.

    Each search but the first starts from what the one before left, with two pieces swapped.
    """
    trial = layout.copy()
    for _ in range(_TRIES):
        clear, spent = separate(trial, rng, max(budget.left, 0))
        budget.left -= spent
        if clear:
            return trial
        start = swapped(trial, rng)
        if budget.empty or start is None:
            break
        trial = start
    return None


def shortened(layout: Layout, rng: np.random.Generator, effort: int, stopped: Event) -> Layout:
    """`layout`, which has no overlaps, with its last sheet as short as was found for `effort` pairs of polygons,
    until a share of that was spent without success, or until the search was `stopped`."""
    last = len(layout.sheets) - 1
    best = layout.copy()
    best.sheets[last, 1] = top(best, last)
    least = _least_length(best)
    budget = Budget(int(_COARSE * effort), stopped)
    best = _shrunk(best, least, _STEP, _STEP_BETWEEN, rng, budget)
    budget.left += effort - int(_COARSE * effort)
    idle = 0
    while not budget.empty and idle <= _IDLE * effort and best.sheets[last, 1] > least + 1e-6:
        before = budget.left
        shorter = _shrunk(best, least, _STEP_FINE, _STEP_LEAST, rng, budget)
        budget.left -= 1  # so that attempts which cost nothing come to an end
        idle = 0 if shorter is not best else idle + before - budget.left
        best = shorter
    return best


def _shrunk(best: Layout, least: float, step: float, end: float, rng: np.random.Generator, budget: Budget) -> Layout:
    """Shortened by `step` for as long as room is found, then by smaller ones down to `end`."""
    last = len(best.sheets) - 1
    while not budget.empty and step >= end and best.sheets[last, 1] > least + 1e-6:
        start = cut_to(best, max((1.0 - step) * best.sheets[last, 1], least), rng)
        settled = attempt(start, rng, budget) if start is not None else None
        if settled is None:
            step /= 2.0
        else:
            best = settled
            best.sheets[last, 1] = min(best.sheets[last, 1], max(top(best, last), least))
    return best


def _least_length(layout: Layout) -> float:
    """Below which the last sheet cannot be, as a piece would fit no sheet any more."""
    r, last = layout.rooms, len(layout.sheets) - 1
    least = 0.0
    for shape in np.unique(layout.shape):
        own = r.size[r.form[shape] : r.form[shape + 1]]
        if not any((own <= s + 1e-9).all(axis=1).any() for s in layout.sheets[:last]):
            least = max(least, own[own[:, 0] <= layout.sheets[last, 0] + 1e-9, 1].min())
    return float(least)
