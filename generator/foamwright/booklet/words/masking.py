"""Where what is painted takes glue later, or stays out of sight, and is kept bare."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.assembly.bodies import Touch
from foamwright.assembly.naming import capital
from foamwright.language import length, listed, say
from foamwright.parts.records import FlatBody, Piece, RodBody

_NARROW = (
    6.0  # mm: between two lines that are nearer than this no edge of tape is fitted by eye; common practice, no source
)
_STRIP = 2.0  # times as long as it is wide, at least
_WHOLE = 0.9  # of a face: more, and all of it is covered
_AT_END = 2.0  # mm from the end of a bar, less than which is its end
_ALL_ROUND = 0.5  # length of the mean of directions that lead out of a bar, less than which they lead out all round it
_LENGTHWISE = 3.0  # of its diameter that a bar touches along, and lies there with its side
_IN_ONE_SENTENCE = 4  # parts that are masked; more have a line each


@dataclass(frozen=True)
class Bare:
    """Where a part that is painted takes glue later, and what is glued there: `where` is "ends" or "middle" (of a bar), "side",
    "holes", "edges", "rim" (of an edge that goes in more deeply here than there), "face" (all of it), "laid" (where it lies on
    another) or "lines" (what lies within placement lines)."""

    piece: Piece
    where: str
    others: Sequence[Piece]
    named: str  # the part in a sentence, or those of its copies that are meant
    wide: float = 0.0  # mm of the thickness of "edges" that are glued, where that is not all of it


def place(piece: Piece, other: Piece, touch: Touch, matrix: np.ndarray) -> str:
    """Where on `piece`, the second of a contact, the other part is glued; `matrix` (4, 4) sets it in its place."""
    on_piece = touch.broad[1] > 0.5
    if isinstance(piece.body, RodBody):
        long = float(np.linalg.norm(np.ptp(touch.places, axis=0)))
        all_round = float(np.linalg.norm(touch.normals.mean(axis=0))) < _ALL_ROUND
        if long > _LENGTHWISE * piece.body.diameter and not all_round:
            return "side"
        start, end = (matrix[:3, :3] @ spot + matrix[:3, 3] for spot in (piece.body.start, piece.body.end))
        along = (touch.places - start) @ (end - start) / piece.body.length
        return "middle" if along.min() > _AT_END and along.max() < piece.body.length - _AT_END else "ends"
    if isinstance(other.body, RodBody) and not on_piece:
        return "holes"
    if not on_piece:
        return "edges"
    if other.id in piece.lies_on:
        return "face" if _covered(piece, touch) else "laid"
    return "lines"


def _covered(piece: Piece, touch: Touch) -> bool:
    """Does what touches a part take up its whole face? Bent parts that lie on others do."""
    if not isinstance(piece.body, FlatBody):
        return True
    face = shapely.Polygon(piece.body.outline, piece.body.holes).area
    return touch.area > _WHOLE * float(face)


def bare_lines(kept_bare: Sequence[Bare]) -> list[str]:
    """What stays free of primer and paint, part by part."""
    if not kept_bare:
        return []
    on: dict[str, list[Bare]] = {}
    for bare_place in kept_bare:
        on.setdefault(bare_place.named, []).append(bare_place)
    named = [(part, listed([_where(one) for one in places])) for part, places in on.items()]
    if len(named) < _IN_ONE_SENTENCE:
        told = [say("on {part} {places}", part=part, places=places) for part, places in named]
        return [
            say(
                "Glue holds on foam and not on paint. Before you prime, mask what is glued later: {places}.",
                places="; ".join(told),
            )
        ]
    head = say("Glue holds on foam and not on paint. Before you prime, mask what is glued later, part by part:")
    return [head, *(capital(say("{part}: {places}.", part=part, places=places)) for part, places in named)]


def hidden_line(hidden: Mapping[bool, Sequence[Piece]]) -> list[str]:
    """Faces of what is painted apart that nobody sees once all is in."""
    told = []
    if hidden.get(True):
        told.append(say("the drawn face of {parts}", parts=listed([piece.label for piece in hidden[True]])))
    if hidden.get(False):
        told.append(say("the other face of {parts}", parts=listed([piece.label for piece in hidden[False]])))
    return (
        [say("Leave these faces bare, for glue or because nobody sees them later: {faces}.", faces=listed(told))]
        if told
        else []
    )


def _is_narrow(piece: Piece) -> bool:
    """Is a flat part a strip that tape is cut as wide as?"""
    if not isinstance(piece.body, FlatBody):
        return False
    box = shapely.get_coordinates(shapely.Polygon(piece.body.outline).minimum_rotated_rectangle)
    width, long = sorted(np.linalg.norm(np.diff(box[:3], axis=0), axis=1))
    return float(width) <= _NARROW and float(long) > _STRIP * float(width)


def _where(kept: Bare) -> str:
    labels = listed([piece.label for piece in kept.others])
    narrow = [piece.label for piece in kept.others if _is_narrow(piece)]
    if kept.where == "lines" and narrow:
        return say(
            "where {labels} will be glued on (for {narrow} cut tape into strips as wide as that, and lay them between the lines)",
            labels=labels,
            narrow=listed(narrow),
        )
    if kept.wide:
        return say("a strip {size} wide along the edges that meet {labels}", size=length(kept.wide), labels=labels)
    return {
        "ends": say("the glued ends"),
        "middle": say(
            "the stretch that goes through {labels} (set it in dry, as far as the step that glues it in tells, and draw a line "
            "round it on both sides)",
            labels=labels,
        ),
        "side": say("the strip along its side that lies on {labels}", labels=labels),
        "holes": say("the holes for {labels}", labels=labels),
        "edges": say("the edges that meet {labels}", labels=labels),
        "rim": say("the edge as far as it goes into {labels} (set it in dry and draw a line round it)", labels=labels),
        "face": say("the face that lies on {labels}", labels=labels),
        "laid": say("the places that lie on {labels}", labels=labels),
        "lines": say("where {labels} will be glued on", labels=labels),
    }[kept.where]
