"""Where a part goes that is glued to the side of a round bar: nothing is drawn on that, so it is told how far along it, and on
which side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import axis_of
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, capital, one_of
from foamwright.assembly.which_copy import some
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, length, listed, say
from foamwright.parts.records import RodBody

_LEANS = 3  # degrees from upright or level, from which an eye tells that a bar leans
_FLUSH = 0.5  # mm; less cannot be felt
_AT_END = 1.0  # mm from the end of a bar within which something holds it there
_UPRIGHT = 0.7  # cosine


@dataclass(frozen=True)
class _Place:
    """Where a copy begins along a bar: `off` mm from the end called `end`; on the side of the bar called `side`."""

    off: float
    end: str
    side: str


def lines(told: Fitting) -> list[str]:
    """Sentences for the parts of a step, those of one part that begin at one end and lie on one side together."""
    text = []
    for m in told.meetings:
        found: dict[tuple[str, str], dict[int, float]] = {}
        for copy, bar in _on_bars(told, m):
            place = _place(told, copy, bar)
            if place is not None:
                found.setdefault((place.end, place.side), {})[copy] = place.off
        for (end, side), offs in found.items():
            text.append(_sentence(told, m, end, side, offs))
    return text


def leaning(told: Fitting) -> list[str]:
    """How far bars lean that stand neither upright nor level, and where their lower ends go; told of copies that lean alike."""
    text = []
    for piece in told.pieces:
        if not isinstance(piece.body, RodBody) or told.whole_of(piece):
            continue
        middle = told.bodies.spheres[:, :2].mean(axis=0)
        leans, outs, ways = set(), [], []
        for copy in told.own(piece):
            start, along, size = axis_of(told.bodies, copy)
            low = start if along[2] > 0.0 else start + size * along
            down = along if along[2] < 0.0 else -along
            leans.add(round(float(np.degrees(np.arccos(min(-down[2], 1.0))))))
            outs.append(float(down[:2] @ (low[:2] - middle)))
            ways.append(np.r_[down[:2] / max(float(np.linalg.norm(down[:2])), 1e-9), 0.0])
        if len(leans) != 1 or not _LEANS <= min(leans) <= 90 - _LEANS:
            continue
        alike = len(outs) > 1 and (min(outs) > 0.0 or max(outs) < 0.0)
        way = (say("outwards") if outs[0] > 0.0 else say("inwards")) if alike else directions.towards(ways[0])
        if alike or len(outs) == 1:
            text.append(
                count(
                    "{parts} leans {angle}° from upright, its lower end {way}.",
                    "{parts} lean {angle}° from upright, their lower ends {way}.",
                    len(outs),
                    parts=capital(all_of([piece])),
                    angle=min(leans),
                    way=way,
                )
            )
    return text


def _on_bars(told: Fitting, m: Meeting) -> Iterator[tuple[int, int]]:
    """The pairs of a meeting, as a copy and the bar that it is glued to the side of. A bar that lies on a face has its line
    there."""
    if m.glue == "none" or m.around or m.new == m.other:
        return
    if isinstance(told.every[m.other].body, RodBody) and not m.on_broad:
        yield from m.pairs
    elif isinstance(told.every[m.new].body, RodBody) and not m.broad and not m.on_broad:
        yield from ((other, bar) for bar, other in m.pairs)


def _place(told: Fitting, copy: int, bar: int) -> _Place | None:
    """None for what reaches all along the bar."""
    bodies = told.bodies
    start, along, size = axis_of(bodies, bar)
    touch = bodies.touches[copy, bar]
    met = (np.vstack([line for patch in touch.outlines for line in patch]) - start) @ along
    offs = max(float(met.min()), 0.0), max(size - float(met.max()), 0.0)
    if max(offs) < _FLUSH:
        return None
    there = told.standing | bodies.mask(c for move in told.moves for c in move.copies)
    held = [False, False]
    for (a, b), other in bodies.touches.items():
        if a == bar and b != copy and there >> b & 1:
            places = (other.places - start) @ along
            held = [held[0] or bool((places < _AT_END).any()), held[1] or bool((places > size - _AT_END).any())]
    end = min((0, 1), key=lambda k: (held[k], offs[k]))  # a rule is laid at the end that is free, the nearer of the two
    way = -along if end == 0 else along
    off = touch.off - (touch.off @ along) * along
    side = directions.around(off) if abs(along[2]) > _UPRIGHT else directions.at(off)
    return _Place(offs[end], _end(way), side)


def _end(way: np.ndarray) -> str:
    """What the end of a bar is called that lies along `way`."""
    if abs(way[2]) > _UPRIGHT:
        return say("its upper end") if way[2] > 0.0 else say("its lower end")
    return say("its end {where}", where=directions.at(way))


def _sentence(told: Fitting, m: Meeting, end: str, side: str, offs: dict[int, float]) -> str:
    bar, part = (told.every[p] for p in (m.parts[::-1] if isinstance(told.every[m.other].body, RodBody) else m.parts))
    sizes = sorted({round(off, 1) for off in offs.values()})
    each = len(sizes) == 1 and len(offs) == len(part.placements)
    name = one_of(part) if each else some(told.bodies, [*offs])
    facts = {"bar": one_of(bar), "part": name, "end": end, "side": side}
    if sizes[-1] < _FLUSH:
        return count(
            "No line is drawn on {bar}: {part} begins flush with {end}, and touches it {side}.",
            "No line is drawn on {bar}: {part} begin flush with {end}, and touch it {side}.",
            1 if each else len(offs),
            **facts,
        )
    return count(
        "No line is drawn on {bar}: measured along it, {part} begins {sizes} from {end}, and touches it {side}.",
        "No line is drawn on {bar}: measured along it, {part} begin {sizes} from {end}, and touch it {side}.",
        1 if each else len(offs),
        sizes=listed([length(size) for size in sizes]),
        **facts,
    )
