"""Pages and sheets that each design takes, pages against a plain grid poster of each part alone.

The poster lays the bounding box of a part's outline, at the better of 0 and 90 degrees, on the same printable area,
page beside page without overlap, upright or on its side, whichever takes fewer pages; no two parts share a page.
A part that is cut in segments is whole on the poster and has a template for each segment here.

Sheets are those that pieces lie on, of every stock that is sold by the sheet, and "covered" is the share of their
used lengths (from the lower end to the last piece) that pieces cover, at the quick default. Rods and the like, of
one piece, are left out.

    python -m tests.benchmarks.pages > tests/benchmarks/RESULTS-pages.md
"""

from __future__ import annotations

import sys
from math import ceil
from pathlib import Path

import numpy as np

from foamwright.design.load import load
from foamwright.errors import DesignError
from foamwright.layout.furniture import area
from foamwright.layout.pages import lay_out
from foamwright.layout.paper import paper
from foamwright.layout.records import PackInfo
from foamwright.layout.sheets import lay_on_sheets
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import Lettering, draw

DESIGNS = Path(__file__).parents[2] / "designs"
PAPERS = ("A4", "letter")


def poster_pages(outline: np.ndarray, width: float, height: float) -> int:
    """Pages of `width` x `height` mm, upright, that the bounding box of `outline` (N, 2) takes."""
    rooms = [area(width, height), area(height, width)]
    sides = np.ptp(outline, axis=0)
    return min(ceil(w / room.width) * ceil(h / room.height) for room in rooms for w, h in (sides, sides[::-1]))


def rows(path: Path) -> list[str]:
    """A row of the table for each paper."""
    design = load(path)
    patterns = section_and_flatten(build_model(build_prop(design)))
    templates = draw(patterns)
    listed_only = [p for p in patterns.patterns if p.piece.listed_only]
    outlines = [p.outline for p in patterns.patterns if not p.piece.listed_only]
    info = PackInfo(design.name, design.version, design.size, design.licence, design.size_note, design.author)
    sheets = [s for s in lay_on_sheets(patterns) if len(s.placed) > 1]
    covered = sum(s.used * s.size[0] * s.size[1] for s in sheets) / sum(s.size[0] * s.length for s in sheets)
    found = []
    for name in PAPERS:
        chosen = paper(name)
        pages = lay_out(templates, chosen, info, listed_only, Lettering(patterns)).pages
        used = sum(bool(page.parts) for page in pages)
        poster = sum(poster_pages(outline, chosen.width, chosen.height) for outline in outlines)
        cells = (path.stem, design.size, name, len(templates), used, len(pages) - used, poster)
        found.append(f"| {' | '.join(map(str, cells))} | {used / poster:.2f} | {len(sheets)} | {covered:.1%} |")
    return found


def main() -> None:
    print("# Pages of the templates, sheets of foam\n")
    print("Made by `python -m tests.benchmarks.pages`; what a plain poster is and what counts, is said there.\n")
    head = "design, size, paper, templates, template pages, front matter alone, plain poster, ratio, sheets, covered"
    print(f"| {head.replace(', ', ' | ')} |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for path in sorted(DESIGNS.glob("*.yaml")):
        try:
            print(*rows(path), sep="\n", flush=True)
        except DesignError as error:
            print(f"{path.name}: {error}", file=sys.stderr)


if __name__ == "__main__":
    main()
