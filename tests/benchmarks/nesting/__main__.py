"""Nesting side by side with spyrrow: `python -m tests.benchmarks.nesting DESIGN SIZE [seconds] [effort]`.

Without a design it is done on the published instances of tests/layout/strip_instances. Each stock of the design is laid on a roll as wide as its sheet, gap 3 mm, quarter turns only, and the share of the
strip that pieces cover is compared. spyrrow keeps the gap to the edges of the strip as well and knows no holes; its
strip is made wider, and its length taken shorter, by two gaps, so that both may use the same room. Ours is timed in
processor seconds; spyrrow is given one thread and works by the clock.
"""

from __future__ import annotations

import sys
from time import process_time

import numpy as np
import spyrrow
from shapely import Polygon, box
from shapely.affinity import scale
from shapely.geometry.polygon import orient

from foamwright.design.load import load
from foamwright.layout.sheets import foam_of
from foamwright.model.build import build_model
from foamwright.nesting.nest import Blank, Supply, nest
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from tests.nesting.strip_instances import INSTANCES

GAP = 3.0
QUARTERS = tuple((angle, False) for angle in (0.0, 90.0, 180.0, 270.0))


def blanks_of(patterns, stock: str) -> list[Blank]:
    found = []
    for pattern in patterns.patterns:
        piece = pattern.piece
        if piece.stock.id != stock or piece.listed_only:
            continue
        for foam in foam_of(pattern):
            if piece.quantity > piece.mirrored:
                found.append(Blank(foam, piece.quantity - piece.mirrored, QUARTERS))
            if piece.mirrored:
                found.append(Blank(scale(foam, -1.0, 1.0, origin=(0, 0)), piece.mirrored, QUARTERS))
    return found


def _outer(shape: Polygon) -> list[tuple[float, float]]:
    """The outline, with slits of a dart closed that are too narrow for the other program."""
    return list(orient(shape.buffer(0.1).buffer(-0.1).simplify(0.02)).exterior.coords)


def reference(blanks: list[Blank], width: float, gap: float, seconds: int) -> float:
    """Length of the strip that spyrrow finds."""
    items = [
        spyrrow.Item(str(k), _outer(b.shape), b.count, [angle for angle, _ in b.poses]) for k, b in enumerate(blanks)
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=False,
        min_items_separation=gap or None,
        total_computation_time=seconds,
        num_workers=1,
        seed=1,
    )
    return spyrrow.StripPackingInstance("strip", width + 2.0 * gap, items).solve(config).width - 2.0 * gap


def compare(name: str, blanks: list[Blank], width: float, gap: float, seconds: int, effort: int, best: str) -> None:
    """Print one row: what share of the strip pieces cover, ours and theirs."""
    area = sum(b.shape.area * b.count for b in blanks)
    start = process_time()
    (sheet,) = nest(blanks, Supply((width, np.inf), gap=gap, edge=0.0), effort)
    taken = process_time() - start
    pieces = sum(b.count for b in blanks)
    print(f"{name:12} {pieces:6} {area / (width * sheet.length):7.1%} {taken:6.1f}", end=" ", flush=True)
    try:
        print(f"{area / (width * reference(blanks, width, gap, seconds)):8.1%} {seconds:4} {best:>10}")
    except BaseException as error:  # a panic of the other program is no Exception
        if type(error).__name__ != "PanicException":
            raise
        print("  refused")


def main(path: str = "", size: str = "", seconds: str = "60", effort: str = "1") -> None:
    nest([Blank(box(0, 0, 9, 9), 2, QUARTERS)], Supply((20.0, np.inf)))  # compiles what the first run must compile
    print(f"{'stock':12} {'pieces':>6} {'ours':>7} {'s':>6} {'spyrrow':>8} {'s':>4} {'published':>10}")
    if not path:
        for name, instance in INSTANCES.items():
            width = instance.supply().size[0]
            compare(name, instance.blanks(), width, 0.0, int(seconds), int(effort), f"{instance.best:.1%}")
        return
    patterns = section_and_flatten(build_model(build_prop(load(path, size))))
    for stock in dict.fromkeys(p.piece.stock.id for p in patterns.patterns):
        width = patterns.prop.design.stock[stock].sheet[0]
        blanks = blanks_of(patterns, stock)
        if blanks:
            compare(stock, blanks, width, GAP, int(seconds), int(effort), "")


if __name__ == "__main__":
    main(*sys.argv[1:])
