"""The first look, a cold pack, and one that is not changed, beside loading the modelling library.

`python -m tests.benchmarks.speed [DESIGN] [RUNS]`: processor and wall-clock seconds of each in a process of its own,
side by side in one run, the least of each; the ratios are to `import cadquery`.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parents[2]


def seconds(environment: dict[str, str], *arguments: str) -> tuple[float, float]:
    """Wall-clock and processor seconds of one call of Python."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return perf_counter() - start, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(design: str, runs: int) -> None:
    least: dict[str, tuple[float, float]] = {}
    for _ in range(runs):
        with tempfile.TemporaryDirectory() as folder:
            environment = {**os.environ, "PYTHONPATH": str(ROOT / "generator"), "XDG_CACHE_HOME": f"{folder}/cache"}
            build = ("-m", "foamwright", "build", design, "--out", f"{folder}/out")
            calls = {
                "import cadquery": ("-c", "import cadquery"),
                "first look": ("-m", "foamwright", "look", design, "--out", f"{folder}/look"),
                "pack, cold": build,
                "pack, unchanged": build,
                "pack, other paper": (*build, "--paper", "letter"),
            }
            for name, call in calls.items():
                took = seconds(environment, *call)
                least[name] = tuple(map(min, took, least.get(name, took)))  # type: ignore[assignment]
    wall, cpu = least["import cadquery"]
    print(f"{design}\n\n| | wall s | cpu s | wall, times the import | cpu, times the import |")
    print("| --- | --- | --- | --- | --- |")
    for name, (w, c) in least.items():
        print(f"| {name} | {w:.1f} | {c:.1f} | {w / wall:.2f} | {c / cpu:.2f} |")


if __name__ == "__main__":
    main(
        sys.argv[1] if len(sys.argv) > 1 else "designs/pocket-submarine.yaml",
        int(sys.argv[2]) if len(sys.argv) > 2 else 1,
    )
