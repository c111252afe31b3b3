"""Which sheets of its form a panel lies on, and the mitres along the creases that bound it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.surface import Crease, Surface
from foamwright.parts.levels import Level

ON = 0.05  # mm: a crease this near to a cut lies on it
_SPECK = 0.02  # of a panel's area: less than this of another sheet is no part of it
_FOLD = 25.0  # degrees that a sheet of foam is bent over without a cut; common practice, no source
_LEAST = 5, 0.02  # points of a crease on a cut, and their share, from which on the cut runs along it
# Of how far the panel's faces lie from the form, and of the form's diagonal: how far a sheet is carried on past its creases.
# Less than a triangle of a sheet is wide would be lost among these.
_REACH, WIDTH = 4.0, 0.03
_NEAREST = 40  # samples of the panel's own sheet that tell on which side it is of a sheet across a crease


@dataclass(frozen=True, eq=False)
class Mitre:
    """The wall along a crease: as far from the panel's own sheet as from those across, so half the turn on each side.

    `across` holds those sheets with 1 where the form is convex at the crease and -1 where it is hollow. Beyond
    `reach` mm from the cut that runs along the crease, the cut alone says what belongs to the panel.
    """

    cut: Level
    side: int
    across: tuple[tuple[Surface, float], ...]
    reach: float
    ends: tuple[np.ndarray, ...] = ()  # (K, 3) points of the crease to each of the sheets across

    def corners(self) -> list[tuple[int, int, np.ndarray]]:
        """Where the crease passes from one sheet across to another: their numbers, and the point (3,)."""
        turns: list[tuple[int, int, np.ndarray]] = []
        for i, j in combinations(range(len(self.across)), 2):
            gap, _nearest = cKDTree(self.ends[j]).query(self.ends[i])
            for k in np.flatnonzero(gap < 1e-6):
                at = self.ends[i][k]
                if all(np.linalg.norm(at - other) > ON for *_, other in turns):
                    turns.append((i, j, at))
        return turns

    def at(self, own: Surface, offset: float) -> Callable[[np.ndarray], np.ndarray]:
        """The mitre as a level over the own sheet's coordinates, met at `offset` from it; negative on the panel."""

        def level(coords: np.ndarray) -> np.ndarray:
            beyond = -self.side * self.cut(own.point(coords))
            points = own.offset(coords, offset)
            over = np.max([sign * (sheet.height(points) - offset) for sheet, sign in self.across], axis=0)
            return np.where(np.abs(beyond) < self.reach, over, beyond)

        return level


def own_sheet(
    surface: Surface, cuts: Mapping[str, tuple[Level, int]], farthest: float
) -> tuple[Surface, dict[str, Mitre]]:
    """The sheets that a panel between `cuts` (each with the side that is kept, 1 or -1) lies on, and its mitres by cut.

    `farthest` is how far its faces lie from the form. Raises BuildError for a panel that runs over a crease which
    foam cannot be bent over. Over lesser creases a panel may run; it then lies on all sheets that meet in them.
    """
    if surface.sheet_count == 1:
        return surface, {}
    points, area, sheet = surface.samples()
    within = np.all([level(points) * side > ON for level, side in cuts.values()], axis=0)
    share = np.bincount(sheet[within], area[within], surface.sheet_count) / max(float(area[within].sum()), 1e-12)
    creases = surface.creases()
    _refuse_fold([c for c in creases if min(share[list(c.sheets)]) > _SPECK], cuts)
    own = tuple(np.flatnonzero(share > _SPECK).tolist())
    if not within.any() or share[list(own)].sum() < 1 - _SPECK:
        return surface, {}
    reach = max(_REACH * farthest, WIDTH * float(np.linalg.norm(np.ptp(points, axis=0))))
    ours = points[within & np.isin(sheet, own)]
    mitres: dict[str, Mitre] = {}
    for crease in creases:
        others = [number for number in crease.sheets if number not in own]
        if len(others) != 1:
            continue
        for cut in _along(crease, cuts):
            beyond = surface.sheet((others[0],), reach)
            near = ours[np.argsort(cKDTree(crease.points).query(ours)[0])[:_NEAREST]]
            sign = -1.0 if beyond.height(near).mean() > 0 else 1.0
            level, side = cuts[cut]
            before = mitres[cut] if cut in mitres else Mitre(level, side, (), reach)
            mitres[cut] = replace(before, across=(*before.across, (beyond, sign)), ends=(*before.ends, crease.points))
    return surface.sheet(own, reach), mitres


def _refuse_fold(creases: list[Crease], cuts: Mapping[str, tuple[Level, int]]) -> None:
    for crease in creases:
        inside = np.all([level(crease.points) * side > ON for level, side in cuts.values()], axis=0)
        if crease.turn > _FOLD and inside.any():
            x, y, z = np.round(crease.points[inside][inside.sum() // 2]) + 0.0
            raise BuildError(
                f"it runs over a crease of its form that turns by {crease.turn:.0f} degrees, as at ({x:.0f}, {y:.0f}, "
                f"{z:.0f}); foam does not bend over it: end the panel there with a cut along the crease"
            )


def _along(crease: Crease, cuts: Mapping[str, tuple[Level, int]]) -> list[str]:
    """The cuts that run along a crease, where it bounds what the other cuts leave."""
    values = {cut: level(crease.points) * side for cut, (level, side) in cuts.items()}
    bounding = np.all([v > -ON for v in values.values()], axis=0)
    least = max(_LEAST[0], _LEAST[1] * bounding.sum())
    return [cut for cut, v in values.items() if (bounding & (np.abs(v) < ON)).sum() >= least]
