"""Many sizes of one design on one core and on two, cold and without a store: how much sooner two are through.

`python -m tests.benchmarks.sizes [DESIGN] [COUNT] [OPTION ...]`: COUNT (12) scales of the design from 1 upwards, made by
`foamwright build --no-cache` held to the first core and then to the first two; each OPTION, as `--no-proof`, goes to it. It prints
the seconds by the clock, their ratio and whether the packs are the same. The flagship takes about 12 min on one core and
7 on two, of a quiet machine; without the virtual build three quarters of that. Only on Linux.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parents[2]


def scaled(design: Path, folder: Path, count: int) -> list[Path]:
    """So many files of the design in a copy of its folder, each a fiftieth larger than the one before."""
    shutil.copytree(design.parent, folder)
    text, made = design.read_text("utf-8"), []
    for number in range(count):
        path = folder / f"{design.stem}-{number:02d}.yaml"
        anew, found = re.subn(r"(?m)^(  scale: \{value: )1\b", rf"\g<1>{1 + number / 50:g}", text, count=1)
        if not found:
            raise SystemExit(f"{design}: expected a parameter scale with the value 1")
        path.write_text(anew, "utf-8")
        made.append(path)
    return made


def timed(paths: list[Path], cores: str, out: Path, options: list[str]) -> tuple[float, str]:
    """Seconds by the clock on those cores, and a hash of all packs."""
    command = ["taskset", "-c", cores, sys.executable, "-m", "foamwright", "build", *map(str, paths)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "generator")}
    start = perf_counter()
    subprocess.run([*command, "--no-cache", "--out", str(out), *options], check=True, env=environment)
    took = perf_counter() - start
    digest = hashlib.sha256()
    for path in sorted(path for path in out.rglob("*") if path.is_file()):
        digest.update(path.relative_to(out).as_posix().encode() + hashlib.sha256(path.read_bytes()).digest())
    return took, digest.hexdigest()


def main(design: Path, count: int, options: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        paths = scaled(design, Path(folder) / "designs", count)
        one, packs = timed(paths, "0", Path(folder) / "one", options)
        two, others = timed(paths, "0,1", Path(folder) / "two", options)
    same = "the same bytes" if packs == others else "OTHER BYTES"
    print(
        f"{count} sizes of {design.stem}: {one:.1f} s on one core, {two:.1f} s on two, {one / two:.2f} times as fast, {same}"
    )


if __name__ == "__main__":
    named = [argument for argument in sys.argv[1:] if not argument.startswith("-")]
    main(
        Path(named[0] if named else "designs/pocket-submarine.yaml"),
        int(named[1]) if len(named) > 1 else 12,
        [argument for argument in sys.argv[1:] if argument.startswith("-")],
    )
