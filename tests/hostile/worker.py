"""Runs commands in processes of their own, with limits: a server that has the libraries loaded and forks for each.

`python -m tests.hostile.worker check|build|contained` reads one JSON object per line, {"folder", "arguments"}, and answers with
one: {"code", "seconds", "peak", "hung", "out", "err"}. With `build` the modeller is loaded already, so that packs are
built in the process of the command; with `contained` it is not, and packs are built in processes of their own, as for
makers: what crashes the modeller needs that, and each trial takes 3 s more.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from tests.hostile.forking import begin
from tests.hostile.trial import BUILD_SECONDS, CHECK_SECONDS, tag, text

LIGHT = ("yaml", "jsonschema", "simpleeval", "foamwright.cli", "foamwright.design", "foamwright.design.on_hand")
HEAVY = ("cadquery", "scipy.interpolate", "shapely", "igl", "trimesh", "svgpathtools", "numba", "reportlab.pdfgen",
         "foamwright.making", "foamwright.parts", "foamwright.model.build", "foamwright.section.build",
         "foamwright.contacts.find", "foamwright.flatten", "foamwright.booklet.words.order")  # fmt: skip
WITHOUT_MODELLER = (
    "scipy.interpolate",
    "shapely",
    "igl",
    "trimesh",
    "numba",
    "foamwright.making",
    "foamwright.parts",
)
SPACE = {"check": 4 * 10**9, "build": 6 * 10**9, "contained": 6 * 10**9}  # of addresses, beyond which memory is refused
LARGEST_FILE = 200_000_000
WAITS, LONGEST = 10.0, 300.0  # seconds without any work, and in all, after which a process is ended


def main(which: str) -> None:
    answers = os.fdopen(os.dup(1), "w")
    for name in LIGHT + {"check": (), "build": HEAVY, "contained": WITHOUT_MODELLER}[which]:
        importlib.import_module(name)
    from foamwright.design.schema import validator
    from foamwright.registry import kinds

    validator(None, kinds())
    seconds = CHECK_SECONDS if which == "check" else BUILD_SECONDS
    if which != "check":
        compile_once()
    for line in sys.stdin:
        job = json.loads(line)
        print(json.dumps(run(Path(job["folder"]), job["arguments"], seconds, SPACE[which])), file=answers, flush=True)


def compile_once() -> None:
    """A sheet is laid: what is compiled the first time in a tree (13 s) is not the doing of the input that is tried first."""
    with tempfile.TemporaryDirectory() as place:
        Path(place, "tag.yaml").write_bytes(text(tag()))
        run(Path(place), ["build", "tag.yaml", "--only", "sheets"], 10 * BUILD_SECONDS, SPACE["build"])


def run(folder: Path, arguments: list[str], seconds: float, space: int) -> dict[str, object]:
    from foamwright.cli import main as command

    out, err = folder / ".stdout", folder / ".stderr"
    pid = begin(partial(command, arguments), folder, out, err, seconds + 2.0, space, LARGEST_FILE)
    began, hung = time.monotonic(), False
    moved, spent = began, -1.0
    while True:
        ended, status, usage = os.wait4(pid, os.WNOHANG)
        if ended:
            break
        now, used = time.monotonic(), _processor(pid)
        if used > spent + 0.05:
            moved, spent = now, used
        # it waits for something that does not come, or other work leaves it no time
        if (now - moved > WAITS or now - began > LONGEST) and not hung:
            hung = True
            os.killpg(pid, signal.SIGKILL)
        time.sleep(0.005)
    code = os.waitstatus_to_exitcode(status)
    return {
        "code": code,
        "seconds": usage.ru_utime + usage.ru_stime,
        "peak": usage.ru_maxrss * 1024,
        "hung": hung or code == -signal.SIGXCPU,
        "out": out.read_bytes()[:100_000].decode("utf-8", "replace"),
        "err": err.read_bytes()[:100_000].decode("utf-8", "replace"),
    }


def _processor(pid: int) -> float:
    """Seconds of processor time that a process and its children have used."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        # whichever of its threads began them
        children = [c for task in Path(f"/proc/{pid}/task").iterdir() for c in (task / "children").read_text().split()]
    except OSError:
        return 0.0
    own = sum(int(fields[i]) for i in (11, 12, 13, 14)) / os.sysconf("SC_CLK_TCK")
    return own + sum(_processor(int(child)) for child in children)


if __name__ == "__main__":
    main(sys.argv[1])
