"""What each stage of a cold pack takes, beside loading the modelling library.

`python -m tests.benchmarks.stages [DESIGN] [SIZE] [--no-proof]`: processor seconds of each stage, of each output's own writing and
of the rest, and what they are in times of `import cadquery`, which is measured in the same run; the store is left out.
Last come the most memory that was in use and a hash of all bytes, to compare states of the program by.
"""

from __future__ import annotations

import functools
import hashlib
import resource
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from time import perf_counter, process_time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from foamwright.design.records import Design
    from foamwright.pack.pack import Pack


def import_seconds(runs: int = 2) -> float:
    """Processor seconds of `import cadquery` in a process of its own, the least of some runs."""
    found = []
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", "import cadquery"], check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


class Watch:
    """Processor seconds (of all threads, and of child processes that have ended) by name."""

    def __init__(self) -> None:
        self.took: dict[str, float] = {}

    def timed(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def run(*given: Any, **named: Any) -> Any:
            start = now()
            try:
                return function(*given, **named)
            finally:
                self.took[name] = self.took.get(name, 0.0) + now() - start

        return run


def now() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return process_time() + children.ru_utime + children.ru_stime


def watched(design: Design, prove: bool = True) -> tuple[Pack, dict[str, float], float, float]:
    """The pack of a design, made by this process alone without a store: seconds by stage and output, all seconds, and
    the most memory in MB."""
    from foamwright import making, pipeline
    from foamwright.outputs import NAMES

    watch, start = Watch(), now()
    for name, stage in pipeline.STAGES.items():
        pipeline.STAGES[name] = replace(stage, make=watch.timed(name, stage.make))
    for name in NAMES:
        module: Any = import_module(f"foamwright.outputs.{name}")
        module.OUTPUT = replace(module.OUTPUT, files=watch.timed(f"output {name}", module.OUTPUT.files))
    pack = making.made(making.Request(design, prove=prove), processes=1)
    return pack, watch.took, now() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def main(path: str, size: str | None, prove: bool) -> None:
    from foamwright.design import load

    unit, clock = import_seconds(), perf_counter()
    pack, took, whole, most = watched(load(path, size), prove)
    clock = perf_counter() - clock
    print(
        f"{path} {size or ''}: import cadquery {unit:.2f} s\n\n| stage | cpu s | times the import |\n| --- | --- | --- |"
    )
    rest = whole - sum(took.values())
    for name, seconds in [*sorted(took.items(), key=lambda item: -item[1]), ("the rest", rest), ("all", whole)]:
        if seconds > 0.02:
            print(f"| {name} | {seconds:.2f} | {seconds / unit:.2f} |")
    digest = hashlib.sha256()
    for name, content in sorted(pack.files.items()):
        digest.update(name.encode() + hashlib.sha256(content).digest())
    print(f"\n{clock:.1f} s by the clock, {most:.0f} MB at most, bytes {digest.hexdigest()[:16]}")


if __name__ == "__main__":
    given = [argument for argument in sys.argv[1:] if argument != "--no-proof"]
    main(
        given[0] if given else "designs/pocket-submarine.yaml",
        given[1] if len(given) > 1 else None,
        "--no-proof" not in sys.argv,
    )
