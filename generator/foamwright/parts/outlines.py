"""Flat outlines of the design file as shapely polygons, in mm.

Curves become polylines whose sagitta stays below `SAGITTA`, far under what a knife can follow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from foamwright.errors import BuildError
from foamwright.parts.curves import SAGITTA, arc_steps, flattened, refined
from foamwright.parts.fill import FallenApartError, nth_piece, one_piece, simple
from foamwright.parts.lettering import bridged, lettering
from foamwright.parts.paths import path_ring, rounded_ring
from foamwright.parts.repeats import repeated
from foamwright.parts.svg_file import svg_shape

# Gives what the section of a named form at a plane covers, in the outline axes of that plane.
SectionOf = Callable[[Mapping[str, Any]], shapely.Geometry]


def circle(radius: float, centre=(0.0, 0.0)) -> np.ndarray:
    """(N, 2) counter-clockwise, N a multiple of 4 so that the quadrant points are exact."""
    count = 4 * max(4, math.ceil(arc_steps(radius, 2 * math.pi) / 4))
    angle = np.arange(count) * (2 * np.pi / count)
    return np.asarray(centre, float) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def spline(points) -> np.ndarray:
    """Closed smooth curve through (N, 2) points, periodic cubic by chord length."""
    points = np.asarray(points, float)
    ring = np.vstack([points, points[:1]])
    knots = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    curve = CubicSpline(knots, ring, bc_type="periodic")
    return np.concatenate([flattened(partial(_along, curve, a, b))[:-1] for a, b in pairwise(knots)])


def _along(curve: CubicSpline, a: float, b: float, t: np.ndarray) -> np.ndarray:
    return curve(a + t * (b - a))


def _rectangle(width, height, corner, centre) -> Polygon:
    x, y = width / 2, height / 2
    return _rounded(np.array([[-x, -y], [x, -y], [x, y], [-x, y]]) + np.asarray(centre, float), corner)


def _rounded(points, corner: float) -> Polygon:
    """Polygon with all its corners rounded to the radius `corner`. Raises BuildError where a side has no room."""
    shape = simple(np.asarray(points, float), "a polygon")
    if corner <= 0:
        return shape
    return simple(rounded_ring(shapely.get_coordinates(shape.exterior)[:-1], corner), "a polygon with round corners")


def _superellipse(width, height, exponent, centre) -> np.ndarray:
    """(N, 2) counter-clockwise, the points at its four ends among them."""
    count = 4 * max(32, math.ceil(math.pi * math.sqrt(max(width, height) / SAGITTA) / 8))

    def at(angle: np.ndarray) -> np.ndarray:
        c, s = np.cos(angle), np.sin(angle)
        rho = (np.abs(c) ** exponent + np.abs(s) ** exponent) ** (-1 / exponent)
        return np.asarray(centre, float) + np.column_stack([width / 2 * rho * c, height / 2 * rho * s])

    angle = np.arange(count + 1) * (2 * np.pi / count)
    return at(refined(at, angle)[:-1])


def polygon(
    outline: Mapping[str, Any], folder: str, section_of: SectionOf, away_of: SectionOf | None = None
) -> Polygon:
    """The outline of the design file as one polygon with positive orientation.

    Raises BuildError if nothing is left, or if it falls apart, as it does where letters with an inside are cut from it.
    """
    try:
        return whole(area(outline, folder, section_of, away_of), "the outline")
    except FallenApartError as error:
        cut_out = any("text" in other for other in outline.get("minus") or ())
        remedy = (
            "what is inside of a letter falls out: stencil_text has bridges for it"
            if cut_out
            else "`piece` takes one of them"
        )
        raise BuildError(f"{error}; {remedy}") from None


def area(
    outline: Mapping[str, Any], folder: str, section_of: SectionOf, away_of: SectionOf | None = None
) -> shapely.Geometry:
    """What the outline of the design file covers, in one piece or several. Raises BuildError for nothing.

    `away_of` gives a section that is taken away, where that is more than one plane of it: what has a thickness may not
    reach into the form at either face.
    """
    away_of = away_of or section_of
    shape = _shape(outline, folder, section_of)
    for other in outline.get("plus") or ():
        shape = shape.union(area(other, folder, section_of, away_of))
    for other in outline.get("minus") or ():
        shape = shape.difference(area(other, folder, away_of, section_of))
    if outline.get("repeat"):
        shape = repeated(shape, outline["repeat"])
    if outline.get("piece"):
        shape = nth_piece(shape, outline["piece"], "an outline")
    if shape.is_empty:
        raise BuildError("an outline: nothing is left of it; check its size against what is cut away")
    return shape


def whole(shape: shapely.Geometry, what: str) -> Polygon:
    """`shape` as one oriented polygon, less crumbs. Raises BuildError as `one_piece`."""
    return one_piece(shape, what)


def _shape(outline, folder, section_of) -> Polygon:
    if "circle" in outline:
        v = outline["circle"]
        return Polygon(circle(v["radius"], v["centre"]))
    if "rectangle" in outline:
        v = outline["rectangle"]
        return _rectangle(v["width"], v["height"], v["corner"], v["centre"])
    if "polygon" in outline:
        v = outline["polygon"]
        return _rounded(v["points"], v["corner"])
    if "spline" in outline:
        return simple(spline(_distinct(outline["spline"]["points"])), "a spline")
    if "slot" in outline:
        v = outline["slot"]
        return _placed(_rectangle(v["length"], v["width"], min(v["length"], v["width"]) / 2, (0, 0)), v)
    if "superellipse" in outline:
        v = outline["superellipse"]
        return Polygon(_superellipse(v["width"], v["height"], v["exponent"], v["centre"]))
    if "section" in outline:
        return section_of(outline["section"])
    if "svg" in outline:
        return svg_shape(Path(folder) / outline["svg"]["file"], outline["svg"]["scale"])
    if "path" in outline:
        return simple(path_ring(outline["path"]), "a path")
    if "text" in outline:
        v = outline["text"]
        return _placed(lettering(v["value"], v["height"], v["bold"]), v)
    if "stencil_text" in outline:
        v = outline["stencil_text"]
        return _placed(bridged(lettering(v["value"], v["height"], v["bold"]), v["bridge"]), v)
    raise BuildError(f"an outline with no shape: {sorted(outline)}")


def _placed(shape: shapely.Geometry, given: Mapping[str, Any]) -> shapely.Geometry:
    """A shape drawn about the origin, turned by its `angle` and moved to its `centre`."""
    return affinity.translate(affinity.rotate(shape, given["angle"], origin=(0, 0)), *given["centre"])


def _distinct(points: Sequence) -> np.ndarray:
    """The points (N, 2) of a spline. Raises BuildError where one is repeated, for a curve through both has no way."""
    ring = np.asarray(points, float)
    step = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    if (step < 1e-6).any():
        x, y = ring[int(np.argmin(step))]
        raise BuildError(f"a spline that names the point [{x:g}, {y:g}] twice in a row; expected it once")
    return ring


def rings(shape: Polygon) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    """Outer ring (N, 2) counter-clockwise and hole rings, first point not repeated."""
    shape = orient(shape)
    return np.array(shape.exterior.coords)[:-1], tuple(np.array(r.coords)[:-1] for r in shape.interiors)
