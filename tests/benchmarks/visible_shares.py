"""How much of the new parts shows in the picture of each step, counted on the pictures, and how each part is shown.

The share is the least over the new parts of a step: lines of sight that meet the part in the picture, of those that
would meet it if nothing else stood there. Of a part with several copies the better half counts.

    python -m tests.benchmarks.visible_shares [DESIGN ...] > tests/benchmarks/RESULTS-shares.md
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path

from foamwright import Request, Stages, load
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Step
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.booklet.pictures.step_views import LEAST_SEEN
from foamwright.design.load import sizes
from foamwright.store import of_this_machine

DESIGNS = Path(__file__).parents[2] / "designs"


def table(path: Path, size: str) -> list[str]:
    """The rows of a design at a size, and the processor time that its pictures took."""
    request = Request(load(path, size))
    stages = Stages(request, store=of_this_machine(request.libraries))
    bodies, steps = (stages.record(name) for name in ("bodies", "steps"))
    return rows_of(f"{stages.design.name}, size {size}", bodies, steps)


def rows_of(title: str, bodies: Bodies, steps: Sequence[Step]) -> list[str]:
    step_pictures(bodies, steps[:4])  # what is compiled on first use is not counted
    start = time.process_time()
    pictures = step_pictures(bodies, steps)
    spent = time.process_time() - start
    rows = [f"## {title}", "", "| step | new | share | said beside it |", "| --- | --- | --- | --- |"]
    for step in steps:
        if step.moves and (picture := pictures.get(step.number)) is not None:
            labels = ", ".join(bubble.label for bubble in picture.bubbles if bubble.new)
            rows.append(f"| {step.number} {step.title} | {labels} | {picture.share:.2f} | {picture.note} |")
    shares = [pictures[step.number].share for step in steps if step.moves]
    low = sum(share < LEAST_SEEN for share in shares)
    return [
        *rows,
        "",
        f"{len(shares)} pictures, least share {min(shares):.2f}, {low} below {LEAST_SEEN}; {spent:.1f} s",
        "",
    ]


def main(names: list[str]) -> None:
    print("# Shares of new parts that show in the pictures of the steps\n")
    for path in [DESIGNS / f"{name}.yaml" for name in names] or sorted(DESIGNS.glob("*.yaml")):
        for size in sizes(path):
            print("\n".join(table(path, size)), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
