"""A second process, which makes some records while this one makes others.

It is forked before the solid modeller is loaded, whose threads do not survive a fork, and does one piece of work after
the other. What goes there and comes back is pickled. It is killed when this process ends, however that is.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from multiprocessing.connection import Connection
from typing import Any

from foamwright.errors import FoamwrightError
from foamwright.forked import can_fork, collect_rarely, end_with_parent
from foamwright.working import listen


def nothing() -> None:
    """What is loaded for a process that needs nothing."""


class Beside:
    """Another process and the work that waits for it. It begins with the first work: a pack that is in the store costs none."""

    def __init__(self, load: Callable[[], None] = nothing) -> None:
        """`load` loads, before the process is forked, what both need, so that it is loaded once."""
        self._load = load
        self._begun: tuple[Any, Connection] | None = None  # the process and the pipe to it
        self._waiting = ThreadPoolExecutor(1)  # a thread that only waits for the pipe

    def begin(self) -> None:
        """Fork the process, if it has not begun and can still be forked."""
        if self._begun is not None or not can_fork():
            return
        self._load()
        context = multiprocessing.get_context("fork")
        pipe, theirs = context.Pipe()
        process = context.Process(target=_inside, args=(theirs, pipe), daemon=True)
        process.start()
        theirs.close()
        self._begun = process, pipe

    @property
    def pid(self) -> int | None:
        """Of the process, once it has begun."""
        return self._begun[0].pid if self._begun else None

    def start(self, function: Callable[..., Any], *given: Any) -> Future[Any]:
        """What `function`, known by its name there too, makes of what is given; it can be cancelled until it begins.

        The future raises the FoamwrightError that the function raised. It gives None if anything else went wrong: what
        was given cannot be pickled, the process is no more, or the program is at fault, which is told where it is done
        again.
        """
        return self.start_with(function, lambda: given)

    def start_with(self, function: Callable[..., Any], given: Callable[[], tuple[Any, ...]]) -> Future[Any]:
        """The same with what is `given` by the time its turn comes."""
        self.begin()
        return self._waiting.submit(self._asked, function, given)

    def close(self) -> None:
        """End the process with whatever it is at."""
        if self._begun is not None:
            self._begun[0].kill()
            self._begun[0].join()
        self._waiting.shutdown(cancel_futures=True)
        if self._begun is not None:
            self._begun[1].close()

    def _asked(self, function: Callable[..., Any], given: Callable[[], tuple[Any, ...]]) -> Any:
        if self._begun is None:
            return None
        _, pipe = self._begun
        try:
            pipe.send((function, given()))
            error, made = pipe.recv()
        except Exception:
            return None
        if error is not None:
            raise error
        return made


@contextlib.contextmanager
def beside(processes: int, load: Callable[[], None] = nothing) -> Iterator[Beside | None]:
    """Another process for as long as the block lasts, which shares what `load` loads; None where `processes` allows one
    only, or none can be forked."""
    if processes < 2 or not can_fork():
        yield None
        return
    other = Beside(load)
    try:
        yield other
    finally:
        other.close()


def _inside(pipe: Connection, theirs: Connection) -> None:
    """What the other process does until it is killed."""
    theirs.close()
    end_with_parent()
    collect_rarely()
    listen(lambda part: None)  # whoever listens is told of one part at a time, by the process that forked this one
    with contextlib.suppress(EOFError, OSError):
        while True:
            pipe.send(_answer(*pipe.recv()))
    os._exit(0)


def _answer(function: Callable[..., Any], given: tuple[Any, ...]) -> tuple[FoamwrightError | None, Any]:
    try:
        return None, function(*given)
    except FoamwrightError as error:
        return error, None
    except Exception:
        return None, None
