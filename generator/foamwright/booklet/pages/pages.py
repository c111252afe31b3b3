"""The booklet as pages: cover, safety, tools, shopping list, parts, steps, fit and seams."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from foamwright.assembly.records import Pictures, Step
from foamwright.booklet.pages.contents import Contents, contents
from foamwright.booklet.pages.cover import cover
from foamwright.booklet.pages.flowing import Placed, Section, flow
from foamwright.booklet.pages.prop_pages import whole_prop
from foamwright.booklet.pages.setting import section
from foamwright.booklet.pages.small_pages import small_templates
from foamwright.booklet.pages.step_block import step_block
from foamwright.booklet.words.typeset import moved
from foamwright.drawing.document import Document, Page, Place
from foamwright.drawing.primitives import Drawing, Path, Primitive, Text, Tick
from foamwright.flatten.records import Patterns
from foamwright.language import language, say
from foamwright.layout.records import FoamSheet, PackInfo, Paper
from foamwright.parts.records import Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance

SIDE = 16.0  # margins in mm
TOP = 22.0
BOTTOM = 26.0
_CHECK_SQUARE = 10.0  # side of the measured square
_SAFETY_PAGE = 2
_STEPS_HEADED = 10.0  # of the page that the steps begin on, taken by their heading


def booklet(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    paper: Paper,
    info: PackInfo,
    fit: Fit | None = None,
    interferences: Sequence[Interference] = (),
    balance: Balance | None = None,
    sheets: Sequence[FoamSheet] = (),
    templates: Document | None = None,
) -> Document:
    """The whole booklet on upright `paper`. `fit` is None where the design has no figure to measure against.

    `sheets` are those that the pieces were laid on, for the shopping list; `templates` are shown small.
    """
    width = paper.width - 2.0 * SIDE
    height = paper.height - TOP - BOTTOM
    told = contents(prop, patterns, steps, pictures, fit, interferences, balance, sheets)
    columns = _columns(prop, patterns, steps, pictures, told, templates, width, height)
    total = len(columns) + 1
    listed = _contents(columns)
    labels = {piece.id: piece.label for piece in prop.pieces}
    bench = [n for n, column in enumerate(columns, start=2) if any(p.section == say("Assembly") for p in column)]
    front = cover(prop, patterns, steps, pictures, balance, fit, info, listed, bench, width, height)
    pages = [_page(1, total, paper, info, say("Cover"), (), moved(front, SIDE, paper.height - TOP))]
    pages[0] = replace(pages[0], places=(Place("cover", paper.height, say("Cover")),))
    for number, column in enumerate(columns, start=2):
        items = [item for placed in column for item in moved(placed.block, SIDE, paper.height - TOP - placed.top)]
        parts = tuple(dict.fromkeys(part for placed in column for part in placed.parts))
        page = _page(number, total, paper, info, _title(column), parts, items)
        pages.append(replace(page, places=_places(column, labels, paper.height - TOP)))
    subject = say("Assembly booklet, version {version}, size {size}", version=info.version, size=info.size)
    title = say("{name}: assembly booklet", name=info.name)
    return Document(title, subject, paper.name, tuple(pages), info.author, language())


def _columns(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    told: Contents,
    templates: Document | None,
    width: float,
    height: float,
) -> list[list[Placed]]:
    """The content of every page after the cover. Safety comes first, and steps refer to its page."""
    pieces = {piece.id: piece for piece in prop.pieces}
    blocks = [
        step_block(
            step,
            pieces,
            pictures.steps.get(step.number),
            pictures.insets.get(step.number, ()),
            _SAFETY_PAGE,
            width,
            height - _STEPS_HEADED,
        )
        for step in steps
    ]
    labels = {piece.id: piece.label for piece in prop.pieces}
    small = () if templates is None else (small_templates(templates, labels, width, height),)
    sections = (
        *(section(chapter, width) for chapter in told.before),
        whole_prop(pictures, width, height),
        *(section(chapter, width) for chapter in told.making),
        *small,
        Section(say("Assembly"), tuple(blocks), gap=9.0),
        *(section(chapter, width) for chapter in told.after),
    )
    return flow([one for one in sections if one.blocks], width, height)


def _contents(columns: Sequence[Sequence[Placed]]) -> list[tuple[str, int]]:
    """Each section with the page it begins on."""
    first_pages: dict[str, int] = {}
    for number, column in enumerate(columns, start=2):
        for placed in column:
            first_pages.setdefault(placed.section, number)
    return list(first_pages.items())


def _places(column: Sequence[Placed], labels: Mapping[str, str], top: float) -> tuple[Place, ...]:
    """Chapters, steps, and the rows of the list of parts."""
    places = []
    for placed in column:
        if placed.opens:
            places.append(Place(f"chapter {placed.section}", top - placed.top, placed.section))
        elif placed.name:
            places.append(Place(f"step {placed.name}", top - placed.top, placed.name, 1))
        elif placed.section == say("Parts"):
            places += [Place(f"part {labels[part]}", top - placed.top) for part in placed.parts]
    return tuple(places)


def _title(column: Sequence[Placed]) -> str:
    return ", ".join(dict.fromkeys(placed.section for placed in column))


def _page(
    number: int,
    total: int,
    paper: Paper,
    info: PackInfo,
    title: str,
    parts: tuple[str, ...],
    items: Iterable[Primitive],
) -> Page:
    drawing = Drawing((*_furniture(number, total, paper, info), *items))
    return Page(number, paper.width, paper.height, title, parts, None, None, drawing)


def _furniture(number: int, total: int, paper: Paper, info: PackInfo) -> list[Primitive]:
    """Rule and names at the head and foot, and the square that shows whether a print is true to size."""
    left, right = SIDE, paper.width - SIDE
    head, foot = paper.height - TOP + 5.0, BOTTOM - 4.0
    low = foot - 1.5 - _CHECK_SQUARE
    square = np.array(
        [
            [right - _CHECK_SQUARE, low],
            [right, low],
            [right, low + _CHECK_SQUARE],
            [right - _CHECK_SQUARE, low + _CHECK_SQUARE],
        ]
    )
    pack = say("{name}, version {version}, size {size}", name=info.name, version=info.version, size=info.size)
    size = 2.8
    return [
        Text((left, head + 1.6), pack, size, "page"),
        Text((right, head + 1.6), say("page {n} of {total}", n=number, total=total), size, "page", "end"),
        Tick((left, head), (right, head), "page"),
        Tick((left, foot), (right, foot), "page"),
        Text(
            (left, low + 0.5),
            say("The square is for measuring: it tells whether this page was printed at 100 %."),
            size,
            "page",
        ),
        Path(square, "page", True),
        Text(
            (right - _CHECK_SQUARE - 1.6, low + 0.5),
            say("{size} mm square", size=f"{_CHECK_SQUARE:.0f}"),
            size,
            "page",
            "end",
        ),
    ]
