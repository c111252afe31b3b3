"""The least of a quantity that is costly to find, where others must not fall below nought. Arrays only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

FINE = 1e-3  # share of a value to which it is found
_FIRST_STEP = 0.06  # share of a value
_MOST = 60  # points tried for each value
_NOUGHT = 1e-9
_SPREAD = (0.15, 0.5, 0.85)  # shares of the way between both limits, where the start is not allowed


@dataclass(frozen=True, eq=False)
class Point:
    """`cost` and `margins` (m,) at `values` (n,): what is allowed has no margin below nought."""

    values: np.ndarray
    cost: float
    margins: np.ndarray

    @property
    def allowed(self) -> bool:
        return bool((self.margins >= -_NOUGHT).all())


def least(
    at: Callable[[np.ndarray], tuple[float, np.ndarray]], start: np.ndarray, low: np.ndarray, high: np.ndarray
) -> tuple[Point, int]:
    """The cheapest allowed point of all that were tried between `low` and `high` (n,), from `start`, and their number;
    where none is allowed, the one that falls short by least.

    `at` gives the cost and margins (m,) of values (n,), in units in which 1 is a lot. The search is COBYQA: Ragonneau
    and Zhang, "COBYQA: a derivative-free trust-region SQP method", as scipy has it; it is the same on every run. As
    margins far below nought may lie level, so that nothing shows the way, a start that is not allowed gives way to a
    better one of a few that are spread over the limits.
    """
    known: dict[bytes, Point] = {}
    unit = np.where(start != 0.0, np.abs(start), np.maximum(high - low, 1e-9))

    def point(share: np.ndarray) -> Point:
        values = np.clip(share * unit, low, high)
        key = values.tobytes()
        if key not in known:
            cost, margins = at(values)
            known[key] = Point(values, cost, np.asarray(margins, float))
        return known[key]

    def rank(point: Point) -> tuple[bool, float]:
        return (True, -point.cost) if point.allowed else (False, float(point.margins.min()))

    begin = point(start / unit)
    if not begin.allowed:
        one_by_one = np.repeat(start[None], len(start) * len(_SPREAD), axis=0)
        for i, share in enumerate(_SPREAD):
            rows = slice(i * len(start), (i + 1) * len(start))
            np.fill_diagonal(one_by_one[rows], low + share * (high - low))
        begin = max([begin, *(point(values / unit) for values in one_by_one)], key=rank)
    minimize(
        lambda share: point(share).cost,
        begin.values / unit,
        method="COBYQA",
        bounds=Bounds(low / unit, high / unit),
        constraints=[NonlinearConstraint(lambda share: point(share).margins, 0.0, np.inf)],
        options={"initial_tr_radius": _FIRST_STEP, "final_tr_radius": FINE, "maxfev": _MOST * len(start)},
    )
    tried = list(known.values())
    return max(tried, key=rank), len(tried)
