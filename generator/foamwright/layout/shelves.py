"""Drawings with their words on shelves, and shelves on pages. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.drawing.document import Document, Page
from foamwright.drawing.primitives import Drawing, Path, Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import fitted, set_line
from foamwright.language import language, say
from foamwright.layout.furniture import PRINT_MARGIN
from foamwright.layout.records import PackInfo, Paper

_GAP = 5.0
_TITLE = 22.0  # height of a page's title
_FOOT = 6.0  # and of its number


@dataclass(frozen=True, eq=False)
class Cell:
    """A drawing with its words: origin at the upper left corner."""

    part: str
    width: float
    height: float
    items: tuple[Primitive, ...]


@dataclass(frozen=True)
class Headings:
    """What the sheets of a kind are called: the `title` on each page, the `name` of the file, its `subject`, and `holds`, by
    part what a page that shows it is called by, after `of`."""

    title: str
    name: str
    subject: str
    of: str
    holds: dict[str, str]


def room(paper: Paper) -> tuple[float, float]:
    """Width and height in mm for what stands on a page below its title."""
    return paper.width - 2 * PRINT_MARGIN, paper.height - 2 * PRINT_MARGIN - _TITLE - _FOOT


def on_pages(
    cells: Sequence[Cell], head: Cell, foot: Cell, paper: Paper, info: PackInfo, headings: Headings
) -> Document:
    """All cells in as few pages as shelves take, each below the same `head` and above the same `foot`."""
    width, high = room(paper)
    top = paper.height - PRINT_MARGIN - _TITLE
    pages = []
    for shelves in _paged(_shelves(cells, width), high - head.height - foot.height):
        drawn, y = [*translate(Drawing(head.items), PRINT_MARGIN, top).items], top - head.height
        for shelf in shelves:
            x = PRINT_MARGIN
            for cell in shelf:
                drawn += translate(Drawing(cell.items), x, y).items
                x += cell.width + _GAP
            y -= _height(shelf) + _GAP
        drawn += translate(Drawing(foot.items), PRINT_MARGIN, PRINT_MARGIN + foot.height).items
        pages.append(([cell.part for shelf in shelves for cell in shelf], drawn))
    finished = []
    for number, (parts, drawn) in enumerate(pages, start=1):
        parts = list(dict.fromkeys(parts))
        title = say(headings.of, parts=", ".join(headings.holds[part] for part in parts))
        drawing = Drawing((*drawn, *_frame(paper, info, headings.title, number, len(pages))))
        finished.append(Page(number, paper.width, paper.height, title, tuple(parts), None, None, drawing))
    return Document(headings.name, headings.subject, paper.name, tuple(finished), info.author, language())


def _shelves(cells: Sequence[Cell], width: float) -> list[list[Cell]]:
    """Each cell on the first shelf that has room beside what stands there, else on the next."""
    shelves: list[list[Cell]] = []
    for cell in cells:
        for shelf in shelves:
            if sum(c.width + _GAP for c in shelf) + cell.width <= width:
                shelf.append(cell)
                break
        else:
            shelves.append([cell])
    return shelves


def _height(shelf: Sequence[Cell]) -> float:
    return max(cell.height for cell in shelf)


def _paged(shelves: Sequence[list[Cell]], room: float) -> list[list[list[Cell]]]:
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


def _frame(paper: Paper, info: PackInfo, heading: str, number: int, total: int) -> list[Primitive]:
    """Title and foot of a page."""
    left, right, high = PRINT_MARGIN, paper.width - PRINT_MARGIN, paper.height - PRINT_MARGIN
    title = fitted(heading, right - left, 7.0, bold=True)
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
