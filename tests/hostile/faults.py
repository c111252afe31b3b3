"""Every write of a command is made to fail, one after the other, as a full disk does: by hand, on Linux.

`python -m tests.hostile.faults [--every N] [--kept] [COMMAND ...]`, each of `WORK`; only every N-th of its writes and disks, all if
none is said. With `--kept` the store has all that the command works out: what is written then is all but the store's own entries,
and takes a tenth of the time. First all places where a file or folder is opened for writing, made,
renamed or linked are counted (audit events of Python); then the command is run once for each of them with that one failing, and
once with that and all after it failing (ENOSPC). As root, real disks (tmpfs) of so many sizes up to what the command needs are
tried as well, which stops writes halfway and also those of libraries. Bad is whatever is not one line with exit code 0, 1 or 2,
and a folder that holds neither what it held before nor the new files whole, or anything beside. A gallery and a look are
renewed file by file, and test pieces are a design and its pack: each file must be whole (but for the gallery's own record of how
far it is), and one more run must complete them. Prints a table.
"""

from __future__ import annotations

import argparse
import errno
import importlib
import mmap
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

from tests.hostile.forking import begin
from tests.hostile.trial import bowl, tag, text
from tests.hostile.worker import HEAVY, LIGHT

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT
_MAKES = ("os.mkdir", "os.rename", "os.link", "os.symlink")
_DEVICES = ("/dev/", "/proc/")
DISKS = 24  # sizes for each command

Hook = Callable[[str, tuple[Any, ...]], None]

WORK: dict[str, list[str]] = {
    "build": ["build", "tag.yaml", "--only", "cut_list,template_files", "--out", "out"],
    "build all": ["build", "tag.yaml", "--out", "out"],
    "look": ["look", "tag.yaml", "--out", "out"],
    "new": ["new", "out/lamp.yaml"],
    "testpieces": ["testpieces", "tag.yaml", "--out", "out"],
    "fit": ["fit", "figure.yaml", "--clearance", "3 mm", "--name", "snug", "--out", "out"],
    "gallery": ["gallery", "packs", "--out", "out"],
    "compare": ["compare", "packs/tag/small", "packs/tag/other", "--as", "html", "--out", "out/a.html"],
}


class Shared:
    """A number that all processes of a trial count up."""

    def __init__(self) -> None:
        self.memory = mmap.mmap(-1, 8)

    def next(self) -> int:
        number = int.from_bytes(self.memory[:8], "little") + 1
        self.memory[:8] = number.to_bytes(8, "little")
        return number


def failing(counter: Shared, at: int, onwards: bool) -> Hook:
    """A hook that fails write number `at`, and all after it if `onwards`; none for 0."""

    def hook(event: str, given: tuple[Any, ...]) -> None:
        if event == "open":
            path, _, flags = given
            if isinstance(path, int) or not isinstance(flags, int) or not flags & _WRITES:
                return
        elif event in _MAKES:
            path = given[1] if event in ("os.rename", "os.link", "os.symlink") else given[0]
        else:
            return
        name = os.fsdecode(path) if isinstance(path, str | bytes) else str(path)
        if name.startswith(_DEVICES):
            return
        number = counter.next()
        if at and (number == at or (onwards and number > at)):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), name)

    return hook


def run(folder: Path, arguments: list[str], hook: Hook | None) -> tuple[int, str]:
    """Exit code and what was told, of a command in a process of its own that works in `folder`."""
    from foamwright.cli import main as command

    told = folder.parent / f"{folder.name}.told"

    def work() -> int:
        os.environ |= {"XDG_CACHE_HOME": str(folder / "store"), "TMPDIR": str(folder / "tmp")}
        tempfile.tempdir = str(folder / "tmp")
        if hook is not None:
            sys.addaudithook(hook)
        return command(arguments)

    _, status = os.waitpid(begin(work, folder, Path(os.devnull), told), 0)
    return os.waitstatus_to_exitcode(status), told.read_text("utf-8", "replace").strip()


def prepared(folder: Path, packs: Path | None) -> None:
    """A folder with what the commands read."""
    folder.mkdir(exist_ok=True)
    (folder / "tmp").mkdir()
    (folder / "out").mkdir()
    (folder / "tag.yaml").write_bytes(text(tag()))
    figure = bowl()
    figure["figure"] = {
        "name": "ball",
        "solids": [{"ellipsoid": {"centre": [0, 0, 0], "radii": ["length", "length", "length"]}}],
    }
    (folder / "figure.yaml").write_text(yaml.safe_dump(figure, sort_keys=False))  # a size is added in a line of its own
    if packs is not None:
        shutil.copytree(packs, folder / "packs")


def state(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def disk(folder: Path, size: int) -> bool:
    """Mounts a disk of so many bytes at the folder; False where that is not allowed."""
    folder.mkdir()
    return not subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size // 1024 + 1}k", "none", folder], capture_output=True, check=False
    ).returncode


def judged(code: int, told: str, before: dict[str, bytes], after: dict[str, bytes], whole: dict[str, bytes]) -> str:
    """What came of a run, "harmed: ..." if it is bad."""
    lines = told.splitlines()
    if code not in (0, 1, 2):
        return f"harmed: exit code {code}: {told[-300:]}"
    if code and len(lines) != 1:
        return f"harmed: {len(lines)} lines: {told[-300:]}"
    if after not in (before, whole):
        odd = sorted((set(after) ^ set(whole)) or {k for k in after if after[k] != whole.get(k)})
        return f"harmed: neither the old state nor the new one: {odd[:4]}"
    if code == 0 and after != whole:
        return "harmed: it says done and is not"
    return f"exit {code}, {'done all the same' if after == whole else 'as before'}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("commands", nargs="*", metavar="COMMAND", choices=[*WORK, []])
    parser.add_argument("--every", type=int, default=1, metavar="N")
    parser.add_argument("--kept", action="store_true")
    options = parser.parse_args()
    for name in LIGHT + HEAVY:
        if name != "cadquery":  # a process that has the modeller starts no other
            importlib.import_module(name)
    bad = 0
    print(
        "| command | writes | each failing | disks | as before | done all the same | bad |\n| --- | --- | --- | --- | --- | --- | --- |"
    )
    with tempfile.TemporaryDirectory() as place:
        scratch = Path(place)
        prepared(scratch / "made", None)
        for size, length in (("small", "40 mm * scale"), ("other", "50 mm * scale")):
            design = tag()
            design["sizes"] = {size: {}}
            design["parameters"]["length"]["value"] = length
            (scratch / "made/tag.yaml").write_bytes(text(design))
            run(scratch / "made", ["build", "tag.yaml", "--out", "packs", "--no-proof"], None)
        for name in options.commands or WORK:
            bad += tried(name, scratch, options.every, options.kept)
    return int(bad > 0)


def tried(name: str, scratch: Path, every: int, kept: bool) -> int:
    """Makes every such write of one command fail, prints its row, and returns how many runs came out badly."""
    found: Counter[str] = Counter()
    one, packs, store = scratch / "one", scratch / "made/packs", scratch / "store"

    def begun() -> None:
        prepared(one, packs)
        if store.exists():
            shutil.copytree(store, one / "store")

    shutil.rmtree(store, ignore_errors=True)
    if kept:
        begun()
        run(one, WORK[name], None)
        shutil.move(one / "store", store)
        shutil.rmtree(one)

    def attempt(hook: Hook | None, what: str) -> None:
        begun()
        before = state(one / "out")
        code, told = run(one, WORK[name], hook)
        after = state(one / "out")
        each_whole = all(after[path] in (before.get(path), whole.get(path)) for path in after if path != "gallery.json")
        if name in ("gallery", "look", "testpieces") and code == 1 and each_whole and len(told.splitlines()) == 1:
            again = None if hook is None else run(one, WORK[name], None)  # a disk stays full
            mended = again is None or (again[0] == 0 and state(one / "out") == whole)
            came = f"exit {code}, as before" if mended else f"harmed: {again}"
        else:
            came = judged(code, told, before, after, whole)
        if came.startswith("harmed"):
            print(f"{name}, {what}: {came}", flush=True)
        found[came.split(":")[0].split(", ")[-1]] += 1

    counter = Shared()
    begun()
    given = sum(map(len, state(one).values()))
    code, told = run(one, WORK[name], failing(counter, 0, False))
    if code:
        print(f"{name}: {code} {told}")
        return 1
    whole, writes = state(one / "out"), counter.next() - 1
    needs = sum(map(len, state(one).values())) - given
    shutil.rmtree(one)
    failing_at = range(1, writes + 1, every)
    for at in failing_at:
        for onwards in (False, True):
            attempt(failing(Shared(), at, onwards), f"write {at}{' and after' if onwards else ''}")
            shutil.rmtree(one)
    disks = 0
    for number in range(1, DISKS + 1, every):
        size = given + 200_000 + needs * number // DISKS  # tmpfs keeps a block for each file and folder
        if not disk(one, size):
            one.rmdir()
            break
        try:
            attempt(None, f"a disk of {size} bytes")
            disks += 1
        finally:
            subprocess.run(["umount", "-l", one], check=True)
            one.rmdir()
    print(
        f"| {name}{', all kept' if kept else ''} | {writes} | {2 * len(failing_at)} | {disks} | {found['as before']} | {found['done all the same']} | {found['harmed']} |",
        flush=True,
    )
    return found["harmed"]


if __name__ == "__main__":
    sys.exit(main())
