"""Cuts as level functions: a function of points in space whose zero set is the cutting surface.

Positive is "beyond" a plane, "outside" a prism or a form, and "beyond" (on the left of) a curve or a line.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from foamwright.design.records import CutSpec
from foamwright.forms.axes import OUTLINE_COLUMNS, direction
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.surface import Surface
from foamwright.parts.leg_levels import LegLevel, legs_of
from foamwright.parts.lines import curve_level, line_level

Level = Callable[[np.ndarray], np.ndarray]  # (N, 3) -> (N,)

SIGN = {"beyond": 1, "outside": 1, "before": -1, "inside": -1}


@dataclass(frozen=True, eq=False)
class PlaneLevel:
    normal: np.ndarray
    at: float

    def __call__(self, points: np.ndarray) -> np.ndarray:
        return points @ self.normal - self.at


@dataclass(frozen=True, eq=False)
class PrismLevel:
    """Distance to the outline's edge, negative inside; only where the `along` coordinate lies in (above, below). The outline may
    have holes, and be in several pieces."""

    shape: Polygon | MultiPolygon
    columns: tuple[int, int]
    along: int
    centre: np.ndarray  # (3,)
    above: float | None
    below: float | None

    def __call__(self, points: np.ndarray) -> np.ndarray:
        flat = shapely.points(points[:, self.columns] - self.centre[list(self.columns)])
        distance = shapely.distance(flat, self.shape.boundary)
        level = np.where(shapely.contains_properly(self.shape, flat), -distance, distance)
        if self.above is not None:
            level = np.maximum(level, self.above - points[:, self.along])
        if self.below is not None:
            level = np.maximum(level, points[:, self.along] - self.below)
        return level

    @property
    def narrowest(self) -> float:
        """About how wide the outline is where it is narrowest, in mm."""
        legs = self.legs
        short = min((float(np.linalg.norm(np.diff(leg.line, axis=0), axis=1).sum()) for leg in legs), default=np.inf)
        return min(2 * self.shape.area / self.shape.length, short)

    @cached_property
    def legs(self) -> tuple[LegLevel, ...]:
        """The smooth stretches of its rings between their sharp corners, those of each one after the other."""
        return tuple(LegLevel(leg, self.columns, -1) for ring in self.rings for leg in legs_of(ring, closed=True))

    @property
    def rings(self) -> list[np.ndarray]:
        """The lines (N, 2) around each piece of the outline and each of its holes, with the outline on their left, in the two
        columns of space; the first point of each is not repeated."""
        pieces = [orient(piece) for piece in shapely.get_parts(self.shape)]
        lines = [line for piece in pieces for line in (piece.exterior, *piece.interiors)]
        return [np.array(line.coords)[:-1] + self.centre[list(self.columns)] for line in lines]


@dataclass(frozen=True, eq=False)
class FormLevel:
    """Signed distance to another form's surface moved outwards by `offset`."""

    nearest: NearestPoint
    offset: float

    def __call__(self, points: np.ndarray) -> np.ndarray:
        return self.nearest.signed_distance(points) - self.offset


def make_level(
    cut: CutSpec,
    surface: Surface,
    outline: Callable[[Mapping], Polygon | MultiPolygon],
    surface_of: Callable[[str], Surface],
) -> Level:
    """The level function of one cut of the design; `surface` is the form that it cuts."""
    v = cut.values
    if cut.kind == "plane":
        return PlaneLevel(direction(v["normal"]), v["at"])
    if cut.kind == "prism":
        shape = outline(v["outline"])
        shapely.prepare(shape)
        along = v["along"]
        return PrismLevel(
            shape,
            OUTLINE_COLUMNS[along],
            "xyz".index(along),
            np.asarray(v.get("centre") or (0, 0, 0), float),
            v.get("above"),
            v.get("below"),
        )
    if cut.kind == "curve":
        return curve_level(v["points"], v["smooth"], v["closed"], OUTLINE_COLUMNS[v["along"]])
    if cut.kind == "line":
        return line_level(v["through"], v["closed"], NearestPoint(surface))
    return FormLevel(NearestPoint(surface_of(v["form"])), v["offset"])
