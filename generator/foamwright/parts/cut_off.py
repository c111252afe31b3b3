"""Where a bulkhead is cut off straight at a place that only one of its faces reaches, as a floor low in a hull whose
bottom rises: the other face ends before, and the edge is bevelled to the line in which it does. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from foamwright.errors import BuildError
from foamwright.geometry import inset
from foamwright.geometry.bevel import CUT_SQUARE_WITHIN
from foamwright.parts.bevels import bevels_of_sides
from foamwright.parts.records import EdgeRun, FlatBody

_EVEN = 1.5  # mm between the points of such an edge, where its corners let them stand so near
_CLEAR = 2.0  # times the way that a corner moves along the edge: the next point stands well beyond it on both faces
_TIMES = 4  # as many places as sides are looked at
_CORNER_WITHIN = (
    0.5  # mm that a corner of foam gives, where the wall beside it goes on in a curve (common practice, no source)
)
_RAYS = 9  # along an edge, to find whether the other face reaches it


def cut_off(body: FlatBody, faces: Sequence[Polygon], thickness: float) -> FlatBody:
    """A bulkhead whose two faces stay within the wall's sections there (inside, outside), its straight square edges
    bevelled where one of them does not reach that far.

    BuildError where nothing of a face is left.
    """
    shape = Polygon(body.outline)
    for sign, face in zip((1.0, -1.0), faces):
        true = face.intersection(shape)
        if true.is_empty:
            raise BuildError("it is cut off so that nothing is left of one of its faces; move the cut or the plane")
        draw = np.maximum(sign * thickness * np.tan(np.radians(body.side_bevels)), 0.0)
        made = shapely.make_valid(Polygon(inset(body.outline, draw)))
        if not made.difference(true.buffer(CUT_SQUARE_WITHIN)).is_empty:
            body = _bevelled(body, true, draw, sign, thickness)
    return body


def _bevelled(body: FlatBody, true: Polygon, draw: np.ndarray, sign: float, thickness: float) -> FlatBody:
    outline: list[np.ndarray] = []
    runs: list[EdgeRun] = []
    count = len(body.outline)
    for run in body.runs:
        here = body.outline[np.arange(run.start, run.stop) % count]
        bevel = run.bevel
        if run.stop - run.start == 1 and not any(bevel):
            made = _edge(body.outline, run.start % count, true, draw)
            if made is not None:
                here, inward = made
                bevel = bevels_of_sides(sign * np.degrees(np.arctan(inward / thickness)))
        start = sum(map(len, outline))
        outline.append(here)
        runs.append(EdgeRun(run.id, start, start + len(here), bevel, run.joins))
    return replace(body, outline=np.vstack(outline), runs=tuple(runs))


def _edge(ring: np.ndarray, side: int, true: Polygon, draw: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """A straight side of a ring (N, 2) divided into points (n, 2), its end not repeated, and how far inwards the other
    face lies of each of their sides (n,); None where that reaches the side as it is."""
    start, end = ring[side], ring[(side + 1) % len(ring)]
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    inward = np.array([-along[1], along[0]])
    moved = inset(ring, draw)
    square = [moved[k % len(ring)] for k in (side, side + 1)]
    first, last = ((corner - start) @ along for corner in square)
    between = _depths(start, along, inward, np.linspace(first, last, 2 * _RAYS + 1)[1::2], true)
    reached = [true.distance(Point(corner)) < _CORNER_WITHIN for corner in square]
    if all(reached) and max(between) < CUT_SQUARE_WITHIN:
        return None
    feet = _feet(ring, side, true, draw)
    corners = [corner if there else foot for there, corner, foot in zip(reached, square, feet)]
    shifts = [(corners[0] - start) @ along, (end - corners[1]) @ along]
    count = max(1, int(length / max(_EVEN, _CLEAR * max(shifts))))
    at = np.linspace(0.0, length, count + 1)
    fine = np.linspace(0.0, length, _TIMES * count + 1)
    found = np.array(_depths(start, along, inward, fine, true))
    # the deepest of each side: two sides meet at the mean of their depths, and that may not lie outside
    depths = np.max([found[k : len(found) - _TIMES + k : _TIMES] for k in range(_TIMES + 1)], axis=0)
    ends = [float((corner - start) @ inward) for corner in corners]
    depths[0], depths[-1] = (ends[0], ends[1]) if count > 1 else (np.mean(ends), np.mean(ends))
    return start + at[:-1, None] * along, depths


def _feet(ring: np.ndarray, side: int, true: Polygon, draw: np.ndarray) -> Iterator[np.ndarray]:
    """The feet of the corners at both ends of a side at the rim of the other face, where that does not reach the side."""
    n = len(ring)
    for corner, beside in ((side, side - 1), ((side + 1) % n, (side + 1) % n)):
        leg = ring[(beside + 1) % n] - ring[beside]
        foot = ring[corner] + draw[beside] * np.array([-leg[1], leg[0]]) / np.hypot(*leg)
        yield np.array(true.exterior.interpolate(true.exterior.project(Point(foot))).coords[0])


def _depths(start: np.ndarray, along: np.ndarray, inward: np.ndarray, at: np.ndarray, true: Polygon) -> list[float]:
    """How far inwards a polygon begins at distances along a line; where it lies beside, as at the nearest that meets it."""
    reach = np.hypot(*np.ptp(np.vstack([true.exterior.coords, start]), axis=0))
    depths = []
    for foot in start + at[:, None] * along:
        met = true.intersection(LineString([foot, foot + reach * inward]))
        depths.append(Point(foot).distance(met) if not met.is_empty else np.nan)
    known = ~np.isnan(depths)
    return np.interp(at, at[known], np.array(depths)[known]).tolist() if known.any() else [0.0] * len(at)
