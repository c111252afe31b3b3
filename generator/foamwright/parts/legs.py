"""Plane curves as legs: straight lines, arcs and free curves that meet smoothly or in corners. Lengths in mm.

An outline reaches its parts as a polyline, after it was cut, joined and offset. What its legs were can still be
told, because every curve was sampled to a stated sagitta: a vertex that turns more than such a sample could is a
corner, a chord too long to be a sample is a straight leg, and vertices that lie on one circle are an arc.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline

from foamwright.geometry import arc_length
from foamwright.parts.curves import SAGITTA

SHARP = math.radians(1.0)  # two legs that turn more than this against each other meet in a corner
_SAMPLE = 4 * SAGITTA  # mm: no chord of a sampled curve rises by more, whatever was cut off it
_LONE = math.radians(12.0)  # a turn as great as this, and three times those beside it, is a corner between short chords
_ONE_LINE = 1e-7  # mm off the line through its neighbours: a vertex that is none
_ONE_CIRCLE = 2e-7  # of the radius and a millimetre, off a circle
_AT_ONCE = 256  # lengths of an arc that are tried in one go
_COARSE = math.radians(35.0)  # from chord to chord of the coarsest sample of a curve
_TANGENT = 0.02  # mm that a line may pass beside a circle which it touches
_LEAST_ARC = math.radians(10.0)  # a stretch of any smooth curve looks round if it is short enough


@dataclass(frozen=True, eq=False)
class Straight:
    """A straight leg between two points (2,)."""

    start: np.ndarray
    end: np.ndarray

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.end - self.start)))

    @property
    def turn(self) -> float:
        return 0.0

    def at(self, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points (N, 2) at the lengths `s` (N,) along it and its unit directions (N, 2) there."""
        tangent = (self.end - self.start) / self.length
        s = np.asarray(s, float)
        return self.start + s[:, None] * tangent, np.broadcast_to(tangent, (len(s), 2))

    def part(self, first: float, last: float) -> Straight:
        start, end = self.at(np.array([first, last]))[0]
        return Straight(start, end)


@dataclass(frozen=True, eq=False)
class Arc:
    """A round leg over `turn` radians, + to the left, from the angle `first` about its centre (2,)."""

    centre: np.ndarray
    radius: float
    first: float
    turn: float

    @property
    def length(self) -> float:
        return abs(self.turn) * self.radius

    def at(self, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points (N, 2) at the lengths `s` (N,) along it and its unit directions (N, 2) there; beyond its ends it
        goes on straight."""
        s = np.asarray(s, float)
        side = math.copysign(1.0, self.turn)
        within = np.clip(s, 0.0, self.length)
        angle = self.first + side * within / self.radius
        out = np.column_stack([np.cos(angle), np.sin(angle)])
        tangent = side * np.column_stack([-out[:, 1], out[:, 0]])
        return self.centre + self.radius * out + (s - within)[:, None] * tangent, tangent

    def part(self, first: float, last: float) -> Arc:
        side = math.copysign(1.0, self.turn)
        return Arc(
            self.centre, self.radius, self.first + side * first / self.radius, side * (last - first) / self.radius
        )


@dataclass(frozen=True, eq=False)
class Free:
    """A smooth leg through many points: `spline` gives (2,) over its length, near enough by arc length."""

    spline: CubicSpline
    first: float
    last: float

    @property
    def length(self) -> float:
        return self.last - self.first

    @property
    def turn(self) -> float:
        tangents = self.at(np.linspace(0.0, self.length, 65))[1]
        return float(np.sum(_turns(tangents)))

    def at(self, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """As of an `Arc`."""
        s = np.asarray(s, float)
        within = np.clip(s, 0.0, self.length)
        tangent = self.spline(self.first + within, 1)
        tangent = tangent / np.hypot(*tangent.T)[:, None]
        return self.spline(self.first + within) + (s - within)[:, None] * tangent, tangent

    def part(self, first: float, last: float) -> Free:
        return Free(self.spline, self.first + first, self.first + last)


Leg = Straight | Arc | Free
_Stretch = tuple[str, int, int]  # kind, first and last index of a ring, past its end if need be


def ends(leg: Leg) -> tuple[np.ndarray, np.ndarray]:
    """The unit directions (2,) in which a leg begins and ends."""
    tangents = leg.at(np.array([0.0, leg.length]))[1]
    return tangents[0], tangents[1]


def turn_between(before: Leg, after: Leg) -> float:
    """By how many radians, + to the left, two neighbouring legs turn where they meet."""
    return _angle(ends(before)[1], ends(after)[0])


def is_smooth(legs: Sequence[Leg]) -> bool:
    """Is a closed curve one free leg, without straight legs, arcs or corners?"""
    return len(legs) == 1 and isinstance(legs[0], Free)


def sharpest(legs: Sequence[Leg], closed: bool) -> tuple[float, float, float]:
    """Where (x, y) the legs turn most against each other, and by how many degrees."""
    pairs = list(zip((legs[-1], *legs[:-1]), legs))[0 if closed else 1 :]
    turns = [turn_between(*pair) for pair in pairs]
    worst = int(np.argmax(np.abs(turns)))
    x, y = pairs[worst][1].at(np.zeros(1))[0][0]
    return float(x), float(y), math.degrees(abs(turns[worst]))


def first_at_corner(legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The legs of a closed curve from its first corner on; as they are if it has none."""
    turns = [turn_between(before, after) for before, after in zip((legs[-1], *legs[:-1]), legs)]
    first = next((i for i, turn in enumerate(turns) if abs(turn) > SHARP), 0)
    return (*legs[first:], *legs[:first])


def between(legs: Sequence[Leg], begin: float, end: float) -> tuple[Leg, ...]:
    """The legs of a closed curve from one length along it to another, less than a turn on; both may lie in any turn."""
    total = sum(leg.length for leg in legs)
    shift = math.floor(begin / total) * total
    begin, end = begin - shift, end - shift
    kept: list[Leg] = []
    at = 0.0
    for leg in (*legs, *legs):
        first, last = max(begin - at, 0.0), min(end - at, leg.length)
        if last - first > 1e-9:
            kept.append(leg.part(first, last))
        at += leg.length
    return tuple(kept)


def with_corners(ring: np.ndarray) -> np.ndarray:
    """A closed polyline, sampled evenly past its corners, with the point of each cut-off corner put in.

    (N, 2), first point not repeated, or (N, 3) with its heights over the plane, which are not asked.

    Two or three neighbouring turns that stand out from those beside them are what is left of a corner: it lies where
    the curves on both sides, going on in their directions, would meet.
    """
    n, heights, ring = len(ring), ring[:, 2:], ring[:, :2]
    chords = np.roll(ring, -1, axis=0) - ring
    turn = _turns(np.vstack([chords[-1:], chords]))
    spacing = float(np.median(np.hypot(*chords.T)))
    added: dict[int, np.ndarray] = {}
    for a in range(n):
        for size in (2, 3):
            b = a + size - 1
            inside = turn[np.arange(a, b + 1) % n]
            beside = max(abs(turn[a - 1]), abs(turn[(b + 1) % n]))
            bent = abs(float(inside.sum()))
            if n < 9 or np.abs(inside).min() < 2 * beside + 1e-3 or bent < _LEAST_ARC or bent < 6 * beside:
                continue
            p, q = ring[a], ring[b % n]
            before = 3 * p - 4 * ring[a - 1] + ring[a - 2]
            after = 4 * ring[(b + 1) % n] - 3 * q - ring[(b + 2) % n]
            tangents = np.column_stack([before, after])
            if abs(np.linalg.det(tangents)) < math.sin(SHARP) * np.hypot(*before) * np.hypot(*after):
                continue
            ahead, back = np.linalg.solve(tangents, q - p)
            corner = p + ahead * before
            if ahead > 0 and back > 0 and max(np.hypot(*(corner - p)), np.hypot(*(corner - q))) < 2 * spacing:
                added[a] = np.append(corner, (heights[a] + heights[b % n]) / 2)
    points = []
    for i, point in enumerate(np.hstack([ring, heights])):
        points.append(point)
        if i in added:
            points.append(added[i])
    return np.array(points)


def corners(ring: np.ndarray, least: float = SHARP) -> np.ndarray:
    """Indices (K,) of the corners of a closed polyline (N, 2), first point not repeated, that turn `least` or more."""
    ring = np.asarray(ring, float)
    legs, at = _legs_between(ring)
    turns = [abs(turn_between(before, after)) for before, after in zip((legs[-1], *legs[:-1]), legs)]
    return np.sort(np.array([i for i, turn in zip(at, turns) if turn > least], int))


def corners_of_line(line: np.ndarray, least: float = SHARP) -> np.ndarray:
    """As `corners`, of an open polyline (N, 2): its ends are none."""
    line = np.asarray(line, float)
    there_and_back = np.vstack([line, line[-2:0:-1]])
    indices = corners(there_and_back, least)
    return indices[(indices > 0) & (indices < len(line) - 1)]


def legs(ring: np.ndarray) -> tuple[Leg, ...]:
    """The legs of a closed polyline (N, 2), first point not repeated.

    The first begins at a corner, else between two kinds of leg, else at the first point: then it is the only one,
    an arc over a full turn or a free leg that closes smoothly.
    """
    return _legs_between(np.asarray(ring, float))[0]


def _legs_between(ring: np.ndarray) -> tuple[tuple[Leg, ...], list[int]]:
    """The legs, and the index of the point where each begins."""
    fresh = np.flatnonzero(np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 1e-9)
    ring = ring[fresh]
    vertices = _Vertices(ring)
    whole = _circle(ring)
    if whole is not None and not vertices.sharp.any():
        return (whole,), [int(fresh[0])]
    runs = vertices.runs()
    if not runs:
        closed = np.vstack([ring, ring[:1]])
        s = arc_length(closed)
        return (Free(CubicSpline(s, closed, bc_type="periodic"), 0.0, float(s[-1])),), [int(fresh[0])]
    runs, met = _across_tangents(ring, _with_remnants(ring, runs))
    legs = _touching(_joined(ring, runs), [i for i, (_, a, _) in enumerate(runs) if a % len(ring) in met])
    return legs, [int(fresh[a % len(ring)]) for _, a, _ in runs]


def _with_remnants(ring: np.ndarray, runs: list[_Stretch]) -> list[_Stretch]:
    """The runs with each remnant of a chord, left where an arc's sample was cut off, taken into its arc."""
    n = len(ring)
    for side in (1, -1):
        kept: list[_Stretch] = []
        for run in runs if side > 0 else runs[::-1]:
            if kept and run[0] == "straight" and kept[-1][0] == "arc" and run[2] - run[1] == 1:
                kind, a, b = kept[-1]
                chords = np.diff(ring[np.arange(*((a, b + 2) if side > 0 else (a - 1, b + 1))) % n], axis=0)
                chords = chords if side > 0 else chords[::-1]
                step = float(np.hypot(*chords[-2]))
                bend = abs(_angle(chords[-2], chords[-1]))
                if np.hypot(*chords[-1]) < 1.001 * step and bend < 1.001 * abs(_angle(chords[-3], chords[-2])):
                    kept[-1] = (kind, a, b + 1) if side > 0 else (kind, a - 1, b)
                    continue
            kept.append(run)
        runs = kept if side > 0 else kept[::-1]
    return runs


def _across_tangents(ring: np.ndarray, runs: list[_Stretch]) -> tuple[list[_Stretch], set[int]]:
    """The runs without the single chord that a curve sampled evenly leaves across the place where a straight leg runs
    into it: half of it is straight and half of it is not. It goes to the curve. And the points where they now meet."""
    n = len(ring)
    taken = list(runs)
    gone: set[int] = set()
    met: set[int] = set()
    for i, (kind, a, b) in enumerate(runs if len(runs) > 2 else []):
        for side in (1, -1):  # the curve lies ahead or behind
            k = (i + side) % len(runs)
            curve, line = taken[k], runs[(i - side) % len(runs)]
            if kind == "arc" or b - a != 1 or i in gone or curve[0] == "straight" or line[0] != "straight":
                continue
            # along the way from the straight leg: its last chord, the one across, and two of the curve
            steps = np.arange(a - 1, b + 3) if side > 0 else np.arange(b + 1, a - 3, -1)
            chords = np.diff(ring[steps % n], axis=0)
            into, off, own = (abs(_angle(chords[j], chords[j + 1])) for j in range(3))
            if np.hypot(*chords[1]) < 1.02 * np.hypot(*chords[2]) and max(into, off) < 1.001 * own < _COARSE:
                taken[k] = (curve[0], curve[1] - 1, curve[2]) if side > 0 else (curve[0], curve[1], curve[2] + 1)
                gone.add(i)
                met.add((a if side > 0 else b) % n)
    return [run for i, run in enumerate(taken) if i not in gone], met


def _touching(legs: tuple[Leg, ...], met: Sequence[int]) -> tuple[Leg, ...]:
    """The legs, a straight one and an arc that meet at the start of one of those at `met` led to the very place where the
    line touches the circle."""
    made = list(legs)
    for i in met:
        for line_at, arc_at in ((i - 1, i), (i, i - 1)):
            line, arc = made[line_at], made[arc_at]
            if not isinstance(line, Straight) or not isinstance(arc, Arc):
                continue
            foot = line.at(np.array([(arc.centre - line.start) @ (line.end - line.start) / line.length]))[0][0]
            corner = made[i].at(np.zeros(1))[0][0]
            reach = abs(math.hypot(*(foot - arc.centre)) - arc.radius)
            if reach > _TANGENT or np.hypot(*(foot - corner)) > min(line.length, arc.length) / 4:
                continue
            out = foot - arc.centre
            more = _angle(corner - arc.centre, out)  # the turn from where they met to the foot
            if line_at == i - 1:
                made[line_at] = Straight(line.start, foot)
                made[arc_at] = Arc(arc.centre, arc.radius, arc.first + more, arc.turn - more)
            else:
                made[line_at] = Straight(foot, line.end)
                made[arc_at] = Arc(arc.centre, arc.radius, arc.first, arc.turn + more)
    return tuple(made)


def _joined(ring: np.ndarray, runs: Sequence[_Stretch]) -> tuple[Leg, ...]:
    """The legs of `runs` (kind, first index, last index past the end of the ring if need be)."""
    n = len(ring)
    stretches = [(kind, ring[np.arange(a, b + 1) % n]) for kind, a, b in runs]
    exact: list[Leg | None] = [
        _straight(points) if kind == "straight" else _arc(points) if kind == "arc" else None
        for kind, points in stretches
    ]
    joined: list[Leg] = []
    for i, (leg, (_, points)) in enumerate(zip(exact, stretches)):
        before, after = exact[i - 1], exact[(i + 1) % len(exact)]
        joined.append(leg or _free(points, ends(before)[1] if before else None, ends(after)[0] if after else None))
    return tuple(joined)


def _straight(points: np.ndarray) -> Straight:
    return Straight(points[0], points[-1])


def _arc(points: np.ndarray) -> Arc:
    circle = _through(points[1], points[len(points) // 2], points[-2]) if len(points) > 4 else None
    centre, radius = circle or _through(points[0], points[len(points) // 2], points[-1])
    out = points - centre
    turn = float(np.sum(_turns(out / np.hypot(*out.T)[:, None])))
    return Arc(centre, radius, math.atan2(out[0, 1], out[0, 0]), turn)


def _free(points: np.ndarray, before: np.ndarray | None, after: np.ndarray | None) -> Free | Straight:
    """The spline through (N, 2) points that leaves and meets its neighbours in their directions, where it nearly
    does so by itself."""
    if len(points) == 2:
        return Straight(points[0], points[1])
    s = arc_length(points)
    chords = np.diff(points, axis=0)
    reach = 2 * math.atan(1.0)
    bounds = []
    for tangent, chord, beside in ((before, chords[0], chords[1]), (after, chords[-1], chords[-2])):
        own = abs(_angle(chord, beside))  # a chord turns half a step from the curve's end
        smooth = tangent is not None and abs(_angle(tangent, chord)) < min(1.5 * own + SHARP, reach)
        bounds.append((1, tangent) if smooth else "not-a-knot" if len(points) > 3 else (2, np.zeros(2)))
    return Free(CubicSpline(s, points, bc_type=tuple(bounds)), 0.0, float(s[-1]))


class _Vertices:
    """What each vertex and chord of a closed polyline (N, 2) is."""

    def __init__(self, ring: np.ndarray):
        self.ring = ring
        self.kept = _bends(ring)
        points = ring[self.kept]
        chords = np.roll(points, -1, axis=0) - points  # chord i goes from vertex i to the next
        self.points = points
        self.length = np.hypot(*chords.T)
        self.turn = _turns(np.vstack([chords[-1:], chords]))
        self.merged = np.diff(np.append(self.kept, self.kept[0] + len(ring))) > 2 if len(self.kept) else np.zeros(0)
        size = np.abs(self.turn)
        shorter = np.minimum(self.length, np.roll(self.length, 1))
        # a chord too long to be a sample of a curve that turns so says nothing of the vertex at its other end
        sampled = self.length * np.minimum(size, np.roll(size, -1)) / 8 <= _SAMPLE
        ahead = np.where(sampled, np.roll(size, -1), 0.0)
        beside = np.maximum(ahead, np.where(np.roll(sampled, 1), np.roll(size, 1), 0.0))
        strong = (shorter * size / 8 > _SAMPLE) & (size > SHARP)
        lone = (size > _LONE) & (size > 3 * beside)
        self.sharp = strong | lone

    def runs(self) -> list[_Stretch]:
        """The legs as (kind, first, last), indices of the ring; none if it is one smooth curve."""
        count = len(self.kept)
        stops = np.flatnonzero(self.sharp)
        kinds = np.full(count, "free", dtype=object)  # of each chord
        arc_of = np.full(count, -1)
        spans = list(zip(stops.tolist(), np.append(stops[1:], stops[0] + count).tolist())) if len(stops) else []
        if not spans:  # an arc may run past the first vertex: begin where one ends
            ahead = self._arcs(0, 2 * count)
            spans = [(ahead[0][1], ahead[0][1] + count)] if ahead else []
        arcs = [arc for span in spans for arc in self._arcs(*span)]
        for number, (first, last) in enumerate(arcs):
            index = np.arange(first, last) % count
            kinds[index], arc_of[index] = "arc", number
        for i in np.flatnonzero(kinds == "free"):
            if self._is_straight(int(i), kinds):
                kinds[i] = "straight"
        if (kinds == "free").all() and not len(stops):
            return []
        starts = [
            i
            for i in range(count)
            if self.sharp[i] or kinds[i] != kinds[i - 1] or kinds[i] == "straight" or arc_of[i] != arc_of[i - 1]
        ]
        first = next((k for k, i in enumerate(starts) if self.sharp[i]), 0)
        starts = starts[first:] + [i + count for i in starts[:first]]
        runs = []
        for a, b in zip(starts, [*starts[1:], starts[0] + count]):
            turns = [(i // count) * len(self.ring) + int(self.kept[i % count]) for i in (a, b)]
            runs.append((str(kinds[a % count]), turns[0], turns[1]))
        return runs

    def _is_straight(self, i: int, kinds: np.ndarray) -> bool:
        """Is chord `i` too long to be a sample of a curve that turns as it does at its ends?"""
        after = (i + 1) % len(kinds)
        known = [
            abs(self.turn[v])
            for v, beside in ((i, i - 1), (after, after))
            if not self.sharp[v] and kinds[beside] != "arc"
        ]
        if self.merged[i] or not known:
            return True
        return float(self.length[i] * np.mean(known) / 8) > _SAMPLE

    def _arcs(self, a: int, b: int) -> list[tuple[int, int]]:
        """Stretches of three chords or more on one circle, between the vertices `a` and `b` (past the end: again)."""
        count = len(self.kept)
        arcs = []
        i = a
        while i + 3 <= b:
            last = self._round_until(i, min(b, i + count))
            if (
                last - i >= 3
                and abs(self.turn[np.arange(i + 1, last) % count].sum()) * (last - i) / (last - i - 1) > _LEAST_ARC
            ):
                arcs.append((i, last))
                i = last
            else:
                i += 1
        return arcs

    @cached_property
    def _may_begin(self) -> list[bool]:
        """Whether (count,) an arc may begin at each vertex: as far ahead as it takes to turn like the least arc, and one way, a
        vertex between lies nearly on the circle through this one, the middle and the last. It rules out most at once."""
        count = len(self.points)
        here = np.arange(count)
        turned = np.append(0.0, np.cumsum(np.tile(np.abs(self.turn), 2)))
        # the turn of so many chords is half again what it is at the vertices between them, and no more
        enough = np.searchsorted(turned, turned[here + 1] + 0.66 * _LEAST_ARC, side="right") - here
        chords = np.clip(enough, 3, max(count, 3))
        start = self.points
        near, middle, last = (self.points[(here + k) % count] for k in ((chords + 1) // 4, (chords + 1) // 2, chords))
        p, q = middle - start, last - start
        pp, qq = (p * p).sum(axis=1), (q * q).sum(axis=1)
        across = _cross(p, q)
        straight = np.abs(across) < 1e-9 * np.maximum(pp, qq)  # it is looked at more closely, or divided by nothing
        twice = 2.0 * np.where(straight, 1.0, across)[:, None]
        centre = start + np.column_stack([q[:, 1] * pp - p[:, 1] * qq, p[:, 0] * qq - q[:, 0] * pp]) / twice
        radius = np.hypot(*(start - centre).T)
        off = np.abs(np.hypot(*(near - centre).T) - radius)
        one_way = np.sign(np.roll(self.turn, -1)) == np.sign(np.roll(self.turn, -2))
        return [bool(may) for may in one_way & (straight | (off < 2.0 * _ONE_CIRCLE * (1.0 + radius)))]

    def _round_until(self, i: int, b: int) -> int:
        """The last vertex to lie on one circle with vertex `i` and all between, turning one way."""
        count = len(self.kept)
        start, way = i % count, self._ways[(i + 1) % count]
        last = i + 2
        if not self._may_begin[start]:
            return last
        while last < b and self._ways[last % count] == way:
            last += 1
        return i + _on_one_circle(self._over_again[start : start + last - i + 1]) - 1

    @cached_property
    def _over_again(self) -> np.ndarray:
        """The vertices (3 count, 2), so that a stretch of them is one piece wherever it begins."""
        return np.vstack([self.points] * 3)

    @cached_property
    def _ways(self) -> list[float]:
        """Which way each vertex turns: + to the left."""
        return [float(sign) for sign in np.sign(self.turn)]


def _on_one_circle(points: np.ndarray) -> int:
    """How many of the first of the points (N, 2), three or more, lie on one circle, near enough to be samples of it: up to the
    first with which they do not, when the circle is that through the first of them, the middle one and the last."""
    chords = np.diff(points, axis=0)
    longest = np.maximum.accumulate((chords * chords).sum(axis=1))
    begin = 4
    while begin <= len(points):
        sizes = np.arange(begin, min(2 * begin, begin + _AT_ONCE, len(points) + 1))
        centres, radii, straight = _all_through(points[0], points[sizes // 2], points[sizes - 1])
        away = points[: sizes[-1]] - centres[:, None]
        off = np.abs(np.hypot(away[..., 0], away[..., 1]) - radii[:, None])
        off[np.arange(sizes[-1]) >= sizes[:, None]] = 0.0
        # both ends of a longer chord, as of a flat cut from a disc, lie on the circle as well
        sampled = longest[sizes - 2] < 8.0 * radii * _SAMPLE
        left = np.flatnonzero(straight | (off.max(axis=1) >= _ONE_CIRCLE * (1.0 + radii)) | ~sampled)
        if len(left):
            return int(sizes[left[0]]) - 1
        begin = int(sizes[-1]) + 1
    return len(points)


def _sampled(chords: np.ndarray, radius: float) -> bool:
    """Are chords (N, 2) of a circle short enough to be samples of it?"""
    return bool((chords * chords).sum(axis=1).max() < 8.0 * radius * _SAMPLE)


def _circle(ring: np.ndarray) -> Arc | None:
    """The full turn that a ring (N, 2) samples, from its first point; None if it is no circle."""
    third = len(ring) // 3
    circle = _through(ring[0], ring[third], ring[2 * third]) if third else None
    if circle is None:
        return None
    centre, radius = circle
    if np.abs(np.hypot(*(ring - centre).T) - radius).max() > _ONE_CIRCLE * (1.0 + radius):
        return None
    if not _sampled(np.roll(ring, -1, axis=0) - ring, radius):
        return None
    out = (ring - centre) / radius
    turn = float(np.sum(_turns(np.vstack([out, out[:1]]))))
    if abs(abs(turn) - 2 * math.pi) > 1e-6:
        return None
    return Arc(centre, radius, math.atan2(out[0, 1], out[0, 0]), turn)


def _through(a: np.ndarray, b: np.ndarray, c: np.ndarray):
    """Centre and radius of the circle through three points; None if they lie on one line."""
    centres, radii, straight = _all_through(a, b[None], c[None])
    return None if straight[0] else (centres[0], float(radii[0]))


def _all_through(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Centres (N, 2) and radii (N,) of the circles through `a` (2,) and points `b` and `c` (N, 2), and which (N,) are none, as
    the three lie on one line."""
    p, q = b - a, c - a
    pp, qq = (p * p).sum(axis=1), (q * q).sum(axis=1)
    cross = _cross(p, q)
    straight = np.abs(cross) < 1e-12 * np.maximum(pp, qq)
    twice = 2.0 * np.where(straight, 1.0, cross)
    across = (q[:, 1] * pp - p[:, 1] * qq) / twice
    up = (p[:, 0] * qq - q[:, 0] * pp) / twice
    radii = np.array(list(map(math.hypot, across.tolist(), up.tolist())))  # numpy's differ in their last digit
    return a + np.column_stack([across, up]), radii, straight


def _bends(ring: np.ndarray) -> np.ndarray:
    """Indices of the vertices that do not lie on the line through their neighbours."""
    before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
    chord = after - before
    rise = np.abs(_cross(chord, ring - before)) / np.maximum(np.hypot(*chord.T), 1e-300)
    back = ((ring - before) * (after - ring)).sum(axis=1) < 0.0
    return np.flatnonzero((rise > _ONE_LINE) | back)


def _turns(tangents: np.ndarray) -> np.ndarray:
    """Angles (N - 1,) between consecutive directions (N, 2), + to the left."""
    a, b = tangents[:-1], tangents[1:]
    return np.arctan2(_cross(a, b), (a * b).sum(axis=1))


def _angle(a: np.ndarray, b: np.ndarray) -> float:
    return float(_turns(np.vstack([a, b]))[0])


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
