"""When each stage of a cold pack runs, in which of its two processes, and which of them waits for the other.

`python -m tests.benchmarks.timeline [DESIGN] [SIZE] [PAPER]`: one line for each stage or output by the time at which it began, with
seconds of the clock and of the process, without what it had to make first, and the most memory in use during it; the store
is left out, or with a PAPER holds the pack on A4. Last come the clock and the processor time of both. Only on Linux.
"""

from __future__ import annotations

import functools
import os
import resource
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from multiprocessing import Process
from pathlib import Path
from time import perf_counter, process_time
from typing import Any


class Log:
    """Lines of all processes in one file: which, what, when on the clock, seconds on the clock and of the process, MB."""

    def __init__(self, path: Path) -> None:
        self._path, self._start = path, perf_counter()

    def timed(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def run(*given: Any, **named: Any) -> Any:
            Path("/proc/self/clear_refs").write_text("5")  # the peak begins anew
            clock, cpu = perf_counter(), process_time()
            try:
                return function(*given, **named)
            finally:
                took = perf_counter() - clock, process_time() - cpu
                peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in line)
                most = int(peak.split()[1]) // 1000
                line = f"{os.getpid()}\t{name}\t{clock - self._start:.2f}\t{took[0]:.2f}\t{took[1]:.2f}\t{most}\n"
                with self._path.open("a") as file:
                    file.write(line)

        return run


def processor_seconds() -> float:
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(used.ru_utime + used.ru_stime for used in both)


def main(path: str, size: str | None, paper: str | None) -> None:
    from foamwright import making, pipeline, stages
    from foamwright.design import load
    from foamwright.outputs import NAMES
    from foamwright.pack import files, plain, record
    from foamwright.proof import compare
    from foamwright.store import Store

    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "store" if paper else None)
        if paper:
            on_a4 = Process(target=making.made, args=(making.Request(load(path, size)), None, stages.silent, store))
            on_a4.start()
            on_a4.join()
        used = processor_seconds()
        log = Log(Path(folder) / "log")
        for name, stage in pipeline.STAGES.items():
            make = log.timed(name, stage.make)
            setattr(pipeline, name, make)  # the other process is told of it by this name
            pipeline.STAGES[name] = replace(stage, make=make)
        for name in NAMES:
            module: Any = import_module(f"foamwright.outputs.{name}")
            module.OUTPUT = replace(module.OUTPUT, files=log.timed(f"output {name}", module.OUTPUT.files))
        last: list[tuple[Any, str]] = [
            (record, "pack_record"),
            (plain, "record_bytes"),
            (compare, "refuse_differences"),
            (files, "zip_bytes"),
        ]
        for module, name in last:
            setattr(module, name, log.timed(name, getattr(module, name)))
        taken: Any = stages.Run._take
        stages.Run._take = log.timed("(waiting for the other)", taken)  # type: ignore[method-assign]
        design = load(path, size)
        start = perf_counter()
        making.made(making.Request(design, paper or "A4"), store=store)
        clock = perf_counter() - start
        lines = sorted(
            (line.split("\t") for line in Path(folder, "log").read_text().splitlines()), key=lambda n: float(n[2])
        )
    own = str(os.getpid())
    print("| began | stage | process | clock s | cpu s | MB |\n| --- | --- | --- | --- | --- | --- |")
    for pid, name, began, took, cpu, most in lines:
        if float(took) >= 0.05:
            print(f"| {began} | {name} | {'first' if pid == own else 'beside'} | {took} | {cpu} | {most} |")
    cpu = processor_seconds() - used
    print(f"\n{clock:.1f} s by the clock, {cpu:.1f} s of the processor")


if __name__ == "__main__":
    main(
        sys.argv[1] if len(sys.argv) > 1 else "designs/pocket-submarine.yaml",
        sys.argv[2] if len(sys.argv) > 2 else None,
        sys.argv[3] if len(sys.argv) > 3 else None,
    )
