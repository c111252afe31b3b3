"""Cut lines of a design's panels at the usual mesh and at half its element size.

`python -m tests.benchmarks.refinement [design] [size]` prints a table in Markdown.
"""

from __future__ import annotations

import sys
from pathlib import Path

from foamwright.design import load
from foamwright.parts import build_prop
from foamwright.parts.records import PanelBody

sys.path.append(str(Path(__file__).parents[1] / "flatten"))
from panel_refinement import refine


def table(path: str, size: str | None = None) -> str:
    prop = build_prop(load(path, size))
    panels = [p for p in prop.pieces if isinstance(p.body, PanelBody)]
    rows = [
        "| panel | triangles | darts | distance of the cut lines, mm | area, relative | worst strain, % |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for panel, found in refine(panels, prop.seams).items():
        usual, fine = found.usual, found.fine
        rows.append(
            f"| {panel} | {len(usual.mesh.surface.triangles)}, {len(fine.mesh.surface.triangles)} | {len(usual.darts)} | {found.gap:.3f} "
            f"| {fine.area / usual.area - 1:+.1e} | {100 * usual.strain.max:.2f}, {100 * fine.strain.max:.2f} |"
        )
    return "\n".join(rows)


if __name__ == "__main__":
    print(table(*(sys.argv[1:] or ["designs/pocket-submarine.yaml"])))
