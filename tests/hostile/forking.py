"""Work in a process of its own, forked from one that has the libraries loaded: Linux only."""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path

FAILED = 99  # exit code of work that let an exception out; the traceback is in what it said


def begin(
    work: Callable[[], int | None], folder: Path, out: Path, err: Path,
    seconds: float = 0.0, space: int = 0, largest: int = 0,
) -> int:  # fmt: skip
    """The number of a process, leader of its own group, that does `work` in `folder`; its exit code is what work returns.

    `out` and `err` (from `folder`) hold what it says. Limits, none for 0: `seconds` of processor, `space` in bytes of
    addresses, the `largest` file.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    pid = os.fork()
    if pid:
        return pid
    code: int | str | None = FAILED
    try:
        os.setpgid(0, 0)
        os.chdir(folder)
        made = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        for number, name, mode in ((0, Path(os.devnull), os.O_RDONLY), (1, out, made), (2, err, made)):
            os.dup2(os.open(name, mode), number)
        for which, most in (
            (resource.RLIMIT_CPU, int(seconds)),
            (resource.RLIMIT_AS, space),
            (resource.RLIMIT_FSIZE, largest),
        ):
            if most:
                resource.setrlimit(which, (most, most + 2 if which == resource.RLIMIT_CPU else most))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        code = work() or 0
    except SystemExit as end:
        code = end.code
    except BaseException:
        traceback.print_exc()
    finally:
        try:
            sys.stdout.flush()
            sys.stderr.flush()
        finally:
            os._exit(code if isinstance(code, int) else 1)
    return 0  # not reached
