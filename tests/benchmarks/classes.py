"""All classes of odd small props: what a formula gives for each length, circle, bevel and area, and what is written.

Run: python -m tests.benchmarks.classes [SCALE ...]; without scales at all three. Results are in RESULTS-classes.md.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from foamwright.errors import BuildError
from tests.classes.checks import off
from tests.classes.props import PROPS, SCALES, record_of


def main(arguments: list[str]) -> None:
    for scale in map(float, arguments) if arguments else SCALES:
        print(f"## At {scale:g} times the size\n\n| prop | what | true | written | |\n| --- | --- | --- | --- | --- |")
        begun, count, worst = time.process_time(), 0, (0.0, "")
        for prop in PROPS.values():
            if scale not in prop.scales:
                continue
            with tempfile.TemporaryDirectory() as folder:
                try:
                    rows = list(prop.rows(record_of(prop, scale, Path(folder), prove=True), scale))
                except BuildError as error:
                    print(f"| {prop.name} | refused: {str(error).split(': ', 1)[-1]} | | | refused |", flush=True)
                    continue
            for what, true, written in rows:
                count += 1
                worst = max(worst, (abs(true - written), f"{prop.name}, {what}"))
                mark = "off" if off(what, true, written) else ""
                print(f"| {prop.name} | {what} | {true:.3f} | {written:.3f} | {mark} |", flush=True)
        print(f"\n{count} values; furthest off {worst[0]:.3f}: {worst[1]}. {time.process_time() - begun:.0f} s.\n")


if __name__ == "__main__":
    main(sys.argv[1:])
