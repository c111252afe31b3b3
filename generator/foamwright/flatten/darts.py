"""Where a panel's darts go: as the design states them, or found by search.

The search, for a panel whose foam would be strained beyond its limit:

1. A plan is a row of 1 to `MOST_IN_ROW` darts from one edge, or a row from each of two edges, placed evenly and
   symmetrically along the edge, every dart square to the edge in the panel's rough map. Two rows are tried only
   where no single row will do. Two spreads of a row are tried: gaps as wide as the margins, and twice as wide.
   On an edge that runs all round the panel, as that of a disc, a row stands evenly round it and stays so, of
   `_ROUND` darts at least: what one or two take away does not help the sides that have none, and would have to reach
   past the middle. Such a row turned, and then one or two darts, are tried only where it will not do.
2. All darts of a plan reach the same share of the way across the panel. The least share that meets the limit is
   found by bisection, on a coarse mesh, flattening each time, from the deepest at which they have room.
3. The plan with the least total cut length wins, of those whose darts all can be closed by hand (`_WIDEST`) if there
   are any, and that start from no bevelled edge that meets another part, where that will do. Cuts from an edge that
   will show count for more (`SHOWING`) than cuts from an edge that is free or covered. Plans that could only win by
   meeting the limit at a depth where they do not are left out after one trial. So are those of more darts where fewer
   from the same edges, which may be deeper at the same cost, leave far too much strain.
4. In the winning plan each dart is moved along its edge, and then shortened, as far as the limit allows; in a
   panel that is its own mirror image darts move and shorten in pairs.
5. The result is checked on a fine mesh and deepened a little if that shows more strain; if that is not enough,
   the search is made again with a lower aim. Darts that open less than a knife takes away are left out where the limit is met
   without them.

What the maker pins (edges, count, positions) is kept and only the rest is searched. Where the design names lines
for the darts to follow, a plan is instead a choice of ends of those lines, and darts are not moved.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from shapely.geometry import LineString, Point
from shapely.ops import substring

from foamwright.errors import BuildError
from foamwright.flatten.alike import Twin
from foamwright.flatten.covers import covered_edges
from foamwright.flatten.mesh import DartLine, PanelMesh, PanelMesher
from foamwright.flatten.panels import FIRST_AIM, crosses, is_saddle, load, mesher_of, strip_load
from foamwright.flatten.solver import CannotFlatten, Flattener
from foamwright.flatten.strain import limits, percents
from foamwright.parts.records import DartRequest, DartRules, PanelBody, Piece, unjoined
from foamwright.store import Store

MOST_IN_ROW = 6
SHOWING = 1.3  # weight of a cut from an edge that will show; common practice, no source
_COARSE, _FINE = 420, 1400  # triangles
_DEEPEST = 0.86  # share of the way across that a dart may reach
_SHALLOWEST = 0.08
_NEARLY = 1.2  # times the aim: what a coarse mesh shows more than that, shallower darts do not meet
_REACHES = 24  # of a dart from the deepest to the shallowest, at which it is asked whether there is room
_LEAST_DEPTH = 2.0  # thicknesses: a shorter dart closes nothing
# mm that a dart opens at least, about what is lost to a knife and a sanded edge; common practice, no source
_KNIFE = 1.0
# of its depth that a dart's mouth is wide at most, if the limit can be met so: about 21 degrees; one as wide as the foam is
# thick closes however short it is; common practice, no source
_WIDEST = 3 / 8
_BEVELLED = 5.0  # degrees; common practice, no source
_LEAST_EDGE = 2.2  # distances of a dart from other edges: a shorter edge has no room for one
_APART = 3.5  # thicknesses between darts, and between a dart and any other edge
_FAR_OFF = 1.5  # times the aim: what a row leaves more than that, more darts of no more length in all do not mend
_DEEPEN, _DEEPENINGS = 1.1, 8  # where a fine mesh shows more strain than the coarse one
_AIMS = (1.0, 0.94, 0.87, 0.78)  # of the coarse search, tried in turn until a fine mesh confirms the result
_LAST_TRIED = 4  # plans of those that came nearest, looked at once more on a fine mesh before giving up
_MOST_PARTS = 8  # that a panel is proposed to be split in
_NARROWEST = 3.0  # times as wide as its foam is thick: a narrower strip is a bar, not bent; common practice, no source
_SPREADS = (1.0, 2.0)  # gap between darts over the margin at the ends
_ROUND = 3  # darts round an edge that has no ends: fewer leave whole sides without
_TURNS = (0.25, 0.75)  # shares of the gap at which a row round an edge begins, where half of it will not do


@dataclass(frozen=True, order=True)
class Dart:
    edge: str
    at: float  # share of the edge
    reach: float = 1.0  # share of the way across
    guide: int = -1  # which guide of the panel it follows; -1: none, it goes straight in
    backwards: bool = False  # it follows its guide from the guide's other end


def requested(piece: Piece[PanelBody], mesher: PanelMesher) -> tuple[DartLine, ...]:
    """The darts that the design states, each a straight line in the rough map, square to its edge.

    Raises BuildError for a dart whose edge the panel does not have, or that leaves the panel.
    """
    lines = []
    for request in piece.body.darts:
        known = [e.id for e in piece.body.edges]
        if request.edge not in known:
            raise BuildError(f"no edge {request.edge!r} for a dart; expected one of {', '.join(known)}")
        lines.append(_stated(piece, mesher, request))
    return tuple(lines)


def _stated(piece: Piece[PanelBody], mesher: PanelMesher, request: DartRequest) -> DartLine:
    start, inward = mesher.at_edge(request.edge, request.at)
    across = _across(mesher, start, inward)
    if request.depth > 0.95 * across:
        raise BuildError(
            f"a dart {request.depth:.0f} mm deep at {request.edge} runs out of the panel, which "
            f"is {across:.0f} mm across there"
        )
    return DartLine(request.edge, request.at, np.array([start, start + request.depth * inward]))


def _across(mesher: PanelMesher, start: np.ndarray, inward: np.ndarray) -> float:
    """How far the panel goes on from a point of its edge."""
    x0, y0, x1, y1 = mesher.shape.bounds
    far = start + inward * math.hypot(x1 - x0, y1 - y0)
    met = LineString([start + 1e-3 * inward, far]).intersection(mesher.shape.boundary)
    return float(min((Point(start).distance(g) for g in getattr(met, "geoms", [met]) if not g.is_empty), default=0.0))


class _Tried(NamedTuple):
    """What a panel with some darts comes to when it is laid flat."""

    load: float  # worst strain over its limit: 1 is just within; infinite where the darts do not fit
    gape: float = 0.0  # widest mouth of a dart over what can be closed: 1 just can


_Trials = dict[tuple[tuple[Dart, ...], int], _Tried]  # of a panel with some darts, in so many triangles


def automatic(
    piece: Piece[PanelBody], mesher: PanelMesher, covered: frozenset[str], share: float, measured: _Trials
) -> tuple[DartLine, ...]:
    """Darts that keep the panel within `share` of its foam's limits, as the module says; none if it needs none.

    `covered` are the edges that a part lies over. What earlier searches of the same panel have `measured` is not measured
    again. Raises BuildError with a proposal where no darts will do.
    """
    return _Search(piece, mesher, covered, share, measured).find()


def refuse_without_room(piece: Piece[PanelBody], mesher: PanelMesher, share: float) -> None:
    """Raises BuildError naming a panel that is strained beyond `share` of its foam's limits and in which no dart has room.
    It takes a moment, where a search takes seconds."""
    try:
        _Search(piece, mesher, frozenset(), share, {}).refuse_without_room()
    except BuildError as error:
        raise BuildError(f"panel {piece.id}: {error}") from None


class _Search:
    def __init__(
        self, piece: Piece[PanelBody], mesher: PanelMesher, covered: frozenset[str], share: float, measured: _Trials
    ):
        self.piece, self.mesher = piece, mesher
        self.rules: DartRules = piece.body.automatic or DartRules()
        self.thickness = piece.stock.thickness
        self.clear = _APART * self.thickness
        self.edges = self._usable(covered)
        self.weight = {e.id: 1.0 if (not e.joins or e.id in covered) else SHOWING for e in piece.body.edges}
        self.share = self.aim = share
        self.gape = 1.0  # of a dart at most
        self._measured = measured
        self._known: _Trials = {}  # of what this search has tried: its answer follows from nothing else

    def find(self) -> tuple[DartLine, ...]:
        if not self.rules.count and not self.rules.at and self.load_of((), _FINE) <= self.share:
            return ()
        self._refuse_without_edge()
        # a bevelled edge that meets another is the harder to close over a dart; and a gaping dart rather than none
        for gape, edges in ((1.0, self._plain()), (1.0, self.edges), (math.inf, self.edges)):
            self.gape, self.edges = gape, edges
            found = self._found()
            if found:
                return found
        return self._just_within()

    def _plain(self) -> list[str]:
        """The edges that darts may start from, without those that are cut at a bevel to meet others, unless only they are let."""
        bevelled = {e.id for e in self.piece.body.edges if e.joins and np.abs(e.slope).max() > _BEVELLED}
        return [edge for edge in self.edges if self.rules.edges or edge not in bevelled]

    def _found(self) -> tuple[DartLine, ...]:
        """The darts of the cheapest plan that a fine mesh confirms; none if there is no such plan."""
        for aim in _AIMS:
            self.aim = aim * self.share
            best = next((best for plans in self._plans() if (best := self._cheapest(plans)) is not None), None)
            if best is None:
                break
            for darts in (self._shorten(self._shift(best)), best):
                confirmed = self._confirmed(darts)
                if confirmed:
                    return self.lines(self._worth_cutting(confirmed)) or ()
        return ()

    def _refuse_without_edge(self) -> None:
        if self.edges:
            return
        if any(e.loop == 0 and e.id not in self.rules.avoid for e in self.piece.body.edges):
            raise BuildError(
                f"it curves more than {self.piece.stock.name} forgives and is too small for darts, which "
                f"need an edge of {_LEAST_EDGE * self.clear:.0f} mm in this foam; make it of thinner foam, or split it"
            )
        raise BuildError("it needs darts, but no edge is left for them; allow one, or split it")

    def refuse_without_room(self) -> None:
        """Raises BuildError for a panel that needs darts and has no room for a single one; no search is made."""
        if self.load_of((), _COARSE) <= self.share:
            return
        self._refuse_without_edge()
        rows = itertools.chain(self._rows(), self._few_round())
        if all(self._deepest_with_room(row, _DEEPEST) is None for row in rows):
            raise BuildError(self._remedy(math.inf))

    def _just_within(self) -> tuple[DartLine, ...]:
        """What is within the limit without a margin, of all that was tried. Raises BuildError if nothing is."""
        pinned = self.rules.count or self.rules.at
        tried = sorted(
            (tried.load, darts)
            for (darts, n), tried in self._known.items()
            if n == _COARSE and math.isfinite(tried.load)
        )
        best = [darts for _, darts in tried[:_LAST_TRIED] if darts or not pinned]
        candidates = best if pinned else [(), *best]
        loads = [(self.load_of(darts, _FINE), darts) for darts in candidates]
        least, darts = min(loads, default=(math.inf, ()))
        if least > 1.0:
            raise BuildError(self._remedy(least))
        return self.lines(darts) or ()

    # what a set of darts comes to

    def load_of(self, darts: Sequence[Dart], triangles: int) -> float:
        """Worst strain over its limit: 1 is just within; infinite where the darts do not fit."""
        return self._tried(darts, triangles).load

    def _closes(self, darts: Sequence[Dart]) -> bool:
        """Can the foam be closed over the darts?"""
        return self._tried(darts, _COARSE).gape <= self.gape

    def _tried(self, darts: Sequence[Dart], triangles: int) -> _Tried:
        key = (tuple(darts), triangles)
        if key not in self._known:
            if key not in self._measured:
                self._measured[key] = self._measure(darts, triangles)
            self._known[key] = self._measured[key]
        return self._known[key]

    def _measure(self, darts, triangles) -> _Tried:
        lines = self.lines(darts)
        if lines is None:
            return _Tried(math.inf)
        try:
            mesh, flat = self._laid(lines, triangles)
        except (BuildError, CannotFlatten):
            return _Tried(math.inf)
        if lines and crosses(mesh, flat):
            return _Tried(math.inf)
        gapes = [width / max(self.thickness, _WIDEST * depth) for width, depth in _mouths(mesh, flat)]
        return _Tried(load(self.piece, mesh, flat), max(gapes, default=0.0))

    def _laid(self, lines: tuple[DartLine, ...], triangles: int) -> tuple[PanelMesh, np.ndarray]:
        """A mesh of the panel with darts along these lines, and its points (n, 2) laid flat."""
        mesh = self.mesher.mesh(self._spacing(triangles), lines)
        flattener = Flattener(mesh.surface.points, mesh.normals, mesh.surface.triangles, mesh.chart, mesh.lengths)
        return mesh, flattener.solve().flat

    def lines(self, darts: Sequence[Dart]) -> tuple[DartLine, ...] | None:
        """The darts as lines in the rough map; None where one is too short or too near another."""
        lines = []
        drawn: list[LineString] = []
        for dart in darts:
            course = LineString(self._course(dart))
            reach = dart.reach * course.length
            if reach < _LEAST_DEPTH * self.thickness:
                return None
            line = substring(course, 0.0, reach)
            inner = substring(course, min(self.clear, 0.5 * reach), reach)
            tip = Point(line.coords[-1])
            near = min(self.clear, (1 - _DEEPEST) * course.length)
            if self.mesher.shape.boundary.distance(tip) < 0.999 * near:
                return None
            if any(hole.distance(line) < 0.999 * near for hole in self.mesher.shape.interiors):
                return None  # what is left beside an opening would be a thread
            if any(inner.distance(other) < self.clear for other in drawn):
                return None
            drawn.append(inner)
            lines.append(DartLine(dart.edge, dart.at, np.array(line.coords)))
        return tuple(lines)

    def _course(self, dart: Dart) -> np.ndarray:
        """The way that a dart takes from its edge across the whole panel, in the rough map."""
        start, inward = self.mesher.at_edge(dart.edge, dart.at)
        if dart.guide < 0:
            return np.array([start, start + _across(self.mesher, start, inward) * inward])
        guide = self.piece.body.guides[dart.guide]
        return np.vstack([start, (guide[::-1] if dart.backwards else guide)[1:]])

    def cost(self, darts: Sequence[Dart]) -> float:
        """Total cut length in mm, cuts that will show weighted."""
        return sum(
            (1.0 if d.guide >= 0 else self.weight[d.edge]) * d.reach * LineString(self._course(d)).length for d in darts
        )

    # plans

    def _usable(self, covered: frozenset[str]) -> list[str]:
        known = [e.id for e in self.piece.body.edges]
        for name in (*self.rules.edges, *self.rules.avoid):
            if name not in known:
                raise BuildError(f"no edge {name!r} for darts; expected one of {', '.join(known)}")
        if self.rules.edges:
            return list(self.rules.edges)
        return [
            e.id
            for e in self.piece.body.edges
            if e.loop == 0
            and e.id not in self.rules.avoid
            and self.mesher.edge_lengths[e.id] > _LEAST_EDGE * self.clear
        ]

    def _plans(self):
        """Kinds of plans, each for where none of those before it will do."""
        yield self._rows()
        if not self.rules.at and not self.rules.along:
            yield (row for edge in self.edges for turn in _TURNS for row in self._rows_round(edge, turn))
            yield self._few_round()
            if not self.rules.count:
                yield self._pairs_of_rows()

    def _rows(self):
        if self.rules.along:
            yield from self._guided()
            return
        for edge in self.edges:
            yield from self._rows_on(edge)

    def _guided(self):
        ends = []
        for i, guide in enumerate(self.piece.body.guides):
            for backwards in (False, True):
                edge, at = self.mesher.nearest_edge(guide[-1 if backwards else 0])
                if edge in self.edges and 0.02 < at < 0.98:
                    ends.append(Dart(edge, at, 1.0, i, backwards))
        counts = [self.rules.count] if self.rules.count else range(1, MOST_IN_ROW + 1)
        for count in counts:
            yield from itertools.combinations(ends, count)

    def _rows_on(self, edge: str):
        if self.rules.at:
            yield tuple(Dart(edge, at) for at in self.rules.at)
            return
        if self._runs_round(edge):
            yield from self._rows_round(edge)
            return
        for count in self._counts(edge):
            for spread in _SPREADS if count > 1 else (1.0,):
                gap = spread / (2 + spread * (count - 1))
                yield tuple(Dart(edge, 0.5 + (i - (count - 1) / 2) * gap) for i in range(count))

    def _rows_round(self, edge: str, turn: float = 0.5):
        """Rows round an edge, if it has no ends, which begin at `turn` of the gap between two darts."""
        for count in self._counts(edge) if self._runs_round(edge) else ():
            if self.rules.count or count >= _ROUND:
                yield _round(edge, count, turn)

    def _few_round(self):
        """One or two darts from an edge that has no ends."""
        for edge in self.edges:
            for count in self._counts(edge) if self._runs_round(edge) else ():
                if count < _ROUND:
                    yield _round(edge, count)

    def _counts(self, edge: str) -> list[int]:
        """How many darts a row on an edge may have."""
        counts = [self.rules.count] if self.rules.count else range(1, MOST_IN_ROW + 1)
        return [n for n in counts if n == 1 or (n + 1) * self.clear <= self.mesher.edge_lengths[edge]]

    def _runs_round(self, edge: str) -> bool:
        """Has the edge no ends, as that of a disc?"""
        points = self.mesher.edge(edge).points
        return bool(np.linalg.norm(points[0] - points[-1]) < 1e-9)

    def _pairs_of_rows(self):
        for a, b in itertools.combinations(self.edges, 2):
            for first in self._rows_on(a):
                for second in self._rows_on(b):
                    if abs(len(first) - len(second)) <= 1 and len(first) + len(second) <= MOST_IN_ROW + 2:
                        yield first + second

    def _cheapest(self, plans) -> tuple[Dart, ...] | None:
        best, least = None, math.inf
        far_off: dict[
            frozenset[str], int
        ] = {}  # by edges, how many darts that may cost no more leave far too much strain
        for plan in sorted(plans, key=lambda p: (len(p), p)):
            most, edges = self._share_for(plan, least), frozenset(dart.edge for dart in plan)
            if most is None or len(plan) > far_off.get(edges, len(plan)):  # more of them would be shallower still
                continue
            darts = self._least_share(plan, most)
            if most < _DEEPEST and _FAR_OFF * self.aim < self.load_of(_reaching(plan, most), _COARSE) < math.inf:
                far_off.setdefault(edges, len(plan))
            if darts is not None and self.cost(darts) < least - 0.5:
                best, least = darts, self.cost(darts)
        return best

    def _share_for(self, plan, cost: float) -> float | None:
        """The common share at which a plan would cost this much, at most `_DEEPEST`; None if it is too shallow."""
        full = self.cost(_reaching(plan, 1.0))
        share = min(_DEEPEST, 0.985 * cost / full)
        return share if share > _SHALLOWEST else None

    def _least_share(self, plan, most: float) -> tuple[Dart, ...] | None:
        high = self._deepest_that_meets(plan, most)
        if high is None:
            return None
        low = _SHALLOWEST
        for _ in range(4):
            middle = (low + high) / 2
            if self._meets(_reaching(plan, middle)):
                high = middle
            else:
                low = middle
        return _reaching(plan, high)

    def _deepest_that_meets(self, plan, most: float) -> float | None:
        """The share that meets the limit, `most` if it does. Deeper darts leave less strain, so a shallower share is tried
        only where the deeper one has no room, or fails by as little as a coarse mesh may be wrong."""
        deepest = self._deepest_with_room(plan, most)
        if deepest is None:
            return None
        for share in (deepest, 0.8 * deepest, 0.6 * deepest):
            load = self.load_of(_reaching(plan, share), _COARSE)
            if load <= self.aim and self._closes(_reaching(plan, share)):
                return share
            if _NEARLY * self.aim < load < math.inf:
                return None
        return None

    def _deepest_with_room(self, plan, most: float) -> float | None:
        """The share up to `most` at which the darts of a plan have room, as those of a row round a disc, which would meet in
        its middle; None if they have none."""
        shares = (float(share) for share in np.linspace(most, _SHALLOWEST, _REACHES))
        return next((share for share in shares if self.lines(_reaching(plan, share)) is not None), None)

    def _meets(self, darts) -> bool:
        return self.load_of(darts, _COARSE) <= self.aim and self._closes(darts)

    # polishing

    def _shift(self, darts: tuple[Dart, ...]) -> tuple[Dart, ...]:
        """Move darts along their edge wherever that lowers the strain, so that they can be shorter."""
        if self.rules.at or self.rules.along or self._is_round(darts):
            return darts
        for step in (0.06, 0.03):
            for group in self._groups(darts):
                for sign in (1, -1):
                    while True:
                        moved = _moved(darts, group, sign * step)
                        if moved is None or self.load_of(moved, _COARSE) >= self.load_of(darts, _COARSE) - 1e-4:
                            break
                        if not self._closes(moved):
                            break
                        darts = moved
        return darts

    def _shorten(self, darts: tuple[Dart, ...]) -> tuple[Dart, ...]:
        for factor in (0.85, 0.93, 0.97):
            for group in sorted(self._groups(darts), key=lambda g: -sum(darts[i].reach for i in g)):
                while True:
                    shorter = tuple(
                        replace(d, reach=d.reach * factor) if i in group else d for i, d in enumerate(darts)
                    )
                    if min(d.reach for d in shorter) < _SHALLOWEST or not self._meets(shorter):
                        break
                    darts = shorter
        return darts

    def _groups(self, darts) -> list[tuple[int, ...]]:
        """Darts that change together: mirror images of each other on one edge, where the panel is symmetric, and all of a row
        round an edge."""
        if self._is_round(darts):
            return [tuple(range(len(darts)))]
        left = list(range(len(darts)))
        groups: list[tuple[int, ...]] = []
        while left:
            i = left.pop(0)
            twin = next(
                (
                    j
                    for j in left
                    if darts[j].edge == darts[i].edge
                    and abs(darts[i].at + darts[j].at - 1) < 1e-6
                    and self._symmetric(darts[i].edge)
                ),
                None,
            )
            if twin is not None:
                left.remove(twin)
                groups.append((i, twin))
            else:
                groups.append((i,))
        return groups

    def _is_round(self, darts) -> bool:
        """Do the darts stand in one row round an edge that has no ends?"""
        return len(darts) > 1 and len({d.edge for d in darts}) == 1 and self._runs_round(darts[0].edge)

    def _symmetric(self, edge: str) -> bool:
        """Is the panel's rough map its own mirror image about the middle of an edge, within 1 % of its size?"""
        at, inward = self.mesher.at_edge(edge, 0.5)
        ring = np.array(self.mesher.shape.exterior.coords)
        side = np.array([-inward[1], inward[0]])
        mirrored = ring - 2 * np.outer((ring - at) @ side, side)
        return LineString(mirrored).hausdorff_distance(LineString(ring)) < 0.01 * math.sqrt(self.mesher.shape.area)

    def _confirmed(self, darts: tuple[Dart, ...]) -> tuple[Dart, ...] | None:
        """The darts as a fine mesh confirms them, deepened step by step if need be; None if that does not help."""
        for _ in range(_DEEPENINGS):
            if self.load_of(darts, _FINE) <= self.share:
                return darts
            darts = tuple(replace(d, reach=min(_DEEPEN * d.reach, _DEEPEST)) for d in darts)
        return None

    def _worth_cutting(self, darts: tuple[Dart, ...]) -> tuple[Dart, ...]:
        """The darts without those that open less than a knife's cut is wide, unless the foam would be strained too far or their
        number and places are pinned."""
        lines = self.lines(darts)
        if len(darts) < 2 or self.rules.count or self.rules.at or lines is None:
            return darts
        opens = [width for width, _ in _mouths(*self._laid(lines, _FINE))]
        for group in self._groups(darts):
            rest = tuple(dart for i, dart in enumerate(darts) if i not in group)
            if max(opens[i] for i in group) < _KNIFE and self.load_of(rest, _FINE) <= self.share:
                return self._worth_cutting(rest)
        return darts

    def _remedy(self, least: float) -> str:
        """What to do about a panel whose worst strain is `least` times its limit, whatever the darts."""
        stock = self.piece.stock
        limit = min(limits(stock))
        bare = self.load_of((), _FINE)
        if bare <= 1.0:
            strained, most = percents(bare * limit, limit)
            return (
                f"the darts that the design asks for do not fit in it, and it needs none: without them its strain is "
                f"{strained} where {stock.name} takes {most}; leave darts out"
            )
        mesh = self.mesher.mesh(self._spacing(_COARSE))
        split = self._split(mesh)
        if is_saddle(mesh):
            strained, most = percents(bare * limit, limit)
            return (
                f"strain {strained}, over the limit of {most} of {stock.name}; it curves like a saddle, where "
                f"darts cannot help, since they take foam away and its rim is short of it: {split}"
            )
        if not math.isfinite(least):
            strained, most = percents(bare * limit, limit)
            pinned = " that the design asks for" if self.rules.count or self.rules.at else ""
            return (
                f"the darts{pinned} have no room in it, and without them its strain is {strained} where "
                f"{stock.name} takes {most}; {split}"
            )
        without, best, most = percents(bare * limit, least * limit, limit)
        return (
            f"strain {without} without darts and {best} with the best darts, over the limit of {most} of "
            f"{stock.name}; {split}"
        )

    def _split(self, mesh: PanelMesh) -> str:
        """The fewest strips, square to one of the axes, that each lie within the limit without darts: it is tried. Strips
        that are hardly wider than their foam is thick are no advice."""
        middle = mesh.surface.corners.mean(axis=1)
        spans = np.ptp(mesh.surface.points, axis=0)
        most = (spans / (_NARROWEST * self.piece.stock.thickness)).astype(int)  # strips along each axis
        for parts in range(2, _MOST_PARTS + 1):
            for axis in np.argsort(-spans, kind="stable"):
                if parts > most[axis]:
                    continue
                stops = np.linspace(mesh.surface.points[:, axis].min(), mesh.surface.points[:, axis].max(), parts + 1)
                strips = np.clip(np.searchsorted(stops, middle[:, axis]) - 1, 0, parts - 1)
                if all(strip_load(self.piece, mesh, strips == k) <= FIRST_AIM for k in range(parts)):
                    places = ", ".join(str(round(at)) for at in stops[1:-1])
                    planes = "plane" if parts == 2 else "planes"
                    return f"split it in {parts}, for instance by the {planes} normal: {'xyz'[axis]}, at: {places}"
        if most.max() > _MOST_PARTS:
            return f"split it in more than {_MOST_PARTS} strips, or take foam that stretches further"
        return (
            f"no strips of it help that are {_NARROWEST:g} times as wide as their foam is thick or more; take foam that "
            "stretches further (strain_limit, of warmed foam as well), or make the form rounder there"
        )

    def _spacing(self, triangles: int) -> float:
        shape = self.mesher.shape
        return min(math.sqrt(shape.area / triangles * 4 / math.sqrt(3)), 2 * shape.area / shape.length / 2.5)


def _mouths(mesh: PanelMesh, flat: np.ndarray) -> list[tuple[float, float]]:
    """How wide the mouth of each dart is and how deep it lies, in mm, in a mesh whose points lie at `flat` (n, 2)."""
    mouths = []
    for legs in mesh.darts:
        a, b, tip = flat[legs.first[0]], flat[legs.second[0]], flat[legs.first[-1]]
        mouths.append((float(np.linalg.norm(a - b)), float(np.linalg.norm((a + b) / 2 - tip))))
    return mouths


def _reaching(plan: tuple[Dart, ...], share: float) -> tuple[Dart, ...]:
    return tuple(replace(dart, reach=share) for dart in plan)


def _round(edge: str, count: int, turn: float = 0.5) -> tuple[Dart, ...]:
    """Darts evenly round an edge that has no ends."""
    return tuple(Dart(edge, (i + turn) / count) for i in range(count))


def _moved(darts, group, step) -> tuple[Dart, ...] | None:
    changed = list(darts)
    for k, i in enumerate(group):
        at = darts[i].at + (step if k == 0 else -step)
        if not 0.04 < at < 0.96:
            return None
        changed[i] = replace(darts[i], at=at)
    return tuple(changed)


def chooser(
    pieces: Sequence[Piece[PanelBody]],
    store: Store | None = None,
    alike: Mapping[str, Twin] = MappingProxyType({}),
) -> Callable[[Piece[PanelBody], PanelMesher, float], tuple[DartLine, ...]]:
    """The function that gives each panel of a prop its darts; those that were searched for are kept in `store`. Panels that
    are `alike` get those of the panel that they are like."""
    measured: dict[str, _Trials] = {}

    def darts_of(piece: Piece[PanelBody], mesher: PanelMesher, share: float) -> tuple[DartLine, ...]:
        stated = requested(piece, mesher)
        if piece.body.automatic is None:
            return stated
        if piece.id in alike:
            twin = alike[piece.id]
            first = mesher_of(twin.of)
            return twin.darts(darts_of(twin.of, first, share), first, mesher)
        covered = covered_edges(piece, pieces)
        told = (unjoined(piece), [bool(edge.joins) for edge in piece.body.edges], sorted(covered), share)
        known = measured.setdefault(piece.id, {})
        return (store or Store(None)).kept("darts", told, lambda: automatic(piece, mesher, covered, share, known))

    return darts_of
