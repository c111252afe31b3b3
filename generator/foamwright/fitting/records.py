"""What is asked for, what a trial finds, and what comes out. Lengths in mm, masses in kg, angles in degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from foamwright.model.figure import Fit
from foamwright.model.stability import Stability


@dataclass(frozen=True)
class Wanted:
    """`size` of the design in a file, made to `measures`, with `vary` as the parameters that may give way.

    `clearance` is the least gap between prop and figure; None: as much as the size has before. `scan` is a file of the
    figure, which takes the place of the design's own solids while the values are looked for. `seat` names the parts
    that the figure rests on, whose gap does not count; () for those that it touches in the size as it is.
    """

    path: Path
    size: str | None = None
    measures: Mapping[str, str] = field(default_factory=dict)
    vary: tuple[str, ...] = ("scale",)
    clearance: float | None = None
    scan: Path | None = None
    seat: tuple[str, ...] = ()
    run_own_code: bool = False


def gap_of(fit: Fit) -> float:
    """The least gap in mm; negative where the prop reaches into the figure, by how deep."""
    return -max((contact.depth for contact in fit.contacts), default=-fit.clearance)


@dataclass(frozen=True)
class Trial:
    """The figure tried on at certain values. `foam` is the mass of the prop, `stability` None if it need not stand."""

    fit: Fit
    foam: float
    stability: Stability | None

    @property
    def gap(self) -> float:
        """The least gap in place; negative where the prop reaches into the figure, by how deep."""
        return gap_of(self.fit)

    @property
    def passage(self) -> float | None:
        """The least gap on the way in, negative where the figure cannot pass; None: the design states no way in."""
        entry = self.fit.entry
        return None if entry is None else -max((b.depth for b in entry.blocks), default=-entry.clearance)


@dataclass(frozen=True)
class Ruling:
    """How much of the room `lost` (mm) goes if one measure grows by a hundredth."""

    measure: str
    lost: float


@dataclass(frozen=True)
class Fitted:
    """What was found: `values` of all parameters that differ from those of the size; `wanted` names the seat.

    `before` is the size as it is in the file, `after` the same with the values, both by a first look. `ruling` names
    the measures, the one that takes most of the room first, and `limits` the parameters that stand at one of theirs.
    """

    wanted: Wanted
    clearance: float
    values: Mapping[str, float]
    before: Trial
    after: Trial
    ruling: tuple[Ruling, ...]
    limits: Mapping[str, str]  # "least" or "most"
    tried: int  # trials that it took


@dataclass(frozen=True)
class Packed:
    """What became of the values: the `folder` of the pack, sheets before and now by stock, and the least `gap` in place
    between the figure and the pack's own solids, without the parts that it rests on (None: there is no other part)."""

    folder: str
    sheets: Mapping[str, tuple[int, int]]
    gap: float | None
