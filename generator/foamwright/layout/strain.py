"""The strain sheets: panels that do not develop exactly, shaded by strain, several to a page at stated scales.

Scales are those of ISO 5455. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.drawing.document import Document
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import fitted, set_line, wrap
from foamwright.flatten.records import Pattern
from foamwright.flatten.strain import EXPLAINED
from foamwright.language import phrase, say
from foamwright.layout.records import PackInfo, Paper
from foamwright.layout.shelves import Cell, Headings, on_pages, room
from foamwright.templates.strain_sheet import legend, strain_chart, strain_facts

EXACT = 0.0005  # strain that would be printed as 0.0 %: such a panel develops exactly
_SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)  # 1:1, 1:2 and so on
_TALLEST = 0.42  # share of the page's room that a chart may take
_UNDER, _BESIDE = 3.0, 6.0  # between a chart and its facts
_TYPE, _LINE = 2.6, 3.6
_HEAD = 5.0  # height of a panel's title
_WORDS = phrase(
    "Each panel is shaded by its strain as a fraction of the limit; beyond the limit it is hatched. A ring with a cross is "
    "the worst spot. These drawings are not to be cut by."
)


def strain_sheets(patterns: Sequence[Pattern], paper: Paper, info: PackInfo) -> Document | None:
    """The sheets of all panels whose foam must give, on upright `paper`; None if there is no such panel."""
    strained = [p for p in patterns if p.mesh is not None and p.strain.max >= EXACT]
    if not strained:
        return None
    width, high = room(paper)
    head = _head(width)
    headings = Headings(
        say("How far the foam must give"),
        say("{name}: strain", name=info.name),
        say("Strain of the panels: size {size}, version {version}", size=info.size, version=info.version),
        phrase("Strain of {parts}"),
        {p.piece.id: p.piece.label for p in strained},
    )
    cells = [_cell(pattern, width, high - head.height) for pattern in strained]
    return on_pages(cells, head, Cell("", 0.0, 0.0, ()), paper, info, headings)


def _cell(pattern: Pattern, width: float, room: float) -> Cell:
    """The panel at the largest scale at which it fits."""
    low, high = pattern.outline.min(axis=0), pattern.outline.max(axis=0)
    size = high - low
    fit = max(size[0] / width, size[1] / (_TALLEST * room))
    ratio = next((s for s in _SCALES if s >= fit), _SCALES[-1])
    span, tall = size / ratio
    title = fitted(f"{pattern.piece.label}  {pattern.piece.name}", width, 4.0, bold=True)
    facts = [fitted(fact, width, _TYPE) for fact in strain_facts(pattern, f"1:{ratio:g}")]
    said = max(text_width(fact.value, fact.height) for fact in facts)
    least = text_width(title.value, title.height, bold=True)
    # The facts stand below the chart, or beside it where that takes less room, as for a narrow panel.
    below = (max(span, said, least), tall + _UNDER + _LINE * len(facts), 0.0, tall + _UNDER)
    beside = (max(span + _BESIDE + said, least), max(tall, _LINE * len(facts)), span + _BESIDE, 0.0)
    arrangements = [arrangement for arrangement in (below, beside) if arrangement[0] <= width]
    across, down, x, y = min(arrangements, key=lambda arrangement: arrangement[0] * arrangement[1])
    items: list[Primitive] = [set_line(title, 0.0, -4.0)]
    top = -_HEAD - 1.5
    items += translate(strain_chart(pattern, 1.0 / ratio), -low[0] / ratio, top - high[1] / ratio).items
    for k, fact in enumerate(facts):
        items.append(set_line(fact, x, top - y - _TYPE - _LINE * k))
    return Cell(pattern.piece.id, across, down - top + 1.0, tuple(items))


def _head(width: float) -> Cell:
    """How to read the sheet, with the shades."""
    lines = wrap(f"{say(EXPLAINED)} {say(_WORDS)}", width, _TYPE)
    items: list[Primitive] = [Text((0.0, -_TYPE - _LINE * k), line, _TYPE) for k, line in enumerate(lines)]
    shades, height = legend(width)
    down = _LINE * len(lines) + 2.0
    return Cell("", width, down + height + 4.0, (*items, *translate(shades, 0.0, -down).items))
