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


@dataclass(frozen=True, eq=False)
class Developed:
    """A band laid straight, in its own direction: where each point of its curve comes to lie, and where it ends.

    `places` (N,) are on the face that is drawn on, the inner one; a mitred corner is the end of two pieces there,
    which lie close together, a scored one the fold. `begin` and `end` are the ends on the drawn face, and
    `other_begin` and `other_end` those of the other face.
    """

    places: np.ndarray
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
    other = _strip(lines, flat.other_begin - body.trim_start, flat.other_end + body.trim_end)
    straight = np.ptp(body.low) < 1e-9 and np.ptp(body.high) < 1e-9
    split = _mitred(piece, flat, lines) if any(c.made == "mitred" and c.at for c in body.corners) else None
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


def _mitred(piece: Piece, flat: Developed, lines: list[tuple[np.ndarray, np.ndarray]]) -> Split:
    """The pieces between the corners of a mitred band; on the drawn face they lie close together. Raises BuildError
    for a piece that no sheet holds."""
    body, thickness = piece.body, piece.stock.thickness
    assert isinstance(body, BandBody)
    inner = [corner for corner in body.corners if corner.at]
    slopes = [tuple(thickness * math.tan(math.radians(bevel)) for bevel in corner.bevels) for corner in inner]
    places = [float(flat.places[corner.at]) for corner in inner]
    first, last = flat.begin - body.trim_start, flat.end + body.trim_end
    drawn = list(pairwise([first, *places, last]))
    other = list(
        zip(
            [flat.other_begin - body.trim_start, *(x - after for x, (_, after) in zip(places, slopes))],
            [*(x + before for x, (before, _) in zip(places, slopes)), flat.other_end + body.trim_end],
        )
    )
    segments = []
    for ends, other_ends in zip(drawn, other):
        outline, beyond = (_strip(lines, *face) for face in (ends, other_ends))
        segments.append(Segment(outline, (), signed_area(outline), beyond, ()))
        foam = shapely.Polygon(outline) | shapely.Polygon(beyond)
        if not fits(foam, piece.stock):
            raise BuildError(
                f"part {piece.id}: a piece of {np.ptp(beyond[:, 0]):.0f} x {np.ptp(beyond[:, 1]):.0f} mm between two "
                f"mitres fits no sheet of {piece.stock.name}; choose a stock with larger sheets, or corners: scored"
            )
    cuts = []
    for x in places:
        y = [float(np.interp(x, *line)) for line in lines]
        cuts.append(np.array([[-x, y[0]], [-x, y[1]]]))
    bevels = tuple(corner.bevels for corner in inner)
    return Split("mitre", tuple(segments), tuple(cuts), bevels)


def _strip(lines: list[tuple[np.ndarray, np.ndarray]], begin: float, end: float) -> np.ndarray:
    """The outline (N, 2), counter-clockwise, of the band from one place to another."""
    low, high = (seen_from_inside(_edge_line(x, y, begin, end)[::-1]) for x, y in lines)
    return np.vstack([low, high[::-1]])


def developed(body: BandBody, thickness: float, k: float) -> Developed:
    """The band laid straight. Bent foam keeps the length of its neutral surface; in a scored corner it keeps that of
    the skin, and a mitred piece ends on each face where that face ends."""
    step = np.concatenate([[0.0], _steps(body, body.inner_offset + k * thickness, k)])
    added = [(0.0, 0.0)] * len(step)  # before and after each point
    closing = None
    for corner in body.corners:
        before, after = (_beyond(corner, bevel, thickness, k) for bevel in corner.bevels)
        if corner.at == 0:
            closing = corner
            added[0], added[-1] = (0.0, after), (before, 0.0)
        else:
            added[corner.at] = (before, after)
    before, after = np.array(added).T
    places = np.cumsum(step + before + np.concatenate([[0.0], after[:-1]]))
    begin = other_begin = 0.0
    end = other_end = float(places[-1])
    if closing is not None:
        first, last = math.tan(math.radians(closing.bevels[1])), math.tan(math.radians(closing.bevels[0]))
        if closing.made == "mitred":
            other_begin, other_end = begin - thickness * first, end + thickness * last
        elif closing.turn > 0:  # the outer face is the whole length
            begin, end = begin + thickness * first, end - thickness * last
        else:
            other_begin, other_end = other_begin - thickness * first, other_end + thickness * last
    return Developed(places, begin, end, other_begin, other_end)


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
