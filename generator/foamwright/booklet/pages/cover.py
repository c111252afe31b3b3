"""The cover: what the prop is, how large, for whom, by whom, and what is in the booklet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from foamwright.assembly.naming import the
from foamwright.assembly.records import Pictures, Step
from foamwright.assembly.schedule import schedule
from foamwright.booklet.pages.qr import qr_code
from foamwright.booklet.pictures.figures import picture_block
from foamwright.booklet.words import bending
from foamwright.booklet.words.cutting import pieces_cut
from foamwright.booklet.words.typeset import BODY, SMALL, ColumnItem, beside, moved, paragraph, stack, wrap
from foamwright.drawing.primitives import Text, Tick
from foamwright.flatten.records import Patterns
from foamwright.language import count, duration, length, number_ranges, phrase, roughly, say
from foamwright.layout.records import PackInfo
from foamwright.parts.records import BandBody, Piece, Prop
from foamwright.templates.bevels import bevelled
from foamwright.templates.laid import is_bent

if TYPE_CHECKING:  # the model is heavy, and only its plain records are read here
    from foamwright.model.figure import Fit
    from foamwright.model.stability import Balance

_NAME = 11.0
_SUMMARY = 4.0
_SUMMARY_LINES = 8
_CONTENTS_WIDTH = 0.46
_CODE = 24.0  # mm; a phone reads modules of 0.5 mm and more
_HARD = (40, 12)  # pieces, and darts and bent panels, from which on it is no first project (common practice, no source)


def cover(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    balance: Balance | None,
    tried_on: Fit | None,
    info: PackInfo,
    contents: Sequence[tuple[str, int]],
    bench: Sequence[int],
    width: float,
    height: float,
) -> ColumnItem:
    """A block of exactly `height`: title at the top, pictures in what room is left, facts at the bottom. `bench` are the numbers
    of the pages with the steps."""
    size = say("Size {size}", size=info.size) + (f", {info.size_note}" if info.size_note else "")
    top = stack(
        [
            paragraph(info.name, width, _NAME, bold=True),
            paragraph(say("Assembly booklet"), width, 5.6),
            paragraph(size, width, 4.4, bold=True),
            _summary(prop.design.summary, width),
        ],
        1.6,
    )
    told = stack(
        [
            _fact(name, value, width * (1.0 - _CONTENTS_WIDTH) - 6.0)
            for name, value in (
                *facts(prop, patterns, steps, pictures, balance, tried_on),
                (say("Print"), _to_print(steps, bench)),
            )
        ],
        1.0,
    )
    right = [_contents(contents, width * _CONTENTS_WIDTH)]
    right += [qr_code(prop.design.address, _CODE)] if prop.design.address else []
    bottom = beside(told, stack(right, 4.0), width * (1.0 - _CONTENTS_WIDTH))
    room = height - top.height - bottom.height - 16.0
    drawn = _pictures(pictures, width, room)
    rule = Tick((0.0, -(height - bottom.height - 4.0)), (width, -(height - bottom.height - 4.0)), "page")
    return ColumnItem(
        height,
        (
            *top.items,
            *moved(drawn, 0.0, -(top.height + 6.0 + (room - drawn.height) / 2.0)),
            rule,
            *moved(bottom, 0.0, -(height - bottom.height)),
        ),
    )


def _to_print(steps: Sequence[Step], bench: Sequence[int]) -> str:
    """What a builder needs on paper, of this booklet and of the files beside it."""
    pages = count("page {numbers}", "pages {numbers}", len(bench), numbers=number_ranges(bench))
    if any("bend-gauges" in step.uses for step in steps):
        return say(
            "templates.pdf and gauges.pdf, at 100 %, and of this booklet {pages}, the steps; all else is to be read and can stay "
            "on a screen",
            pages=pages,
        )
    return say(
        "templates.pdf, at 100 %, and of this booklet {pages}, the steps; all else is to be read and can stay on a screen",
        pages=pages,
    )


def _summary(value: str, width: float) -> ColumnItem:
    """As many lines as a cover has room for beside its pictures."""
    lines = wrap(value, width, _SUMMARY)
    if len(lines) > _SUMMARY_LINES:
        lines = [*lines[: _SUMMARY_LINES - 1], lines[_SUMMARY_LINES - 1].rsplit(" ", 1)[0] + " ..."]
    return paragraph(" ".join(lines), width, _SUMMARY)


def _counted(pieces: int, letters: int) -> str:
    told = count("{n} piece", "{n} pieces", pieces)
    return count("{pieces} with {n} part letter", "{pieces} with {n} part letters", letters, pieces=told)


def facts(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    balance: Balance | None,
    tried_on: Fit | None,
) -> list[tuple[str, str]]:
    design = prop.design
    pieces = pieces_cut(patterns)
    rows = []
    if pictures.overall:
        size = dict(zip(("long", "wide", "high"), map(length, pictures.overall)))
        said = (
            say("each of the {n} is {long} long, {wide} wide, {high} high", n=pictures.alike, **size)
            if pictures.alike > 1
            else say("{long} long, {wide} wide, {high} high", **size)
        )
        rows.append((say("Overall"), said))
    if tried_on is not None:
        rows.append((say("Fits"), tried_on.figure) if tried_on.fits else (say("Made for"), _too_large(prop, tried_on)))
    if balance and balance.stability and not balance.stability.stands:
        rows.append((say("Stands"), say("not by itself: make a stand, or lean it against something")))
    plan = schedule(steps)
    work, whole = duration(plan.hands_on), roughly(plan.shortest)
    rows += [
        (say("Parts"), _counted(pieces, len(prop.pieces))),
        (
            say("Work"),
            say(
                "{n} steps: about {work} of hands-on time and {wait} of drying. Go on with another step while one dries, and it "
                "takes about {whole} from start to end",
                n=len(steps),
                work=work,
                wait=roughly(plan.waiting),
                whole=whole,
            ),
        ),
        (say("Difficulty"), difficulty(prop, patterns)),
        (say("Version"), design.version),
        (say("Author"), design.author),
        (say("Licence"), design.licence),
        (say("Address"), design.address),
    ]
    return [(name, value) for name, value in rows if value]


def _too_large(prop: Prop, tried_on: Fit) -> str:
    if tried_on.contacts or tried_on.entry is None:
        return say("{figure}, which does not fit at this size: it runs into the foam", figure=tried_on.figure)
    first = prop.piece(tried_on.entry.blocks[0].part)
    return say(
        "{figure}, which does not get in at this size; in its way: {part}", figure=tried_on.figure, part=the(first)
    )


LEVELS = (phrase("easy"), phrase("medium"), phrase("demanding"))


def difficulty(prop: Prop, patterns: Patterns) -> str:
    """How hard it is, and what makes it so."""
    level, reasons = effort(prop, patterns)
    return f"{say(level)}: {', '.join(reasons)}"


def effort(prop: Prop, patterns: Patterns) -> tuple[str, tuple[str, ...]]:
    """One of LEVELS, and what makes it so, in words."""
    pieces = pieces_cut(patterns)
    darts = sum(len(p.darts) * p.piece.quantity for p in patterns.patterns)
    bevels = sum(map(bevelled, patterns.patterns))
    bent = sum(bending.is_curved(p.piece) for p in patterns.patterns)
    reasons = [count("{n} piece", "{n} pieces", pieces)]
    reasons += [count("{n} dart", "{n} darts", darts)] if darts else []
    reasons += [count("{n} part with bevelled edges", "{n} parts with bevelled edges", bevels)] if bevels else []
    curved = sum(p.piece.quantity for p in patterns.patterns if bending.is_curved(p.piece) or _is_bent_strip(p.piece))
    reasons += [count("{n} curved piece", "{n} curved pieces", curved)] if curved else []
    marks = (pieces > _HARD[0]) + (darts + bent > _HARD[1]) + bool(bevels)
    return LEVELS[min(marks, 2)], tuple(reasons)


def _is_bent_strip(piece: Piece) -> bool:
    return isinstance(piece.body, BandBody) and is_bent(piece.body)


def _fact(name: str, value: str, width: float) -> ColumnItem:
    return beside(paragraph(name, 22.0, BODY, bold=True), paragraph(value, width - 22.0, BODY), 22.0)


def _contents(contents: Sequence[tuple[str, int]], width: float) -> ColumnItem:
    rows = [
        beside(
            paragraph(title, width - 12.0, BODY),
            ColumnItem(0.0, (Text((width, -0.98 * BODY), str(number), BODY, "note", "end", link=f"chapter {title}"),)),
            0.0,
        )
        for title, number in contents
    ]
    return stack(rows, 1.0)


def _pictures(pictures: Pictures, width: float, height: float) -> ColumnItem:
    """The finished prop, its views one above the other or side by side, whichever shows them larger."""
    views = pictures.finished
    if not views:
        return ColumnItem(0.0, ())
    gap = 6.0
    sizes = np.array([np.subtract(view.bounds[2:], view.bounds[:2]) for view in views])
    upon = (width, (height - gap * (len(views) - 1)) / len(views))
    beside = ((width - gap * (len(views) - 1)) / len(views), height)
    cell = max((beside, upon), key=lambda room: float((np.array(room) / sizes).min()))
    items: list = []
    for index, view in enumerate(views):
        word = paragraph(view.note, cell[0], SMALL)
        drawn = stack((picture_block(view, cell[0], cell[1] - word.height - 1.0), word), 1.0)
        left, top = (0.0, index * (cell[1] + gap)) if cell == upon else (index * (cell[0] + gap), 0.0)
        items += moved(drawn, left, -(top + (cell[1] - drawn.height) / 2.0))
    return ColumnItem(height, tuple(items))
