"""The strain sheets: panels that do not develop exactly, shaded by strain, several to a page at stated scales.

Scales are those of ISO 5455. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.drawing.document import Document, Page
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Drawing, Path, Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import fitted, set_line, wrap
from foamwright.flatten.records import Pattern
from foamwright.flatten.strain import EXPLAINED
from foamwright.language import language, phrase, say
from foamwright.layout.furniture import PRINT_MARGIN
from foamwright.layout.records import PackInfo, Paper
from foamwright.templates.strain_sheet import legend, strain_chart, strain_facts

EXACT = 0.0005  # strain that would be printed as 0.0 %: such a panel develops exactly
_SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)  # 1:1, 1:2 and so on
_TALLEST = 0.42  # share of the page's room that a chart may take
_GAP = 5.0
_UNDER, _BESIDE = 3.0, 6.0  # between a chart and its facts
_TYPE, _LINE = 2.6, 3.6
_FOOT = 6.0  # height of the page number
_HEAD = 5.0  # height of a panel's title
_WORDS = phrase(
    "Each panel is shaded by its strain as a fraction of the limit; beyond the limit it is hatched. A ring with a cross is "
    "the worst spot. These drawings are not to be cut by."
)


@dataclass(frozen=True, eq=False)
class _Cell:
    """A panel with its words: origin at the upper left corner."""

    part: str
    width: float
    height: float
    items: tuple[Primitive, ...]


def strain_sheets(patterns: Sequence[Pattern], paper: Paper, info: PackInfo) -> Document | None:
    """The sheets of all panels whose foam must give, on upright `paper`; None if there is no such panel."""
    strained = [p for p in patterns if p.mesh is not None and p.strain.max >= EXACT]
    if not strained:
        return None
    width = paper.width - 2 * PRINT_MARGIN
    head = _head(width)
    top = paper.height - PRINT_MARGIN - 22.0
    room = top - PRINT_MARGIN - head.height - _FOOT
    cells = [_cell(pattern, width, room) for pattern in strained]
    pages = []
    for shelves in _paged(_shelves(cells, width), room):
        drawn, y = [*translate(Drawing(head.items), PRINT_MARGIN, top).items], top - head.height
        for shelf in shelves:
            x = PRINT_MARGIN
            for cell in shelf:
                drawn += translate(Drawing(cell.items), x, y).items
                x += cell.width + _GAP
            y -= _height(shelf) + _GAP
        pages.append(([cell.part for shelf in shelves for cell in shelf], drawn))
    labels = {p.piece.id: p.piece.label for p in strained}
    finished = []
    for number, (parts, drawn) in enumerate(pages, start=1):
        title = say("Strain of {parts}", parts=", ".join(labels[part] for part in parts))
        drawing = Drawing((*drawn, *_frame(paper, info, number, len(pages))))
        finished.append(Page(number, paper.width, paper.height, title, tuple(parts), None, None, drawing))
    subject = say("Strain of the panels: size {size}, version {version}", size=info.size, version=info.version)
    return Document(
        say("{name}: strain", name=info.name), subject, paper.name, tuple(finished), info.author, language()
    )


def _cell(pattern: Pattern, width: float, room: float) -> _Cell:
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
    return _Cell(pattern.piece.id, across, down - top + 1.0, tuple(items))


def _shelves(cells: Sequence[_Cell], width: float) -> list[list[_Cell]]:
    """Each cell on the first shelf that has room beside what stands there, else on the next."""
    shelves: list[list[_Cell]] = []
    for cell in cells:
        for shelf in shelves:
            if sum(c.width + _GAP for c in shelf) + cell.width <= width:
                shelf.append(cell)
                break
        else:
            shelves.append([cell])
    return shelves


def _height(shelf: Sequence[_Cell]) -> float:
    return max(cell.height for cell in shelf)


def _paged(shelves: Sequence[list[_Cell]], room: float) -> list[list[list[_Cell]]]:
    """The shelves on pages, the highest first, each on the first page with room; then in order again."""
    pages: list[list[int]] = []
    for k in sorted(range(len(shelves)), key=lambda k: -_height(shelves[k])):
        for page in pages:
            if sum(_height(shelves[n]) + _GAP for n in page) + _height(shelves[k]) <= room:
                page.append(k)
                break
        else:
            pages.append([k])
    return [[shelves[k] for k in page] for page in sorted(map(sorted, pages))]


def _head(width: float) -> _Cell:
    """How to read the sheet, with the shades."""
    lines = wrap(f"{say(EXPLAINED)} {say(_WORDS)}", width, _TYPE)
    items: list[Primitive] = [Text((0.0, -_TYPE - _LINE * k), line, _TYPE) for k, line in enumerate(lines)]
    shades, height = legend(width)
    down = _LINE * len(lines) + 2.0
    return _Cell("", width, down + height + 4.0, (*items, *translate(shades, 0.0, -down).items))


def _frame(paper: Paper, info: PackInfo, number: int, total: int) -> list[Primitive]:
    """Title and foot of a page."""
    left, right, high = PRINT_MARGIN, paper.width - PRINT_MARGIN, paper.height - PRINT_MARGIN
    title = fitted(say("How far the foam must give"), right - left, 7.0, bold=True)
    pack = say("{name}, version {version}, size {size}", name=info.name, version=info.version, size=info.size)
    about = fitted(pack, right - left, 3.2)
    rule = np.array([[left, high - 18.0], [right, high - 18.0]])
    return [
        set_line(title, left, high - 7.0),
        set_line(about, left, high - 14.0),
        Path(rule, "page"),
        Text(
            (right, PRINT_MARGIN + 1.0),
            say("page {n} of {total}", n=number, total=total),
            3.2,
            "page",
            "end",
            bold=True,
        ),
    ]
