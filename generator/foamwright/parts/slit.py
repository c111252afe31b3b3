"""A region cut open along one line from the axis of its form, so that what closes on itself can lie flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.errors import BuildError
from foamwright.forms.surface import Surface
from foamwright.parts import region as regions
from foamwright.parts.levels import PlaneLevel
from foamwright.parts.region import Region

# Bits of the two sides of the slit, and of the line opposite it.
FIRST_BIT, SECOND_BIT, _OPPOSITE_BIT = 58, 57, 56


@dataclass(frozen=True, eq=False)
class HalfPlane:
    """What lies from an axis through `origin` in the direction `towards`; `aside` is square to both."""

    origin: np.ndarray
    towards: np.ndarray
    aside: np.ndarray

    @property
    def plane(self) -> PlaneLevel:
        return PlaneLevel(self.aside, float(self.origin @ self.aside))

    def reaches(self, points: np.ndarray) -> np.ndarray:
        return (points - self.origin) @ self.towards > 0

    def encircled_by(self, loop: np.ndarray) -> bool:
        """Does a closed line through points (N, 3), the first not repeated, go around the axis?"""
        off = loop - self.origin
        along = off @ self.towards + 1j * (off @ self.aside)
        return bool(abs(np.angle(np.roll(along, -1) * along.conj()).sum()) > np.pi)


def half_plane(axis: np.ndarray, origin: np.ndarray, angle: float) -> HalfPlane:
    """At `angle` degrees about the `axis` (3, 3: the axis and the two directions square to it)."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return HalfPlane(np.asarray(origin, float), c * axis[:, 1] + s * axis[:, 2], c * axis[:, 2] - s * axis[:, 1])


def slit(region: Region, surface: Surface, half: HalfPlane, distance: float) -> Region:
    """The region with its sides along the half plane parted: vertices there stand twice, with a bit for each side.

    It is cut in two by the whole plane, and the halves are joined again but for the line that is to stay open;
    where that ends in a pole, the pole stays one vertex. Where things are is looked at `distance` (mm) off the
    surface, since all that is in the tip of a cone parts there. Raises BuildError if the line misses the region.
    """

    def level(coords):
        return half.plane(surface.offset(coords, distance))

    halves = [regions.clip(region, level, _OPPOSITE_BIT, keep) for keep in (1, -1)]
    on_plane, opposite = np.int64(1) << np.int64(_OPPOSITE_BIT), []
    lines = []
    for part, bit in zip(halves, (FIRST_BIT, SECOND_BIT)):
        there = np.flatnonzero(part.tags & on_plane)
        pole = part.is_pole()[there]
        open_ = half.reaches(surface.offset(part.coords[there], distance)) & ~pole
        part.tags[there] &= ~on_plane
        part.tags[there[open_ | pole]] |= np.int64(1) << np.int64(bit)
        lines.append(there[open_])
        opposite.append(there[~open_])
    if not len(lines[0]):
        raise BuildError("the line along which it is opened misses it; give another angle")
    first, second = halves
    merged = np.arange(len(second.coords)) + len(first.coords)
    if len(opposite[0]):
        at = surface.offset(first.coords[opposite[0]], distance)
        for i in opposite[1]:
            gap = np.linalg.norm(at - surface.offset(second.coords[i : i + 1], distance), axis=1)
            twin = int(opposite[0][int(np.argmin(gap))])
            if gap.min() < 1e-6:
                merged[i] = twin
                first.tags[twin] |= second.tags[i]
    return regions.compact(
        Region(
            surface,
            np.vstack([first.coords, second.coords]),
            np.vstack([first.faces, merged[second.faces]]),
            np.concatenate([first.tags, second.tags]),
        )
    )
