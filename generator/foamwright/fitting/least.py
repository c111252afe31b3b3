"""The least of a quantity that is costly to find, where others must not fall below nought. Arrays only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

FINE = 1e-3  # share of a value to which it is found
ENOUGH = 0.01  # margin that need not be made smaller
_FIRST_STEP = 0.06  # share of a value
_MOST = 60  # points tried for each value, where there are several
_FURTHEST = 4.0  # times the last step that the next may go beyond what was tried
_HOPELESS = -5.0  # margins below this lie level, so that their slope tells nothing
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

    `at` gives the cost and margins (m,) of values (n,), in units in which 1 is a lot. One value is followed to where
    the margins end (`_follow`), which takes some six points. The search for several is COBYQA: Ragonneau and Zhang,
    "COBYQA: a derivative-free trust-region SQP method", as scipy has it; it is the same on every run. As margins far
    below nought may lie level, so that nothing shows the way, a start that is not allowed gives way to a better one of
    a few that are spread over the limits.
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

    def spread() -> Point:
        """The best of a few that are spread over the limits of each value."""
        one_by_one = np.repeat(start[None], len(start) * len(_SPREAD), axis=0)
        for i, share in enumerate(_SPREAD):
            rows = slice(i * len(start), (i + 1) * len(start))
            np.fill_diagonal(one_by_one[rows], low + share * (high - low))
        return max((point(values / unit) for values in one_by_one), key=rank)

    begin = point(start / unit)
    if len(start) == 1:
        follow = partial(
            _follow, lambda share: point(np.array([share])), low=(low / unit).item(), high=(high / unit).item()
        )
        follow((begin.values / unit).item())
        if not any(one.allowed for one in known.values()) and spread().allowed:
            follow((spread().values / unit).item())
    else:
        if not begin.allowed:
            begin = max(begin, spread(), key=rank)
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


def _follow(at: Callable[[float], Point], start: float, low: float, high: float) -> None:
    """Try the points that lead from `start` to the cheapest allowed one between `low` and `high`: the way that gets
    cheaper until something is not allowed or, where `start` is not, the way that margins grow until all is allowed;
    and then between the last two."""
    here = at(start)
    other = _within(start - _FIRST_STEP if here.allowed else start + _FIRST_STEP, low, high)
    if other == start:  # at a limit
        other = _within(start - _FIRST_STEP if start == high else start + _FIRST_STEP, low, high)
    there = at(other)
    better = there.cost < here.cost if here.allowed else _least(there) >= _least(here)
    back, front = (start, other) if better else (other, start)
    way = 1.0 if front > back else -1.0
    while at(front).allowed == here.allowed and low < front < high:
        if here.allowed and _least(at(front)) <= min(ENOUGH, _least(at(back))):
            return  # at the end of the margins already
        back, front = front, _within(front + way * _ahead(at, back, front), low, high)
    if at(front).allowed != here.allowed:
        _between(at, *((front, back) if here.allowed else (back, front)))
        if not here.allowed and at(front).cost < at(back).cost:
            _follow(at, front, low, high)


def _ahead(at: Callable[[float], Point], back: float, front: float) -> float:
    """How far beyond `front` the margins end, if they go on as from `back`."""
    step, grown = abs(front - back), _least(at(front)) - _least(at(back))
    wanted = ENOUGH / 2.0 - _least(at(front))
    if grown * wanted <= 0.0 or min(_least(at(back)), _least(at(front))) < _HOPELESS:
        return _FURTHEST * step
    return _within(wanted / grown * step, FINE, _FURTHEST * step)


def _between(at: Callable[[float], Point], barred: float, allowed: float) -> None:
    """Try points between a barred and an allowed one until the allowed one has no margin to spare."""
    moved = [False, True]  # whether it was the allowed one, the last two times
    while abs(allowed - barred) > FINE and _least(at(allowed)) > ENOUGH:
        under, over = _least(at(barred)), _least(at(allowed))
        halve = moved[-1] == moved[-2] or under < _HOPELESS
        middle = allowed + (0.5 if halve else (over - ENOUGH / 2.0) / (over - under)) * (barred - allowed)
        moved.append(at(middle).allowed)
        if moved[-1]:
            allowed = middle
        else:
            barred = middle


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _least(point: Point) -> float:
    return float(point.margins.min())
