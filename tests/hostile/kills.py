"""Kills builds at random moments and looks at what is left: the old pack or the new one, whole, and nothing else.

`python -m tests.hostile.kills [BUILDS [WRITES]]`: so many builds of a small design from beginning to end, and so many
times the writing of a pack by itself, which is what a kill must not harm. Every second build begins with an empty store
and is killed while it fills it; the one after it works from what the killed one left there, and must give the same bytes.
Linux only. Exit code 1 if one was harmed.
"""

from __future__ import annotations

import hashlib
import importlib
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests.hostile.forking import begin
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
        store = Path("store")
        os.environ["XDG_CACHE_HOME"] = str(store.resolve())
        seconds = 0.0  # of the clock, for a build with an empty store
        build()  # what is compiled once on a machine is not counted
        for name, length in SIZES.items():
            rewrite(length)
            for empty in (True, False):
                shutil.rmtree(store if empty else folder, ignore_errors=True)
                began = time.monotonic()
                build()
                seconds = max(seconds, time.monotonic() - began)
                packs.setdefault(name, contents(folder))
                if contents(folder) != packs[name] or not packs[name]:
                    raise SystemExit("two builds of one size differ")
        found: Counter[str] = Counter()
        for i in range(builds):
            empty = i % 2 == 0
            if empty:
                shutil.rmtree(store, ignore_errors=True)
            rewrite(list(SIZES.values())[i // 2 % 2])
            came = after(build, chance.uniform(0, 1.2 * seconds), folder, packs)
            found[f"build, the store {'empty' if empty else 'as a kill left it'}: {came}"] += 1
        for name, length in SIZES.items():  # what the kills left in the store is sound
            rewrite(length)
            build()
            found[
                f"build to the end over what was left: {'sound' if contents(folder) == packs[name] else 'harmed'}"
            ] += 1
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

    def done() -> None:
        work()

    nowhere = Path(os.devnull)
    pid = begin(done, Path(), nowhere, nowhere)
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
