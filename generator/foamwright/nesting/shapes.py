"""The room that a piece of foam needs on a sheet, as few convex polygons that cover it. Lengths in mm.

Everything here errs outwards: the polygons may cover a little more than the piece and the margin around it,
never less, so pieces whose polygons do not overlap are at least two margins apart.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

_ROUND = 0.04  # by which the outline may move when its needless points go
_CORNER = 0.12  # that a corner may be drawn out
_HOLLOW = 0.8  # of a hollow that may be filled: each point left in one costs a convex polygon


def convex_parts(piece: Polygon, margin: float, narrow: float) -> list[np.ndarray]:
    """Convex polygons (K, 2), counter-clockwise, that together cover `piece` and `margin` mm around it.

    Slits and holes are filled as far as no circle of radius `narrow` goes into them.
    """
    return convex_decomposition(cover(piece, margin, narrow))


def inscribed_radius(piece: Polygon) -> float:
    """Radius of the largest circle inside `piece`, to 0.1 mm."""
    return float(shapely.maximum_inscribed_circle(piece, 0.1).length)


def cover(piece: Polygon, margin: float, narrow: float) -> Polygon:
    """A polygon of few points that contains `piece` and `margin` mm around it; `narrow` as above."""
    grown = piece.buffer(margin + narrow).buffer(-narrow)
    # a ring of chords lies inside the round corner that it stands for, by less than _ROUND
    grown = orient(grown.buffer(2.0 * _ROUND, join_style="mitre").simplify(_ROUND))
    rings = [_drawn_out(np.asarray(ring.coords)[:-1]) for ring in (grown.exterior, *grown.interiors)]
    fewer = Polygon(rings[0], rings[1:])
    return fewer if fewer.is_valid and fewer.area >= grown.area else grown


def _drawn_out(ring: np.ndarray) -> np.ndarray:
    """`ring` (N, 2), foam on its left, with fewer points: it only ever moves to the right.

    A point in a hollow is left out, and a side between two corners goes when its neighbours are drawn on to
    where they meet; what adds the least area is done first.
    """
    points = np.array(ring)
    while len(points) > 4:
        area, corner = _changes(points)
        i = int(np.argmin(area))
        if not np.isfinite(area[i]):
            break
        if not np.isnan(corner[i, 0]):
            points[(i + 1) % len(points)] = corner[i]
        points = np.delete(points, i, axis=0)
    return points


def _changes(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each point the area that is added without it, infinite if it must stay, and the corner that takes
    the place of it and the next one, NaN where there is none."""
    before, after, beyond = (np.roll(points, k, axis=0) for k in (1, -1, -2))
    turn = _cross(points - before, after - points)
    chord = np.linalg.norm(after - before, axis=1)
    area = np.where((turn <= 0.0) & (-turn <= _HOLLOW * chord), -turn / 2.0, np.inf)

    side, along, back = after - points, points - before, after - beyond
    meeting = _cross(along, back)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = _cross(side, back) / meeting  # of `along` from the point to the corner
        corner = points + reach[:, None] * along
        rise = _cross(side, corner - points)
        drawn = (turn > 0.0) & (np.roll(turn, -1) > 0.0) & (reach > 0.0) & (meeting < 0.0)
        drawn &= -rise <= _CORNER * np.linalg.norm(side, axis=1)
    corner_area = np.where(drawn, -rise / 2.0, np.inf)
    use = corner_area < area
    return np.where(use, corner_area, area), np.where(use[:, None], corner, np.nan)


def convex_decomposition(polygon: Polygon) -> list[np.ndarray]:
    """Convex polygons that make up `polygon`: its triangles, joined over the longest sides first.

    Joining triangles for as long as they stay convex gives at most four times the least number of polygons
    (Hertel and Mehlhorn, 1983).
    """
    triangles = [
        np.asarray(orient(t).exterior.coords)[:-1] for t in shapely.constrained_delaunay_triangles(polygon).geoms
    ]
    points, index = np.unique(np.concatenate(triangles), axis=0, return_inverse=True)
    cells: dict[int, list[int]] = {k: list(c) for k, c in enumerate(index.reshape(-1, 3).tolist())}
    sides: dict[tuple[int, int], list[int]] = {}
    for k, cell in cells.items():
        for a, b in zip(cell, cell[1:] + cell[:1]):
            sides.setdefault((min(a, b), max(a, b)), []).append(k)
    inner = [side for side, both in sides.items() if len(both) == 2]
    length = {s: float(np.linalg.norm(points[s[0]] - points[s[1]])) for s in inner}
    owner = {k: k for k in cells}
    for side in sorted(inner, key=lambda s: (-length[s], s)):
        first, second = (_root(owner, k) for k in sides[side])
        joined = _joined(cells[first], cells[second], side)
        if joined is not None and _convex(points[joined]):
            cells[first] = joined
            owner[second] = first
            del cells[second]
    return [points[cell] for cell in cells.values()]


def _root(owner: dict[int, int], k: int) -> int:
    while owner[k] != k:
        k = owner[k]
    return k


def _joined(first: list[int], second: list[int], side: tuple[int, int]) -> list[int] | None:
    """Two counter-clockwise loops as one, without the side that they share."""
    for a, b in (side, side[::-1]):
        i, j = first.index(a), second.index(b)
        if first[(i + 1) % len(first)] == b and second[(j + 1) % len(second)] == a:
            return first[i + 1 :] + first[: i + 1] + _between(second, j)
    return None


def _between(loop: list[int], j: int) -> list[int]:
    """The points of `loop` after those at `j` and `j + 1`, up to the one before `j`."""
    n = len(loop)
    return [loop[(j + k) % n] for k in range(2, n)]


def _convex(points: np.ndarray) -> bool:
    step = np.roll(points, -1, axis=0) - points
    turn = _cross(step, np.roll(step, -1, axis=0))
    return bool((turn >= -1e-9).all())


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
