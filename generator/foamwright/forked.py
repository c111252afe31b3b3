"""What every process that is forked off here has in common."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import signal
import sys

_COLLECTED = (20_000, 20, 20)  # of Python's thresholds, which are 700, 10 and 10
_DIES_WITH_PARENT = 1  # PR_SET_PDEATHSIG of prctl(2)


def can_fork() -> bool:
    """Whether a forked process can do everything that this one could.

    The modeller's pool of threads does not come along, and is waited for without end.
    """
    return hasattr(os, "fork") and "OCP" not in sys.modules


def end_with_parent() -> None:
    """Called in a forked process: it leaves interrupts to its parent, and is killed when that one ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_DIES_WITH_PARENT, signal.SIGKILL)


def collect_rarely() -> None:
    """Called in a forked process: garbage that refers to itself is looked for less often. A pack makes many records that
    stay, each look goes through all of them, and they leave little of it: 6 % of the time of a pack, and 1 % of its memory."""
    gc.freeze()
    gc.set_threshold(*_COLLECTED)
