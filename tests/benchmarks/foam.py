"""How far foam that is cut by the written lines of each design is off the solids of its written STEP file.

    python -m tests.benchmarks.foam [DESIGN:SIZE ...] > tests/benchmarks/RESULTS-foam.md

Packs are made without the virtual build and read back from their files alone (`tests/proof/foam.py`). Flat parts: both lines
laid on the faces of their solid, the foam swept between them against its walls. Bent parts: every line along an edge against
that edge of the solid, brought to the neutral surface; twice the told strain of it is taken off, and 0.01 %.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from foamwright import load
from foamwright.design.load import sizes
from foamwright.making import build
from tests.proof.foam import compared

DESIGNS = Path(__file__).parents[2] / "designs"
MAY = 0.2  # mm
_BENT = "an edge of"


def row(path: Path, size: str) -> str:
    """A line of the table."""
    made = build(load(path, size), only=("template_files", "model"), prove=False)
    record = json.loads(made.files["pack.json"])
    kinds = {part["id"]: part["kind"] for part in record["parts"]}
    with tempfile.TemporaryDirectory() as folder:
        found = list(compared(made.files, record, Path(folder)))
    flat = [off for off in found if _BENT not in off.what]
    # beyond what the foam's own strain stretches: `may` holds that and 0.2 mm
    bent = [(max(0.0, off.by - (off.may - MAY)), off) for off in found if _BENT in off.what]
    worst = max(flat, key=lambda off: off.by, default=None)
    bent_worst = max(bent, key=lambda pair: pair[0], default=None)
    none = sorted(set(kinds) - {off.part for off in found})
    cells = [
        path.stem,
        size,
        str(len({off.part for off in flat})),
        f"{worst.by:.3f} ({worst.part}, {worst.what})" if worst else "",
        str(len({off.part for _, off in bent})),
        f"{bent_worst[0]:.3f} ({bent_worst[1].part})" if bent_worst else "",
        str(sum(off.by > off.may for off in found)),
        ", ".join(none),
    ]
    return "| " + " | ".join(cells) + " |"


def main(names: list[str]) -> None:
    print(
        "| design | size | flat parts | furthest off, mm | bent parts | furthest off, mm | beyond 0.2 mm | not compared |"
    )
    print("| --- " * 8 + "|", flush=True)
    wanted = [name.split(":") for name in names] or [
        [path.stem, size] for path in sorted(DESIGNS.glob("*.yaml")) for size in sizes(path)
    ]
    for name, size in wanted:
        print(row(DESIGNS / f"{name}.yaml", size), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
