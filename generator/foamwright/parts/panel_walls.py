"""What bounds a curved panel: the walls that its cuts make through the foam, and the corners from leg to leg of one."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from foamwright.forms.nearest import NearestPoint
from foamwright.forms.parametric import Frustum
from foamwright.forms.surface import Surface
from foamwright.parts import region as regions
from foamwright.parts.cover import BesideLineOverCreases
from foamwright.parts.leg_levels import LegLevel
from foamwright.parts.levels import Level, PrismLevel
from foamwright.parts.lines import CurveLevel
from foamwright.parts.sheets import Mitre
from foamwright.parts.trace import slide_onto, slide_to_corner

AT_CORNER = 1e-6  # mm
_MUCH_NEARER = 1.5  # times
_SIZES_APART = 3.0  # sides of triangles by which the legs of a corner are apart where they need no sides of their own


@dataclass(frozen=True, eq=False)
class Wall:
    """What bounds a panel. A seam is cut square to the surface, along the curve at the form's zero offset;
    a trim lies in the cutting surface itself, and a mitre between two sheets of the form, so that the curve differs
    from face to face; with `upright_at`, an offset from the form, both are cut square where they lie there."""

    cut: str
    square: bool
    surface: Surface
    level: Level | BesideLineOverCreases | None
    end: float | None = None  # of a form without a pole: the u of this end
    mitre: Mitre | None = None
    upright_at: float | None = None

    def legs(self) -> tuple[Wall, ...]:
        """The smooth stretches of the wall between its corners, each as a wall; none where it has no corner."""
        if self.mitre is not None:
            across = self.mitre.across
            single = [replace(self, mitre=replace(self.mitre, across=(one,))) for one in across]
            return tuple(single) if len(across) > 1 else ()
        if not isinstance(self.level, PrismLevel | CurveLevel):
            return ()
        return tuple(replace(self, level=leg) for leg in self.level.legs)

    @property
    def kind(self) -> str:
        return "mitre" if self.mitre else "tip" if self.is_tip else "seam" if self.square else "trim"

    @property
    def is_tip(self) -> bool:
        return self.end is not None and isinstance(self.surface, Frustum) and self.surface.to_tip[int(self.end)]

    def at(self, offset: float):
        """The wall as a level over surface coordinates, met at `offset` from the form."""
        offset = offset if self.upright_at is None else self.upright_at
        if self.end is not None:
            size = 100.0  # makes the level of the order of mm, as the others are
            return lambda coords: (coords[:, 0] - self.end) * size
        if self.mitre is not None:
            return self.mitre.at(self.surface, offset)
        assert self.level is not None
        level, surface = self.level, self.surface
        if isinstance(level, BesideLineOverCreases):
            return level
        if self.square and isinstance(surface, Frustum):
            return lambda coords: level(surface.offset(coords, surface.clear_of_axis(coords)))
        distance = 0.0 if self.square else offset
        return lambda coords: level(surface.offset(coords, distance))


@dataclass(frozen=True, eq=False)
class WallCorner:
    """Where a wall passes from one of its legs to the next: surface coordinates (k,) at the neutral surface, and from there
    a step (3,) along each leg."""

    coords: np.ndarray
    before: Wall
    after: Wall
    leaving: tuple[np.ndarray, np.ndarray]


def wall_corners(region: regions.Region, wall: Wall, neutral: float) -> list[WallCorner]:
    """The corners of one wall."""
    surface, legs = region.surface, wall.legs()
    starts: list[tuple[Wall, Wall, np.ndarray, tuple[np.ndarray, np.ndarray]]] = []
    if wall.mitre is not None and legs:
        for i, j, at in wall.mitre.corners:
            steps = wall.mitre.across[i].leaving(at), wall.mitre.across[j].leaving(at)
            starts.append((legs[i], legs[j], NearestPoint(surface).coords(at[None])[0], steps))
    elif legs:
        space = surface.offset(region.coords, 0.0 if wall.square else neutral)
        levels = [leg.level for leg in legs if isinstance(leg.level, LegLevel)]
        begun = np.array([level.line[0] for level in levels])
        for leg, one in zip(legs, levels):
            away = np.linalg.norm(begun - one.line[-1], axis=1)
            if away.min() < AT_CORNER:  # not past the end of an open line
                following = int(away.argmin())
                flat = space[:, list(one.columns)]
                steps = one.back(), levels[following].onwards()
                starts += [(leg, legs[following], c, steps) for c in regions.above(region, flat, one.line[-1])]
    corners: list[WallCorner] = []
    for before, after, start, steps in starts:
        coords = slide_to_corner(surface, start, before.at(neutral), after.at(neutral))
        if abs(float(wall.at(neutral)(coords[None])[0])) < AT_CORNER:
            place = surface.offset(np.array([coords, *(corner.coords for corner in corners)]), neutral)
            if (np.linalg.norm(place[1:] - place[0], axis=1) > AT_CORNER).all():
                corners.append(WallCorner(coords, before, after, steps))
    return corners


def with_legs(region: regions.Region, corner: WallCorner, neutral: float) -> regions.Region:
    """The region with sides along both legs of a corner, as far as they are no further apart than its triangles are
    large."""
    surface, at = region.surface, corner.coords
    here = surface.point(at[None])[0]
    directions = [leaving / np.linalg.norm(leaving) for leaving in corner.leaving]
    half = math.acos(np.clip(float(directions[0] @ directions[1]), -1.0, 1.0)) / 2
    near = np.linalg.norm(surface.point(region.coords) - here, axis=1)
    size = float(np.sort(near)[1:7].mean())  # of the sides around it
    walls, passed = (corner.before, corner.after), []
    for wall, leaving in zip(walls, corner.leaving):
        far = _SIZES_APART * size / (2 * math.tan(half))
        region, vertices = regions.with_line(region, at, wall.at(neutral), here + leaving, far)
        passed.append(vertices)
    for wall, own, other in zip(walls, passed, passed[::-1]):
        region = _beside_each_other(region, wall.at(neutral), own, other)
    return region


def _beside_each_other(region: regions.Region, level, own: list[int], other: list[int]) -> regions.Region:
    """The region with a vertex on a leg, which goes through the vertices `own`, wherever the other leg has one much nearer to the
    corner, the first of both. Between legs that touch as circles do, the straight side past it would lie beyond the gap."""
    surface = region.surface
    away = [
        np.linalg.norm(surface.point(region.coords[leg]) - surface.point(region.coords[leg[:1]]), axis=1)
        for leg in (own, other)
    ]
    for k, (begin, end) in enumerate(pairwise(away[0].tolist())):
        first, last = own[k], own[k + 1]
        for there in away[1][(away[1] > begin) & (_MUCH_NEARER * away[1] < end)].tolist():
            if there > _MUCH_NEARER * begin:
                share = (there - begin) / (end - begin)
                ends = region.coords[[first, last]][None]
                place = surface.blend(ends, np.array([[1.0 - share, share]]))
                region = regions.divided_side(region, slide_onto(surface, place, level)[0], first, last)
                first, begin = len(region.coords) - 1, there
    return region
