"""How far foam that is cut by the written lines of each design is off the solids of its written STEP file.

    python -m tests.benchmarks.foam [DESIGN:SIZE ...] > tests/benchmarks/RESULTS-foam.md

Packs are made without the virtual build and read back from their files alone (`tests/proof/foam.py`). Flat parts: both lines
laid on the faces of their solid, the foam swept between them against its walls. Bent parts: every line along an edge against
that edge of the solid, brought to the neutral surface; twice the told strain of it is taken off, and 0.01 %. And straight across
their paper (`tests/proof/across.py`): as far as along the solid's foam, as it is for those whose told strain is at most 0.1 %, and for
all others less the same.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from foamwright import load
from foamwright.design.load import sizes
from foamwright.making import build
from tests.proof.across import across
from tests.proof.foam import Off, compared

DESIGNS = Path(__file__).parents[2] / "designs"
MAY = 0.2  # mm
DEVELOPABLE = 0.001  # of strain: what is told of less is bent and not stretched
_BENT = "an edge of"


def row(path: Path, size: str) -> str:
    """A line of the table."""
    made = build(load(path, size), only=("template_files", "model"), prove=False)
    record = json.loads(made.files["pack.json"])
    kinds = {part["id"]: part["kind"] for part in record["parts"]}
    with tempfile.TemporaryDirectory() as folder:
        found = list(compared(made.files, record, Path(folder)))
        wide = list(across(made.files, record, Path(folder)))
    flat = [off for off in found if _BENT not in off.what]
    # beyond what the foam's own strain stretches: `may` holds that and 0.2 mm
    bent = [(max(0.0, off.by - (off.may - MAY)), off) for off in found if _BENT in off.what]
    worst = max(flat, key=lambda off: off.by, default=None)
    bent_worst = max(bent, key=lambda pair: pair[0], default=None)
    even = {part["id"] for part in record["parts"] if part["strain"]["max"] <= DEVELOPABLE}
    none = sorted(set(kinds) - {off.part for off in (*found, *wide)})
    cells = [
        path.stem,
        size,
        str(len({off.part for off in flat})),
        f"{worst.by:.3f} ({worst.part}, {worst.what})" if worst else "",
        str(len({off.part for _, off in bent})),
        f"{bent_worst[0]:.3f} ({bent_worst[1].part})" if bent_worst else "",
        *_across([off for off in wide if off.part in even], lambda off: off.by),
        *_across(
            [off for off in wide if off.part not in even],
            lambda off: max(0.0, off.by - (off.may - MAY)),
        ),
        str(sum(off.by > off.may for off in (*found, *wide))),
        ", ".join(none),
    ]
    return "| " + " | ".join(cells) + " |"


def _across(lines: list[Off], far: Callable[[Off], float]) -> tuple[str, str]:
    """How many parts and lines, and the furthest off."""
    worst = max(lines, key=far, default=None)
    parts = len({off.part for off in lines})
    return (
        f"{parts}, {len(lines)} lines" if parts else "",
        f"{far(worst):.3f} ({worst.part})" if worst else "",
    )


def main(names: list[str]) -> None:
    print(
        "| design | size | flat parts | furthest off, mm | edges of bent parts | furthest off, mm | across, bent alone | furthest off, mm "
        "| across, stretched | furthest off, mm | beyond 0.2 mm | not compared |"
    )
    print("| --- " * 12 + "|", flush=True)
    wanted = [name.split(":") for name in names] or [
        [path.stem, size] for path in sorted(DESIGNS.glob("*.yaml")) for size in sizes(path)
    ]
    for name, size in wanted:
        print(row(DESIGNS / f"{name}.yaml", size), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
