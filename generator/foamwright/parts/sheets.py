"""Which sheets of its form a panel lies on, and the mitres along the creases that bound it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np
import shapely
import shapely.affinity
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.surface import Crease, Surface
from foamwright.parts.levels import Level, PrismLevel

ON = 0.05  # mm: a crease this near to a cut lies on it
SHARPEST = 150.0  # degrees that a form or a solid may turn at a crease for what meets there to be mitred; our own
_BESIDE = 0.5  # mm off a crease, on a panel's own side
_SPECK = 0.02  # of a panel's area: less than this of another sheet is no part of it
_FOLD = 25.0  # degrees that a sheet of foam is bent over without a cut; common practice, no source
_LEAST = 5, 0.02  # points of a crease on a cut, and their share, from which on the cut runs along it
# Of how far the panel's faces lie from the form, and of the form's diagonal: how far a sheet is carried on past its creases.
# Less than a triangle of a sheet is wide would be lost among these.
_REACH, WIDTH = 4.0, 0.03
_AWAY = 1.5  # times how far from a crease its mitre comes: within that it counts, beyond it the cut
_STRAIGHT = 1e-3  # sine by which an edge turns at a corner that is none
_ASKED = 2.0  # times how far from a crease its mitre comes on flat sheets: within that the sheet across is asked
# Radians that a crease turns: below the first its sheets are as one, beyond the second their own places tell the mitre.
_HARDLY = math.radians(2.0), math.radians(6.0)


@dataclass(frozen=True, eq=False)
class Across:
    """The sheet across a crease from a panel's own, which is the crease's `first` sheet or its second."""

    sheet: Surface
    crease: Crease
    first: bool

    def beyond(self, points: np.ndarray, offset: float) -> np.ndarray:
        """(N,) mm by which points (N, 3) at `offset` from the own sheet lie beyond the mitre, as far from the sheet across;
        negative on the own sheet.

        Where the form hardly turns at the crease, as where it changes from convex to hollow, both sheets are one there and
        that tells nothing: the wall then follows the crease, square to both.
        """
        near = self._tree.query(points)[1]
        turn = np.radians(self.crease.turns)[near]
        beyond = ((points - self.crease.points[near]) * self._outwards[near]).sum(1)
        # a sheet that bends or twists is carried on askew, so that across is asked no further than needed
        asked = np.abs(beyond) < _ASKED * (abs(offset) * np.tan(np.abs(turn) / 2) + ON)
        # no edge is cut where it turns by more, and at the end of a stem both sheets go on as one
        asked &= np.abs(turn) < math.radians(SHARPEST)
        if asked.any():
            step = self.sheet.height(points[asked]) - offset
            beyond[asked] = self._mitred(step, turn[asked], beyond[asked])
        return np.asarray(beyond)

    def _mitred(self, step: np.ndarray, turn: np.ndarray, square: np.ndarray) -> np.ndarray:
        """(N,) mm beyond the mitre: `step` is by how much further off the sheet across is than the own, `turn` that of the crease
        in radians, `square` how far beyond the wall that is square there."""
        turns = np.radians(self.crease.turns)
        if np.abs(turns).min() > _HARDLY[1] and np.ptp(np.sign(turns)) == 0:
            return np.asarray(np.sign(turns[0]) * step)
        turned = np.clip((np.abs(turn) - _HARDLY[0]) / (_HARDLY[1] - _HARDLY[0]), 0.0, 1.0)
        sine = np.copysign(np.maximum(np.abs(np.sin(turn)), np.sin(_HARDLY[0])), turn)
        return np.asarray(turned * step / sine + (1.0 - turned) * square)

    def leaving(self, at: np.ndarray) -> np.ndarray:
        """From an end (3,) of the crease a step (3,) along it, as long as the crease is wide from there."""
        away = self.crease.points - at
        far = np.linalg.norm(away, axis=1)
        first = int(np.argmin(np.where(far > ON, far, np.inf)))
        return np.asarray(away[first] * (far.max() / far[first]))

    def outwards(self, points: np.ndarray) -> np.ndarray:
        """(N, 3) unit, square to the crease at its place nearest to points (N, 3), off the own sheet."""
        return self._outwards[self._tree.query(points)[1]]

    @cached_property
    def _tree(self) -> cKDTree:
        return cKDTree(self.crease.points)

    @cached_property
    def _outwards(self) -> np.ndarray:
        """(K, 3) unit, square to the crease and to what lies in the middle between both normals, off the own sheet."""
        left = np.cross(self.crease.normals.sum(axis=0), self.crease.ahead)
        left /= np.maximum(np.linalg.norm(left, axis=1, keepdims=True), 1e-300)
        return -left if self.first else left


@dataclass(frozen=True, eq=False)
class Mitre:
    """The wall along a crease: as far from the panel's own sheet as from those across, so half the turn on each side.

    Beyond `reach` mm from the cut that runs along the crease, the cut alone says what belongs to the panel.
    """

    cut: Level
    side: int
    across: tuple[Across, ...]
    reach: float

    @cached_property
    def corners(self) -> tuple[tuple[int, int, np.ndarray], ...]:
        """Where the crease passes from one sheet across to another: their numbers, and the point (3,)."""
        return corners_between(self.across)

    @cached_property
    def _groups(self) -> Sequence[Sequence[Across]]:
        return in_hollows(self.across)

    def at(self, own: Surface, offset: float) -> Callable[[np.ndarray], np.ndarray]:
        """The mitre as a level over the own sheet's coordinates, met at `offset` from it; negative on the panel."""

        def level(coords: np.ndarray) -> np.ndarray:
            beyond = -self.side * self.cut(own.point(coords))
            points = own.offset(coords, offset)
            over = np.max([beyond_all(group, points, offset) for group in self._groups], axis=0)
            return np.where(np.abs(beyond) < self.reach, over, beyond)

        return level


def corners_between(across: Sequence[Across]) -> tuple[tuple[int, int, np.ndarray], ...]:
    """Where the creases to two sheets across meet: the numbers of both, and the point (3,)."""
    turns: list[tuple[int, int, np.ndarray]] = []
    for (i, one), (j, other) in combinations(enumerate(across), 2):
        gap, _nearest = cKDTree(other.crease.points).query(one.crease.points)
        for at in one.crease.points[gap < 1e-6]:
            if all(np.linalg.norm(at - before) > ON for *_, before in turns):
                turns.append((i, j, at))
    return tuple(turns)


def in_hollows(across: Sequence[Across]) -> list[list[Across]]:
    """The sheets across in groups, one for each run of creases between which the own sheet turns inwards, as
    within an L: there only what lies beyond all of a group is off the sheet, else what lies beyond any."""
    group = np.arange(len(across))
    for i, j, at in corners_between(across):
        leaving = across[i].leaving(at)
        if float(leaving @ across[j].outwards(at[None])[0]) > _STRAIGHT * float(np.linalg.norm(leaving)):
            group[group == group[j]] = group[i]
    return [[across[int(i)] for i in np.flatnonzero(group == number)] for number in np.unique(group)]


def beyond_all(across: Sequence[Across], points: np.ndarray, offset: float) -> np.ndarray:
    """(N,) mm by which points (N, 3) at `offset` from their sheet lie beyond the mitres to all of the sheets across."""
    return np.asarray(np.min([one.beyond(points, offset) for one in across], axis=0))


@dataclass(frozen=True, eq=False)
class OwnSheet:
    """What a panel lies on, its mitres by cut, and by cut what an outline that ends at a crease is for this panel: the
    level to take in place of the drawn one, or None where it leaves the panel as it is. `places` (P, 3) are some of the form
    itself between the cuts; none where the surface is that of the form."""

    surface: Surface
    mitres: Mapping[str, Mitre]
    ending: Mapping[str, Level | None]
    places: np.ndarray


def own_sheet(surface: Surface, cuts: Mapping[str, tuple[Level, int]], farthest: float) -> OwnSheet:
    """The sheets that a panel between `cuts` (each with the side that is kept, 1 or -1) lies on.

    `farthest` is how far its faces lie from the form. Raises BuildError for a panel that runs over a crease which
    foam cannot be bent over, or ends at one too sharp for a mitre. Over lesser creases a panel may run; it then lies on
    all sheets that meet in them.
    """
    if surface.sheet_count == 1:
        return OwnSheet(surface, {}, {}, np.zeros((0, 3)))
    points, area, sheet = surface.samples()
    within = np.all([level(points) * side > ON for level, side in cuts.values()], axis=0)
    share = np.bincount(sheet[within], area[within], surface.sheet_count) / max(float(area[within].sum()), 1e-12)
    creases = surface.creases()
    _refuse_fold([c for c in creases if min(share[list(c.sheets)]) > _SPECK], cuts)
    own = tuple(np.flatnonzero(share > _SPECK).tolist())
    if not within.any() or share[list(own)].sum() < 1 - _SPECK:
        return OwnSheet(surface, {}, {}, np.zeros((0, 3)))
    reach = max(_REACH * farthest, WIDTH * float(np.linalg.norm(np.ptp(points, axis=0))))
    places = points[within]
    mitres: dict[str, Mitre] = {}
    ending: dict[str, Level | None] = {}
    for crease in creases:
        others = [number for number in crease.sheets if number not in own]
        if len(others) != 1:
            continue
        on = _along(crease, cuts)
        for cut, points in on.items():
            level, side = cuts[cut]
            _refuse_knife_edge(crease, cut, points)
            beyond = Across(surface.sheet((others[0],), reach), crease, crease.sheets[0] in own)
            away = min(reach, _AWAY * farthest / math.cos(math.radians(np.abs(crease.turns).max()) / 2))
            if isinstance(level, PrismLevel) and any(_more(other, points) for other in on.values()):
                ending[cut] = _through_mitre(level, side, crease, beyond, points, away)
                continue
            before = mitres.get(cut, Mitre(level, side, (), 0.0))
            mitres[cut] = Mitre(level, side, (*before.across, beyond), max(away, before.reach))
    left = {cut: it for cut, it in ending.items() if cut not in mitres}
    return OwnSheet(surface.sheet(own, reach), mitres, left, places)


def _more(one: np.ndarray, other: np.ndarray) -> bool:
    """Are all the points (K,) that the other cut has of a crease among those of the one, which has more?"""
    return bool((one | ~other).all() and one.sum() > other.sum())


def _through_mitre(
    level: PrismLevel, side: int, crease: Crease, across: Across, on: np.ndarray, reach: float
) -> PrismLevel | None:
    """The outline of an opening that ends at a crease, along which another cut ends the panel: it goes on for `reach` mm,
    through the mitre that the foam has there. Else a strip of foam as thick as paper would stand between both. None for
    the panel across the crease, which the opening only touches."""
    inwards = -across.outwards(crease.points[on])
    if not (level(crease.points[on] + _BESIDE * inwards) * side < 0).any():
        return None
    flat = crease.points[on][:, level.columns]
    strips = []
    for leg in level.legs:
        line = shapely.LineString(leg.line)
        if (shapely.distance(line, shapely.points(flat)) < ON).sum() >= _LEAST[0]:
            strips.append(line.buffer(-reach, single_sided=True))  # the outline runs counter-clockwise
    moved = shapely.affinity.translate(shapely.union_all(strips), *-level.centre[list(level.columns)])
    shape = shapely.union(level.shape, moved).simplify(0.0)
    shapely.prepare(shape)
    return replace(level, shape=shape)


def _refuse_knife_edge(crease: Crease, cut: str, on: np.ndarray) -> None:
    sharpest = int(np.argmax(np.where(on, np.abs(crease.turns), -1.0)))
    turn = float(abs(crease.turns[sharpest]))
    if turn <= SHARPEST:
        return
    x, y, z = np.round(crease.points[sharpest]) + 0.0
    raise BuildError(
        f"its form turns by {turn:.0f} degrees at the crease along {cut}, as at ({x:.0f}, {y:.0f}, {z:.0f}): no mitre can "
        f"be cut there; {_blunter(crease, on)}"
    )


def _blunter(crease: Crease, on: np.ndarray) -> str:
    """What to do about a crease that is too sharp at some of its points `on` (K,) a cut: where another cut may end the panel."""
    blunt = np.flatnonzero(on & (np.abs(crease.turns) <= SHARPEST))
    runs = np.split(blunt, np.flatnonzero(np.diff(blunt) > 1) + 1)
    longest = max(runs, key=len)
    if len(longest) < _LEAST[0]:
        least = float(np.abs(crease.turns[on]).min())
        return f"it turns by {least:.0f} degrees or more all along; make the form broader beside it, or round it off"
    ends = " and ".join(
        "({:.0f}, {:.0f}, {:.0f})".format(*np.round(crease.points[at]) + 0.0) for at in longest[[0, -1]]
    )
    return (
        f"end the panel with other cuts where the form turns by less than {SHARPEST:.0f} degrees, between {ends}, or round "
        "the form off"
    )


def _refuse_fold(creases: list[Crease], cuts: Mapping[str, tuple[Level, int]]) -> None:
    for crease in creases:
        inside = np.all([level(crease.points) * side > ON for level, side in cuts.values()], axis=0)
        turn = float(np.abs(crease.turns[inside]).max(initial=0.0))
        if turn > _FOLD:
            x, y, z = np.round(crease.points[inside][inside.sum() // 2]) + 0.0
            raise BuildError(
                f"it runs over a crease of its form that turns by {turn:.0f} degrees, as at ({x:.0f}, {y:.0f}, "
                f"{z:.0f}); foam does not bend over it: end the panel there with a cut along the crease"
            )


def _along(crease: Crease, cuts: Mapping[str, tuple[Level, int]]) -> dict[str, np.ndarray]:
    """The cuts that run along a crease, where it bounds what the other cuts leave, and at which of its points (K,)."""
    values = {cut: level(crease.points) * side for cut, (level, side) in cuts.items()}
    bounding = np.all([v > -ON for v in values.values()], axis=0)
    least = max(_LEAST[0], _LEAST[1] * bounding.sum())
    on = {cut: bounding & (np.abs(v) < ON) for cut, v in values.items()}
    return {cut: points for cut, points in on.items() if points.sum() >= least}
