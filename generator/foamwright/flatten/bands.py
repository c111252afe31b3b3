"""Bands as they are cut: the straight development of their curve. Exact, since they bend one way only."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from foamwright.errors import BuildError
from foamwright.flatten.arrows import on_band
from foamwright.flatten.exact import exact_pattern
from foamwright.flatten.records import Pattern, PatternEdge, Segment, Split
from foamwright.flatten.split import fits
from foamwright.geometry import arc_length, chord_length, signed_area
from foamwright.geometry.drawn import seen_from_inside
from foamwright.parts.records import BandBody, BandCorner, Piece

_TIGHT = 2.0  # thicknesses
_LEVEL = 1e-9  # mm: the foam is square there


@dataclass(frozen=True, eq=False)
class Leg:
    """From which point of the curve to which a leg goes, and how far (n,) each of them lies further on on the other face, where a
    corner leans it."""

    start: int
    stop: int
    further: np.ndarray


@dataclass(frozen=True, eq=False)
class Developed:
    """A band laid straight, in its own direction: where each point of its curve comes to lie, and where it ends.

    `places` (N,) are on the face that is drawn on, the inner one; a mitred corner is the end of two pieces there,
    which lie close together, a scored one the fold. `begin` and `end` are the ends on the drawn face, and
    `other_begin` and `other_end` those of the other face. `legs` are its stretches from corner to corner.
    """

    places: np.ndarray
    legs: tuple[Leg, ...]
    begin: float
    end: float
    other_begin: float
    other_end: float


def band_pattern(piece: Piece) -> Pattern:
    """A band laid straight: x is the length along it, y the place across it."""
    body: BandBody = piece.body
    stock = piece.stock
    flat = developed(body, stock.thickness, stock.k)
    x = flat.places
    if body.trim_start:
        x = np.concatenate([[flat.begin - body.trim_start], x])
    if body.trim_end:
        x = np.concatenate([x, [flat.end + body.trim_end]])
    lines = []
    for heights in (body.low, body.high):
        ends = [heights[:1]] * bool(body.trim_start), [heights[-1:]] * bool(body.trim_end)
        lines.append((x, np.concatenate([*ends[0], heights, *ends[1]])))
    begin, end = flat.begin - body.trim_start, flat.end + body.trim_end
    outline = _strip(lines, begin, end)
    # the curve runs counter-clockwise about `across`: along and across it, the band is seen from outside
    low, high = (seen_from_inside(_edge_line(*line, begin, end)[::-1]) for line in lines)
    joins = (piece.id,) if body.closed else ()
    bevels = _end_bevels(body)
    edges = (
        _edge("low", low, _length(low), 0.0, body.joins_low),
        _edge("start", np.array([low[-1], high[-1]]), float(high[-1, 1] - low[-1, 1]), bevels[0], joins),
        _edge("high", high[::-1], _length(high), 0.0, body.joins_high),
        _edge("end", np.array([high[0], low[0]]), float(high[0, 1] - low[0, 1]), bevels[1], joins),
    )
    if len(flat.legs) == 1 and any(c.made == "mitred" for c in body.corners):
        other = _faces(body, flat, flat.legs[0])[1]
    else:
        other = _strip(lines, flat.other_begin - body.trim_start, flat.other_end + body.trim_end)
    straight = np.ptp(body.low) < 1e-9 and np.ptp(body.high) < 1e-9
    split = _mitred(piece, flat) if any(c.made == "mitred" and c.at for c in body.corners) else None
    cut = [(s.outline, s.other_outline) for s in split.segments] if split else [(outline, other)]
    longest = sum(float(np.ptp(np.vstack(faces)[:, 0])) for faces in cut)  # over both faces: what the sheet must hold
    return exact_pattern(
        piece,
        outline,
        edges,
        signed_area(outline),
        neutral_offset=stock.k * stock.thickness,
        forward=on_band(body, np.array([1.0, 0.0, 0.0])),
        up=on_band(body, np.array([0.0, 0.0, 1.0])),
        strip=(longest, float(body.high[0] - body.low[0])) if straight else None,
        warnings=_too_tight(piece, body),
        other_outline=other,
        split=split,
    )


def folds(piece: Piece) -> list[tuple[float, float]]:
    """Where a scored band is folded, at its corners but the one where it closes: x on its pattern, left to right, and the
    turn in degrees, + where the groove is cut from the face that is drawn on."""
    body = piece.body
    if not isinstance(body, BandBody):
        return []
    places = -developed(body, piece.stock.thickness, piece.stock.k).places  # seen from inside
    return sorted((float(places[c.at]), c.turn) for c in body.corners if c.made == "scored" and c.at)


def grooves(piece: Piece, inside: bool) -> list[tuple[float, float]]:
    """Between which x of its pattern a scored band has no foam on its inside face, or on the other: where a corner is cut
    through to the skin of the face across. Where the band closes it ends."""
    body, thickness = piece.body, piece.stock.thickness
    if not isinstance(body, BandBody):
        return []
    places = -developed(body, thickness, piece.stock.k).places  # seen from inside
    own = [c for c in body.corners if c.made == "scored" and c.at and (c.turn > 0) == inside]
    wide = [[thickness * math.tan(math.radians(abs(bevel))) for bevel in c.bevels] for c in own]
    return sorted((float(places[c.at]) - after, float(places[c.at]) + before) for c, (before, after) in zip(own, wide))


def _mitred(piece: Piece, flat: Developed) -> Split:
    """The pieces between the corners of a mitred band; on the drawn face they lie close together. Raises BuildError
    for a piece that no sheet holds."""
    body = piece.body
    assert isinstance(body, BandBody)
    inner = [corner for corner in body.corners if corner.at]
    segments = []
    for leg in flat.legs:
        outline, beyond = _faces(body, flat, leg)
        segments.append(Segment(outline, (), signed_area(outline), beyond, ()))
        foam = shapely.Polygon(outline) | shapely.Polygon(beyond)
        if not fits(foam, piece.stock):
            raise BuildError(
                f"part {piece.id}: a piece of {np.ptp(beyond[:, 0]):.0f} x {np.ptp(beyond[:, 1]):.0f} mm between two "
                f"mitres fits no sheet of {piece.stock.name}; choose a stock with larger sheets, or corners: scored"
            )
    cuts = []
    for corner in inner:
        x = -float(flat.places[corner.at])
        cuts.append(np.array([[x, body.low[corner.at]], [x, body.high[corner.at]]]))
    bevels = tuple(corner.bevels for corner in inner)
    return Split("mitre", tuple(segments), tuple(cuts), bevels)


def _faces(body: BandBody, flat: Developed, leg: Leg) -> list[np.ndarray]:
    """The lines (N, 2) of both faces of a mitred leg, the drawn one first. Where its ends lean, a point of the curve lies at
    another place on each, at one height."""
    own = slice(leg.start, leg.stop + 1)
    trims = body.trim_start * (leg is flat.legs[0]), body.trim_end * (leg is flat.legs[-1])
    lines = []
    for x in (flat.places[own], flat.places[own] + leg.further):
        ends = x[0] - trims[0], x[-1] + trims[1]
        lines.append(_strip([(x, body.low[own]), (x, body.high[own])], *ends))
    return lines


def _strip(lines: list[tuple[np.ndarray, np.ndarray]], begin: float, end: float) -> np.ndarray:
    """The outline (N, 2), counter-clockwise, of the band from one place to another."""
    low, high = (seen_from_inside(_edge_line(x, y, begin, end)[::-1]) for x, y in lines)
    return np.vstack([low, high[::-1]])


def developed(body: BandBody, thickness: float, k: float) -> Developed:
    """The band laid straight. Bent foam keeps the length of its neutral surface; in a scored corner it keeps that of
    the skin, and a mitred piece ends on each face where that face ends."""
    neutral = body.inner_offset + k * thickness
    steps, apart = _steps(body, neutral, k), _apart(body, neutral)
    stops = [0, *(corner.at for corner in body.corners if corner.at), len(steps)]
    by_place = {corner.at: corner for corner in body.corners}
    places, legs = np.zeros(1), []
    for start, stop in pairwise(stops):
        first = by_place.get(start)
        last = by_place.get(stop if stop < len(steps) else 0)
        from_first, to_last = _fans(apart[start:stop])
        along = np.concatenate([[0.0], np.cumsum(steps[start:stop])])
        further = np.zeros(len(along))
        if first is not None:
            along += from_first * _beyond(first, first.bevels[1], thickness, k)
            further -= (1.0 - from_first) * thickness * math.tan(math.radians(first.bevels[1]))
        if last is not None:
            along += to_last * _beyond(last, last.bevels[0], thickness, k)
            further += to_last * thickness * math.tan(math.radians(last.bevels[0]))
        legs.append(Leg(start, stop, further))
        places = np.concatenate([places, places[-1] + along[1:]])
    closing = by_place.get(0)
    begin = other_begin = 0.0
    end = other_end = float(places[-1])
    if closing is not None:
        before, after = (thickness * math.tan(math.radians(bevel)) for bevel in closing.bevels)
        if closing.made == "mitred":
            other_begin, other_end = begin - after, end + before
        elif closing.turn > 0:  # the outer face is the whole length
            begin, end = begin + after, end - before
        else:
            other_begin, other_end = other_begin - after, other_end + before
    return Developed(places, tuple(legs), begin, end, other_begin, other_end)


def _beyond(corner: BandCorner, bevel: float, thickness: float, k: float) -> float:
    """How far the line that counts in a corner lies beyond the neutral surface there."""
    outer_skin = corner.made == "scored" and corner.turn > 0
    return ((1.0 - k) if outer_skin else -k) * thickness * math.tan(math.radians(bevel))


def _steps(body: BandBody, neutral: float, k: float) -> np.ndarray:
    """How far it is (N - 1,) from each point of the curve to the next, along its parallel at `neutral`. Beside a corner the faces
    of a point lie at unlike places of the curve: each is followed by itself; a line between them would cut the bend short."""
    if body.ahead is None or body.turned is None:
        line = body.curve + neutral * body.normals
        return np.diff(
            chord_length(line) if body.corners else arc_length(line)
        )  # wrapped foam is flat from corner to corner
    return (body.ahead + neutral * body.turned) @ [1.0 - k, k]


def _apart(body: BandBody, neutral: float) -> np.ndarray:
    """How much further (N - 1,) it is from each point of the curve to the next on the outer face than on the inner one, laid
    flat: nothing but beside a corner."""
    if body.ahead is None or body.turned is None:
        return np.zeros(len(body.curve) - 1)
    return (body.ahead + neutral * body.turned) @ [-1.0, 1.0]


def _fans(apart: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far from its lean at the beginning of a leg (0) to square foam (1) each of its points (N + 1,) is, and from there (0)
    to its lean at the end (1), by how much further it is on one face than on the other from each to the next (N,)."""
    so_far = np.concatenate([[0.0], np.cumsum(apart)])
    level = np.flatnonzero(np.abs(apart) < _LEVEL)
    if not len(level):
        return so_far / so_far[-1], so_far / so_far[-1]
    first, last = level[0], level[-1] + 1
    begun, ended = np.ones(len(so_far)), np.zeros(len(so_far))
    begun[:first] = so_far[:first] / so_far[first]
    ended[last + 1 :] = (so_far[last + 1 :] - so_far[last]) / (so_far[-1] - so_far[last])
    begun[0], ended[-1] = 0.0, 1.0  # also where a corner has no points beside it that lean
    return begun, ended


def _turn(normals: np.ndarray) -> np.ndarray:
    """Radians (N - 1,) between directions (N, 3)."""
    unit = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    return 2 * np.arcsin(np.clip(np.linalg.norm(np.diff(unit, axis=0), axis=1) / 2, 1e-12, 1.0))


def _end_bevels(body: BandBody) -> tuple[float, float]:
    """Degrees from square at which the start and the end are cut."""
    closing = next((corner for corner in body.corners if corner.at == 0), None)
    return (closing.bevels[1], closing.bevels[0]) if closing else (0.0, 0.0)


def _too_tight(piece: Piece, body: BandBody) -> tuple[str, ...]:
    """Common practice, no source: sheet foam bends cold to an inside radius of about twice its thickness."""
    radius = np.inf
    for stretch in body.runs:
        if stretch.bend == "flat":
            continue
        index = slice(stretch.start, stretch.stop + 1)
        turn = np.maximum(_turn(body.normals[index]), 1e-9)
        for offset in (body.inner_offset, body.inner_offset + piece.stock.thickness):
            face = (body.curve + offset * body.normals)[index]
            radius = min(radius, float(np.min(np.linalg.norm(np.diff(face, axis=0), axis=1) / turn)))
    if radius < _TIGHT * piece.stock.thickness:
        return (f"bends to a radius of {radius:.0f} mm: warm it or score the back of the bend",)
    return ()


def _edge_line(x: np.ndarray, y: np.ndarray, begin: float, end: float) -> np.ndarray:
    """The points (x, y) of a long edge from one end to the other; two if it is straight."""
    if np.ptp(y) < 1e-9:
        return np.array([[begin, y[0]], [end, y[-1]]])
    inside = (x > begin + 1e-9) & (x < end - 1e-9)
    ends = np.interp([begin, end], x, y)
    return np.column_stack(
        [np.concatenate([[begin], x[inside], [end]]), np.concatenate([ends[:1], y[inside], ends[1:]])]
    )


def _length(points: np.ndarray) -> float:
    return float(arc_length(points)[-1])


def _edge(name: str, points: np.ndarray, length: float, bevel: float, joins: tuple[str, ...]) -> PatternEdge:
    return PatternEdge(name, points, float(length), (bevel,), joins, None, np.zeros(0), ())
