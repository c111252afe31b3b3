"""Work in a process of its own, with limits of time and memory: whatever happens in it, the caller goes on.

A crash of a library that is not written in Python, or a limit that is reached, ends that process alone. What the
libraries print goes nowhere. Where processes cannot be forked (Windows), or not any more because the solid modeller is
loaded here already, the work is done here, without limits.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from foamwright.errors import BuildError, DesignError, FaultError, FoamwrightError, refused_by_machine
from foamwright.forked import can_fork, collect_rarely, end_with_parent
from foamwright.stages import Progress
from foamwright.working import listen

Work = Callable[[Progress], Any]  # told the title of each stage as it begins; what it returns can be pickled

_LOOKS = 0.2  # seconds between two looks at the memory


@dataclass(frozen=True)
class Limits:
    """`seconds` of time on the clock and `memory` in bytes that the work may take; 0 for no limit.

    `set_by`: what to say of how each is set, where the command has an option for it.
    """

    seconds: float = 0.0
    memory: int = 0
    set_by: tuple[str, str] = ("", "")


class EndedError(BuildError):
    """The work reached a limit, or its process was ended from outside or by a crash."""


def contained(
    work: Work, limits: Limits, progress: Progress, trace: bool = False, stop: threading.Event | None = None
) -> Any:
    """What `work` returns. `progress` is told of its stages; setting `stop` ends it.

    Raises the work's own DesignError or BuildError; EndedError, which names the stage and what was worked on, where a
    limit or a crash ended it; FaultError for any other failure, whose traceback is printed with `trace`.
    """
    if not can_fork():
        return _here(work, progress, trace)
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)
    with contextlib.suppress(OSError):  # what cannot be written is told when all is done
        sys.stdout.flush()
        sys.stderr.flush()
    process = context.Process(target=_inside, args=(work, theirs, trace))
    process.start()
    theirs.close()
    stage, part = "starting", ""
    began = time.monotonic()
    try:
        while True:
            # the pipe ends when the process does
            if wait([ours], _LOOKS):
                try:
                    kind, told = ours.recv()
                except (EOFError, OSError):
                    process.join()
                    raise EndedError(f"{_how(process.exitcode)} while {stage}{part}") from None
                if kind == "stage":
                    stage, part = told, ""
                    progress(told)
                elif kind == "part":
                    part = f" ({told})"
                else:
                    return _answer(kind, told)
            if stop is not None and stop.is_set():
                raise EndedError(f"it was stopped while {stage}{part}")
            if limits.seconds and time.monotonic() - began > limits.seconds:
                raise EndedError(
                    f"it took longer than {limits.seconds:g} s and was ended while {stage}{part}{limits.set_by[0]}"
                )
            if limits.memory and _memory(process.pid) > limits.memory:
                raise EndedError(
                    f"it took more than {limits.memory / 1e9:g} GB of memory and was ended while {stage}{part}"
                    f"{limits.set_by[1]}"
                )
    finally:
        _end(process)
        ours.close()


def _here(work: Work, progress: Progress, trace: bool) -> Any:
    try:
        return work(progress)
    except (FoamwrightError, FaultError):
        raise
    except Exception as error:
        refusal = refused_by_machine(error)
        if trace and refusal is None:
            raise
        raise refusal or FaultError.of(error) from error


def _answer(kind: str, told: Any) -> Any:
    if kind == "made":
        return told
    if kind == "design":
        raise DesignError(told)
    if kind == "build":
        raise BuildError(told)
    raise FaultError(told)


def _inside(work: Work, pipe: Connection, trace: bool) -> None:
    """What the other process does."""
    os.setpgid(0, 0)  # with whatever it starts it can be ended at once
    end_with_parent()
    collect_rarely()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    if not trace:
        os.dup2(nowhere, 2)
    listen(lambda part: pipe.send(("part", part)))
    try:
        answer = ("made", work(lambda title: pipe.send(("stage", title))))
    except DesignError as error:
        answer = ("design", str(error))
    except FoamwrightError as error:
        answer = ("build", str(error))
    except Exception as error:
        if trace:
            import traceback

            traceback.print_exc()
        refusal = refused_by_machine(error)
        answer = ("fault", str(FaultError.of(error))) if refusal is None else ("build", str(refusal))
    pipe.send(answer)
    pipe.close()
    # no library has anything to say any more, and some of them fail when they are unloaded
    os._exit(0)


def _how(code: int | None) -> str:
    if code is not None and code < 0:
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = f"signal {-code}"
        if name == "SIGKILL":
            return "its process was killed, from outside or for want of memory,"
        if name == "SIGXCPU":
            return "it used up the processor time that was left to its process"
        return f"a library crashed ({name})"
    return f"its process ended by itself (exit code {code})"


def _memory(pid: int | None) -> int:
    """Bytes that a process has in memory; 0 where that cannot be told."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except (OSError, ValueError, IndexError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


def _end(process: Any) -> None:
    if process.is_alive():
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid, signal.SIGKILL)
        process.kill()
    process.join()
