"""Nesting side by side with spyrrow on the parts of a design: `python -m tests.benchmarks.nesting DESIGN SIZE [seconds] [effort]`.

Each stock of the design is laid on a roll as wide as its sheet, gap 3 mm, quarter turns only, and the share of the
strip that pieces cover is compared. spyrrow keeps the gap to the edges of the strip as well and knows no holes; its
strip is made wider, and its length taken shorter, by two gaps, so that both may use the same room. Ours is timed in
processor seconds; spyrrow is given one thread and works by the clock.
"""

from __future__ import annotations

import sys
from time import process_time

import numpy as np
import spyrrow
from shapely import Polygon
from shapely.affinity import scale
from shapely.geometry.polygon import orient

from generator.design.load import load
from generator.flatten.build import flatten
from generator.layout.nesting.nest import Blank, Supply, nest
from generator.parts import build_prop

GAP = 3.0
QUARTERS = tuple((angle, False) for angle in (0.0, 90.0, 180.0, 270.0))


def blanks_of(patterns, stock: str) -> list[Blank]:
    found = []
    for pattern in patterns.patterns:
        piece = pattern.piece
        if piece.stock.id != stock or piece.listed_only:
            continue
        foam = Polygon(pattern.outline, pattern.holes)
        if piece.quantity > piece.mirrored:
            found.append(Blank(foam, piece.quantity - piece.mirrored, QUARTERS))
        if piece.mirrored:
            found.append(Blank(scale(foam, -1.0, 1.0, origin=(0, 0)), piece.mirrored, QUARTERS))
    return found


def _outer(shape: Polygon) -> list[tuple[float, float]]:
    """The outline, with slits of a dart closed that are too narrow for the other program."""
    return list(orient(shape.buffer(0.1).buffer(-0.1).simplify(0.02)).exterior.coords)


def reference(blanks: list[Blank], width: float, seconds: int) -> float:
    """Length of the strip that spyrrow finds."""
    items = [spyrrow.Item(str(k), _outer(b.shape), b.count, [0, 90, 180, 270]) for k, b in enumerate(blanks)]
    config = spyrrow.StripPackingConfig(
        early_termination=False,
        min_items_separation=GAP,
        total_computation_time=seconds,
        num_workers=1,
        seed=1,
    )
    return spyrrow.StripPackingInstance("strip", width + 2.0 * GAP, items).solve(config).width - 2.0 * GAP


def main(path: str, size: str, seconds: int = 60, effort: int = 1) -> None:
    patterns = flatten(build_prop(load(path, size)))
    print(f"{'stock':12} {'pieces':>6} {'ours':>7} {'s':>6} {'spyrrow':>8} {'s':>4}")
    for stock in dict.fromkeys(p.piece.stock.id for p in patterns.patterns):
        blanks = blanks_of(patterns, stock)
        width = patterns.prop.design.stock[stock].sheet[0]
        area = sum(b.shape.area * b.count for b in blanks)
        start = process_time()
        (sheet,) = nest(blanks, Supply((width, np.inf), gap=GAP, edge=0.0), effort)
        taken = process_time() - start
        pieces = sum(b.count for b in blanks)
        print(f"{stock:12} {pieces:6} {area / (width * sheet.length):7.1%} {taken:6.1f}", end=" ", flush=True)
        try:
            print(f"{area / (width * reference(blanks, width, seconds)):8.1%} {seconds:4}")
        except BaseException as error:  # a panic of the other program is no Exception
            if type(error).__name__ != "PanicException":
                raise
            print("  refused")


if __name__ == "__main__":
    main(*sys.argv[1:3], *map(int, sys.argv[3:]))
