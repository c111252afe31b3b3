"""Packs by a real dask scheduler and two workers of its own on the loopback address, one of them killed at its work."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest

from foamwright.design import load
from foamwright.elsewhere import files_and_record, spread
from foamwright.errors import BuildError, DesignError, FaultError
from foamwright.making import Request
from foamwright.store import program

distributed = pytest.importorskip("distributed")

ROOT = Path(__file__).parents[1]


def begun(folder, number):
    """A piece of work that says who is at it, and takes a while."""
    (folder / f"{number}-{os.getpid()}").touch()
    time.sleep(0.4)
    return number * number


def wrong():
    raise BuildError("too narrow")


def faulty():
    raise ZeroDivisionError("a fault")


@pytest.fixture
def cluster():
    """The address of a scheduler with two workers, each a process of its own that nobody starts again."""
    started = []

    def start(*arguments):
        environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'generator'}:{ROOT}:{ROOT / 'tests'}"}
        started.append(
            subprocess.Popen(
                [sys.executable, "-m", *arguments],
                env=environment,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                text=True,
            )
        )
        return started[-1]

    scheduler = start("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
    address = ""
    while "tcp://" not in address:
        address = scheduler.stderr.readline()
        assert address, "the scheduler ended"
    address = "tcp://" + address.rsplit("tcp://", 1)[1].strip()
    for _ in range(2):
        start(
            "distributed.cli.dask_worker",
            address,
            "--nthreads",
            "1",
            "--no-nanny",
            "--no-dashboard",
            "--memory-limit",
            "0",
        )
    with distributed.Client(address, timeout=60, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=120)
    yield address
    for process in started:
        process.kill()
        process.wait()


def test_a_worker_that_is_killed_takes_nothing_with_it(cluster, tmp_path):
    works = [partial(begun, tmp_path, number) for number in range(8)]
    works += [wrong, faulty]
    told, results, killed = [], {}, None
    for number, made in spread(works, cluster, lambda *said: told.append(said)):
        results[number] = made
        if killed is None and number < 8:
            time.sleep(0.1)  # the next has begun
            killed = int(sorted(tmp_path.iterdir())[-1].name.split("-")[1])
            os.kill(killed, signal.SIGKILL)
    assert [results[number] for number in range(8)] == [number * number for number in range(8)]
    assert isinstance(results[8], BuildError) and str(results[8]) == "too narrow"
    assert isinstance(results[9], FaultError) and str(results[9]) == "ZeroDivisionError: a fault"
    workers = [int(path.name.split("-")[1]) for path in tmp_path.iterdir()]
    assert len(set(workers)) == 2 and killed in workers
    assert sum(title == "" for _, title in told) == len(works)


def test_without_a_scheduler_at_the_address_nothing_is_made(monkeypatch):
    monkeypatch.setattr("foamwright.elsewhere._PATIENCE", 0.5)
    with pytest.raises(DesignError, match=r"--scheduler tcp://127\.0\.0\.1:9: no scheduler answers there"):
        next(spread([wrong], "tcp://127.0.0.1:9", lambda *said: None))


def test_a_worker_with_another_program_refuses(tmp_path):
    from tests.store.test_what_runs import DESIGN

    path = tmp_path / "can.yaml"
    path.write_text(DESIGN, "utf-8")
    request = Request(load(path))
    with pytest.raises(BuildError, match=r"the worker would make other bytes: it has program \w{12} instead of 0000"):
        files_and_record(request, ("cut_list",), False, "0" * 64)
    other = Request(load(path), libraries={**request.libraries, "scipy": "0.1"})
    with pytest.raises(BuildError, match=r"it has scipy [\d.]+ instead of 0\.1"):
        files_and_record(other, ("cut_list",), False, program())
