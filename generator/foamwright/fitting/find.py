"""The values at which a design has the room that is asked for, at the least foam."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from foamwright.design.load import load
from foamwright.design.messages import mistake
from foamwright.design.records import Design, Parameter
from foamwright.errors import BuildError, DesignError
from foamwright.fitting.least import least
from foamwright.fitting.records import Fitted, Ruling, Trial, Wanted
from foamwright.fitting.trial import TRUE_TO, tried, with_scan
from foamwright.model.figure import TOLERANCE
from foamwright.store import Store

STEADY = 10.0  # degrees: a prop that must stand need not stand better than this. Common practice, no source
_FREE = 3.0  # times: how far a value may go whose design states no limit
_TOO_MUCH = 10.0  # cost and shortfall of values at which nothing can be built
_GROWN = 1.01  # of a measure, to see how much of the room it takes
_AT_LIMIT = 1e-3  # share of a value


def measures_of(design: Design) -> tuple[Parameter, ...]:
    """The parameters that the maker measures."""
    return tuple(parameter for parameter in design.parameters if parameter.measure)


def fitted(wanted: Wanted, progress: Callable[[str], None], store: Store | None = None) -> Fitted:
    """What is to be changed. Values are tried as a maker would write them.

    Raises DesignError for a call that is wrong, BuildError where no values within the limits leave the room, and for a
    design that cannot be built as it is.
    """
    base = load(wanted.path, wanted.size)
    _refuse_wrong(base, wanted)
    progress("trying the size as it is")
    seat, before = _seated(base, wanted, store)
    wanted = replace(wanted, seat=seat)
    clearance = before.gap if wanted.clearance is None else wanted.clearance
    given = load(wanted.path, wanted.size, wanted.measures)
    parameters = {parameter.name: parameter for parameter in given.parameters}
    limits = np.array([_limits(parameters[name]) for name in wanted.vary])
    start = np.array([parameters[name].value for name in wanted.vary])
    steady = _steady(before)
    known: dict[tuple[float, ...], Trial | BuildError] = {}
    if not wanted.measures and wanted.scan is None:
        known[tuple(start.tolist())] = before

    def written(values: np.ndarray) -> np.ndarray:
        rounded = np.array([_rounded(parameters[name], value) for name, value in zip(wanted.vary, values)])
        return np.clip(np.where(values == start, start, rounded), *limits.T)

    def trial(values: np.ndarray) -> Trial | BuildError:
        key = tuple(written(values).tolist())
        if key not in known:
            progress(f"trying {_told(wanted.vary, np.array(key))} (trial {len(known) + 1})")
            known[key] = _tried(wanted, dict(zip(wanted.vary, key)), store)
        return known[key]

    def at(values: np.ndarray) -> tuple[float, np.ndarray]:
        outcome = trial(values)
        if isinstance(outcome, BuildError):
            return _TOO_MUCH, np.full(3, -_TOO_MUCH)
        return outcome.foam / before.foam, _margins(outcome, clearance + TRUE_TO, steady)

    best, _ = least(at, start, *limits.T)
    after = trial(best.values)
    if isinstance(after, BuildError):
        raise BuildError(f"{wanted.path}: it cannot be built at any of the values tried: {after}")
    if not best.allowed:
        raise BuildError(f"{wanted.path}: {_shortfall(after, wanted, best.values, clearance, steady)}")
    chosen = dict(zip(wanted.vary, written(best.values).tolist()))
    return Fitted(
        wanted,
        clearance,
        load(wanted.path, wanted.size, {**wanted.measures, **chosen}).changes,
        before,
        after,
        _ruling(wanted, chosen, after, given, progress, store),
        {name: end for name, value, pair in zip(chosen, chosen.values(), limits) if (end := _end(value, *pair))},
        len(known),
    )


def _seated(base: Design, wanted: Wanted, store: Store | None) -> tuple[tuple[str, ...], Trial]:
    """The parts that the figure rests on, and how it fits without them: those that are named, or else those that it
    touches in the size as it is."""
    seat = wanted.seat
    before = tried(base, None, seat, wanted.run_own_code, store)
    while not wanted.seat and abs(before.gap) <= TOLERANCE and len(seat) + 1 < len(base.parts):
        seat = (*seat, before.fit.part)
        before = tried(base, None, seat, wanted.run_own_code, store)
    return seat, before


def _refuse_wrong(base: Design, wanted: Wanted) -> None:
    if base.figure is None:
        raise DesignError(f"{wanted.path}: it has no figure to be made to; expected the field figure")
    measured, all_ = [p.name for p in measures_of(base)], [p.name for p in base.parameters]
    for name in wanted.measures:
        if name not in measured:
            expected = "" if measured else "a parameter with the field measure, of which the design has none"
            raise mistake(f"--measure {name}", f"it is no measure of {base.id}", expected, name, measured)
    for name in wanted.vary:
        if name not in all_:
            raise mistake(f"--vary {name}", "unknown parameter", "", name, all_)
        if name in wanted.measures:
            raise DesignError(f"--vary {name}: it is measured already; expected a parameter that may give way")
    parts = [part.id for part in base.parts]
    for name in wanted.seat:
        if name not in parts:
            raise mistake(f"--seat {name}", "unknown part", "", name, parts)
    if not 0 < len(wanted.vary) == len(set(wanted.vary)):
        raise DesignError("--vary: expected one or more parameters, each once")
    if wanted.scan is not None:
        with_scan(base, wanted.scan)


def _tried(wanted: Wanted, values: Mapping[str, float], store: Store | None) -> Trial | BuildError:
    """A trial, or why there is none. A value beyond what the design allows is as good as one that cannot be built."""
    try:
        design = load(wanted.path, wanted.size, {**wanted.measures, **values})
        return tried(design, wanted.scan, wanted.seat, wanted.run_own_code, store)
    except BuildError as error:
        return error
    except DesignError as error:
        return BuildError(str(error))


def _margins(trial: Trial, clearance: float, steady: float | None) -> np.ndarray:
    """(3,) of the gap and of the way in by 10 mm, of standing by 10 degrees; 1 where the design asks for nothing."""
    passage = 10.0 if trial.passage is None else trial.passage
    tilt = 10.0 if steady is None or trial.stability is None else trial.stability.tipping_angle - steady
    return np.array([trial.gap - clearance, passage, tilt]) / 10.0


def _steady(before: Trial) -> float | None:
    """The least angle by which it may be tilted: what it stands now, and no more than `STEADY`."""
    return None if before.stability is None else min(before.stability.tipping_angle, STEADY)


def _limits(parameter: Parameter) -> tuple[float, float]:
    low = parameter.value / _FREE if parameter.minimum is None else parameter.minimum
    high = parameter.value * _FREE if parameter.maximum is None else parameter.maximum
    return min(low, parameter.value), max(high, parameter.value)


def _end(value: float, low: float, high: float) -> str:
    """At which of its limits a value stands, if at one."""
    near = _AT_LIMIT * abs(value)
    return "least" if value <= low + near else "most" if value >= high - near else ""


def _rounded(parameter: Parameter, value: float) -> float:
    """As a maker would write it: to a tenth of a millimetre or a degree, or to a thousandth."""
    return round(value, 1 if parameter.unit else 3)


def _value(design: Design, name: str) -> float:
    return next(parameter.value for parameter in design.parameters if parameter.name == name)


def _told(names: tuple[str, ...], values: np.ndarray) -> str:
    return ", ".join(f"{name} {value:.4g}" for name, value in zip(names, values))


def _shortfall(trial: Trial, wanted: Wanted, values: np.ndarray, clearance: float, steady: float | None) -> str:
    """What stands in the way where no values are allowed."""
    told = f"no {' and '.join(wanted.vary)} within the limits is enough; the nearest is {_told(wanted.vary, values)}"
    asked = clearance + TRUE_TO
    if trial.gap < asked:
        short = f"{told}, with {trial.gap:.1f} mm of clearance at part {trial.fit.part} instead of {asked:.1f} mm"
        return f"{short}; if the figure rests on it: --seat {trial.fit.part}"
    if trial.passage is not None and trial.passage < 0.0:
        entry = trial.fit.entry
        assert entry is not None
        return f"{told}, where part {entry.blocks[0].part} is {-trial.passage:.1f} mm in the figure's way in"
    assert trial.stability is not None
    return f"{told}, where it tips at {trial.stability.tipping_angle:.1f} degrees instead of {steady:.1f}"


def _ruling(
    wanted: Wanted,
    values: Mapping[str, float],
    after: Trial,
    given: Design,
    progress: Callable[[str], None],
    store: Store | None,
) -> tuple[Ruling, ...]:
    """How much of the room each measure takes if it grows by a hundredth; those beyond a limit are left out."""
    rulings = []
    for name in wanted.measures:
        progress(f"asking what {name} rules")
        grown = _tried(wanted, {**values, name: _value(given, name) * _GROWN}, store)
        if isinstance(grown, Trial):
            rulings.append(Ruling(name, after.gap - grown.gap))
    return tuple(sorted(rulings, key=lambda ruling: (-ruling.lost, ruling.measure)))
