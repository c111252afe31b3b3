"""How far bars stand out of what they run through, and how deep they go."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies, axis_of, frame
from foamwright.assembly.meetings import Meeting
from foamwright.language import count, length, say
from foamwright.parts.records import FlatBody, RodBody

_AROUND, _BESIDE = 16, 0.6  # lines along a bar, all round it, and so many mm beside it, by which a hole is measured
_ACROSS = 0.2  # cosine between a bar and the way off a face, from which it passes that face
_NEXT_HOLE = 12.0  # mm along a bar where it touches nothing: places of one contact lie 5 mm apart
THROUGH = 1.0  # mm that a bar must stand out of both faces of what it is let into, to run through it


def with_ends(line: str, these: Sequence[Meeting], bodies: Bodies, others: str, going: int) -> str:
    """The sentence of bars that run through others, `going` of them, with how far their ends stand out of them."""
    if all(isinstance(bodies.pieces[other].body, RodBody) for m in these for _, other in m.pairs):
        return with_end(line, these, bodies, others, going)
    met: dict[int, set[int]] = {}
    for m in these:
        for rod, host in m.pairs:
            met.setdefault(rod, set()).add(host)
    out = [
        [round(min(past(bodies, rod, host)[end] for host in hosts), 1) for end in (0, 1)] for rod, hosts in met.items()
    ]
    if len({tuple(sorted(both)) for both in out}) != 1:
        return line
    short, long = sorted(out[0])
    ways = [
        axis_of(bodies, rod)[1] * (1.0 if both[0] < both[1] else -1.0) for rod, both in zip(met, out)
    ]  # to the long end
    where = {(directions.at(-way), directions.at(way)) for way in ways}
    here, there = where.pop() if len(where) == 1 else ("", "")
    if short < THROUGH <= long:
        return _at_one_end(line, -short, length(long), there, going)
    if long - short < THROUGH:
        return count(
            "{sentence} It stands {size} out at both ends.",
            "{sentence} Each stands {size} out at both ends.",
            going,
            sentence=line,
            size=length(long),
        )
    if there:
        return count(
            "{sentence} It stands {short} out {here} and {long} {there}.",
            "{sentence} Each stands {short} out {here} and {long} {there}.",
            going,
            sentence=line,
            short=length(short),
            long=length(long),
            here=here,
            there=there,
        )
    return count(
        "{sentence} It stands {short} out at one end and {long} at the other.",
        "{sentence} Each stands {short} out at one end and {long} at the other.",
        going,
        sentence=line,
        short=length(short),
        long=length(long),
    )


def _at_one_end(line: str, within: float, size: str, there: str, going: int) -> str:
    """The sentence of bars that stand out at one end alone, `size` in words; the other ends `within` mm of the far face."""
    other = (
        say("the other end is flush with the far face") if within < THROUGH else say("the other end stays in its hole")
    )
    return count(
        "{sentence} It stands {size} out {there}; {other}.",
        "{sentence} Each stands {size} out {there}; {other}.",
        going,
        sentence=line,
        size=size,
        there=there or say("at one end"),
        other=other,
    )


def spans(these: Sequence[Meeting]) -> bool:
    """Does each bar that ends in holes have one at either end, so that it can only be pushed in through one of them?"""
    hosts: dict[int, set[int]] = {}
    for m in these:
        for rod, host in m.pairs:
            hosts.setdefault(rod, set()).add(host)
    return all(len(each) > 1 for each in hosts.values())


def holes(bodies: Bodies, rod: int, host: int) -> int:
    """How many holes of another copy a bar is in: of a tube that it crosses, two."""
    start, along, _ = axis_of(bodies, rod)
    reached = np.sort((bodies.touches[rod, host].places - start) @ along)
    return 1 + int((np.diff(reached) > _NEXT_HOLE).sum())


def runs_on(these: Sequence[Meeting], bodies: Bodies) -> bool:
    """Do bars that end in the hole of one thing run through another?"""
    return any(min(past(bodies, rod, host)) > THROUGH for m in these for rod, host in m.pairs)


def with_end(line: str, these: Sequence[Meeting], bodies: Bodies, bars: str, going: int) -> str:
    """The sentence of what is slipped over the ends of bars, `going` of them, with how far the bars stand out of it."""
    out = [min(past(bodies, rod, host), key=abs) for m in these for host, rod in m.pairs]
    if max(out) - min(out) > THROUGH:
        return " ".join([line, *_each_end(these, bodies, bars)]) if min(out) > THROUGH else line
    size = length(abs(float(np.mean(out))))
    if min(out) > THROUGH:
        return count(
            "{sentence} It sits where {size} of {bars} stand out beyond it.",
            "{sentence} Each sits where {size} of {bars} stand out beyond it.",
            going,
            sentence=line,
            size=size,
            bars=bars,
        )
    if max(out) < -THROUGH:
        into = [_inside(bodies, rod, host) for m in these for host, rod in m.pairs]
        if max(into) - min(into) > THROUGH:
            return line
        size = length(float(np.mean(into)))
        return say("{sentence} The ends of {bars} reach {size} into the holes.", sentence=line, size=size, bars=bars)
    every = sum(len(m.pairs) for m in these)
    if going > 1 and every == going:
        return say("{sentence} Each sits flush with the end that it goes over.", sentence=line)
    ends = count("the end of {bars}", "the ends of {bars}", every, bars=bars)
    return count(
        "{sentence} It sits flush with {ends}.",
        "{sentence} Each sits flush with {ends}.",
        going,
        sentence=line,
        ends=ends,
    )


def with_depth(line: str, these: Sequence[Meeting], bodies: Bodies) -> str:
    """The sentence of bars that end in holes, with how deep, where that is the same for all."""
    pairs = [pair for m in these for pair in m.pairs]
    deep = [_inside(bodies, rod, host) for rod, host in pairs]
    left = [-min(past(bodies, rod, host)) for rod, host in pairs]  # of the hole, beyond the end
    if np.ptp(deep) > THROUGH or np.ptp(left) > THROUGH or min(left) < -THROUGH:
        return line
    facts = {"sentence": line, "size": length(float(np.mean(deep)))}
    out = [max(past(bodies, rod, host)) for rod, host in pairs]
    if max(left) < THROUGH and np.ptp(out) < THROUGH and len({rod for rod, _ in pairs}) == len(pairs):
        return count(
            "{sentence} It goes {size} deep, flush with the far face: {out} of the bar stand out.",
            "{sentence} Each end goes {size} deep, flush with the far face: {out} of the bar stand out.",
            len(pairs),
            out=length(float(np.mean(out))),
            **facts,
        )
    if max(left) < THROUGH and spans(these):
        return say("{sentence} Both ends are then flush with the far faces.", sentence=line)
    if max(left) < THROUGH:
        return count(
            "{sentence} It goes {size} deep, until it is flush with the far face.",
            "{sentence} Each end goes {size} deep, until it is flush with the far face.",
            len(pairs),
            **facts,
        )
    return count("{sentence} It goes {size} deep.", "{sentence} Each end goes {size} deep.", len(pairs), **facts)


def _each_end(these: Sequence[Meeting], bodies: Bodies, bars: str) -> list[str]:
    """Of what sits on bars, not all of it as far from an end, a sentence for each place."""
    places: dict[tuple[str, str], int] = {}
    for m in these:
        for host, rod in m.pairs:
            beyond, (_, along, _) = past(bodies, rod, host), axis_of(bodies, rod)
            first = beyond[0] < beyond[1]  # it is measured from the nearer end
            place = length(min(beyond)), directions.at(-along if first else along)
            places[place] = places.get(place, 0) + 1
    return [
        count(
            "One of them sits where {size} of {bars} stand out beyond it {where}.",
            "{n} of them sit where {size} of {bars} stand out beyond them {where}.",
            n,
            size=size,
            bars=bars,
            where=where,
        )
        for (size, where), n in places.items()
    ]


def past(bodies: Bodies, rod: int, host: int) -> tuple[float, float]:
    """How far in mm the two ends of a bar lie beyond another copy, each along the bar."""
    reach, (low, high) = _along_bar(bodies, rod, host)
    return low, reach - high


def _inside(bodies: Bodies, rod: int, host: int) -> float:
    """How much in mm of a bar is in another copy."""
    reach, (low, high) = _along_bar(bodies, rod, host)
    return min(reach, high) - max(0.0, low)


def _along_bar(bodies: Bodies, rod: int, host: int) -> tuple[float, tuple[float, float]]:
    """Length of a bar, and from where to where the other copy reaches around it, from its start, in mm; on the mean all
    round where that leans, of a flat part where its axis passes the faces. Of a copy that it passes twice, as both walls of a
    drum, the place where the two touch."""
    body, (start, along, size) = bodies.pieces[rod].body, axis_of(bodies, rod)
    assert isinstance(body, RodBody)
    axes = frame(bodies.pieces[host], bodies.matrices[host])
    if isinstance(bodies.pieces[host].body, FlatBody) and axes is not None and abs(float(along @ axes[2])) > _ACROSS:
        faces = bodies.mesh((host,))[0] @ axes[2]
        ends = ((np.array([faces.min(), faces.max()]) - start @ axes[2]) / float(along @ axes[2])).tolist()
        return size, (min(ends), max(ends))
    touch = bodies.touches[rod, host]
    touched = (touch.places - start) @ along
    beside = np.linalg.svd(along[None, :])[2][1:]  # two directions square to it
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    off = body.diameter / 2.0 + max(touch.gap, 0.0) + _BESIDE
    points, triangles = bodies.mesh((host,))
    flat = (points - start) @ np.vstack([beside, along]).T
    spans = []
    for place in off * np.column_stack([np.cos(turn), np.sin(turn)]):
        levels = _levels(flat, triangles, place)
        met = [pair for pair in zip(levels[::2], levels[1::2]) if pair[0] < touched.max() and pair[1] > touched.min()]
        spans += [(min(pair[0] for pair in met), max(pair[1] for pair in met))] if met else []
    if not spans:
        return size, (float(touched.min()), float(touched.max()))
    low, high = np.mean(spans, axis=0).tolist()
    return size, (low, high)


def _levels(points: np.ndarray, triangles: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Where a closed mesh is passed by the line through `place` (2,) along the third axis of its points (n, 3), in order."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    (ux, uy), (vx, vy), (px, py) = (b - a)[:, :2].T, (c - a)[:, :2].T, (place - a[:, :2]).T
    area = ux * vy - uy * vx
    s, t = (share / np.where(area, area, np.inf) for share in (px * vy - py * vx, ux * py - uy * px))
    inside = (area != 0.0) & (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0)
    heights = np.sort((a[:, 2] + s * (b - a)[:, 2] + t * (c - a)[:, 2])[inside])
    return heights[np.r_[True, np.diff(heights) > 1e-6]] if len(heights) else heights
