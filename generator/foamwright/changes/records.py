"""What a comparison finds, as plain records. Lengths in mm, areas in mm2, times in minutes, strain as a share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from foamwright.language import say

Lines = tuple[np.ndarray, ...]  # closed lines (n, 2), the first point not repeated


@dataclass(frozen=True)
class Side:
    """One of the two packs: its record, what buying for it costs by currency, and how the caller named it."""

    source: str
    record: Mapping[str, Any]
    costs: Mapping[str, float]

    @property
    def title(self) -> str:
        design = self.record["design"]
        return say("{name} {version}, size {size}", **{key: design[key] for key in ("name", "version", "size")})


@dataclass(frozen=True)
class PartChange:
    """A part that both packs have. `before` and `after` are its entries in the records.

    `moved` is the largest distance between the cut lines of the two after the best fit (nan where one has a hole that
    the other lacks); `longer` and `wider` are the differences of the smallest rectangle around each. `lines` are the
    cut lines before, laid over those after, and those after.
    """

    before: Mapping[str, Any]
    after: Mapping[str, Any]
    moved: float
    longer: float
    wider: float
    lines: tuple[Lines, Lines]
    facts: tuple[str, ...]  # what else is different, in words

    @property
    def recut(self) -> bool:
        """Whether what was cut by the old template is wrong now."""
        return bool(self.facts) or not self.moved <= UNCHANGED

    @property
    def relabelled(self) -> bool:
        return any(self.before[key] != self.after[key] for key in ("id", "label", "name"))


@dataclass(frozen=True)
class Amount:
    """A number of the whole pack, before and after; None where a pack does not tell. `what` is a phrase of the
    catalogue, with a place for the `material` if it is of one."""

    what: str
    unit: str
    before: float | None
    after: float | None
    material: str = ""


@dataclass(frozen=True)
class Changes:
    """Everything that is different between two packs."""

    before: Side
    after: Side
    added: tuple[Mapping[str, Any], ...]
    removed: tuple[Mapping[str, Any], ...]
    parts: tuple[PartChange, ...]  # every part that both have, in the order of the newer pack
    parameters: tuple[tuple[str, float | None, float | None], ...]
    pages: tuple[int, ...]  # of the newer print, with a part on them that must be cut anew
    amounts: tuple[Amount, ...]

    @property
    def recut(self) -> tuple[PartChange, ...]:
        return tuple(part for part in self.parts if part.recut)

    @property
    def cut_lines_changed(self) -> bool:
        """Whether somebody who has cut by the older pack holds foam that does not fit the newer one."""
        return bool(self.added or self.removed or self.recut)


UNCHANGED = 0.05  # mm: a tenth of a pencil line; the record itself is rounded to 0.0001
