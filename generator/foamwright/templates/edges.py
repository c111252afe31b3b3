"""What is drawn at an edge: centre notch, match ticks with their numbers, bevels, and what it joins.

Lengths in mm. Ticks point into the foam; words run along the edge.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from foamwright.drawing.primitives import Path, Primitive, Tick
from foamwright.drawing.typesetting import SMALLEST, Block, Line, label_block
from foamwright.flatten.records import Pattern, PatternEdge
from foamwright.language import say
from foamwright.templates.bevels import EVEN, bevel_value, bevel_words, by_sanding, goes_both_ways
from foamwright.templates.place import Candidates, Field
from foamwright.templates.touching import Partly

TICK = 4.0  # length of a match tick
SEAM_END = (1.6, 1.2)  # length of the T where a seam ends and half its bar, in lengths of a tick and mm
_RUNS_ON = 30.0  # degrees that an outline turns where a seam ends and nobody sees a corner
_SAME = 0.01  # mm
NOTCH = (1.6, 3.0)  # half width and depth of a centre notch
BEVEL_EVERY = 45.0
_BEVEL_END, _BEVEL_APART = 7.0, 24.0  # from the end of an edge to the first bevel printed there; from one to the next
_OFF, _TURNS_APART = 3.0, 12.0  # degrees between what is told and what is; from one bevel that tells it to the next
_TOLD_SQUARE = 20.0  # mm of an edge that is told to be square
_BRACKET, _BRACKET_STEP = 1.5, 2.0  # how far in from an edge a bracket runs, and its steps along a bend
_ONE_END = 2.0  # of two brackets whose ends are nearer: two strokes there look like a scribble
INSIDE = (4.6, 6.0, 8.0, 10.5, 1.0, 2.0)  # white between an edge and its words, in order of preference
OUTSIDE = (-1.2, -2.5, -4.5)
_SHORT_EDGE = 25.0  # of which an eye takes in the next ones as well
_EDGE_TYPE = 2.6
_MOST_LINES = 5  # that words about the edge of a hole are broken into
_TURNS = float(np.cos(np.radians(30.0)))  # words are not read with an edge that turns by more over half of them


@dataclass(frozen=True, eq=False)
class Walk:
    """An edge as a curve to walk along; `inward` is +1 where the foam is to the left of it, else -1."""

    points: np.ndarray  # (N, 2)
    distance: np.ndarray  # (N,) from the start along the points, dart mouths included
    closed: np.ndarray  # (N,) the same once the darts are closed
    inward: int

    @property
    def length(self) -> float:
        return float(self.distance[-1])

    @property
    def is_loop(self) -> bool:
        """Does it end where it begins?"""
        return bool(np.hypot(*(self.points[-1] - self.points[0])) < 1e-6)

    def around(self, distance: np.ndarray) -> np.ndarray:
        """Distances (K,), of a closed edge those past the end begun anew; another one ends where it ends."""
        if not self.is_loop:
            return np.minimum(distance, self.length)
        return np.where(distance > self.length, distance - self.length, distance)

    def at(self, distance: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Points (K, 2), unit directions (K, 2) and unit normals into the foam (K, 2)."""
        distance = np.clip(np.asarray(distance, float), 0.0, self.length)
        index = np.clip(np.searchsorted(self.distance, distance, side="right") - 1, 0, len(self.points) - 2)
        step = self.points[index + 1] - self.points[index]
        along = step / np.hypot(*step.T)[:, None]
        place = self.points[index] + along * (distance - self.distance[index])[:, None]
        return place, along, self.inward * np.stack([-along[:, 1], along[:, 0]], axis=1)


def walk(edge: PatternEdge, material: shapely.Polygon) -> Walk:
    """The edge as a walk, with the foam's side found from `material`."""
    steps = np.hypot(*np.diff(edge.points, axis=0).T)
    keep = np.concatenate([[True], steps > 1e-9])  # a doubled point has no direction
    mouths = np.zeros(len(steps))
    mouths[list(edge.mouths)] = steps[list(edge.mouths)]
    distance = np.concatenate([[0.0], np.cumsum(steps)])
    closed = distance - np.concatenate([[0.0], np.cumsum(mouths)])
    trial = Walk(edge.points[keep], distance[keep], closed[keep], 1)
    place, _, left = trial.at(np.linspace(0.05, 0.95, 9) * trial.length)
    votes = [shapely.contains_xy(material, *(place + side * 0.2 * left).T).sum() for side in (1, -1)]
    return trial if votes[0] >= votes[1] else replace(trial, inward=-1)


def strokes(edge: PatternEdge, path: Walk, tick: float) -> tuple[Tick | Path, ...]:
    """The centre notch of a seam and the match ticks, `tick` long."""
    drawn: list[Tick | Path] = [*centre_marks((edge.middle,), path, tick)] if edge.middle is not None else []
    if len(edge.ticks):
        place, _, inward = path.at(edge.ticks)
        tips = place + tick * inward
        drawn += [Tick((a, b), (c, d)) for (a, b), (c, d) in zip(place.tolist(), tips.tolist())]
    return tuple(drawn)


def centre_marks(middles: Sequence[float], path: Walk, tick: float) -> tuple[Path, ...]:
    """A V at each of the places along an edge."""
    return tuple(
        notch(at, along, inward, tick, "tick") for at, along, inward in zip(*path.at(path.around(np.array(middles))))
    )


def notch(at: np.ndarray, along: np.ndarray, tip: np.ndarray, tick: float, layer: str) -> Path:
    """A V that opens at a place (2,) of a line and has its tip where `tip` (2,) points."""
    width, depth = np.asarray(NOTCH) * tick / TICK
    return Path(np.array([at - width * along, at + depth * tip, at + width * along]), layer)


def seam_ends(pattern: Pattern, walks: Sequence[Walk], tick: float) -> tuple[Path, ...]:
    """A T where a seam ends and the outline runs on smoothly into the next edge: no corner shows where that begins."""
    drawn: list[Path] = []
    for edge, path in zip(pattern.edges, walks):
        for after, on in zip(pattern.edges, walks):
            meet = np.hypot(*(edge.points[-1] - after.points[0])) < _SAME
            if after is edge or not meet or (edge.seam is None and after.seam is None):
                continue
            (here,), (ahead,), (inward,) = path.at(np.array([path.length]))
            if float(on.at(np.array([0.0]))[1][0] @ ahead) > np.cos(np.radians(_RUNS_ON)):
                drawn += seam_end(here, inward, tick)
    return tuple(drawn)


def seam_end(at: np.ndarray, inward: np.ndarray, tick: float) -> tuple[Path, ...]:
    """The T at a place (2,) of an edge, with its bar where it points to."""
    tip, along = at + SEAM_END[0] * tick * inward, SEAM_END[1] * np.array([-inward[1], inward[0]])
    return Path(np.array([at, tip]), "seam-end"), Path(np.array([tip - along, tip + along]), "seam-end")


def tick_numbers(edge: PatternEdge, path: Walk, tick: float, field: Field) -> tuple[Primitive, ...]:
    """The number of each match tick: past its tip, else beside it, else off the foam."""
    if not len(edge.ticks):
        return ()
    drawn: list[Primitive] = []
    for value, at, along, inward in zip(edge.tick_numbers, *path.at(edge.ticks)):
        block = label_block([Line(str(value), SMALLEST)], "tick")
        half = np.hypot(block.width, block.height) / 2
        ahead = [at + inward * (tick + 0.7 + half + extra) for extra in (0.0, 0.8, 1.6, 3.0)]
        beside = [
            at + inward * depth + side * along * (half + 0.7 + extra)
            for depth in (tick * 0.7, tick, tick + 1.5)
            for extra in (0.0, 0.8, 1.8)
            for side in (1, -1)
        ]
        off = [
            at - inward * (half + 0.9 + far) + side * along * extra
            for far in (0.0, 1.0, 2.0)
            for extra in (0.0, 1.5, 3.0)
            for side in (1, -1)
        ]
        on = np.array(ahead + beside)
        placed = field.first(block, Candidates(on, np.full(len(on), field.level)), inside=True)
        placed = placed or field.first(block, Candidates(np.array(off), np.full(len(off), field.level)), inside=False)
        drawn += placed or field.outside(block, shapely.Point(at))
    return tuple(drawn)


def bevel_values(values: tuple[float, ...], foam: float, path: Walk, field: Field) -> tuple[Primitive, ...]:
    """The bevel of an edge of foam so thick at places along it, where there is room: one on each stretch between darts, and
    where it varies at its least and its greatest `values` and at both ends as well, and at equal distances."""
    if bevel_words(values, foam) is None or by_sanding(values, foam):
        return ()
    known = np.linspace(0.0, path.closed[-1], len(values))
    end = 0.0 if path.is_loop else _end(path)
    both_ways = goes_both_ways(values, foam)
    drawn: list[Primitive] = []
    for station in _bevel_stations(values, path):
        meant = 0.0 if station <= end else path.length if station >= path.length - end else station
        reached = float(np.interp(meant, path.distance, path.closed))
        value = float(np.interp(reached, known, values))
        block = label_block([Line(bevel_value(value, both_ways, foam), SMALLEST)], "bevel")
        near = station + np.array([0.0, 3.0, -3.0, 6.0, -6.0])
        placed = field.first(block, _along(path, near, (1.4, 3.0, 5.0), block.height, field), inside=True)
        if placed is None:  # a bevel that varies is worth a place on the waste
            placed = field.first(block, _along(path, near, OUTSIDE, block.height, field), inside=False)
        drawn += placed or ()
    return tuple(drawn)


def _bevel_stations(values: tuple[float, ...], path: Walk) -> list[float]:
    """Distances along the points at which a bevel is printed, in the order in which they are worth it."""
    steps, shut = np.diff(path.distance), np.diff(path.closed)
    mouths = np.flatnonzero((steps > 1e-6) & (shut < 1e-6))
    starts = np.append(0.0, path.distance[mouths + 1])
    ends = np.append(path.distance[mouths], path.length)
    middles = ((starts + ends) / 2.0).tolist() if len(mouths) else []
    if max(values) - min(values) < EVEN:
        return middles
    known = np.linspace(0.0, path.closed[-1], len(values))
    turns = np.interp(_turns(values, path.is_loop) * known[1], path.closed, path.distance)
    if path.is_loop:
        quarters = (turns[0] + np.arange(1, 4) / 4.0 * path.length) % path.length
        return _apart([*turns.tolist(), *quarters.tolist()], len(turns), path.length)
    count = int(np.clip(path.length // BEVEL_EVERY, 2, 12))
    even = (np.arange(count) + 0.5) / count * path.closed[-1]
    end = _end(path)
    wanted = [
        *np.clip(turns, end, path.length - end).tolist(),
        *np.interp(even, path.closed, path.distance).tolist(),
        *middles,
    ]
    close = len(turns)  # these may stand nearer to each other
    chosen: list[float] = []
    for number, station in enumerate(wanted):
        apart = _TURNS_APART if number < close else _BEVEL_APART
        own = int(np.searchsorted(starts, station, side="right"))
        beside = [each for each in chosen if int(np.searchsorted(starts, each, side="right")) == own]
        if all(abs(station - each) > apart for each in beside):
            chosen.append(station)
    return chosen


def _turns(values: Sequence[float], is_loop: bool) -> np.ndarray:
    """Numbers of the values to print, so that a blade that is turned evenly from one to the next is never off by more than a
    hand may be: the greatest and the least first, then both ends, then those between, the worst of each stretch first."""
    along = np.asarray(values, float)
    count = len(along)
    most, least = int(along.argmax()), int(along.argmin())
    if is_loop:  # from the greatest round to it again
        ring = np.roll(along[:-1], -most)
        along = np.append(ring, ring[0])
        first = [0, int(along.argmin()), count - 1]
    else:
        first = [most, least, 0, count - 1]
    chosen = list(dict.fromkeys(first))
    stretches = list(pairwise(sorted(chosen)))
    while stretches:
        start, stop = stretches.pop(0)
        between = np.arange(start + 1, stop)
        off = (
            np.abs(along[between] - np.interp(between, [start, stop], along[[start, stop]])) if len(between) else [0.0]
        )
        if max(off) > _OFF:
            worst = int(between[int(np.argmax(np.round(off, 6)))])
            chosen.append(worst)
            stretches += [(start, worst), (worst, stop)]
    return np.array([(n + most) % (count - 1) for n in chosen if n < count - 1] if is_loop else chosen)


def _end(path: Walk) -> float:
    """How far from the end of an edge the bevel stands that it has at its very end."""
    return min(_BEVEL_END, path.length / 6.0)


def square_value(path: Walk, field: Field) -> tuple[Primitive, ...]:
    """That an edge is cut square, where other edges of its part are not: a number at its neighbour could be taken for its own."""
    if path.length < _TOLD_SQUARE:
        return ()
    block = label_block([Line(say("square"), SMALLEST)], "bevel")
    near = path.length * np.array([0.5, 0.45, 0.55, 0.38, 0.62, 0.3, 0.7])
    placed = field.first(block, _along(path, near, (1.4, 3.0, 5.0), block.height, field), inside=True)
    return placed or ()


def _apart(wanted: Sequence[float], close: int, length: float) -> list[float]:
    """Those of the places round a loop that are not next to one before; the first `close` of them may be nearer."""
    chosen: list[float] = []
    for number, station in enumerate(wanted):
        gaps = [abs(station - each) for each in chosen]
        apart = min(_TURNS_APART if number < close else _BEVEL_APART, length / 8.0)
        if all(min(gap, length - gap) > apart for gap in gaps):
            chosen.append(station)
    return chosen


def once(texts: Sequence[str | None], walks: Sequence[Walk]) -> list[str | None]:
    """The texts of edges, in their order round a part: of short ones that say the same, with only short ones without words
    between them, as at a tab, the longest alone."""
    count = len(texts)
    breaks = [i for i in range(count) if walks[i].length > _SHORT_EDGE]
    first = breaks[0] if breaks else 0
    groups: list[list[int]] = [[]]
    for i in (k % count for k in range(first, first + count)):
        said = [texts[k] for k in groups[-1]]
        if walks[i].length > _SHORT_EDGE or (texts[i] is not None and said and said[-1] != texts[i]):
            groups.append([])
        if texts[i] is not None and walks[i].length <= _SHORT_EDGE:
            groups[-1].append(i)
    kept = list(texts)
    for group in groups:
        longest = max(group, key=lambda i: (round(walks[i].length, 3), -i), default=None)
        for i in group:
            kept[i] = texts[i] if i == longest else None
    return kept


def edge_label(text: str, path: Walk, field: Field) -> tuple[Primitive, ...]:
    """`text` along the edge: on the foam, else with a leader on the foam or along the edge in several lines, else beside it
    or with a leader there."""
    shift = np.linspace(0.0, 0.42, 31)
    near = path.length * (0.5 + np.stack([shift, -shift], axis=1).ravel())
    small = label_block([Line(text, SMALLEST)])
    for block in (label_block([Line(text, _EDGE_TYPE)]), small):
        block = block.padded(1.0)  # or it would be read on with the number of a tick
        placed = _on_foam(block, path, near, 1.1 * path.length, field)
        if placed is not None:
            return placed
    beside = _along(path, near[_runs_straight(path, near, small.width)], OUTSIDE, small.height, field)
    middle = path.at(np.linspace(0.2, 0.8, 25) * path.length)[0]  # at a corner it could mean either edge
    target = shapely.LineString(middle)
    return (
        field.pointing(small, target)
        or _in_lines(text, path, near, field)
        or (field.pointing(small, target, over_lines=True) if path.is_loop else None)
        or (
            _at_a_hole(text, beside, hole, target, field)
            if (hole := field.hole_at(target))
            else field.beside(small, beside)
        )
        or field.outside(small, target)
    )


def _at_a_hole(
    text: str, beside: Candidates, hole: shapely.Polygon, target: shapely.Geometry, field: Field
) -> tuple[Primitive, ...] | None:
    """`text` with a leader to the edge of a hole, or in the hole: along its edge, or with a leader in as few lines as find room,
    as on the foam around it. Elsewhere and without a leader it would be read as being about another edge."""
    blocks = [label_block([Line(row, SMALLEST) for row in rows]) for rows in _broken(text)]
    inside = Candidates(
        *(each[shapely.contains_xy(hole, *beside.centres.T)] for each in (beside.centres, beside.angles))
    )
    return (
        field.first(blocks[0], inside, inside=False)
        or field.led(blocks[0], target)
        or field.within(blocks, hole, target)
        or next((at for block in blocks if (at := field.pointing(block, target, over_lines=True))), None)
    )


def _broken(text: str) -> list[list[str]]:
    """A text in one line, and between words in ever more of them."""
    rows = [textwrap.wrap(text, max(len(text) // lines + 3, 8)) for lines in range(1, _MOST_LINES + 1)]
    return [row for i, row in enumerate(rows) if row not in rows[:i]]


def _in_lines(text: str, path: Walk, near: np.ndarray, field: Field) -> tuple[Primitive, ...] | None:
    """`text` broken at its commas into as few lines as the edge is long enough for, on the foam along it."""
    parts = text.split(", ")
    for count in range(2, len(parts) + 1):
        ends = np.linspace(0, len(parts), count + 1).round().astype(int).tolist()
        rows = [", ".join(parts[a:b]) + ("," if b < len(parts) else "") for a, b in pairwise(ends)]
        block = label_block([Line(row, SMALLEST) for row in rows]).padded(1.0)
        placed = _on_foam(block, path, near, 1.1 * path.length, field)
        if placed is not None:
            return placed
    return None


def _on_foam(block: Block, path: Walk, near: np.ndarray, room: float, field: Field) -> tuple[Primitive, ...] | None:
    """Words on the foam along the edge, about one of the places `near` (K,) on it; None where they are not shorter than
    `room`, or find none."""
    if block.width >= room:
        return None
    straight = near[_runs_straight(path, near, block.width)]
    return field.first(block, _along(path, straight, INSIDE, block.height, field), inside=True)


def brackets(met: Sequence[Partly], path: Walk, tick: float) -> tuple[Path, ...]:
    """A line beside each stretch of an edge that touches one of `met`, from end to end of it, where the rest of the edge does
    not. Where one begins as another ends, both have one end."""
    stretches = [stretch for one in met for stretch in one.stretches]
    ends = np.array([end for stretch in stretches for end in (stretch.start, stretch.end)])
    met_ends = _met_ends(ends).reshape(-1, 2)
    lines = []
    for start, end in dict.fromkeys(tuple(pair) for pair in met_ends.tolist()):
        at = np.linspace(start, end, 2 + int((end - start) / _BRACKET_STEP))
        place, _, inward = path.at(path.around(at))
        line = place + _BRACKET * tick / TICK * inward
        lines.append(Path(np.vstack([place[:1], line, place[-1:]]), "touch"))
    return tuple(lines)


def _met_ends(ends: np.ndarray) -> np.ndarray:
    """Starts and ends in turn (K,), as distances along an edge: those of two stretches that an eye does not part moved to
    their middle, but not the two of one stretch."""
    if not len(ends) or np.diff(ends.reshape(-1, 2), axis=1).min() <= _ONE_END:
        return ends
    order = np.argsort(ends, kind="stable")
    number = np.cumsum(np.diff(ends[order], prepend=ends[order][:1]) > _ONE_END)
    met = np.empty_like(ends)
    met[order] = (np.bincount(number, ends[order]) / np.bincount(number))[number]
    return met


def partly_label(text: str, met: Partly, path: Walk, field: Field) -> tuple[Primitive, ...]:
    """`text` beside the longest stretch that touches, or with a leader to it; along the edge if it touches all along."""
    if not met.stretches:
        return edge_label(text, path, field)
    longest = max(met.stretches, key=lambda stretch: stretch.length)
    share = np.concatenate([[0.5], 0.5 + np.outer(np.linspace(0.05, 0.45, 9), [1, -1]).ravel()])
    near = path.around(longest.start + share * longest.length)
    block = label_block([Line(text, SMALLEST)], "touch").padded(1.0)
    placed = _on_foam(block, path, near, longest.length, field)
    if placed is not None:
        return placed
    target = shapely.LineString(path.at(path.around(longest.start + np.array([0.25, 0.75]) * longest.length))[0])
    return (
        field.pointing(block, target) or field.pointing(block, target, over_lines=True) or field.outside(block, target)
    )


def _runs_straight(path: Walk, near: np.ndarray, width: float) -> np.ndarray:
    """Whether (K,) the edge runs along with words `width` wide, about each of the places `near` (K,) on it."""
    here = path.at(near)[1]
    ends = [path.at(near + side * width / 2)[1] for side in (-1, 1)]
    return np.min([(end * here).sum(axis=1) for end in ends], axis=0) > _TURNS


def _along(path: Walk, near: np.ndarray, gaps: tuple[float, ...], height: float, field: Field) -> Candidates:
    """Places beside the edge, `gaps` mm of white between, in from it or (negative) off it.

    A place that is nearer to another edge is left out: words there would be read as that edge's.
    """

    def places() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        place, along, inward = path.at(near)
        offsets = [np.sign(gap) * (abs(gap) + height / 2) for gap in gaps]
        centres = np.concatenate([place + offset * inward for offset in offsets])
        points = shapely.points(centres)
        own = shapely.distance(points, shapely.LineString(path.points))
        mine = own <= shapely.distance(points, field.material.boundary) + 0.2
        return centres, mine, np.degrees(np.arctan2(along[:, 1], along[:, 0]))

    centres, mine, lies = field.kept((path, near.tobytes(), gaps, height), places)
    angles = np.array([field.upright(a) for a in lies])
    return Candidates(centres[mine], np.tile(angles, len(gaps))[mine])
