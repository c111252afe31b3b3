"""How the designs come out on the virtual bench, as they are and brought to a prop of 250 mm:
`python -m tests.benchmarks.proof [DESIGN SIZE]...`, all designs at all their sizes if none is named.

The bounds are 1 mm on average, 3 mm at worst and 0.5 mm at seams on a prop of 250 mm; they grow in proportion to a larger one.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from foamwright.design import load, sizes
from foamwright.making import Request, Stages
from foamwright.proof.bench.records import MEAN, PROP, WORST, Proof

_SEAM = 0.5  # mm on a prop of `PROP` mm
_DESIGNS = Path(__file__).parents[2] / "designs"
_HEAD = (
    "| design, size | longest side | proven / fitted / not | mean / worst | seam | on 250 mm: mean / worst | seam | goal |\n"
    "| --- | --- | --- | --- | --- | --- | --- | --- |"
)


def asked(words: list[str]) -> Iterator[tuple[Path, str]]:
    if words:
        yield from ((Path(path), size) for path, size in zip(words[::2], words[1::2]))
        return
    for path in sorted(_DESIGNS.glob("*.yaml")):
        yield from ((path, size) for size in sizes(path))


def row(path: Path, size: str) -> str:
    """The figures of one pack, in mm."""
    outcome = Stages(Request(load(path, size))).record("proof")
    assert isinstance(outcome, Proof)
    share = max(1.0, outcome.size / PROP)
    mean, worst, seam = (figure / share for figure in (outcome.mean, outcome.worst, outcome.seam_gap))
    held = [
        name for name, far, most in (("mean", mean, MEAN), ("worst", worst, WORST), ("seam", seam, _SEAM)) if far > most
    ]
    left = outcome.copies - outcome.proven - outcome.fitted
    return (
        f"| {path.stem}, {size} | {outcome.size:.0f} | {outcome.proven} / {outcome.fitted} / {left} of {outcome.copies} "
        f"| {outcome.mean:.2f} / {outcome.worst:.2f} ({outcome.worst_part}) | {outcome.seam_gap:.2f} "
        f"| {mean:.2f} / {worst:.2f} | {seam:.2f} | {'not: ' + ', '.join(held) if held else 'held'} |"
    )


def main() -> None:
    print(_HEAD)
    for path, size in asked(sys.argv[1:]):
        print(row(path, size), flush=True)


if __name__ == "__main__":
    main()
