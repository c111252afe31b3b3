"""Fuzzing with coverage of what reads strangers' files, by hand: `pip install atheris` first, on Linux.

`python -m tests.hostile.fuzz WHAT [MINUTES [RECORD]]`, WHAT one of expressions, lengths, yaml, design (a whole `check`), svg, mesh and
step (the text, which is looked through before the modeller has it), or all of them one after the other; MINUTES of processor for
each, 60 if none are given. It begins from the inputs of `python -m tests.hostile` and from what earlier runs found worth keeping in
`~/.cache/foamwright-fuzz/WHAT`, and ends with the input that let anything but the program's own errors out, that took more than 10 s,
or more than 2 GB. What came of each run is added to RECORD (`sessions.jsonl` in that folder), which `all table` adds up.
`python -m tests.hostile.fuzz WHAT covered` gives all that is kept there to the reader once more and prints which share of
the lines and branches of the reader's modules that reaches.
"""

from __future__ import annotations

import importlib
import json
import os
import re
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from foamwright.errors import DesignError, FoamwrightError

KEPT = Path("~/.cache/foamwright-fuzz").expanduser()
SCRATCH = Path(tempfile.mkdtemp(dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
LONGEST = 10.0  # s
# the modules that read each sort of input
MODULES = {
    "expressions": ("design.expressions", "design.dimensions", "design.lengths"),
    "lengths": ("design.lengths", "design.expressions", "design.parameters"),
    "yaml": ("design.source", "design.not_yaml", "design.letters"),
    "design": ("design.load", "design.read", "design.resolve", "design.validate", "design.parameters", "design.checks",
               "design.references", "design.usage", "design.budget", "design.members"),
    "svg": ("parts.svg_file", "parts.fill"),
    "mesh": ("forms.imported", "forms.repair"),
    "step": ("forms.step_text",),
}  # fmt: skip
WORDS = {
    "expressions": "sqrt( min( max( round( atan( tan( pi ** // if else scale length mm deg in ft 1e308 1e-308 , ) ( and or not < == [ ] . lambda",
    "lengths": "mm cm m in ft deg ' \" 1/8 1 1/8 2,5 1e3 e - + × ½ /0 _mm _deg scale * ",
    "yaml": "&a *a <<: !!python !!binary --- ... ? | > - : # % @ ` { } [ ] \\x00 \\u2028 ! 0x 1e400 .nan ~ null true",
    "design": "kind: disc panel band plate form: stock: radius: repeat: {count: 2} mirror: y at: normal: z include: after: [ ] scale mm deg where: beyond",
    "svg": "<svg <g <path <rect <circle <use d=\" M L C Q A Z z m transform=\" matrix( rotate( viewBox=\" mm &#1; <![CDATA[ fill-rule=\"evenodd\" style=\" 1e308 -1 nan",
    "mesh": "solid facet normal vertex endloop v f vn f//1 ply element property list uchar int end_header 1e308 nan inf -1 0",
    "step": "#1 =( ) ; , $ * .T. 'x' DATA; ENDSEC; ISO-10303-21; 1.E+308 /* */ \"0\" CARTESIAN_POINT( HEADER;",
}  # fmt: skip


def of_expressions(data: bytes) -> None:
    from foamwright.design import expressions

    try:
        one = expressions.parse(data.decode("utf-8", "ignore"))
        expressions.measures(one, {"length": "length"})
        expressions.evaluate(one, {"scale": 1.0, "length": 40.0, "a": 2.0})
    except expressions.ExpressionError as error:
        one_line(error)


def of_lengths(data: bytes) -> None:
    """A length from the command line: no file is blamed."""
    from foamwright.design import parameters

    try:
        one = parameters.formula(data.decode("utf-8", "ignore"), "--set a")
        parameters.measured_by(one, {"scale": ""})
        parameters.work_out(one, {"scale": 1.0})
    except DesignError as error:
        one_line(error)


def of_yaml(data: bytes) -> None:
    from foamwright.design import source

    try:
        source.parse("a.yaml", "a.yaml", data)
    except DesignError as error:
        one_line(error)


def of_design(data: bytes) -> None:
    from foamwright.design import check_all

    path = SCRATCH / "tag.yaml"
    path.write_bytes(data)
    try:
        check_all(path)
    except FoamwrightError as error:
        one_line(error)


def of_svg(data: bytes) -> None:
    from foamwright.parts.svg_file import svg_shape

    path = SCRATCH / "a.svg"
    path.write_bytes(data)
    try:
        svg_shape(path)
    except FoamwrightError as error:
        one_line(error)


def of_mesh(data: bytes) -> None:
    """The first byte says which ending the file has."""
    from foamwright.forms.imported import imported_mesh

    path = SCRATCH / f"a.{('stl', 'obj', 'ply')[data[0] % 3] if data else 'stl'}"
    path.write_bytes(data[1:])
    values = {"file": path.name, "scale": 1.0, "unit": "mm", "turn": (0, 0, 0), "at": (0, 0, 0)}
    try:
        imported_mesh("mesh", values, str(SCRATCH))
    except FoamwrightError as error:
        one_line(error)


def of_step(data: bytes) -> None:
    from foamwright.forms.step_text import check_step_text

    try:
        check_step_text("a.step", data)
    except FoamwrightError as error:
        one_line(error)


def one_line(error: Exception) -> None:
    from foamwright.design.letters import shown, unfit

    line = shown(str(error))
    if "\n" in line or unfit(line):
        raise ValueError(line) from error


WHAT: dict[str, Callable[[bytes], None]] = {
    "expressions": of_expressions, "lengths": of_lengths, "yaml": of_yaml, "design": of_design, "svg": of_svg,
    "mesh": of_mesh, "step": of_step,
}  # fmt: skip


def seeds(which: str) -> Iterable[bytes]:
    from tests.hostile.inputs import CLASSES  # loads what is to be watched, so not before
    from tests.hostile.trial import Trial

    def files(trials: Iterable[Trial], ending: str, most: int) -> Iterable[bytes]:
        for trial in trials:
            for name, content in trial.files.items():
                if name.endswith(ending) and isinstance(content, bytes) and len(content) <= most:
                    yield content

    if which in ("expressions", "lengths"):
        yield from (word.encode() for word in WORDS[which].split())
        yield from (
            b"90 mm * scale",
            b"1 1/8 in",
            b"5' 3 1/2\"",
            b"min(2 mm, length / 3)",
            b"atan(length / a) - 2.5",
            b"2.5 cm",
        )
    elif which in ("yaml", "design"):
        for name in ("mistakes", "yaml", "texts", "forms"):
            yield from files(CLASSES[name](), ".yaml", 4000 if which == "yaml" else 9000)
        if which == "design":
            yield (
                Path(importlib.import_module("foamwright").__file__ or "")
                .with_name("design")
                .joinpath("examples.yaml")
                .read_bytes()
            )
    elif which == "svg":
        yield from files(CLASSES["svg"](), ".svg", 3000)
    elif which == "mesh":
        for index, ending in enumerate((".stl", ".obj", ".ply")):
            yield from (bytes([index]) + content for content in files(CLASSES["meshes"](), ending, 20_000))
    else:
        yield from files(CLASSES["step"](), ".step", 40_000)


def main(which: str, minutes: str, record: Path) -> int:
    if minutes == "covered":  # coverage counts what is loaded after it began
        covered(which, [f"foamwright.{name}" for name in MODULES[which]], sorted((KEPT / which).iterdir()))
        return 0
    if minutes == "table":
        table(record)
        return 0
    harmed = 0
    for name in WHAT if which == "all" else [which]:
        left = 60 * float(minutes)
        while left > 1:
            came = session(name, left)
            record.parent.mkdir(parents=True, exist_ok=True)
            with record.open("a") as lines:
                lines.write(json.dumps(came) + "\n")
            print(json.dumps(came), flush=True)
            left -= max(came["seconds"], 1)
            if came["code"]:
                harmed += 1
                break
    table(record)
    return int(harmed > 0)


def session(which: str, seconds: float) -> dict[str, Any]:
    """Fuzzes one reader for so long by the clock, in a process of its own, and returns what came of it.

    What libFuzzer says is in `KEPT/WHAT.log`; the input that ended it, if one did, in `KEPT/WHAT-crash-...`.
    """
    kept, log, tokens = (KEPT / f"{which}{ending}" for ending in ("", ".log", ".dict"))
    kept.mkdir(parents=True, exist_ok=True)
    quoted = (word.replace("\\", "\\\\").replace('"', '\\"') for word in WORDS[which].split())
    tokens.write_text("".join(f'"{word}"\n' for word in quoted if word.isascii()))
    pid = os.fork()  # libFuzzer leaves by itself, so its time is told from outside
    if pid == 0:
        to = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(to, 1)
        os.dup2(to, 2)
        limits = [f"-max_total_time={seconds:.0f}", f"-dict={tokens}", f"-artifact_prefix={KEPT}/{which}-"]
        _fuzz(which, kept, limits)
        sys.exit(99)  # it never comes to this: libFuzzer ends the process, after it has written the input that failed
    _, status, usage = os.wait4(pid, 0)
    told = log.read_text("utf-8", "replace")
    tried = re.findall(r"number_of_executed_units: (\d+)", told) or re.findall(r"^#(\d+)", told, re.MULTILINE)
    edges = re.findall(r"cov: (\d+)", told)
    return {
        "reader": which,
        "code": os.waitstatus_to_exitcode(status),
        "executions": int(tried[-1]) if tried else 0,
        "seconds": round(usage.ru_utime + usage.ru_stime),
        "edges": int(edges[-1]) if edges else 0,
        "kept": len(list(kept.iterdir())),
    }


def _fuzz(which: str, kept: Path, options: list[str]) -> None:
    import atheris  # type: ignore[import-not-found,unused-ignore]

    sides = {"mesh": ["trimesh.exchange"], "svg": ["svgpathtools"]}.get(which, [])
    with atheris.instrument_imports(include=["foamwright", *sides]):
        for name in MODULES[which]:
            importlib.import_module(f"foamwright.{name}")
    for number, content in enumerate(seeds(which)):
        (kept / f"seed-{number}").write_bytes(content)
    most = {"mesh": 20_000, "step": 40_000, "design": 20_000}.get(which, 4000)
    limits = ["-timeout=600", "-rss_limit_mb=2048", f"-max_len={most}", "-print_final_stats=1"]
    atheris.Setup([sys.argv[0], str(kept), *options, *limits], timed(WHAT[which]))
    atheris.Fuzz()


def table(record: Path) -> None:
    """What all sessions of a record add up to, as Markdown."""
    sums: dict[str, dict[str, int]] = {}
    for one in map(json.loads, record.read_text().splitlines()):
        all_of = sums.setdefault(one["reader"], dict.fromkeys(("executions", "seconds", "edges", "finds", "kept"), 0))
        all_of["executions"] += one["executions"]
        all_of["seconds"] += one["seconds"]
        all_of["edges"] = max(all_of["edges"], one["edges"])
        all_of["finds"] += one["code"] != 0
        all_of["kept"] = one["kept"]
    print(
        "| reader | executions | processor s | edges | kept | ended by an input |\n| --- | --- | --- | --- | --- | --- |"
    )
    for name, one in sums.items():
        print(
            f"| {name} | {one['executions']:,} | {one['seconds']:,} | {one['edges']:,} | {one['kept']:,} | {one['finds']} |"
        )


def timed(reader: Callable[[bytes], None]) -> Callable[[bytes], None]:
    """The reader, which may take LONGEST of processor: the clock says little beside other work."""

    def run(data: bytes) -> None:
        began = time.process_time()
        reader(data)
        if time.process_time() - began > LONGEST:
            raise TimeoutError(f"{time.process_time() - began:.1f} s of processor")

    return run


def covered(which: str, modules: list[str], kept: list[Path]) -> None:
    import coverage

    seen = coverage.Coverage(branch=True, source_pkgs=modules, data_file=None, config_file=False)
    seen.start()
    for path in kept:
        WHAT[which](path.read_bytes())
    seen.stop()
    print(f"{which}: {len(kept)} inputs kept, {resource.getrusage(resource.RUSAGE_SELF).ru_utime:.0f} s")
    with nullcontext(sys.stdout) as out:
        seen.report(file=out)


if __name__ == "__main__":
    which, minutes, record = (*sys.argv[1:], *("", "60", str(KEPT / "sessions.jsonl"))[len(sys.argv) - 1 :])
    sys.exit(main(which, minutes, Path(record)))
