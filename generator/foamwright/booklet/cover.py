"""The cover: what the prop is, how large, for whom, by whom, and what is in the booklet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.booklet.figures import picture_block
from foamwright.booklet.records import Pictures, Step
from foamwright.booklet.schedule import schedule
from foamwright.booklet.typeset import BODY, Block, beside, moved, paragraph, stack, wrap
from foamwright.drawing.primitives import Path, Text, Tick
from foamwright.language import duration
from foamwright.layout.records import PackInfo
from foamwright.parts.records import Prop

_NAME = 11.0
_SUMMARY = 4.0
_SUMMARY_LINES = 8
_CONTENTS_WIDTH = 0.46


def cover(
    prop: Prop,
    steps: Sequence[Step],
    pictures: Pictures,
    info: PackInfo,
    contents: Sequence[tuple[str, int]],
    width: float,
    height: float,
) -> Block:
    """A block of exactly `height`: title at the top, pictures in what room is left, facts at the bottom."""
    size = f"Size {info.size}" + (f", {info.size_note}" if info.size_note else "")
    top = stack(
        [
            paragraph(info.name, width, _NAME, bold=True),
            paragraph("Assembly booklet", width, 5.6),
            paragraph(size, width, 4.4, bold=True),
            _summary(prop.design.summary, width),
        ],
        1.6,
    )
    facts = stack(
        [_fact(name, value, width * (1.0 - _CONTENTS_WIDTH) - 6.0) for name, value in _facts(prop, steps, pictures)],
        1.0,
    )
    bottom = beside(facts, _contents(contents, width * _CONTENTS_WIDTH), width * (1.0 - _CONTENTS_WIDTH))
    room = height - top.height - bottom.height - 16.0
    drawn = _pictures(pictures, width, room)
    rule = Tick((0.0, -(height - bottom.height - 4.0)), (width, -(height - bottom.height - 4.0)), "page")
    return Block(
        height,
        (
            *top.items,
            *moved(drawn, 0.0, -(top.height + 6.0 + (room - drawn.height) / 2.0)),
            rule,
            *moved(bottom, 0.0, -(height - bottom.height)),
        ),
    )


def _summary(value: str, width: float) -> Block:
    """As many lines as a cover has room for beside its pictures."""
    lines = wrap(value, width, _SUMMARY)
    if len(lines) > _SUMMARY_LINES:
        lines = [*lines[: _SUMMARY_LINES - 1], lines[_SUMMARY_LINES - 1].rsplit(" ", 1)[0] + " ..."]
    return paragraph(" ".join(lines), width, _SUMMARY)


def _facts(prop: Prop, steps: Sequence[Step], pictures: Pictures) -> list[tuple[str, str]]:
    design = prop.design
    pieces = sum(piece.quantity for piece in prop.pieces)
    facts = []
    if pictures.overall:
        length, width, height = pictures.overall
        facts.append(("Overall", f"{length:.0f} mm long, {width:.0f} mm wide, {height:.0f} mm high"))
    if design.figure:
        facts.append(("Fits", design.figure["name"]))
    plan = schedule(steps)
    work, drying = duration(plan.hands_on), duration(plan.shortest)
    facts += [
        ("Parts", f"{pieces} pieces of {len(prop.pieces)} kinds"),
        ("Work", f"{len(steps)} steps, about {work} with your hands; {drying} from start to end with all drying"),
        ("Version", design.version),
        ("Author", design.author),
        ("Licence", design.licence),
    ]
    return [(name, value) for name, value in facts if value]


def _fact(name: str, value: str, width: float) -> Block:
    return beside(paragraph(name, 22.0, BODY, bold=True), paragraph(value, width - 22.0, BODY), 22.0)


def _contents(contents: Sequence[tuple[str, int]], width: float) -> Block:
    rows = [
        beside(
            paragraph(title, width - 12.0, BODY),
            Block(0.0, (Text((width, -0.98 * BODY), str(number), BODY, "note", "end"),)),
            0.0,
        )
        for title, number in contents
    ]
    return stack(rows, 1.0)


def _pictures(pictures: Pictures, width: float, height: float) -> Block:
    """The finished prop, its views one above the other in equal frames."""
    views = pictures.finished
    if not views:
        return Block(0.0, ())
    gap = 4.0
    cell = (height - gap * (len(views) - 1)) / len(views)
    items: list = []
    for index, view in enumerate(views):
        top = index * (cell + gap)
        drawn = picture_block(view, width - 10.0, cell - 10.0)
        frame = np.array([[0, -top], [width, -top], [width, -top - cell], [0, -top - cell]])
        items.append(Path(frame, "page", True))
        items += moved(drawn, 5.0, -(top + (cell - drawn.height) / 2.0))
    return Block(height, tuple(items))
