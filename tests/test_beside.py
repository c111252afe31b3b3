"""Records that are made by a second process: the same records and errors as without it, whatever becomes of it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from foamwright.beside import Beside, beside
from foamwright.errors import BuildError
from foamwright.stages import Run, Stage
from foamwright.store import Store

ROOT = Path(__file__).parents[1]


def where(first):
    return os.getpid(), first


def grown(where, start):
    return where[1] + start


def first():
    return 4


def failing(start):
    raise BuildError(f"no more than {start}")


def faulty(start):
    raise ZeroDivisionError


def ending(start):
    os.kill(os.getpid(), signal.SIGKILL) if os.getpid() != start else None
    return "made here"


def slow(start):
    time.sleep(600.0)


def array(start):
    return np.zeros(3)


def nap(start):
    time.sleep(2.0)


def seen(start, where):
    return where[0] != os.getpid(), where[0]


STAGES = {
    f.__name__: Stage(f.__name__, f.__name__, f)
    for f in (first, where, grown, failing, faulty, ending, slow, array, nap, seen)
}
# a place for entries, and what is told by the record that another stage makes
KEPT = {**STAGES, "grown": Stage("grown", "", grown, ("start",))}


@pytest.fixture
def forks(monkeypatch):
    """Whatever tests before have loaded: what is made there in these needs none of it."""
    monkeypatch.delitem(sys.modules, "OCP", raising=False)


@pytest.fixture
def other(forks):
    made = Beside()
    yield made
    made.close()


def sealed(record):
    for array_ in record if isinstance(record, tuple) else (record,):
        if isinstance(array_, np.ndarray):
            array_.setflags(write=False)


def test_several_stages_are_made_there_in_one_go_from_what_is_made_here(other):
    told = []
    run = Run(STAGES, {"start": 5}, told.append, beside=other)
    run.begin(["where", "grown"])
    assert told == ["first"]
    assert run.get("grown") == 9
    pid, _ = run.get("where")
    assert pid != os.getpid()
    assert told == ["first", "grown"]
    assert list(run.known) == ["start", "first", "where", "grown"]


def test_without_another_process_nothing_is_begun():
    run = Run(STAGES, {"start": 5})
    run.begin(["where", "grown"])
    assert not set(run.known) - {"start"}
    assert run.get("where") == (os.getpid(), 4)


def test_what_a_maker_has_to_mend_is_raised_when_it_is_asked_for(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    run.begin(["failing"])
    with pytest.raises(BuildError, match="no more than 5"):
        run.get("failing")


def test_a_fault_there_is_met_again_here(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    run.begin(["faulty"])
    with pytest.raises(ZeroDivisionError):
        run.get("faulty")


def test_what_a_killed_process_was_at_and_all_that_waited_is_made_here(other):
    run = Run(STAGES, {"start": os.getpid()}, beside=other)
    run.begin(["ending"])
    run.begin(["array"])
    assert run.get("ending") == "made here"
    assert run.get("array").shape == (3,)


def test_what_cannot_be_pickled_is_made_here(other):
    run = Run(STAGES, {"start": lambda: None}, beside=other)
    run.begin(["array"])
    assert run.get("array").shape == (3,)


def test_what_still_waits_for_its_turn_is_made_here(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    run.begin(["slow"])
    run.begin(["where"])
    began = time.monotonic()
    assert run.get("where") == (os.getpid(), 4)
    assert time.monotonic() - began < 120.0  # the other is at the slow one for ten minutes


def test_what_is_left_over_is_what_the_other_is_not_at_and_what_has_what_it_needs(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    assert run.has_for(["array"]) and not run.has_for(["grown"])  # which needs `where`
    run.begin(["slow"])
    while not run._begun["slow"].running():
        time.sleep(0.01)
    assert run.spare(["slow", "grown", "array"]) == "array"
    assert run.spare(["slow", "grown"]) is None  # nothing is left but to wait for it
    run.get("where")
    assert run.has_for(["grown"]) and run.spare(["slow", "grown"]) == "grown"


def test_what_needs_a_record_that_is_still_made_there_waits_for_it_there(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    assert not run.can_begin(["grown"])  # it needs `where`, which is neither here nor begun
    run.begin(["where"])
    assert run.can_begin(["grown"])
    run.begin(["grown"])
    assert "where" not in run.known
    assert run.get("grown") == 9 and run.get("where")[0] != os.getpid()


def test_what_needs_a_record_that_was_made_here_after_all_gets_it_sent(other):
    run = Run(STAGES, {"start": 5}, beside=other)
    run.begin(["nap"])
    run.begin(["where"])
    run.begin(["seen"])
    assert run.get("where")[0] == os.getpid()  # it waited behind the nap
    while not run.is_ready("seen"):
        time.sleep(0.01)
    assert run.get("seen") == (True, os.getpid()), "made there of what was made here"


def test_records_that_come_back_are_sealed(other):
    run = Run(STAGES, {"start": 5}, seal=sealed, beside=other)
    run.begin(["array"])
    with pytest.raises(ValueError, match="read-only"):
        run.get("array")[0] = 1.0


def test_the_store_is_shared_and_counted_once(other, tmp_path):
    store = Store(tmp_path)
    store.kept("own", 1, lambda: 1)
    for _ in range(2):
        run = Run(KEPT, {"start": 5}, store=store, beside=other)
        run.begin(["where", "grown"])
        assert run.get("grown") == 9
    assert store.made == {"own": 1, "grown": 1}
    assert store.found == {"grown": 1}


def loaded_there():
    return "loaded" in vars(sys)


def test_it_begins_with_the_first_work_and_has_what_was_loaded_for_it(forks, monkeypatch):
    monkeypatch.delattr(sys, "loaded", raising=False)
    with beside(2, lambda: monkeypatch.setattr(sys, "loaded", True, raising=False)) as other:
        assert other.pid is None and not loaded_there()
        assert other.start(loaded_there).result() is True
        assert other.pid != os.getpid()


def test_what_cannot_be_forked_any_more_is_made_here(forks, monkeypatch):
    with beside(2) as other:
        monkeypatch.setitem(sys.modules, "OCP", sys)
        run = Run(STAGES, {"start": 5}, beside=other)
        run.begin(["where"])
        assert run.get("where") == (os.getpid(), 4)


def test_no_other_process_for_one_that_may_be_one_only():
    with beside(1) as none:
        assert none is None


def test_it_ends_with_the_one_that_asked_for_it(tmp_path):
    code = "import os, sys, foamwright.beside as b\no = b.Beside()\no.begin()\nprint(o.pid, flush=True)\nos.kill(os.getpid(), 9)"
    ran = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(ROOT / "generator")}, stdout=-1
    )
    pid = int(ran.stdout)
    for _ in range(600):
        status = Path(f"/proc/{pid}/stat")
        if not status.exists() or status.read_text().rsplit(")", 1)[1].split()[0] == "Z":
            return
        time.sleep(0.1)
    os.kill(pid, signal.SIGKILL)
    pytest.fail("it is still there")
