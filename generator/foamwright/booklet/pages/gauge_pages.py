"""The sheets of bend gauges: the curve of each bent panel at true size, to be cut from card. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.booklet.words.gauging import WIDEST, gauges, held, turned
from foamwright.drawing.document import Document
from foamwright.drawing.primitives import Path, Primitive, Text, Tick
from foamwright.drawing.typesetting import arrow_block, fitted, set_line, wrap
from foamwright.flatten.bend_gauges import BendGauge
from foamwright.flatten.records import Pattern
from foamwright.language import phrase, say
from foamwright.layout.furniture import PAGE_SQUARE, page_square
from foamwright.layout.records import PackInfo, Paper
from foamwright.layout.shelves import Cell, Headings, on_pages, room

_ROW = 4.0  # between two lines of them
_CARD = 19.0  # of a gauge below the lowest place of its curve, for its words
_TITLE, _TYPE, _LINE = 4.0, 2.6, 3.6
_MIDDLE = 5.0  # length of the mark in the middle
_ARROW = 14.0
_AROUND, _ALONG = phrase("across the bend line"), phrase("along the bend line")


def gauge_sheets(patterns: Sequence[Pattern], paper: Paper, info: PackInfo) -> Document | None:
    """The gauges of all panels that are bent, on upright `paper`; None if there is no such panel."""
    width, _ = room(paper)
    gauged = gauges(patterns, min(WIDEST, width))
    cells = [
        _cell(pattern, gauge, say(which))
        for pattern in patterns
        if pattern.piece.id in gauged
        for gauge, which in zip((gauged[pattern.piece.id].around, gauged[pattern.piece.id].along), (_AROUND, _ALONG))
        if gauge is not None
    ]
    if not cells:
        return None
    headings = Headings(
        say("Bend gauges"),
        say("{name}: bend gauges", name=info.name),
        say("Bend gauges: size {size}, version {version}", size=info.size, version=info.version),
        phrase("Bend gauges of {parts}"),
        {p.piece.id: p.piece.label for p in patterns},
    )
    foot = Cell("", PAGE_SQUARE, PAGE_SQUARE, tuple(page_square((0.0, -PAGE_SQUARE))))
    return on_pages(cells, _head(width), foot, paper, info, headings)


def _head(width: float) -> Cell:
    words = say(
        "True size: print at 100 %, and measure the square below. Stick the sheet on card and cut each gauge out. Hold it "
        "upright on the drawn face of the bent piece, its mark on the middle of the piece or where the gauge tells, across the "
        "bend line of the template or along it. Gaps of up to 2 mm do no harm."
    )
    lines = wrap(words, width, _TYPE)
    items = tuple(Text((0.0, -_TYPE - _LINE * k), line, _TYPE) for k, line in enumerate(lines))
    return Cell("", width, _LINE * len(lines) + 6.0, items)


def _cell(pattern: Pattern, gauge: BendGauge, which: str) -> Cell:
    """A gauge with its curve upwards, and its words below that."""
    piece = pattern.piece
    low, high = gauge.curve.min(axis=0), gauge.curve.max(axis=0)
    curve = gauge.curve - (low[0], high[1])
    place = held(pattern, gauge)
    width, base = float(high[0] - low[0]), float(low[1] - high[1]) - _CARD - bool(place) * _ROW
    middle = np.array([-low[0], np.interp(-low[0], *curve.T)])
    items: list[Primitive] = [
        Path(np.vstack([curve, [width, base], [0.0, base]]), "cut", closed=True),
        Tick((float(middle[0]), float(middle[1])), (float(middle[0]), float(middle[1]) - _MIDDLE), "tick"),
    ]
    text = base + bool(place) * _ROW
    title = fitted(f"{piece.label}  {which}", width - 6.0, _TITLE, bold=True)
    items += [set_line(title, 3.0, text + 8.0), set_line(fitted(piece.name, width - 6.0, _TYPE), 3.0, text + 3.5)]
    if place:
        items.append(set_line(fitted(place, width - 6.0, _TYPE), 3.0, base + 3.5))
    word, right = turned(pattern, gauge)
    if word:
        arrow = arrow_block(word, _ARROW, _TYPE, not right)
        at = float(middle[0]) if right else float(middle[0]) - arrow.width
        items += arrow.hung(at, text + 2.0 + arrow.height)
    return Cell(piece.id, width, -base, tuple(items))
