"""How long the order of the designs takes to find, the ways in, and how deep solids cut into each other on them.

Run: python -m tests.benchmarks.orders [DESIGN SIZE ...]; without names all designs at all sizes.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words.order import order
from foamwright.design import load
from foamwright.design.load import sizes
from foamwright.making import Request, Stages
from tests.booklet.order_checks import entries, faults_of_order

DESIGNS = Path(__file__).parents[2] / "designs"


def main(*names: str) -> None:
    asked = list(zip(names[::2], names[1::2]))
    if not asked:
        asked = [(path.stem, size) for path in sorted(DESIGNS.glob("*.yaml")) for size in sizes(path)]
    print(
        "| design | copies | steps | s | straight | round a corner | bent | as a sub-assembly | deepest mm | faults |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, size in asked:
        get = Stages(Request(load(DESIGNS / f"{name}.yaml", size)))._run.get
        prop, patterns, found, contacts = (get(key) for key in ("prop", "patterns", "bodies", "contacts"))
        began = time.process_time()
        steps = order(prop, patterns, Ways(found, prop.design.expected_overlaps))
        took = time.process_time() - began
        moved = entries(found, steps, Ways(found), 160)
        sorts = Counter(entry.sort for entry in moved)
        whole = sum(len(entry.copies) > 1 for entry in moved)
        deepest = max((entry.depth for entry in moved), default=0.0)
        faults = len(faults_of_order(prop, contacts, found, steps))
        counts = f"{sorts['straight']} | {sorts['cornered']} | {sorts['bent'] + sorts['laid']} | {whole}"
        print(f"| {name} {size} | {len(found)} | {len(steps)} | {took:.1f} | {counts} | {deepest:.2f} | {faults} |")


if __name__ == "__main__":
    main(*sys.argv[1:])
