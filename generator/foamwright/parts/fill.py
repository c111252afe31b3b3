"""What closed lines enclose, and whether a line may be an outline at all. In mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from foamwright.errors import BuildError
from foamwright.geometry import crossing_of

_LEAST_AREA = 1e-4  # mm2: less is a line
RULES = ("nonzero", "evenodd")


def simple(ring: np.ndarray, what: str) -> Polygon:
    """The polygon within a closed line (N, 2), first point not repeated.

    Raises BuildError, naming the place, for a line that crosses or touches itself, and for one without an area.
    """
    if not np.isfinite(ring).all():
        raise BuildError(f"{what}: a point that is no number")
    ring = ring[np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 1e-9]
    if len(ring) < 3:
        raise BuildError(f"{what}: it has no area")
    shape = Polygon(ring)
    if not shape.is_valid:
        raise BuildError(f"{what} that crosses itself or touches itself{place_of(shape)}; draw it as one line around")
    if shape.area < _LEAST_AREA:
        raise BuildError(f"{what}: it has no area")
    return orient(shape)


def place_of(shape: shapely.Geometry) -> str:
    """Where an invalid shape crosses or touches itself, in words."""
    at = crossing_of(shape)
    return "" if at is None else f" at [{at[0]:.2f}, {at[1]:.2f}]"


def filled(rings: Sequence[np.ndarray], rule: str) -> shapely.Geometry:
    """The area that closed lines (N, 2) enclose together by a fill rule of SVG, "nonzero" or "evenodd".

    Scalable Vector Graphics (SVG) 1.1, second edition, 11.3 "Fill properties": a point is inside if the lines wind
    around it a number of times that is not 0, or that is odd. Lines may cross themselves and each other.
    """
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return Polygon()
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    if not len(faces):
        return Polygon()
    points = shapely.get_coordinates(shapely.point_on_surface(faces))
    turns = np.sum([_windings(ring, points) for ring in rings], axis=0)
    inside = turns % 2 == 1 if rule == "evenodd" else turns != 0
    return shapely.union_all(faces[inside]) if inside.any() else Polygon()


def _windings(ring: np.ndarray, points: np.ndarray) -> np.ndarray:
    """How often (M,) a closed line (N, 2) winds around points (M, 2): crossings upwards less crossings downwards of
    the ray to the right of each."""
    a, b = ring, np.roll(ring, -1, axis=0)
    total = np.zeros(len(points), int)
    for i, (x, y) in enumerate(points):
        up, down = (a[:, 1] <= y) & (b[:, 1] > y), (a[:, 1] > y) & (b[:, 1] <= y)
        left = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
        total[i] = int((up & (left > 0)).sum()) - int((down & (left < 0)).sum())
    return total


class FallenApartError(BuildError):
    """What should be one piece is several."""


def nth_piece(shape: shapely.Geometry, number: int, what: str) -> Polygon:
    """One of the pieces that `shape` falls into, counted from 1 by where each begins on the left, then from below. Raises
    BuildError where there are fewer."""
    parts = sorted(_pieces(shape), key=lambda g: g.bounds[:2])
    if number > len(parts):
        raise BuildError(f"{what}: it has no piece {number}, as it falls into {len(parts)}")
    return parts[number - 1]


def _pieces(shape: shapely.Geometry) -> list[Polygon]:
    """What a shape falls into, less crumbs."""
    parts = [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and g.area > 0.0]
    largest = max((g.area for g in parts), default=0.0)
    return [g for g in parts if g.area > min(1.0, 1e-3 * largest)]


def one_piece(shape: shapely.Geometry, what: str) -> Polygon:
    """`shape` as one polygon with positive orientation, less crumbs that are nothing beside the rest.

    Raises BuildError if nothing is left or where its lines touch each other, FallenApartError if it falls apart.
    """
    parts = _pieces(shape)
    largest = max((g.area for g in parts), default=0.0)
    if largest < _LEAST_AREA:
        raise BuildError(f"{what}: nothing is left of it; check its size against what is cut away")
    if len(parts) > 1:
        places = ", ".join("[{:.1f}, {:.1f}]".format(*g.representative_point().coords[0]) for g in parts[:3])
        raise FallenApartError(f"{what}: it falls into {len(parts)} pieces (at {places}); expected one")
    # cutting one shape by another can leave vertices a hair apart; no knife or solid wants those
    hair = min(0.02, 1e-3 * largest**0.5)
    filled_up = _without_hairlines(parts[0], hair)
    cleaned = shapely.remove_repeated_points(filled_up, hair)
    whole = cleaned if cleaned.is_valid else filled_up
    rings = [whole.exterior, *whole.interiors]
    for i, ring in enumerate(rings):
        for other in rings[i + 1 :]:
            if ring.intersects(other):
                x, y = shapely.get_coordinates(ring.intersection(other))[0]
                raise BuildError(f"{what}: a hole that touches its edge or another hole at [{x:.2f}, {y:.2f}]; move it")
    return orient(whole)


def _without_hairlines(shape: Polygon, hair: float) -> Polygon:
    """`shape` with the holes filled that are nowhere wider than a `hair`, or hardly longer, as where shapes were joined that met
    within the last decimals: no knife cuts them."""
    wide = [hole for hole in shape.interiors if not Polygon(hole).buffer(-hair / 2).is_empty]
    return Polygon(shape.exterior, [hole for hole in wide if hole.length > 8 * hair])


def cleaned(shape: shapely.Geometry, what: str) -> Polygon | MultiPolygon:
    """`shape`, in one piece or several, each as of `one_piece`. Raises BuildError as that does, and where two pieces touch each
    other."""
    parts = [one_piece(part, what) for part in _pieces(shape)] or [one_piece(shape, what)]
    for i, part in enumerate(parts):
        for other in parts[i + 1 :]:
            if part.intersects(other):
                x, y = shapely.get_coordinates(part.intersection(other))[0]
                raise BuildError(f"{what}: two of its pieces touch each other at [{x:.2f}, {y:.2f}]; move one of them")
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)
