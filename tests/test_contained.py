"""Work in a process of its own: its answer, its errors, its limits, and that the caller always goes on."""

import errno
import faulthandler
import os
import signal
import sys
import threading
import time
from pathlib import Path

import pytest

from foamwright.contained import EndedError, Limits, contained
from foamwright.errors import BuildError, DesignError, FaultError
from foamwright.stages import silent
from foamwright.working import working_on

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are not forked here"),
    pytest.mark.usefixtures("forked"),
]


def failing(error):
    def work(progress):
        progress("sawing")
        working_on("part fin")
        raise error

    return work


def test_what_it_returns_and_the_stages_it_tells():
    told = []

    def work(progress):
        progress("sawing")
        progress("gluing")
        return {"pieces": 3}

    assert contained(work, Limits(), told.append) == {"pieces": 3}
    assert told == ["sawing", "gluing"]


def test_errors_of_a_design_pass_through():
    with pytest.raises(DesignError, match=r"^a\.yaml:1:2: no$"):
        contained(failing(DesignError("a.yaml:1:2: no")), Limits(), silent)
    with pytest.raises(BuildError, match=r"^it cannot$"):
        contained(failing(BuildError("it cannot")), Limits(), silent)


def test_any_other_failure_is_a_fault_in_one_line():
    with pytest.raises(FaultError, match=r"^KeyError: 'a b'$"):
        contained(failing(KeyError("a b")), Limits(), silent)


def test_a_full_disk_is_no_fault_of_the_program():
    full = OSError(errno.ENOSPC, "No space left on device", "/tmp/x")
    with pytest.raises(BuildError, match=r"^/tmp/x: cannot be written: No space left on device$"):
        contained(failing(full), Limits(), silent)
    with pytest.raises(BuildError, match="not enough memory"):
        contained(failing(MemoryError()), Limits(), silent)


def test_a_crash_names_the_stage_and_the_part():
    def work(progress):
        progress("sawing")
        working_on("part fin")
        faulthandler.disable()  # pytest has it tell of the crash
        os.kill(os.getpid(), signal.SIGSEGV)

    with pytest.raises(EndedError, match=r"crashed \(SIGSEGV\) while sawing \(part fin\)"):
        contained(work, Limits(), silent)


def test_the_limit_of_time():
    def work(progress):
        progress("sawing")
        time.sleep(600)

    began = time.monotonic()
    with pytest.raises(EndedError, match=r"longer than 2 s .* while sawing"):
        contained(work, Limits(seconds=2), silent)
    assert time.monotonic() - began < 120


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from /proc")
def test_the_limit_of_memory():
    def work(progress):
        progress("sawing")
        held = bytearray(400_000_000)
        held[::4096] = b"x" * len(held[::4096])  # so that it is really there
        time.sleep(600)

    with pytest.raises(EndedError, match=r"more than 0\.3 GB of memory .* while sawing"):
        contained(work, Limits(memory=300_000_000), silent)


def test_what_libraries_print_goes_nowhere(capfd):
    contained(lambda progress: os.system("echo noise; echo noise >&2"), Limits(), silent)
    assert capfd.readouterr() == ("", "")


def test_what_it_started_ends_with_it():
    def work(progress):
        started = os.fork()
        if started == 0:
            time.sleep(600)
        progress(str(started))
        time.sleep(600)

    told, stop = [], threading.Event()
    with pytest.raises(EndedError):
        contained(work, Limits(), lambda title: (told.append(title), stop.set()), stop=stop)
    deadline = time.monotonic() + 120
    while time.monotonic() < deadline:
        try:
            state = Path(f"/proc/{told[0]}/stat").read_text().rpartition(")")[2].split()[0]
        except FileNotFoundError:
            return
        if state == "Z":
            return
        time.sleep(0.05)
    pytest.fail("it is still running")


@pytest.mark.parametrize(("error", "told"), [(BuildError("no"), BuildError), (KeyError("a b"), FaultError)])
def test_where_the_modeller_is_loaded_it_works_here(monkeypatch, error, told):
    monkeypatch.setattr("foamwright.contained.can_fork", lambda: False)
    assert contained(lambda progress: os.getpid(), Limits(), silent) == os.getpid()
    with pytest.raises(told):
        contained(failing(error), Limits(), silent)


def test_a_process_with_the_modeller_in_it_is_not_forked(monkeypatch):
    monkeypatch.undo()
    monkeypatch.setitem(sys.modules, "OCP", object())
    from foamwright.forked import can_fork

    assert not can_fork()
