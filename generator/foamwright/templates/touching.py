"""Edges that touch another part along a stretch of them only: where, in the coordinates of the pattern. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from foamwright.contacts.footprints import Footprint, footprints
from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contacts
from foamwright.flatten.records import Pattern, PatternEdge
from foamwright.parts.records import Prop
from foamwright.templates.landing import land
from foamwright.templates.marks import OVERHANG, overhang_of_both

_FREE = 0.1  # of an edge that may lie free at one place and the whole of it still count as glued;
_LEAST_FREE = 2.5  # or so much, if that is more: an eye does not see less
_BY_THE_FACE = (
    0.02  # of the height of what touches, from the face that is drawn on: at its very border there may be nothing
)
_MOST_OF = 0.5  # of a stretch that reaches to the drawn face, to be told as it is there
_SAME = 1.5  # by which the ends of the stretches of two copies may differ and be one


@dataclass(frozen=True)
class Stretch:
    """From `start` to `end`, measured along an edge; past its length where it runs over the beginning of a closed one."""

    start: float
    end: float

    @property
    def length(self) -> float:
        return self.end - self.start


@dataclass(frozen=True)
class Partly:
    """What an edge touches along some `stretches` only; `opens` is the widest gap beside them, 0 where it is no wedge.

    Without stretches it touches from end to end, but with one side of its thickness only, where the other opens, or reaches
    beyond by `overhang`; or all of it, on some copies only. `copies` are those of the part, from 1, of which that holds;
    empty for all.
    """

    other: str
    stretches: tuple[Stretch, ...]
    opens: float
    copies: tuple[int, ...] = ()
    overhang: float = 0.0


def partly(prop: Prop, pattern: Pattern, contacts: Contacts) -> dict[str, tuple[Partly, ...]]:
    """By edge what is glued to it along a part of it only, or leaves a wedge of air; seams are told by their numbers.

    Of a pattern that is a segment of a part, of its own edges.
    """
    edges = {edge.id: edge for edge in pattern.edges if edge.seam is None}
    found: dict[str, list[Partly]] = {}
    for copy in range(1, len(pattern.piece.placements) + 1):
        met: dict[tuple[str, str], list[Footprint]] = {}
        for footprint in footprints(pattern.piece, copy, contacts):
            if footprint.face in edges and glued(prop, footprint.contact):
                met.setdefault((footprint.face, footprint.other.part), []).append(footprint)
        for (name, other), prints in met.items():
            known = found.setdefault(name, [])
            stretches = _stretches(pattern, edges[name], copy, prints)
            wedge = max(footprint.contact.wedge for footprint in prints)
            overhang = max(footprint.contact.overhang_of(footprint.own) for footprint in prints)
            one = Partly(other, stretches, wedge, (copy,), overhang)
            twin = next((k for k, seen in enumerate(known) if _same(seen, one)), None)
            if twin is None:
                known.append(one)
            else:
                both = overhang_of_both(known[twin].overhang, overhang)
                known[twin] = replace(known[twin], copies=(*known[twin].copies, copy), overhang=both)
    return {name: told for name, known in found.items() if (told := tuple(_told(pattern, edges[name], known)))}


def butted(prop: Prop, pattern: Pattern, contacts: Contacts) -> dict[str, tuple[float, ...]]:
    """By edge the middles of the stretches along which edges of others are glued to it, measured along it. Those of both
    come to lie on each other. Only what holds of every copy; seams have their own."""
    edges = {edge.id: edge for edge in pattern.edges if edge.seam is None}
    copies = len(pattern.piece.placements)
    met: dict[tuple[str, str], dict[int, list[float]]] = {}
    for copy in range(1, copies + 1):
        for footprint in footprints(pattern.piece, copy, contacts):
            other = footprint.other
            if footprint.face in edges and not other.broad and glued(prop, footprint.contact):
                stretches = _stretches(pattern, edges[footprint.face], copy, [footprint])
                middles = [(stretch.start + stretch.end) / 2.0 for stretch in stretches]
                met.setdefault((footprint.face, other.part), {}).setdefault(copy, []).extend(middles)
    found: dict[str, tuple[float, ...]] = {}
    for (edge, _), own in met.items():
        places = [sorted(middles) for middles in own.values()]
        if (
            len(places) == copies
            and len(set(map(len, places))) == 1
            and np.ptp(places, axis=0).max(initial=0.0) < _SAME
        ):
            found[edge] = (*found.get(edge, ()), *np.mean(places, axis=0).tolist())
    return found


def copies_sewn(pattern: Pattern, contacts: Contacts) -> dict[str, dict[tuple[str, str], tuple[int, ...]]]:
    """By seam edge which copies of the part, from 1, meet which (part, edge) there."""
    sewn: dict[str, dict[tuple[str, str], set[int]]] = {e.id: {} for e in pattern.edges if e.seam is not None}
    for contact in contacts.found:
        for end in (contact.a, contact.b):
            if end.part == pattern.piece.id and end.face in sewn:
                other = contact.other(end)
                sewn[end.face].setdefault((other.part, other.face), set()).add(end.copy)
    return {edge: {other: tuple(sorted(copies)) for other, copies in met.items()} for edge, met in sewn.items()}


def _told(pattern: Pattern, edge: PatternEdge, known: Sequence[Partly]) -> Iterator[Partly]:
    """Those that are worth telling: not what is glued from end to end on any copy, nor what lies beside a segment; but that as
    well, with its copies, where others do not meet the part at all."""
    length = shapely.LineString(edge.points).length
    whole = {one.other for one in known if _whole(one.stretches, length)}
    count = len(pattern.piece.placements)
    for one in known:
        told = replace(one, copies=()) if len(one.copies) == count else one
        if one.other not in whole and one.stretches:
            yield told
        elif (one.opens or one.overhang > OVERHANG) and _whole(one.stretches, length):
            yield replace(told, stretches=())
        elif _whole(one.stretches, length):
            met = {copy for own in known if own.other == one.other for copy in own.copies}
            if len(met) < count:
                yield replace(told, stretches=(), overhang=0.0)


def _whole(stretches: Sequence[Stretch], length: float) -> bool:
    begun = max(stretches[-1].end - length, 0.0) if stretches else 0.0
    ends = [begun, *(end for stretch in stretches for end in (stretch.start, stretch.end)), length + begun]
    free = max(after - before for before, after in zip(ends[::2], ends[1::2]))
    return free <= max(_FREE * length, _LEAST_FREE)


def _same(one: Partly, other: Partly) -> bool:
    if one.other != other.other or len(one.stretches) != len(other.stretches):
        return False
    ends = ((a.start - b.start, a.end - b.end) for a, b in zip(one.stretches, other.stretches))
    return all(abs(off) < _SAME for pair in ends for off in pair)


def _stretches(pattern: Pattern, edge: PatternEdge, copy: int, prints: Sequence[Footprint]) -> tuple[Stretch, ...]:
    """Where the triangles of contacts lie along the edge; what of them lies past its ends counts for nothing."""
    home = np.linalg.inv(pattern.piece.placements[copy - 1].matrix)
    line = shapely.LineString(edge.points)
    closed = bool(np.allclose(edge.points[0], edge.points[-1]))
    ats, heights = [np.empty((0, 3))], [np.empty((0, 3))]
    for footprint in prints:
        contact = footprint.contact
        landing = land(pattern, contact.points @ home[:3, :3].T + home[:3, 3])
        at = shapely.line_locate_point(line, shapely.points(landing.flat))[contact.triangles]
        height = landing.height[contact.triangles]
        around = line.length if closed else landing.around
        if around is not None:  # a triangle across the place where the edge begins lies at both of its ends
            across = np.ptp(at, axis=1) > around / 2.0
            at = np.where(across[:, None] & (at < around / 2.0), at + around, at)
            ats.append(at[across] - around)
            heights.append(height[across])
        ats.append(at)
        heights.append(height)
    at, height = np.clip(np.vstack(ats), 0.0, line.length), np.vstack(heights)
    merged = _merged(at.min(axis=1), at.max(axis=1))
    ends = [_on_drawn_face(at, height, a, b, 2.0 * pattern.piece.thickness) for a, b in merged]
    if closed and len(ends) > 1 and merged[0][0] < _SAME and merged[-1][1] > line.length - _SAME:
        ends[-1] = ends[-1][0], line.length + ends.pop(0)[1]
    return tuple(Stretch(a, b) for a, b in ends if b - a > 0.05)


def _merged(starts: np.ndarray, ends: np.ndarray) -> list[tuple[float, float]]:
    """Spans along an edge, those that an eye does not part as one."""
    merged: list[tuple[float, float]] = []
    for a, b in sorted(zip(starts.tolist(), ends.tolist())):
        if merged and a <= merged[-1][1] + _LEAST_FREE:
            merged[-1] = merged[-1][0], max(merged[-1][1], b)
        else:
            merged.append((a, b))
    return merged


def _on_drawn_face(at: np.ndarray, height: np.ndarray, start: float, end: float, most: float) -> tuple[float, float]:
    """The ends of a stretch on the face that is drawn on, of triangles with corners `at` (n, 3) along the edge and so high
    above that face (n, 3): where the border of what touches runs aslant over the foam, another part begins there. Where it
    hardly comes to that face, those in the middle of what touches. No end moves by more than `most`."""
    own = (at.min(axis=1) >= start) & (at.max(axis=1) <= end)
    at, height = at[own], height[own]
    low, high = float(height.min()), float(height.max())
    for share in (_BY_THE_FACE, 0.5):
        spans = _at_level(at, height, low + share * (high - low))
        if len(spans) and _covered(spans) > _MOST_OF * (end - start):
            first, last = float(spans.min()), float(spans.max())
            return (first if first - start < most else start), (last if end - last < most else end)
    return start, end


def _at_level(at: np.ndarray, height: np.ndarray, level: float) -> np.ndarray:
    """Spans (m, 2) along an edge in which triangles, as of `_on_drawn_face`, come through a level."""
    following = np.roll(height, -1, axis=1)
    through = (height < level) != (following < level)
    share = np.divide(level - height, following - height, out=np.zeros_like(height), where=through)
    places = at + share * (np.roll(at, -1, axis=1) - at)
    return np.sort(places[through].reshape(-1, 2), axis=1)


def _covered(spans: np.ndarray) -> float:
    return sum(b - a for a, b in _merged(*spans.T))
