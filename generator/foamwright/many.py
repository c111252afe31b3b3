"""Many packs side by side, each in a process of its own; one that fails stops no other."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import re
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from functools import partial
from queue import Empty, SimpleQueue
from typing import Any, TypeVar

from foamwright.contained import Limits, Work, contained
from foamwright.errors import DesignError, FaultError, FoamwrightError
from foamwright.forked import can_fork

T = TypeVar("T")
Watch = Callable[[int, str], None]  # the number of a work and the title of its stage; "" when it has ended

_MEMORY = 1.2e9  # bytes that one pack may take
_LOOK = 0.2  # seconds between two looks at what the processes tell


def side_by_side(
    works: Sequence[Work], jobs: int, limits: Limits, watch: Watch, trace: bool = False
) -> Iterator[tuple[int, Any]]:
    """The number of each of the `works` and what came of it, as they end, `jobs` of them at a time.

    What came of it is what it returned, or the FoamwrightError or FaultError that ended it. Whoever stops asking ends
    all that still run.
    """
    told: SimpleQueue[tuple[int, str]] = SimpleQueue()
    # each thread only waits for a process; where there are none, works follow each other
    pool = ThreadPoolExecutor(max(jobs, 1) if can_fork() else 1)
    left: dict[Future[Any], int] = {}

    def progress(number: int, title: str) -> None:
        told.put((number, title))

    try:
        for number, work in enumerate(works):
            left[pool.submit(contained, work, limits, partial(progress, number), trace)] = number
        while left:
            done, _ = wait(left, _LOOK, FIRST_COMPLETED)
            with contextlib.suppress(Empty):
                while True:
                    watch(*told.get_nowait())
            for future in sorted(done, key=lambda f: left[f]):
                number = left.pop(future)
                watch(number, "")
                try:
                    yield number, future.result()
                except (FoamwrightError, FaultError) as error:
                    yield number, error
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        while left and any(future.running() for future in left):
            for process in multiprocessing.active_children():
                with contextlib.suppress(ProcessLookupError, PermissionError, TypeError):
                    os.killpg(process.pid, signal.SIGKILL)  # type: ignore[arg-type]
                process.kill()
            wait(left, _LOOK)


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def workers(tasks: int, asked: int = 0) -> int:
    """How many packs to make at a time: as many as were asked for, or as the processors and the memory allow."""
    if asked < 0:
        raise DesignError(f"--jobs {asked}: expected a number from 1, or 0 for as many as the machine can")
    if asked:
        return max(1, min(asked, tasks))
    most = processors()
    with contextlib.suppress(AttributeError, ValueError, OSError):
        most = min(most, int(0.8 * os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / _MEMORY))
    return max(1, min(most, tasks))


def shared(items: Sequence[T], share: str | None) -> list[T]:
    """The share "i/n" of the items, every n-th from the i-th; all of them for None. DesignError: it is no share."""
    if share is None:
        return list(items)
    match = re.fullmatch(r"([0-9]{1,6})/([0-9]{1,6})", share)
    first, count = (int(match[1]), int(match[2])) if match else (0, 0)
    if not 1 <= first <= count:
        raise DesignError(f"--share {share}: expected I/N with I from 1 to N, as in 2/5")
    return list(items)[first - 1 :: count]
