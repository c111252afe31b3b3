"""How long packs take on this machine, before any of them is begun.

The work follows from what a design has and which stages run, by figures that were fitted to what was measured on one machine:
the designs that come with the program and floors of 50 to 400 plates, each within a factor of 1.5. How fast this machine is
tells a sum that takes it some milliseconds.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from time import perf_counter
from typing import TYPE_CHECKING

from foamwright.design.budget import copies_of

if TYPE_CHECKING:
    from foamwright.design.records import Design

# processor seconds of a whole pack on the machine of the fit: by itself, for each kind of part and for each copy
_PACK = 4.0
_CURVED_KIND, _CURVED_COPY = 0.8, 0.9
_FLAT_KIND, _FLAT_COPY = 0.2, 0.06
# what stages take of that, in hundredths, the mean of the submarine and the lantern (tests.benchmarks.stages)
_SHARES = {
    "proof": 18, "step_pictures": 7, "template_pages": 7, "steps": 7, "shapes": 6, "templates": 6, "parts": 5, "panels": 4,
    "sheets": 4, "contacts": 4, "booklet_pages": 3, "prop_pictures": 3, "sheet_files": 2, "step_file": 2, "portrait": 2,
    "fit_pictures": 2, "step_text": 1, "placement_lines": 1, "notes": 1, "template_files": 1, "insets": 1, "bodies": 1,
}  # fmt: skip
_REST = 12  # loading libraries, files and short stages

_SUM, _SUM_TOOK = 60_000, 0.0020  # how many numbers are added up, and what that took there, in seconds
_TRIES = 9  # the least counts: whatever else the machine does only adds to it
_TWO = 1.8  # times as fast two processes make a pack as one


def seconds_for(designs: Sequence[Design], stages: Collection[str], jobs: int, processes: int) -> float:
    """By the clock, if nothing of their packs is kept and these stages are run: made `jobs` at a time, each by up to so many
    `processes`."""
    share = (_REST + sum(share for name, share in _SHARES.items() if name in stages)) / 100.0
    work = sum(map(_work, designs)) * share * _slowness()
    return work / (jobs * (_TWO if processes > 1 else 1.0))


def _work(design: Design) -> float:
    """Processor seconds of a whole pack on the machine of the fit."""
    seconds = _PACK
    for part in design.parts:
        kind, copy = (_CURVED_KIND, _CURVED_COPY) if "form" in part.values else (_FLAT_KIND, _FLAT_COPY)
        seconds += kind + copy * copies_of(part.values)
    return seconds


def _slowness() -> float:
    """How many times as long as the machine of the fit this one takes."""
    return min(_timed() for _ in range(_TRIES)) / _SUM_TOOK


def _timed() -> float:
    start, total = perf_counter(), 0
    for number in range(_SUM):
        total = (31 * total + number) % 1_000_003
    return perf_counter() - start
