"""How many darts the flagship needs as its foam forgives more: automatic darts only, three strain limits.

Run: python -m tests.benchmarks.darts_by_limit [folder for pictures]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from foamwright.design import load
from foamwright.drawing.primitives import Drawing, Text
from foamwright.drawing.primitives import Path as Line
from foamwright.drawing.svg import svg_bytes
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

DESIGN = Path(__file__).parents[2] / "designs" / "pocket-submarine.yaml"


def main(folder: str | None = None) -> None:
    print("| limit | panels with darts | darts (all copies) | cut length mm (all copies) | worst strain | s |")
    print("| --- | --- | --- | --- | --- | --- |")
    for limit in (0.02, 0.04, 0.08):
        prop = build_prop(load(DESIGN, None, {"shell_strain": limit}))
        began = time.perf_counter()
        patterns = [
            p for p in section_and_flatten(build_model(prop)).patterns if p.piece.body.__class__.__name__ == "PanelBody"
        ]
        took = time.perf_counter() - began
        hull = [p for p in patterns if p.piece.body.automatic]
        copies = {p.piece.id: p.piece.quantity for p in hull}
        darted = sum(copies[p.piece.id] for p in hull if p.darts)
        darts = sum(copies[p.piece.id] * len(p.darts) for p in hull)
        cut = sum(copies[p.piece.id] * d.lengths[0] for p in hull for d in p.darts)
        worst = max(p.strain.max for p in hull)
        print(f"| {limit:.0%} | {darted} | {darts} | {cut:.0f} | {worst:.2%} | {took:.1f} |", flush=True)
        if folder:
            Path(folder, f"darts-{limit:.0%}.svg").write_bytes(_picture(hull))


def _picture(patterns) -> bytes:
    items, x, high = [], 0.0, 0.0
    for p in patterns:
        low, top = p.outline.min(0), p.outline.max(0)
        items.append(Line(p.outline - low + (x, 0.0), "cut", True))
        items += [Line(hole - low + (x, 0.0), "cut-inner", True) for hole in p.holes]
        items.append(Text((x + 5.0, -10.0), f"{p.piece.label} {p.strain.max:.1%}", 6.0))
        x += top[0] - low[0] + 15.0
        high = max(high, top[1] - low[1])
    return svg_bytes(Drawing(tuple(items)), x + 10.0, high + 30.0, (-10.0, -20.0))


if __name__ == "__main__":
    main(*sys.argv[1:2])
