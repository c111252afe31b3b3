"""Time of checking all designs beside that of loading the modelling library, which checking does without.

`python -m tests.benchmarks.check_speed [runs]`: wall-clock seconds, each run of one followed by a run of the
other, the least of each.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parents[2]


def seconds(*arguments: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - start


def main(runs: int) -> None:
    designs = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "designs").glob("*.yaml"))
    times = [
        (
            seconds("-m", "foamwright", "check", *designs),
            seconds("-c", "import cadquery"),
            seconds("-c", "pass"),
        )
        for _ in range(runs)
    ]
    check, library, bare = (min(column) for column in zip(*times))
    print("| | s |\n| --- | --- |")
    print(f"| foamwright check, {len(designs)} designs | {check:.2f} |")
    print(f"| import cadquery | {library:.2f} |")
    print(f"| python alone | {bare:.2f} |")
    print(f"\nloading the library takes {library / check:.1f} times as long as the check")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
