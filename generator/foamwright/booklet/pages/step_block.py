"""One step of the assembly as a block: number, title, cautions, picture, parts and text, glue, time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.records import Inset, Picture, Step
from foamwright.booklet.pages.cautions import CAUTIONS
from foamwright.booklet.pages.flowing import Block, Setting
from foamwright.booklet.pictures.figures import INSET, inset_rows, lettered_block, rows_of_insets, warning_sign
from foamwright.booklet.pictures.lettering import PRINTED, printed_in
from foamwright.booklet.words.supplies import ready
from foamwright.booklet.words.typeset import (
    BODY,
    NUMBER_INDENT,
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
from foamwright.language import count, duration, listed, phrase, roughly, say
from foamwright.parts.records import Piece

_BADGE = 9.0
_TITLE = 4.4
_GAP = 5.0
_GLUE = {"contact": phrase("contact cement"), "instant": phrase("instant glue"), "": phrase("none")}
_CAUTION_OF = {"contact-cement": "contact", "instant-glue": "instant"}
_ROW_GAP = 0.9
_ABOVE_HEAD = 1.0
_LINES = 12  # longer paragraphs of a design's own notes are broken here, so that they can go over a page
_MANY_PARTS = 8  # a step of more parts does not name them again


# Of a step's picture beside the size that its parts ask for, and how much worse the step reads with it: in pages it must spare.
_SCALES = ((1.0, 0.0), (1.12, 0.02), (1.25, 0.03), (1.45, 0.05), (0.9, 0.04), (0.8, 0.15), (0.7, 0.4), (0.6, 0.9))
_LEAST_ASKED, _EACH_ASKS, _MOST_ASKED = (
    1.0,
    0.14,
    1.56,
)  # by one part, by each more, and at most, beside what it was drawn for
_LONGER = 0.02  # how much worse each longer arrangement of insets and words reads
_TITLE_ALONE = 1.0  # and where what follows its title is so high that it must stand on the next page
_EACH_COAT_ASKS = 0.03  # a coat of paint is seen in any size, but letters want room
_NARROW = 50.0  # no words are set beside a picture where less is left for them
_SLACK = 5.0  # words beside a picture may reach so far below it


def step_block(
    step: Step,
    pieces: Mapping[str, Piece],
    picture: Picture | None,
    insets: Sequence[Inset],
    safety_page: int,
    width: float,
    height: float,
) -> Block:
    """A step with its picture larger and smaller. Its title, cautions, picture and first sentences are one row; the other
    sentences go over to the next page where they must, below the title once more. Rows are no higher than `height`.

    What the step adds is drawn in full colour in its picture; insets stand where they take least room.
    """
    box = (_caution_box(step, safety_page, width),) if step.cautions else ()
    head = stack((_heading(step, width), *box), 2.0)
    settings = []
    for scale, cost in _sizes(picture, width):
        drawn = _drawn(picture, scale) if picture else None
        bodies = sorted(_bodies(_Words(step, pieces, width), drawn, insets, width), key=_height)
        for number, (first, *rest) in enumerate(bodies[:1] if drawn else bodies):
            rows, alone = (stack((head, first), 2.0), *rest), 0.0
            if rows[0].height > height:
                rows, alone = (head, first, *rest), _TITLE_ALONE
            settings.append(Setting(tuple(rows), cost + _LONGER * number + alone))
    fitting = tuple(s for s in settings if all(row.height <= height for row in s.rows))
    names = f"{step.number}  {step.title}"
    return Block(fitting or (settings[-1],), _again(step, width), _ROW_GAP, step.parts, names)


@dataclass(frozen=True)
class _Drawn:
    """A picture as it is printed, and the width that it takes."""

    block: ColumnItem
    width: float


class _Words:
    """The words of a step, row by row, each as wide as there is room for when its turn comes."""

    def __init__(self, step: Step, pieces: Mapping[str, Piece], width: float) -> None:
        self._small = []
        # a stencil goes in nowhere, and no picture of the step has its letter
        is_short = len(step.parts) <= _MANY_PARTS
        named = [part for part in step.parts if is_short or (pieces[part].loose and "paint" in step.uses)]
        if named:
            self._small.append(("; ".join(_named(pieces[part]) for part in named), True))
        if extra := ready(step):
            self._small.append((say("Have ready: {things}.", things="; ".join(extra)), False))
        self._lines: list[tuple[str, str]] = []  # each with the small heading above it, if there is one
        for number, line in enumerate(step.instructions):
            lines = wrap(line, width - NUMBER_INDENT * BODY, BODY)
            heads = (step.heads.get(number, ""), *[""] * len(lines))
            self._lines += [(heads[i], " ".join(lines[i : i + _LINES])) for i in range(0, len(lines), _LINES)]

    def within(self, width: float, room: float) -> tuple[list[ColumnItem], int]:
        """The rows that fit into `room`, and how many they are."""
        rows: list[ColumnItem] = []
        for row in self.rows(width):
            if sum(r.height + _ROW_GAP for r in rows) + row.height > room:
                break
            rows.append(row)
        return rows, len(rows)

    def rows(self, width: float, start: int = 0) -> list[ColumnItem]:
        """All rows from the one numbered `start` on."""
        small = [paragraph(line, width, SMALL, bold) for line, bold in self._small]
        return [*small, *(_told(head, line, width) for head, line in self._lines)][start:]


def _told(head: str, line: str, width: float) -> ColumnItem:
    """A sentence below its small heading, where it has one."""
    block = bullet(line, width)
    return stack([ColumnItem(_ABOVE_HEAD, ()), paragraph(head, width, BODY, bold=True), block]) if head else block


def _sizes(picture: Picture | None, width: float) -> list[tuple[float, float]]:
    """Scales of a picture that fit the page, the more parts it puts in the larger, and how much worse each reads."""
    if picture is None:
        return [(1.0, 0.0)]
    each = _EACH_ASKS if picture.arrows else _EACH_COAT_ASKS
    asked = min(_LEAST_ASKED + each * max(sum(bubble.new for bubble in picture.bubbles) - 1, 0), _MOST_ASKED)
    return [(min(asked * scale, width / PRINTED[0]), cost) for scale, cost in _SCALES]


def _drawn(picture: Picture, scale: float) -> _Drawn:
    x0, y0, x1, y1 = picture.bounds
    wide, high = (scale * printed_in(x1 - x0, y1 - y0)).tolist()
    across = max(min(wide, high * (x1 - x0) / max(y1 - y0, 1e-9)), INSET[0])
    return _Drawn(lettered_block(picture, across, high), across)


def _height(rows: Sequence[ColumnItem]) -> float:
    return sum(row.height + _ROW_GAP for row in rows)


def _bodies(words: _Words, drawn: _Drawn | None, insets: Sequence[Inset], width: float) -> list[list[ColumnItem]]:
    """Picture, insets and words in rows, in each arrangement there is: insets below the picture, below the words beside
    it, or in a row below all. What finds no room beside goes on below, over the whole width."""
    if drawn is None:
        if not insets:
            return [_kept(words.rows(width))]
        return [
            *(
                _beside(_Drawn(inset_rows(insets, across * INSET[0]), across * INSET[0]), words, width)
                for across in (1.0, 2.2)[: len(insets)]
            ),
            _kept([inset_rows(insets, width), *words.rows(width)]),
            [*_kept(words.rows(width)), *rows_of_insets(insets, width)],
        ]
    if not insets:
        return [_beside(drawn, words, width)]
    column = stack((drawn.block, inset_rows(insets, drawn.width)), 3.0)
    options = [
        _beside(_Drawn(column, drawn.width), words, width),
        [*_beside(drawn, words, width), inset_rows(insets, width)],
    ]
    right = width - drawn.width - _GAP
    if right > INSET[0]:
        small = inset_rows(insets, right)
        found, count = words.within(right, drawn.block.height + _SLACK - small.height - 3.0)
        if count:
            options.append(
                [beside(drawn.block, stack((stack(found, _ROW_GAP), small), 3.0), drawn.width + _GAP)]
                + words.rows(width, count)
            )
    return options


def _beside(drawn: _Drawn, words: _Words, width: float) -> list[ColumnItem]:
    """Words beside what is drawn as far down as it reaches, and the others below."""
    right = width - drawn.width - _GAP
    found, count = words.within(right, drawn.block.height + _SLACK) if right >= _NARROW else ([], 0)
    first = beside(drawn.block, stack(found, _ROW_GAP), drawn.width + _GAP) if found else drawn.block
    return [first, *words.rows(width, count)]


def _kept(rows: list[ColumnItem]) -> list[ColumnItem]:
    """Rows of which the first two, names of parts or what to have ready, are never left alone with the title."""
    return [stack(rows[:3], _ROW_GAP), *rows[3:]]


def _heading(step: Step, width: float) -> ColumnItem:
    left = _BADGE + 3.0
    title = paragraph(step.title, width - left, _TITLE, bold=True)
    text = stack([title, paragraph("; ".join(step_facts(step)), width - left, SMALL)], 0.3)
    return beside(_badge(step.number), text, left)


def _again(step: Step, width: float) -> ColumnItem:
    """The title of a step at the head of a page that it goes on."""
    title = say("{number}  {title} (continued)", number=step.number, title=step.title)
    return paragraph(title, width, BODY, bold=True)


def step_facts(step: Step) -> list[str]:
    """What stands below the title of a step: its glue, its time, and what is waited for."""
    told = [
        say("Glue: {glue}", glue=glues(step)),
        say("hands-on time: about {time}", time=roughly(step.minutes)),
    ]
    if step.rest:
        told.append(say("begin once all glue has set: {time}", time=duration(step.rest)))
    if step.wait:
        told.append(waiting(step))
    if step.waits_for:
        told.append(after(step))
    return told


def waiting(step: Step) -> str:
    """How long a step keeps the hands free, and what for."""
    time = duration(step.wait / step.rounds)
    if step.glue == "contact" and step.rounds > 1:
        return say("glue dries or sets: {n} times {time}", n=step.rounds, time=time)
    if step.glue == "contact" and step.wait > practice.WAIT_CEMENT:
        return say("glue dries or sets: {time}", time=time)
    if step.glue == "contact":
        return say("both coats dry before you press: {time}", time=time)
    if step.glue == "instant":
        return say("then leave it alone: {time}", time=time)
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
