"""Panels that curve like a saddle: how they are bent along their bend line as well, to the side opposite to their main bend."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from foamwright.assembly import practice
from foamwright.booklet.words import bending
from foamwright.flatten.bend_lines import bend_lines
from foamwright.flatten.records import Pattern
from foamwright.language import count, length, listed, say


def is_bent_back(pattern: Pattern) -> bool:
    """Is a panel of foam such a saddle that it is bent the second way too before its seams are closed?"""
    piece = pattern.piece
    thick = piece.stock.thickness > practice.THIN and bending.is_heated(piece)
    return thick and bending.is_saddled(piece) and bool(bend_lines(pattern)) and bending.is_curved_along(pattern)


def lines(patterns: Sequence[Pattern], checked: Collection[str]) -> list[str]:
    """How those of some panels that are saddles get their second bend; `checked` by id those that have a gauge for it."""
    saddles = [pattern for pattern in patterns if is_bent_back(pattern)]
    text = []
    for inwards in (True, False):
        own = [p for p in saddles if bending.main(p.piece).inwards != inwards]
        by_gauge = [p.piece.label for p in own if p.piece.id in checked]
        by_eye = [p.piece.label for p in own if p.piece.id not in checked]
        if own:
            text.append(_which(inwards, [p.piece.label for p in own]))
        if by_gauge:
            text.append(
                count(
                    "Do that bit by bit, until the gauge “along the bend line” of {parts} fits. The first bend gives a little as "
                    "you do: bend it once more if its own gauge no longer fits.",
                    "Do that bit by bit, until the gauges “along the bend line” of {parts} fit. The first bends give a little as "
                    "you do: bend them once more if their own gauges no longer fit.",
                    len(by_gauge),
                    parts=listed(by_gauge),
                )
            )
        if by_eye:
            text.append(
                say(
                    "Bend {parts} so only a little, and see that the first bend stays: the joints draw the rest into shape.",
                    parts=listed(by_eye),
                )
            )
    ends = [one for pattern in saddles for one in _ends(pattern)]
    if ends:
        text.append(
            say(
                "That second bend is tighter at the shorter edge than at the longer one, like parts of circles so far across: "
                "{list}.",
                list="; ".join(ends),
            )
        )
    return text


def _which(inwards: bool, labels: Sequence[str]) -> str:
    """That some parts are saddles, and to which face their second bend goes."""
    if inwards:
        return count(
            "{parts} is a saddle: bent like this, it is also bent the opposite way along its bend line. When the first bend is "
            "cold, warm it once more, and bend both ends of that line towards the drawn face.",
            "{parts} are saddles: bent like this, they are also bent the opposite way along their bend lines. When the first "
            "bend is cold, warm each once more, and bend both ends of that line towards the drawn face.",
            len(labels),
            parts=listed(labels),
        )
    return count(
        "{parts} is a saddle: bent like this, it is also bent the opposite way along its bend line. When the first bend is cold, "
        "warm it once more, and bend both ends of that line away from the drawn face.",
        "{parts} are saddles: bent like this, they are also bent the opposite way along their bend lines. When the first bend is "
        "cold, warm each once more, and bend both ends of that line away from the drawn face.",
        len(labels),
        parts=listed(labels),
    )


def _ends(pattern: Pattern) -> list[str]:
    """How far across the second bend of a saddle is at its shorter and its longer edge, if it is tighter at the shorter."""
    bend = bending.second(pattern.piece)
    if bend is None or not bend.narrow < bend.wide or not bend.narrows:
        return []
    facts = {"part": pattern.piece.label, "narrow": length(round(bend.narrow))}
    if bend.wide > bending.SEEN:
        return [say("{part} {narrow}, and nearly straight at the longer edge", **facts)]
    return [say("{part} {narrow} and {wide}", wide=length(round(bend.wide)), **facts)]
