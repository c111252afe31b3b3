"""What a part is cut from: itself, or its segments, each as a pattern that is drawn and printed by itself."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon

from foamwright.flatten.records import Pattern, PatternEdge, Segment, SegmentJoint, Split

_NEAR = 1e-3  # mm within which a point belongs to a line
_SPECK = 0.5  # mm; a shorter stretch of an edge is none


def segment_label(pattern: Pattern, segment: int) -> str:
    """The label of a piece of foam: of a split part with the number of its segment, A1 and A2, else A."""
    return f"{pattern.piece.label}{segment + 1}" if pattern.split else pattern.piece.label


def pieces_of_foam(pattern: Pattern) -> tuple[Pattern, ...]:
    """The pattern, or each of its segments in the same coordinates, named and labelled as a part of its own.

    A segment has the edges that fall to it, with the ticks of the whole, and its joints with the others.
    """
    if pattern.split is None:
        return (pattern,)
    segments = pattern.split.segments
    foam = [Polygon(s.outline, s.holes) for s in segments]
    return tuple(_piece(pattern, pattern.split, k, foam) for k in range(len(segments)))


def _piece(whole: Pattern, split: Split, number: int, foam: list[Polygon]) -> Pattern:
    segment = split.segments[number]
    named = replace(
        whole.piece,
        label=segment_label(whole, number),
        name=f"{whole.piece.name}, segment {number + 1} of {len(foam)}",
    )
    own = foam[number].buffer(_NEAR)
    shapely.prepare(own)
    return replace(
        whole,
        piece=named,
        outline=segment.outline,
        holes=segment.holes,
        area=segment.area,
        other_outline=segment.other_outline,
        other_holes=segment.other_holes,
        edges=tuple(part for edge in whole.edges for part in _stretches(edge, split.lines, own)),
        strip=(_long(segment, _along(whole)), whole.strip[1]) if whole.strip else None,
        split=None,
        joints=_joints(whole, split, number, foam, own),
    )


def drawn_length(strip: Pattern) -> float:
    """Length of a strip, or of a segment of one, in mm on its drawn face: a mitred one is longer or shorter on the other."""
    assert strip.strip is not None
    spans = np.ptp(strip.outline, axis=0)
    return float(spans[1 - int(np.abs(spans - strip.strip[1]).argmin())])


def _along(whole: Pattern) -> int:
    """The axis along which a strip runs on paper."""
    assert whole.strip is not None
    return int(np.abs(np.ptp(whole.outline, axis=0) - whole.strip[0]).argmin())


def _long(segment: Segment, axis: int) -> float:
    """Length of a strip over both faces."""
    return float(np.ptp(np.vstack([segment.outline, segment.other_outline])[:, axis]))


def _joints(whole: Pattern, split: Split, number: int, foam: list[Polygon], own: Polygon) -> tuple[SegmentJoint, ...]:
    """The lines on a segment that are the ends of others: of a scarf, not the line at its own end."""
    joints = []
    for line, (before, after) in zip(split.lines, split.bevels or [(0.0, 0.0)] * len(split.lines)):
        cut = shapely.LineString(line)
        if not own.covers(cut):
            continue
        for other, beside in enumerate(foam):
            shared = (beside.boundary & cut.buffer(_NEAR)).length
            if other != number and shared > 0.5 * cut.length:
                label = segment_label(whole, other)
                first = number < other
                joints.append(SegmentJoint(split.joint, line, label, first, before if first else after))
    return tuple(joints)


def _stretches(edge: PatternEdge, lines: tuple[np.ndarray, ...], own: Polygon) -> list[PatternEdge]:
    """The stretches of an edge that lie on one segment, between the ends of the joints that stand on it."""
    whole = shapely.LineString(edge.points)
    joints = [shapely.LineString(line) for line in lines]
    ends = shapely.points(np.concatenate([line[[0, -1]] for line in lines]))
    crossed = shapely.points(
        shapely.get_coordinates(shapely.intersection(joints, whole))
    )  # where its far face is wider
    met = [whole.project(at) for at in (*ends, *crossed) if whole.distance(at) < _NEAR]
    stops = np.unique(np.round([0.0, *met, whole.length], 6))
    stretches: list[tuple[float, float]] = []
    for a, b in pairwise(stops):
        if b - a > _SPECK and own.covers(whole.interpolate((a + b) / 2)):
            joined = stretches and stretches[-1][1] == a
            stretches[-1:] = [(stretches[-1][0], b)] if joined else [*stretches[-1:], (a, b)]
    if len(stretches) > 1 and stretches[0][0] == 0.0 and stretches[-1][1] == stops[-1] and whole.is_closed:
        (_, first), *stretches = stretches
        stretches[-1] = stretches[-1][0], stops[-1] + first  # once around, past the start of the edge
    return [edge] if stretches == [(0.0, stops[-1])] else [_stretch(edge, a, b) for a, b in stretches]


def _stretch(edge: PatternEdge, start: float, end: float) -> PatternEdge:
    """A part of an edge without darts; of a closed one, `end` may lie past the point where it begins."""
    distance = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(edge.points, axis=0).T))])
    length = distance[-1]
    points = np.concatenate([edge.points, edge.points[1:]])
    distance = np.concatenate([distance, length + distance[1:]])

    def at(place: float) -> np.ndarray:
        return np.array([np.interp(place, distance, axis) for axis in points.T])

    inner = points[(distance > start + _NEAR) & (distance < end - _NEAR)]
    ticks = [
        (place - start, number)
        for turn in (0.0, length)
        for place, number in zip(edge.ticks + turn, edge.tick_numbers)
        if start <= place <= end
    ]
    middles = [edge.middle + turn - start for turn in (0.0, length)] if edge.middle is not None else []
    shares = np.linspace(start, end, len(edge.bevel)) % length / length
    return replace(
        edge,
        points=np.vstack([at(start), inner, at(end)]),
        length=float(end - start),
        bevel=tuple(map(float, np.interp(shares, np.linspace(0.0, 1.0, len(edge.bevel)), edge.bevel)))
        if edge.bevel
        else (),
        ticks=np.array([place for place, _ in ticks], float),
        tick_numbers=tuple(number for _, number in ticks),
        middle=next((m for m in middles if 0.0 <= m <= end - start), None),
    )
