"""Stages: functions from records to a record, each run at most once and only when something needs what it makes.

A function's parameters name what it needs: the stages that make it, or values given at the start. So the graph is
the functions' own signatures, and nothing else has to be kept in step with them.
"""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from functools import cache, partial
from itertools import count
from typing import TYPE_CHECKING, Any

from foamwright.store import Store

if TYPE_CHECKING:
    from foamwright.beside import Beside

Progress = Callable[[str], None]


def silent(title: str) -> None:
    """The progress of a run that nobody watches."""


def as_it_is(record: Any) -> None:
    """The seal of a run whose records may be changed."""


@dataclass(frozen=True)
class Stage:
    """`make` takes the records named by its parameters and returns its own; `title` says what it does.

    `told_by` names those of its parameters that say all that its record depends on, if it is to be kept in a store.
    """

    name: str
    title: str
    make: Callable[..., Any]
    told_by: tuple[str, ...] = ()


@cache
def needs(function: Callable[..., Any]) -> tuple[str, ...]:
    """What a function needs, by the names of its parameters."""
    return tuple(inspect.signature(function).parameters)


_Made = tuple[dict[str, Any], Counter[str], Counter[str]]  # records by name, and what the store has counted


_runs = count()
_there: dict[tuple[int, str], Any] = {}  # in the process beside: what it has made, by number of the run and name


def _made_beside(
    number: int,
    stages: Mapping[str, Stage],
    needed: Sequence[str],
    given: Mapping[str, Any],
    seal: Callable[[Any], object],
    store: Store,
) -> _Made:
    seal(given)
    store.made.clear()
    store.found.clear()
    had = {name: _there[number, name] for name in needed if name not in given}
    run = Run(stages, {**given, **had}, seal=seal, store=store)
    made = {name: run.get(name) for name in stages}
    _there.update({(number, name): record for name, record in made.items()})
    return made, store.made, store.found


class Run:
    """One run through a graph of stages, which keeps every record it has made.

    `given` are the values that the run starts from, by name. `progress` is told the title of each stage as it
    begins. `seal` is done to each record before anything gets it. Every error of a stage passes through, and the stage
    may be asked for again.
    """

    def __init__(
        self,
        stages: Mapping[str, Stage],
        given: Mapping[str, Any],
        progress: Progress = silent,
        seal: Callable[[Any], object] = as_it_is,
        store: Store | None = None,
        beside: Beside | None = None,
    ) -> None:
        self._stages = stages
        self._beside = beside
        self._number = next(_runs)
        self._begun: dict[str, Future[_Made | None]] = {}
        self._seal = seal
        self._store = Store(None) if store is None else store
        self._known = dict(given)
        self._progress = progress

    def begin(self, names: Sequence[str]) -> None:
        """Have the records of these names made in the process beside this one, if there is one.

        What else they need is made here first, unless it was begun there before. `get` gives them as if nothing had been begun.
        """
        left = [name for name in names if name not in self._known and name not in self._begun]
        if self._beside is None or not left:
            return
        needed = self._needed(left)
        for need in needed:
            if need not in self._begun:
                self.get(need)
        stages = {name: self._stages[name] for name in left}

        def sent() -> tuple[Any, ...]:
            # in one go, so that what one record has of another stays one object there
            given = {need: self._known[need] for need in needed if need in self._known}
            return self._number, stages, needed, given, self._seal, self._store

        self._begun |= dict.fromkeys(left, self._beside.start_with(_made_beside, sent))

    def can_begin(self, names: Sequence[str]) -> bool:
        """Whether all that the records of these names need is here, or will be there when the process beside comes to them."""
        return all(name in self._known or name in self._begun for name in self._needed(names))

    def has_for(self, names: Sequence[str]) -> bool:
        """Whether all that the records of these names need is here, or has come from the process beside this one."""
        return all(map(self.is_ready, self._needed(names)))

    def spare(self, names: Sequence[str]) -> str | None:
        """The first of these names whose record can be made and the process beside this one is not at; None if there is none."""
        idle = (name for name in names if not (name in self._begun and self._begun[name].running()))
        return next(filter(lambda name: self.has_for([name]), idle), None)

    def is_ready(self, name: str) -> bool:
        """Whether the record of that name is here, or has come from the process beside this one."""
        return name in self._known or (name in self._begun and self._begun[name].done())

    def get(self, name: str) -> Any:
        """The record of that name, made now if it was not yet. KeyError: there is no such stage."""
        if name in self._begun:
            self._take(self._begun[name])
        if name not in self._known:
            stage = self._stages[name]
            arguments = self._arguments(stage.make)
            self._progress(stage.title)
            make = partial(stage.make, **arguments)
            if stage.told_by:
                made = self._store.kept(name, [arguments[told] for told in stage.told_by], make)
            else:
                made = make()
            self._seal(made)
            self._known[name] = made
        return self._known[name]

    def _needed(self, names: Sequence[str]) -> list[str]:
        """What the records of these names need beside each other."""
        return sorted({need for name in names for need in needs(self._stages[name].make)} - {*names})

    def _take(self, begun: Future[_Made | None]) -> None:
        """What was begun beside, unless it still waits there for its turn or was lost: then it is made here."""
        names = [name for name, future in self._begun.items() if future is begun]
        self._progress(self._stages[names[-1]].title)
        for name in names:
            del self._begun[name]
        if begun.cancel():
            return
        told = begun.result()
        if told is not None:
            records, made, found = told
            self._store.made += made
            self._store.found += found
            for record in records.values():
                self._seal(record)
            self._known |= records

    def call(self, function: Callable[..., Any]) -> Any:
        """What `function` makes of the records that its parameters name; it is not kept."""
        return function(**self._arguments(function))

    @property
    def known(self) -> Mapping[str, Any]:
        """What was given and what has been made so far, by name, in the order in which it was made."""
        return dict(self._known)

    def _arguments(self, function: Callable[..., Any]) -> dict[str, Any]:
        return {name: self.get(name) for name in needs(function)}


def closure(stages: Mapping[str, Stage], functions: Iterable[Callable[..., Any]]) -> frozenset[str]:
    """Names of everything that running `functions` needs, straight or by way of other stages."""
    needed: set[str] = set()
    open_ = [name for function in functions for name in needs(function)]
    while open_:
        name = open_.pop()
        if name not in needed:
            needed.add(name)
            open_ += needs(stages[name].make) if name in stages else ()
    return frozenset(needed)
