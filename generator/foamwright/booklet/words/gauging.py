"""Which panels have gauges to bend them by, and how these are used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import shapely

from foamwright.assembly.naming import all_of
from foamwright.booklet.words import bending, saddles, warming
from foamwright.booklet.words.bending import Hollow
from foamwright.flatten.bend_gauges import BendGauge, BendGauges, bend_gauges
from foamwright.flatten.bend_lines import bend_lines
from foamwright.flatten.records import Pattern
from foamwright.language import count, length, listed, say
from foamwright.parts.records import Piece
from foamwright.templates.heading import arrows

WIDEST = 180.0  # mm of a gauge: it lies across common paper
_THUMBS = 400.0  # mm: what is hollow like a wider circle needs no ball
_AT_A_DART = 10.0  # mm from a dart to the middle of a panel; nearer, and a gauge lies over it
_SKEW = 1.0  # mm that a gauge is off itself when it is turned round, for it to matter
_AT_THE_MIDDLE = 3.0  # mm from there that a gauge is held as at the middle itself
_ALONG = 0.5  # cosine between a gauge and an arrow of the template


def gauges(patterns: Iterable[Pattern], widest: float = WIDEST) -> dict[str, BendGauges]:
    """Those of all panels that are bent or pressed hollow before any glue, by id; what is closed to a round has its ends to tell,
    and a cone that runs to a point its tip."""
    found = {}
    for pattern in patterns:
        piece = pattern.piece
        rolled = warming.is_warmed(pattern) and bending.is_curved(piece) and not bending.closes_alone(piece)
        both_ways = (bending.is_heated(piece) and bending.is_pressed(pattern)) or (
            rolled and saddles.is_bent_back(pattern)
        )
        if bending.is_pointed(piece) or not (rolled or both_ways):
            continue
        both = bend_gauges(pattern, widest)
        own = BendGauges(both.around if rolled else None, both.along if both_ways else None)
        if own.around or own.along:
            found[piece.id] = own
    return found


def how_to(patterns: Sequence[Pattern], gauged: Mapping[str, BendGauges]) -> list[str]:
    """How gauges are used; those of which the middle is the mouth of a dart only once that is closed."""
    if not gauged:
        return []
    late = [p.piece.label for p in patterns if p.piece.id in gauged and _in_a_dart(p)]
    after = [say("Hold those of {parts} there once the darts are closed.", parts=listed(late))] if late else []
    return [
        say(
            "Print gauges.pdf at 100 %, stick the pages on card and cut the bend gauges out. A piece is bent right when its "
            "gauge, held upright on the middle of the drawn face, or where the gauge tells, touches it all along or leaves gaps "
            "of up to 2 mm."
        ),
        *after,
    ]


def _in_a_dart(pattern: Pattern) -> bool:
    """Is there no foam at its middle before its darts are closed?"""
    lines = bend_lines(pattern)
    middle = shapely.LineString(lines[0]).interpolate(0.5, normalized=True) if lines else None
    return middle is not None and any(dart.wedge.distance(middle) < _AT_A_DART for dart in pattern.darts)


def turned(pattern: Pattern, gauge: BendGauge) -> tuple[str, bool]:
    """An arrow of the template that a gauge goes along, and whether it points to the gauge's right end; "" where none does, or
    where it does not matter which way round the gauge is held."""
    if gauge.skew < _SKEW:
        return "", True
    word, along = _by_arrow(pattern, gauge.way)
    return (word, along > 0.0) if word else ("", True)


def held(pattern: Pattern, gauge: BendGauge) -> str:
    """Where a gauge is held that is not of the middle of its panel, as there is an opening; "" where it is."""
    far = float(np.linalg.norm(gauge.moved))
    if far < _AT_THE_MIDDLE:
        return ""
    word, along = _by_arrow(pattern, gauge.moved / far)
    if not word:
        return say("Hold it {size} from the middle, beside the opening.", size=length(round(far)))
    if along > 0.0:
        return say("Hold it {size} from the middle, the way of the arrow “{word}”.", size=length(round(far)), word=word)
    return say("Hold it {size} from the middle, against the arrow “{word}”.", size=length(round(far)), word=word)


def _by_arrow(pattern: Pattern, way: np.ndarray) -> tuple[str, float]:
    """The arrow of the template that goes most along a way (3,) where the part is modelled, and how far along it, as a cosine;
    "" where none does."""
    there = pattern.piece.placements[0].matrix[:3, :3] @ way
    shown = [(float(there[axis]), word) for axis, (word, _) in arrows(pattern).items()]
    along, word = max(shown, key=lambda one: abs(one[0]), default=(0.0, ""))
    return (word, along) if abs(along) > _ALONG else ("", 0.0)


def pressed(domed: Mapping[str, Hollow], gauged: Mapping[str, BendGauges]) -> list[str]:
    """How foam without darts is curved along its bend line as well."""
    pressed_out = {part: one for part, one in domed.items() if not one.darted}
    text = []
    for inwards in (True, False):
        side = say("from the drawn face") if inwards else say("from the face that is not drawn on")
        own = {part: one for part, one in pressed_out.items() if one.inwards == inwards}
        checked = [one.label for part, one in own.items() if part in gauged and gauged[part].along]
        by_eye = [one.label for one in own.values() if one.label not in checked]
        if checked:
            text.append(
                count(
                    "{parts} also curves along its bend line. Warm its middle, if it is bent already when that bend is cold, and "
                    "press it out with both thumbs or over a ball, {side}, until its gauge “along the bend line” fits.",
                    "{parts} also curve along their bend lines. Warm the middle of each, if it is bent already when that bend is "
                    "cold, and press it out with both thumbs or over a ball, {side}, until its gauge “along the bend line” "
                    "fits.",
                    len(checked),
                    parts=listed(checked),
                    side=side,
                )
            )
        if by_eye:
            text.append(
                count(
                    "{parts} also curves the other way, a little. Warm its middle, if it is bent already when that bend is cold, "
                    "and press it out with both thumbs or over a ball, {side}, to an even shallow bowl.",
                    "{parts} also curve the other way, a little. Warm the middle of each, if it is bent already when that bend "
                    "is cold, and press it out with both thumbs or over a ball, {side}, to an even shallow bowl.",
                    len(by_eye),
                    parts=listed(by_eye),
                    side=side,
                )
            )
    wide = [one for one in pressed_out.values() if one.depth and not one.is_strong and one.across < _THUMBS]
    if wide:
        text.append(
            say(
                "A ball or an upturned bowl is right if it is about as wide as this: {list}. A much smaller one leaves dents.",
                list=listed([_across(one) for one in wide]),
            )
        )
    strong = [one.label for one in pressed_out.values() if one.is_strong]
    if strong:
        text.append(
            say(
                "That second bend is strong in {parts}: give it by hand along the whole of the bend line, bit by bit.",
                parts=listed(strong),
            )
        )
    return text


def left_to_darts(domed: Iterable[Hollow]) -> list[str]:
    """What is not pressed hollow, as its darts do that when they are closed."""
    left = [one.label for one in domed if one.darted]
    return [say("Leave {parts} flat along the bend line: darts give that curve.", parts=listed(left))] if left else []


def _across(one: Hollow) -> str:
    """How wide the ball is that a part is hollow like, to 10 mm."""
    return say("{part} {size}", part=one.label, size=length(10.0 * round(one.across / 10.0)))


def darted(pieces: Sequence[Piece], gauged: Mapping[str, BendGauges]) -> list[str]:
    """How those of some parts are checked to which darts give their shape."""
    own = [piece for piece in pieces if piece.id in gauged]
    if not own:
        return []
    return [
        say(
            "Check {parts} with the gauges. Press out by hand what is too flat, without heat: the seams draw the rest into "
            "shape.",
            parts=all_of(own),
        )
    ]
