"""All classes of odd small props: what a formula gives for each length, circle, bevel and area, and what is written.

Run: python -m tests.benchmarks.classes [SCALE ...]; without scales at all three. Results are in RESULTS-classes.md.
`classes_before.json` has what the commit that it names wrote of the same props at their own size, as far as it told it.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

from foamwright.errors import BuildError
from tests.classes.checks import off
from tests.classes.props import PROPS, SCALES, record_of

_BEFORE = Path(__file__).with_name("classes_before.json")


def main(arguments: list[str]) -> None:
    before = json.loads(_BEFORE.read_text("utf-8"))["values"]
    for scale in map(float, arguments) if arguments else SCALES:
        print(f"## At {scale:g} times the size\n\n| prop | what | true | before | written | |\n" + "| --- " * 6 + "|")
        begun, count, worst = time.process_time(), 0, (0.0, "")
        for prop in PROPS.values():
            if scale not in prop.scales:
                continue
            with tempfile.TemporaryDirectory() as folder:
                try:
                    rows = list(prop.rows(record_of(prop, scale, Path(folder), prove=True), scale))
                except BuildError as error:
                    print(f"| {prop.name} | refused: {str(error).split(': ', 1)[-1]} | | | | refused |", flush=True)
                    continue
            for what, true, written in rows:
                count += 1
                worst = max(worst, (abs(true - written), f"{prop.name}, {what}"))
                mark = "off" if off(what, true, written) else ""
                was = before.get(prop.name, {}).get(what) if scale == 1.0 else None
                told = "" if was is None else f"{was:.3f}"
                print(f"| {prop.name} | {what} | {true:.3f} | {told} | {written:.3f} | {mark} |", flush=True)
        print(f"\n{count} values; furthest off {worst[0]:.3f}: {worst[1]}. {time.process_time() - begun:.0f} s.\n")


if __name__ == "__main__":
    main(sys.argv[1:])
