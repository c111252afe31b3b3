"""How many sets of values within the limits that a design states can be built.

`python -m tests.benchmarks.sweep DESIGN [--sets N] [--proof] [--record FILE] [--again TEXT]`, and `--set NAME=VALUE ...` for
those values alone, each by itself. Set i is drawn by a seed of its own from every parameter that has both limits, evenly,
all at once; in every fourth set each of them stands at one of its limits with an even chance. A set that breaks a limit which
depends on another value is drawn again. Each set is made as far as the rules reach (solids, overlaps, contacts, patterns, seams,
strain, order, room on a sheet) and no further, with `--proof` the virtual build from
its templates as well, in a process of its own with limits of processor time and memory. `--record` keeps what came of each
set, so that a sweep can be stopped and carried on; `--again` tries those once more whose outcome has that text in it.
`python -m tests.benchmarks.sweep --table FILE ...` prints the shares of kept sweeps as Markdown.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import random
import re
import resource
import signal
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from foamwright.design import load
from foamwright.design.records import Parameter
from foamwright.errors import DesignError, FaultError, FoamwrightError
from tests.hostile.worker import HEAVY

SECONDS, SPACE = 600, 8 * 10**9  # of processor time and of addresses, for one set
BUILT, OUT = "built", "out of limits"  # OUT: it breaks a limit that depends on another value, which is told as such
_LIMIT = re.compile(r"its (minimum|maximum)")
DRAWINGS = 200  # of one set, until all of its values are within limits that depend on each other
EFFORT = 0.01  # of the search for layouts: a sweep asks only whether each piece has room


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("path", help="a design", nargs="+")
    parser.add_argument("--sets", type=int, default=200)
    parser.add_argument("--proof", action="store_true")
    parser.add_argument("--record", type=Path)
    parser.add_argument("--again", default="")
    parser.add_argument("--set", nargs="+", default=[], dest="single", metavar="NAME=VALUE")
    parser.add_argument("--table", action="store_true")
    options = parser.parse_args()
    if options.table:
        table([Path(path) for path in options.path])
        return
    path = options.path[0]
    kept = lines(options.record)
    for name in HEAVY:
        importlib.import_module(name)
    for i in range(len(options.single) or options.sets):
        old = kept.get(i)
        if old is not None and not (options.again and options.again in old["came"]):
            continue
        values: Mapping[str, Any] = dict([options.single[i].split("=", 1)]) if options.single else drawn(path, i)
        came, seconds = outcome(path, values, options.proof)
        kept[i] = {"set": i, "came": came, "seconds": round(seconds, 1), "values": values, "proof": options.proof}
        print(f"{i} {seconds:.0f} s {came} | {shown(values)}", flush=True)
        if options.record is not None:
            options.record.write_text("".join(json.dumps(kept[k]) + "\n" for k in sorted(kept)))
    found = Counter(sort(one["came"]) for one in kept.values())
    tried = sum(found.values()) - found[OUT]
    print(f"{path}: {found[BUILT]} of {tried} build ({found[BUILT] / max(tried, 1):.1%})")


def lines(record: Path | None) -> dict[int, dict[str, Any]]:
    """What a record holds, by the number of the set."""
    if record is None or not record.exists():
        return {}
    return {one["set"]: one for one in map(json.loads, record.read_text().splitlines())}


def sort(came: str) -> str:
    return came if came in (BUILT, OUT) else "refused"


def shown(values: Mapping[str, Any]) -> str:
    return ", ".join(f"{n}={v:.6g}" if isinstance(v, float) else f"{n}={v}" for n, v in values.items())


def table(records: list[Path]) -> None:
    print("| sweep | sets | build | refused | out of limits | share | processor s, mean and most |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for record in records:
        kept = lines(record).values()
        found = Counter(sort(one["came"]) for one in kept)
        tried = found[BUILT] + found["refused"]
        times = [one["seconds"] for one in kept if one["came"] == BUILT] or [0.0]
        print(
            f"| {record.stem} | {len(kept)} | {found[BUILT]} | {found['refused']} | {found[OUT]} "
            f"| {found[BUILT] / max(tried, 1):.1%} | {sum(times) / len(times):.0f}, {max(times):.0f} |"
        )


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
    ours, theirs = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(ours)
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (SPACE, SPACE))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        os.write(theirs, _built(design, proof).encode())
        os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as pipe:
        told = pipe.read().decode()
    _, status, usage = os.wait4(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    if code < 0:
        told = f"ended by {signal.Signals(-code).name}"
    return told or f"exit code {code}", usage.ru_utime + usage.ru_stime


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
