"""Gives hostile and mistaken inputs to the command, class by class, and prints what came of them.

`python -m tests.hostile [CLASS ...] [--jobs N] [--sample N] [--check] [--list FILE] [--markdown]`: `check` and, where that passes,
`build --only cut_list`, each in a process of its own with limits of time and memory. Bad is a traceback, a fault of the
program (exit 70), a process that is ended by a signal, one that needs more than the limit, an input that is refused and
should not be or the other way round, and whatever reaches the terminal raw. Times are processor time.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from typing import Any

from tests.hostile.inputs import CLASSES
from tests.hostile.trial import Outcome, Run, Trial, commands, judge, write

ROOT = Path(__file__).parents[2]


class Workers:
    """Servers that run commands, one of each sort for each job; builds in processes of their own if `contained`."""

    def __init__(self, jobs: int, sorts: Iterable[str] = ("check", "build"), contained: bool = False) -> None:
        self.free: dict[str, SimpleQueue[Any]] = {}
        self.all = []
        environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "NUMBA_NUM_THREADS": "1",
                       "PYTHONPATH": os.pathsep.join([str(ROOT / "generator"), str(ROOT)])}  # fmt: skip
        for sort in sorts:
            self.free[sort] = SimpleQueue()
            for _ in range(jobs):
                server = subprocess.Popen(
                    [sys.executable, "-m", "tests.hostile.worker", "contained" if contained and sort == "build" else sort],
                    stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT, env=environment,
                )  # fmt: skip
                self.all.append(server)
                self.free[sort].put(server)

    def run(self, sort: str, folder: Path, arguments: list[str]) -> Run:
        server = self.free[sort].get()
        try:
            server.stdin.write(json.dumps({"folder": str(folder), "arguments": arguments}) + "\n")
            server.stdin.flush()
            return Run(**json.loads(server.stdout.readline()))
        finally:
            self.free[sort].put(server)

    def close(self) -> None:
        for server in self.all:
            server.stdin.close()
            server.wait()


def attempt(trial: Trial, folder: Path, workers: Workers, only: str = "") -> Outcome:
    """Gives the trial to the command; of its commands to those of one sort alone if `only` names it."""
    write(trial, folder)
    outcome = Outcome(trial)
    for sort, arguments in commands(trial):
        if only and sort != only:
            continue
        outcome.runs[sort] = workers.run(sort, folder, arguments)
        if outcome.last.code:
            break
    judge(outcome)
    return outcome


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("classes", nargs="*", metavar="CLASS", help=f"of {', '.join(CLASSES)}; all if none is named")
    parser.add_argument("--jobs", type=int, default=1, help="how many at once")
    parser.add_argument("--sample", type=int, help="only so many of each class, chosen by a fixed seed")
    parser.add_argument("--check", action="store_true", help="run `check` alone and build nothing")
    parser.add_argument("--only", help="only inputs with this in their name")
    parser.add_argument("--list", type=Path, help="a file to write every input with its outcome to")
    options = parser.parse_args()
    sorts = ("check",) if options.check else ("check", "build")
    listed, rows = [], []
    with tempfile.TemporaryDirectory() as scratch, ThreadPoolExecutor(options.jobs) as pool:
        for name in options.classes or CLASSES:
            trials = [t for t in CLASSES[name]() if not options.only or options.only in t.name]
            if options.sample and options.sample < len(trials):
                trials = random.Random(0).sample(trials, options.sample)
            workers = Workers(options.jobs, sorts, contained=name == "step")
            places = [Path(scratch) / f"{name} {i}" for i in range(len(trials))]
            tried = partial(attempt, workers=workers, only="check" if options.check else "")
            outcomes = list(pool.map(tried, trials, places))
            workers.close()
            outcomes = [outcome for outcome in outcomes if outcome.runs]
            for outcome in outcomes:
                for bad in outcome.bad:
                    print(f"{name} | {outcome.trial.name} | {bad} | {outcome.last.err.strip()[-200:]!r}", flush=True)
                told = outcome.last.err.strip() or "built"
                listed.append(f"{name} | {outcome.trial.name} | {outcome.last.code} | {told}")
            rows.append(_row(name, outcomes))
            if options.list:
                options.list.write_text("\n".join(listed) + "\n")
    titles = (
        "class",
        "tried",
        "bad",
        "refused",
        "built",
        "exit 1",
        "with place",
        "exit 2",
        "with place",
        "with what was expected",
        "check s",
        "check MB",
        "build s",
        "build MB",
    )
    print(f"\n| {' | '.join(titles)} |\n|{' --- |' * len(titles)}")
    for row in rows:
        print(f"| {' | '.join(row)} |")
    return 0


def _row(name: str, outcomes: list[Outcome]) -> list[str]:
    runs = {sort: [o.runs[sort] for o in outcomes if sort in o.runs] for sort in ("check", "build")}
    ones, twos = ([o for o in outcomes if o.last.code == code] for code in (1, 2))
    return [
        name,
        str(len(outcomes)),
        str(sum(bool(o.bad) for o in outcomes)),
        str(sum(o.last.code in (1, 2) for o in outcomes)),
        str(sum(o.last.code == 0 for o in outcomes)),
        str(len(ones)),
        str(sum(o.located for o in ones)),
        str(len(twos)),
        str(sum(o.located for o in twos)),
        str(sum(o.expecting for o in twos)),
        *(
            told
            for sort in ("check", "build")
            for told in (
                f"{max((r.seconds for r in runs[sort]), default=0):.2f}",
                f"{max((r.peak for r in runs[sort]), default=0) / 1e6:.0f}",
            )
        ),
    ]


if __name__ == "__main__":
    sys.exit(main())
