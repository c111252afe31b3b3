"""How far from an edge a part goes on, as a dimension beside its line where that is the same all along. Lengths in mm.

After ISO 129-1: a thin line between two arrowheads with the number beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.drawing.primitives import Primitive
from foamwright.drawing.typesetting import SMALLEST, Line, label_block
from foamwright.flatten.records import Pattern
from foamwright.language import decimal, say
from foamwright.templates.edges import Walk
from foamwright.templates.place import Field
from foamwright.templates.records import Mark

_STATIONS = 41  # along an edge, from which the distance is measured
_FLUSH = 1.0  # what lies so near to an edge is set by it, and needs no measure
_LEAST, _MOST = 5.0, 400.0  # distances that are told
_EVEN = 0.4  # by which the distance may differ along the edge and still be one: less than a pencil errs
_SHARE, _LONG = 0.5, 50.0  # of an edge, or so much of it, from which the same must be measured
_FIRST = 0.3  # of half an edge beside its middle, where its words stand, a dimension is tried first


@dataclass(frozen=True, eq=False)
class Height:
    """The `distance` of a mark's line from an edge, square to it: from `feet` (K, 2) on the edge to `heads` (K, 2)."""

    distance: float
    feet: np.ndarray
    heads: np.ndarray


def heights(
    pattern: Pattern, marks: Sequence[Mark], walks: Sequence[Walk], material: shapely.Polygon
) -> tuple[Height, ...]:
    """For each mark the height over one edge: the lowest of those that it runs along, else the nearest; none for what is
    flush with an edge."""
    inner = material.buffer(0.05)
    shapely.prepare(inner)
    told = []
    for mark in marks:
        found = [(walk, height) for walk in walks if (height := _height(mark, walk, inner)) is not None]
        if any(height.distance < _FLUSH and _runs_along(height, mark) for _, height in found):
            continue
        found = [(walk, height) for walk, height in found if height.distance >= _LEAST]
        if not found:
            continue
        lowest = [height for walk, height in found if _is_below(pattern, walk)]
        told.append(min(lowest or [height for _, height in found], key=lambda height: round(height.distance, 3)))
    return tuple(told)


def _runs_along(height: Height, mark: Mark) -> bool:
    """Does the edge run along most of the mark?"""
    x0, y0, x1, y1 = mark.region.bounds
    steps = np.hypot(*np.diff(height.feet, axis=0).T)
    return float(steps.sum()) > _SHARE * float(np.hypot(x1 - x0, y1 - y0))


def _is_below(pattern: Pattern, walk: Walk) -> bool:
    if pattern.up is None:
        return False
    _, _, inward = walk.at(np.linspace(0.1, 0.9, 9) * walk.length)
    return float((inward @ np.array(pattern.up)).mean()) > 0.7


def _height(mark: Mark, walk: Walk, inner: shapely.Polygon) -> Height | None:
    x0, y0, x1, y1 = mark.region.bounds
    if np.hypot(x1 - x0, y1 - y0) < min(_SHARE * walk.length, _LONG):
        return None
    at = np.linspace(0.03, 0.97, _STATIONS) * walk.length
    place, _, inward = walk.at(at)
    rays = shapely.linestrings(np.stack([place + 0.2 * inward, place + _MOST * inward], axis=1))
    met = shapely.intersection(rays, mark.region)
    hit = ~shapely.is_empty(met)
    if not hit.any():
        return None
    away = np.full(len(at), np.inf)
    away[hit] = shapely.distance(shapely.points(place[hit]), met[hit])
    heads = place + np.where(np.isfinite(away), away, 0.0)[:, None] * inward
    hit &= shapely.covers(inner, shapely.linestrings(np.stack([place + 0.1 * inward, heads], axis=1)))
    share = float(hit.mean())
    if share < _SHARE and share * walk.length < _LONG:
        return None
    distance = float(np.median(away[hit]))
    if np.ptp(away[hit]) > _EVEN:
        return None
    return Height(distance, place[hit], heads[hit])


def dimension(height: Height, field: Field) -> tuple[Primitive, ...]:
    """The dimension where it crosses no line and no words, its number beside it; nothing if there is no such place."""
    block = label_block([Line(say("{size} mm", size=decimal(height.distance, 1)), SMALLEST)])
    order = np.argsort(np.abs(np.linspace(-1.0, 1.0, len(height.feet)) - _FIRST), kind="stable")
    return field.between(block, height.feet[order], height.heads[order]) or ()
