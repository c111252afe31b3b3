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


class Beside:
    """Another process and the work that waits for it."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("fork")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=_inside, args=(theirs, self._pipe), daemon=True)
        self._process.start()
        theirs.close()
        self._waiting = ThreadPoolExecutor(1)  # a thread that only waits for the pipe

    def start(self, function: Callable[..., Any], *given: Any) -> Future[Any]:
        """What `function`, known by its name there too, makes of what is given; it can be cancelled until it begins.

        The future raises the FoamwrightError that the function raised. It gives None if anything else went wrong: what
        was given cannot be pickled, the process is no more, or the program is at fault, which is told where it is done
        again.
        """
        return self._waiting.submit(self._asked, function, *given)

    def close(self) -> None:
        """End the process with whatever it is at."""
        self._process.kill()
        self._process.join()
        self._waiting.shutdown(cancel_futures=True)
        self._pipe.close()

    def _asked(self, function: Callable[..., Any], *given: Any) -> Any:
        try:
            self._pipe.send((function, given))
            error, made = self._pipe.recv()
        except Exception:
            return None
        if error is not None:
            raise error
        return made


@contextlib.contextmanager
def beside(processes: int) -> Iterator[Beside | None]:
    """Another process for as long as the block lasts; None where `processes` allows one only, or none can be forked."""
    if processes < 2 or not can_fork():
        yield None
        return
    other = Beside()
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
