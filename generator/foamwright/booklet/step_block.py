"""One step of the assembly as a block: number, title, picture, parts, text, glue, time, cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.booklet.cautions import CAUTIONS
from foamwright.booklet.figures import INSET, inset_rows, lettered_block, warning_sign
from foamwright.booklet.records import Inset, Picture, Step
from foamwright.booklet.step_pictures import PRINTED
from foamwright.booklet.supplies import named, ready
from foamwright.booklet.typeset import (
    BODY,
    BULLET_INDENT,
    SMALL,
    ColumnItem,
    beside,
    bullet,
    moved,
    paragraph,
    stack,
    wrap,
)
from foamwright.drawing.primitives import Path, Text
from foamwright.language import count, duration, listed, phrase, say
from foamwright.parts.records import Piece

_BADGE = 9.0
_TITLE = 4.4
_GAP = 5.0
_GLUE = {"contact": phrase("contact cement"), "instant": phrase("instant glue"), "": phrase("none")}
_CAUTION_OF = {"contact-cement": "contact", "instant-glue": "instant"}
_ROW_GAP = 0.9
_LINES = 12  # longer paragraphs of a design's own notes are broken here, so that they can go over a page
_MANY_PARTS = 8  # a step of more parts does not name them again


SCALES = (1.25, 1.12, 1.0, 0.86, 0.74, 0.63)  # of a step's picture, so that steps that are near to it share a page


def step_blocks(
    step: Step,
    pieces: Mapping[str, Piece],
    picture: Picture | None,
    insets: Sequence[Inset],
    safety_page: int,
    width: float,
    height: float,
) -> tuple[tuple[ColumnItem, ...], ...]:
    """The blocks of a step, each as large as it may be and then ever smaller: a whole step is one block, or several
    where even the smallest would be higher than `height`, a page.

    What the step adds is drawn in full colour in its picture; insets stand where they take least room.
    """
    heading = _heading(step, width)
    box = (_caution_box(step, safety_page, width),) if step.cautions else ()
    wholes = [
        stack((heading, _body(step, pieces, picture, insets, width, scale), *box), 2.0)
        for scale in (SCALES if picture else SCALES[:1])
    ]
    fitting = tuple(whole for whole in wholes if whole.height <= height)
    if fitting:
        return (fitting,)
    drawn = [lettered_block(picture, *PRINTED)] if picture else []
    drawn += [inset_rows(insets, width)] if insets else []
    portions = _portions(_text(step, pieces, width), height / 3.0)
    return tuple((block,) for block in (stack((heading, *drawn), 2.0), *portions, *box))


def _body(
    step: Step,
    pieces: Mapping[str, Piece],
    picture: Picture | None,
    insets: Sequence[Inset],
    width: float,
    scale: float,
) -> ColumnItem:
    """Picture, insets and words in the arrangement that is lowest: insets below the picture, below the words, or in a row
    below both."""
    left = scale * PRINTED[0] if picture else INSET[0]
    beside_it = stack(_text(step, pieces, width - left - _GAP), _ROW_GAP)
    drawn = [lettered_block(picture, left, scale * PRINTED[1])] if picture else []
    options = []
    if drawn or insets:
        column = stack([*drawn, *([inset_rows(insets, left)] if insets else [])], 3.0)
        options.append(beside(column, beside_it, left + _GAP))
    if drawn and insets and width - left - _GAP > INSET[0]:
        right = stack([beside_it, inset_rows(insets, width - left - _GAP)], 3.0)
        options.append(beside(drawn[0], right, left + _GAP))
    if drawn:
        options.append(stack([*drawn, stack(_text(step, pieces, width), _ROW_GAP)], 3.0))
    if insets:
        above = beside(drawn[0], beside_it, left + _GAP) if drawn else stack(_text(step, pieces, width), _ROW_GAP)
        options.append(stack([above, inset_rows(insets, width)], 3.0))
    return min(options, key=lambda block: block.height, default=stack(_text(step, pieces, width), _ROW_GAP))


def _heading(step: Step, width: float) -> ColumnItem:
    left = _BADGE + 3.0
    title = paragraph(step.title, width - left, _TITLE, bold=True)
    facts = [
        say("Glue: {glue}", glue=glues(step)),
        say("hands-on time: about {time}", time=duration(step.minutes)),
    ]
    if step.wait:
        facts.append(waiting(step))
    if step.waits_for:
        facts.append(after(step))
    text = stack([title, paragraph("; ".join(facts), width - left, SMALL)], 0.3)
    return beside(_badge(step.number), text, left)


def waiting(step: Step) -> str:
    """How long a step keeps the hands free, and what for."""
    time = duration(step.wait)
    if step.glue == "contact":
        return say("both coats dry before you press: {time}", time=time)
    if step.glue == "instant":
        return say("then hold still: {time}", time=time)
    return say("drying: {time}", time=time)


def glues(step: Step) -> str:
    """What a step glues with: where it takes both, the one that needs the longer wait first."""
    used = [glue for key, glue in _CAUTION_OF.items() if key in step.cautions]
    return listed([say(_GLUE[glue]) for glue in used or [step.glue]])


def after(step: Step) -> str:
    """The steps that must be done before it."""
    numbers = listed([str(n) for n in step.waits_for])
    return count("after step {steps}", "after steps {steps}", len(step.waits_for), steps=numbers)


def _badge(number: int) -> ColumnItem:
    turn = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    half = _BADGE / 2.0
    ring = half * np.column_stack([1.0 + np.cos(turn), np.sin(turn) - 1.0])
    size = 4.6
    digits = Text((half, -half - 0.36 * size), str(number), size, "note", "middle", bold=True)
    return ColumnItem(_BADGE, (Path(ring, "tick", True, "#f2f2f2"), digits))


def _text(step: Step, pieces: Mapping[str, Piece], width: float) -> list[ColumnItem]:
    blocks = []
    if len(step.parts) <= _MANY_PARTS:
        names = "; ".join(_named(pieces[part]) for part in step.parts)
        blocks.append(paragraph(names, width, SMALL, bold=True))
    extra = ready(step.uses)
    if extra:
        tools = "; ".join(named(key) for key in extra)
        blocks.append(paragraph(say("Have ready: {things}.", things=tools), width, SMALL))
    for line in step.instructions:
        lines = wrap(line, width - BULLET_INDENT * BODY, BODY)
        blocks += [bullet(" ".join(lines[i : i + _LINES]), width) for i in range(0, len(lines), _LINES)]
    return blocks


def _portions(rows: Sequence[ColumnItem], height: float) -> list[ColumnItem]:
    """Rows stacked into blocks that are no higher than `height`, as far as single rows allow."""
    portions: list[list[ColumnItem]] = []
    filled = height
    for row in rows:
        if filled + row.height > height:
            portions.append([])
            filled = 0.0
        portions[-1].append(row)
        filled += row.height + _ROW_GAP
    return [stack(portion, _ROW_GAP) for portion in portions]


def _named(piece: Piece) -> str:
    copies = len(piece.placements)
    return f"{piece.label} {piece.name}" + (f" x {copies}" if copies > 1 else "")


def _caution_box(step: Step, safety_page: int, width: float) -> ColumnItem:
    pad, sign = 1.8, 5.0
    left = 2.0 * pad + sign
    lines = [f"{say(CAUTIONS[key].title)}: {say(CAUTIONS[key].brief)}" for key in step.cautions]
    lines[-1] += " " + say("In full on page {page}.", page=safety_page)
    text = stack([paragraph(line, width - left - pad, SMALL) for line in lines], 0.4)
    height = max(text.height, sign) + 2.0 * pad
    frame = Path(np.array([[0, 0], [width, 0], [width, -height], [0, -height]]), "page", True, "#fdf6dc")
    sign_block = warning_sign(sign)
    mark = moved(sign_block, pad, -(height - sign_block.height) / 2.0)
    return ColumnItem(height, (frame, *mark, *moved(text, left, -(height - text.height) / 2.0)))
