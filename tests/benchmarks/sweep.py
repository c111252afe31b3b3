"""How many sets of values within the limits that a design states can be built.

`python -m tests.benchmarks.sweep` alone tries 200 sets of each of the four designs and of what `foamwright new` writes, in turns,
so that it can be stopped at any time: what came of each is kept under `--records` and not tried again while the design's files
stay as they are (a changed program tries none again: empty the folder, or name what to try with `--again TEXT`, a part of what
came). It ends with the table of shares and of what was refused, also in `shares.md` there; `--table` writes that alone. Also
`[DESIGN ...] [--first N] [--sets N] [--jobs N] [--proof]` (sets from the first on, up to N), and `--set NAME=VALUE ...` for those values of one design, each by itself.

Set i is drawn by a seed of its own (11000 + i) from every parameter that has both limits, evenly, all at once; in every fourth
set each of them stands at one of its limits with an even chance. A set that breaks a limit which depends on another value is
drawn again. Each set is made as far as something may refuse it, in a process of its own with limits of processor time and memory:
solids, overlaps, contacts and what holds each part, flat patterns, seams, strain, the order of assembly, room on a sheet.
Left out are what draws it: templates, pages, pictures, booklet, strain and sheet plans, files and archive (a panel that cannot be laid
over pages would be found there), and, without `--proof`, the virtual build. The store is not used.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import random
import re
import signal
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from threading import Lock
from typing import Any

from foamwright.design import load, starter
from foamwright.design.records import Parameter
from foamwright.errors import DesignError, FaultError, FoamwrightError
from tests.hostile.forking import begin
from tests.hostile.worker import HEAVY

SECONDS, SPACE = 600, 8 * 10**9  # of processor time and of addresses, for one set
BUILT, OUT = "built", "out of limits"  # OUT: it breaks a limit that depends on another value, which is told as such
_LIMIT = re.compile(r"its (minimum|maximum)")
DRAWINGS = 200  # of one set, until all of its values are within limits that depend on each other
EFFORT = 0.01  # of the search for layouts: a sweep asks only whether each piece has room
DESIGNS = Path(__file__).parents[2] / "designs"
STARTER = "starter"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("designs", help=f"files, or {STARTER}; the four and it if none is named", nargs="*")
    parser.add_argument("--sets", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--proof", action="store_true")
    parser.add_argument("--records", type=Path, default=Path("build/sweep"))
    parser.add_argument("--again", default="")
    parser.add_argument("--set", nargs="+", default=[], dest="single", metavar="NAME=VALUE")
    parser.add_argument("--table", action="store_true")
    options = parser.parse_args()
    options.records.mkdir(parents=True, exist_ok=True)
    if not options.table:
        sweep(options)
    told = table(options.records)
    (options.records / "shares.md").write_text(told)
    print(told)


def sweep(options: argparse.Namespace) -> None:
    for name in HEAVY:
        importlib.import_module(name)
    paths = options.designs or [*sorted(map(str, DESIGNS.glob("*.yaml"))), STARTER]
    if STARTER in paths:
        written = options.records / f"{STARTER}.yaml"
        written.write_text(starter("Starter"))
        paths = [str(written) if path == STARTER else path for path in paths]
    sweeps = [Sweep.of(path, options) for path in paths]
    numbers = range(len(options.single)) if options.single else range(options.first, options.sets)
    todo = ((one, i) for i in numbers for one in sweeps)
    pool = ThreadPoolExecutor(options.jobs)
    try:
        list(pool.map(lambda each: each[0].tried(each[1]), todo))
    finally:
        pool.shutdown(cancel_futures=True)  # stopped by hand, it ends with those that are under way


@dataclass(frozen=True)
class Sweep:
    """One design: its file, a sum over all files that it is read from, and what came of its sets, kept in `record`."""

    path: str
    text: str
    record: Path
    kept: dict[int, dict[str, Any]]
    options: argparse.Namespace

    @classmethod
    def of(cls, path: str, options: argparse.Namespace) -> Sweep:
        name = f"{Path(path).stem}{', proof' if options.proof else ''}{', single' if options.single else ''}"
        record = options.records / f"{name}.jsonl"
        return cls(path, load(path).digest[:16], record, lines(record), options)

    def tried(self, number: int) -> None:
        """Tries a set unless that is known, and keeps what came of it."""
        options, old = self.options, self.kept.get(number)
        if old and old.get("text") == self.text and not (options.again and options.again in old["came"]):
            return
        values: Mapping[str, Any] = (
            dict([options.single[number].split("=", 1)]) if options.single else drawn(self.path, number)
        )
        came, seconds = outcome(self.path, values, options.proof)
        self.kept[number] = {
            "set": number, "came": came, "seconds": round(seconds, 1), "values": values, "text": self.text,
            "on": date.today().isoformat(),
        }  # fmt: skip
        print(f"{self.record.stem} {number} {seconds:.0f} s {came} | {shown(values)}", flush=True)
        with _ONE:
            beside = self.record.with_suffix(".new")
            beside.write_text("".join(json.dumps(self.kept[k]) + "\n" for k in sorted(self.kept)))
            beside.replace(self.record)


_ONE = Lock()


def lines(record: Path) -> dict[int, dict[str, Any]]:
    """What a record holds, by the number of the set."""
    if not record.exists():
        return {}
    return {one["set"]: one for one in map(json.loads, record.read_text().splitlines())}


def sort(came: str) -> str:
    return came if came in (BUILT, OUT) else "refused"


def shown(values: Mapping[str, Any]) -> str:
    return ", ".join(f"{n}={v:.6g}" if isinstance(v, float) else f"{n}={v}" for n, v in values.items())


def table(records: Path) -> str:
    """The shares, and under them each set that was refused with its reason, as Markdown."""
    rows = [
        "| sweep | sets | build | refused | out of limits | share | processor s, mean and most | run on |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    refused = ["", "| set | values | refused |", "| --- | --- | --- |"]
    for record in sorted(records.glob("*.jsonl")):
        kept = lines(record)
        found = Counter(sort(one["came"]) for one in kept.values())
        tried = found[BUILT] + found["refused"]
        times = [one["seconds"] for one in kept.values() if one["came"] == BUILT] or [0.0]
        rows.append(
            f"| {record.stem} | {len(kept)} | {found[BUILT]} | {found['refused']} | {found[OUT]} "
            f"| {found[BUILT] / max(tried, 1):.1%} | {sum(times) / len(times):.0f}, {max(times):.0f} "
            f"| {max((one.get('on', '') for one in kept.values()), default='')} |"
        )
        refused += [
            f"| {record.stem} {i} | {shown(one['values'])} | {one['came']} |"
            for i, one in kept.items()
            if sort(one["came"]) == "refused"
        ]
    return "\n".join([*rows, *(refused if len(refused) > 3 else ())]) + "\n"


def drawn(path: str, number: int) -> dict[str, float]:
    """The set of values with a number. Whole numbers stay whole."""
    chance = random.Random(11_000 + number)
    values: dict[str, float] = {}
    for _ in range(DRAWINGS):
        values = _drawn(path, chance, number % 4 == 3)
        if _within(path, values) is not None:
            break
    return values


def _drawn(path: str, chance: random.Random, at_limits: bool) -> dict[str, float]:
    values: dict[str, float] = {}
    usual = load(path).parameters
    for i in range(len(usual)):
        if usual[i].minimum is None or usual[i].maximum is None:
            continue
        one = (_within(path, values) or usual)[i]  # limits may depend on what was drawn before
        assert one.minimum is not None and one.maximum is not None
        value = chance.uniform(one.minimum, one.maximum)
        if at_limits and chance.random() < 0.5:
            value = chance.choice((one.minimum, one.maximum))
        whole = one.value == int(one.value) and one.unit == "" and one.maximum > 4
        values[one.name] = float(round(value)) if whole else value
    return values


def _within(path: str, values: Mapping[str, Any]) -> Sequence[Parameter] | None:
    """The parameters with these values; None if they break a limit."""
    try:
        return load(path, None, dict(values)).parameters
    except DesignError as error:
        if _LIMIT.search(str(error)):
            return None
        raise


def outcome(path: str, values: Mapping[str, Any], proof: bool) -> tuple[str, float]:
    """`BUILT`, `OUT`, or the line that the set ends with, and the processor time (s)."""
    try:
        design = load(path, None, dict(values))
    except DesignError as error:
        return (OUT if _LIMIT.search(str(error)) else str(error)), 0.0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        told_in = partial(_told, design, proof, folder / "came")
        pid = begin(told_in, Path(), folder / "out", folder / "err", SECONDS, SPACE)
        _, status, usage = os.wait4(pid, 0)
        told = (folder / "came").read_text() if (folder / "came").exists() else ""
    code = os.waitstatus_to_exitcode(status)
    if code < 0:
        told = f"ended by {signal.Signals(-code).name}"
    return told or f"exit code {code}", usage.ru_utime + usage.ru_stime


def _told(design: Any, proof: bool, came: Path) -> None:
    """Libraries print, so what came of it is in a file of its own."""
    came.write_text(_built(design, proof))


def _built(design: Any, proof: bool) -> str:
    from foamwright.making import Request, Stages
    from foamwright.pipeline import RULES

    stages = Stages(Request(design, prove=proof, nest_effort=EFFORT))
    try:
        for name in (*RULES, "patterns", "steps", "sheets", *(["proof"] if proof else [])):
            stages.record(name)
    except (FoamwrightError, FaultError) as error:
        return str(error)
    except Exception as error:
        return f"fault: {type(error).__name__}: {error}"
    return BUILT


if __name__ == "__main__":
    main()
