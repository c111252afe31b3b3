"""Kills builds at random moments and looks at what is left: the old pack or the new one, whole, and nothing else.

`python -m tests.hostile.kills [BUILDS [WRITES]]`: so many builds of a small design from beginning to end, and so many
times the writing of a pack by itself, which is what a kill must not harm. Linux only. Exit code 1 if one was harmed.
"""

from __future__ import annotations

import hashlib
import importlib
import json
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests.hostile.trial import tag, text
from tests.hostile.worker import HEAVY, LIGHT

SIZES = {"a": "40 mm * scale", "b": "55 mm * scale"}


def main(builds: int, writes: int) -> int:
    for name in LIGHT + HEAVY:
        importlib.import_module(name)
    from foamwright.cli import main as command
    from foamwright.pack.write import write_pack

    chance = random.Random(7)
    with tempfile.TemporaryDirectory() as scratch:
        os.chdir(scratch)
        Path("tag.yaml").write_bytes(text(tag()))

        def build() -> None:
            command(["build", "tag.yaml", "--only", "cut_list,template_files"])

        def rewrite(length: str) -> None:
            design = tag()
            design["parameters"]["length"]["value"] = length
            Path("tag.yaml").write_bytes(text(design))

        folder, packs = Path("build/tag/small"), {}
        for name, length in SIZES.items():
            rewrite(length)
            began = time.monotonic()
            build()
            took = time.monotonic() - began
            packs[name] = contents(folder)
        found: Counter[str] = Counter()
        for i in range(builds):
            rewrite(list(SIZES.values())[i % 2])
            found[f"build: {after(build, chance.uniform(0, 1.2 * took), folder, packs)}"] += 1
        files = {name: {path: bytes.fromhex(data) for path, data in pack.items()} for name, pack in packs.items()}
        began = time.monotonic()
        write_pack(folder, files["a"])
        took = time.monotonic() - began
        for i in range(writes):
            new = files["ab"[i % 2]]
            found[
                f"write: {after(lambda new=new: write_pack(folder, new), chance.uniform(0, 1.5 * took), folder, packs)}"
            ] += 1  # type: ignore[misc]
        write_pack(folder, files["a"])
        beside = sorted(path.name for path in folder.parent.iterdir() if path != folder)
        found[f"left beside the pack after one more write: {', '.join(beside) or 'nothing'}"] += 1
    for what, count in sorted(found.items()):
        print(f"{count} {what}")
    return int(any("harmed" in what for what in found) or bool(beside))


def after(work: Callable[[], object], moment: float, folder: Path, packs: dict[str, dict[str, str]]) -> str:
    """What the folder holds once `work` was killed at a moment (s) after it began."""
    before = [name for name, pack in packs.items() if contents(folder) == pack]
    pid = os.fork()
    if pid == 0:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        work()
        os._exit(0)
    time.sleep(moment)
    os.kill(pid, signal.SIGKILL)
    _, status = os.waitpid(pid, 0)
    time.sleep(0.02)  # what it had started ends with it
    ended = "ended before" if os.waitstatus_to_exitcode(status) == 0 else "killed"
    now = [name for name, pack in packs.items() if contents(folder) == pack]
    if not now:
        # between the two names of a swap: the next build brings it back
        return f"{ended}, harmed: {sorted(contents(folder)) or 'nothing there'}"
    return f"{ended}, {'the old pack' if now == before else 'the new pack'}"


def contents(folder: Path) -> dict[str, str]:
    """Every file of a pack as hex by its path; empty where it is not as its record says."""
    if not (folder / "pack.json").is_file():
        return {}
    record = json.loads((folder / "pack.json").read_bytes())
    found = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    listed = {entry["path"]: entry["sha256"] for entry in record["files"]}
    own = {path: hashlib.sha256(data).hexdigest() for path, data in found.items() if path in listed}
    if own != listed or found.keys() - listed.keys() - {"pack.json", record.get("archive")}:
        return {}
    return {path: data.hex() for path, data in found.items()}


if __name__ == "__main__":
    sys.exit(main(*(int(number) for number in (*sys.argv[1:], 60, 200)[:2])))
