"""All chapters of a booklet, in the order in which they are read: before the steps and after them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from foamwright.assembly.records import Pictures, Step
from foamwright.booklet.pages import fit as figure
from foamwright.booklet.pages import lists
from foamwright.booklet.pages.chapters import Chapter
from foamwright.flatten.records import Patterns
from foamwright.layout.records import FoamSheet
from foamwright.parts.records import Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance


@dataclass(frozen=True)
class Contents:
    """The chapters that have something to say."""

    before: tuple[Chapter, ...]  # what to know and to buy
    making: tuple[Chapter, ...]  # the parts, and how the work is done
    after: tuple[Chapter, ...]


def contents(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    fit: Fit | None,
    interferences: Sequence[Interference],
    balance: Balance | None,
    sheets: Sequence[FoamSheet],
) -> Contents:
    """`fit` is None where the design has no figure; `sheets` are those that the pieces were laid on."""
    load = float((prop.design.stands or {}).get("figure_mass") or 0.0)
    before = (
        lists.safety(steps),
        figure.measures(prop, fit, load),
        lists.tools(steps, patterns),
        lists.materials(prop, patterns, sheets, balance, steps),
    )
    making = (lists.parts(patterns), lists.methods(steps, patterns))
    after = (
        lists.care(prop.design, load, [line for step in steps for line in step.loose]),
        figure.fit(prop, fit, balance, interferences, pictures.fit),
        lists.changes(prop.design),
        lists.maker(prop),
        lists.seams(prop, patterns),
    )
    return Contents(*(tuple(one for one in some if one.items) for some in (before, making, after)))
