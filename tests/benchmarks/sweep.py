"""How many sets of values within the limits that a design states can be built.

`python -m tests.benchmarks.sweep DESIGN [SETS] [NAME=VALUE ...]`: sets are drawn evenly by a fixed seed from every parameter
that has both limits, all at once; with NAME=VALUE those values alone are tried, each by itself. Each set is built as
far as the cut list, all rules met, in a process of its own. Prints the share that builds and what the others end with.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from functools import partial
from typing import Any

from foamwright.contained import Limits, contained
from foamwright.design import load
from foamwright.errors import DesignError, FaultError, FoamwrightError
from foamwright.stages import Progress, silent

LIMITS = Limits(seconds=900, memory=4 * 10**9)


def main(path: str, *rest: str) -> None:
    single = [text.split("=", 1) for text in rest if "=" in text]
    count = next((int(text) for text in rest if "=" not in text), 200)
    sets = [{name: value} for name, value in single] or drawn(path, count)
    found: Counter[str] = Counter()
    for values in sets:
        told = outcome(path, values)
        found[told.split(":", 1)[0] if told in ("built", "out of limits") else "refused"] += 1
        shown = ", ".join(
            f"{name}={value:.6g}" if isinstance(value, float) else f"{name}={value}" for name, value in values.items()
        )
        print(f"{told} | {shown}", flush=True)
    tried = sum(found.values()) - found["out of limits"]
    print(f"{path}: {found['built']} of {tried} build ({found['built'] / max(tried, 1):.1%})")


def drawn(path: str, count: int) -> list[dict[str, float]]:
    """Sets of values, each parameter with both limits drawn evenly between them. Whole numbers stay whole."""
    chance, limited = (
        random.Random(11),
        [p for p in load(path).parameters if p.minimum is not None and p.maximum is not None],
    )
    sets = []
    for _ in range(count):
        values = {}
        for one in limited:
            drawn = chance.uniform(one.minimum, one.maximum)  # type: ignore[arg-type]
            values[one.name] = (
                float(round(drawn)) if one.value == int(one.value) and one.unit == "" and one.maximum > 4 else drawn
            )  # type: ignore[operator]
        sets.append(values)
    return sets


def outcome(path: str, values: dict[str, Any]) -> str:
    """ "built", "out of limits" where the set breaks a limit that depends on another, or the line that it ends with."""
    try:
        design = load(path, None, values)
    except DesignError as error:
        return "out of limits" if "its minimum" in str(error) or "its maximum" in str(error) else str(error)
    try:
        contained(partial(_build, design), LIMITS, silent)
    except (FoamwrightError, FaultError) as error:
        return str(error)
    return "built"


def _build(design: Any, progress: Progress) -> None:
    from foamwright.making import build

    build(design, only=("cut_list",), progress=progress)


if __name__ == "__main__":
    main(*sys.argv[1:])
