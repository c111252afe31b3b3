"""The arrows of a step's picture: where a part that is drawn off its place goes. A guide runs where most of it is seen, and
is long enough to have a shaft. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import binary_closing

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render

_WAYS = 4  # moves whose ways in are drawn; of more, those that are nearest to the eye
_TRIED = 60  # places of a joint that a guide may lead to
_SAMPLES = 24  # along a guide, where it is asked what lies before it
_COARSE = 4  # cells from one to the next that are looked at for the middle of what is seen
_NEAR = 0.015  # of the picture: what is so little before a guide does not hide it
_WIDE = 0.16  # of the picture: a joint that reaches farther has a guide at both sides
_LEAST_SEEN = 0.5  # of a guide; less, and the arrow begins on what is seen of the part
_GAP = 2  # places along a guide that may be hidden while it still counts as seen
_SHAFT = 0.10  # of the picture: the least length of an arrow
_CLEAR = 0.02  # of the picture: two guides that come nearer to each other are a knot
_ALIKE_APART = 0.1  # of the picture: guides of parts that are alike show no more where they stand closer
_LEAST = 0.02  # of the picture: what moves less goes along the line of sight
_LEVEL, _UPRIGHT = (
    0.3,
    0.85,
)  # of a way that is level, the most that it rises; of one that looks upright on paper, the least


@dataclass(frozen=True, eq=False)
class Way:
    """Copies that are drawn off their places, corners (k, 3) of their way from there, and what stands before them."""

    copies: tuple[int, ...]
    corners: np.ndarray
    past: tuple[int, ...]


def guides(bodies: Bodies, ways: Sequence[Way], scene: render.Scene, seen: render.Window) -> list[np.ndarray]:
    """Polylines (k, 2) of the ways in, the head at the last point."""
    depth = [float(render.all_points(bodies, way.copies).mean(axis=0) @ seen.frame[2]) for way in ways]
    drawn: list[np.ndarray] = []
    shown: set[tuple[str, ...]] = set()  # parts of which a way is drawn already
    count = 0
    misleads = [_misleads(way, seen) for way in ways]
    for i in sorted(range(len(depth)), key=lambda i: (misleads[i], round(depth[i], 3), i)):
        if count == _WAYS:
            break
        parts = tuple(sorted(bodies.pieces[copy].id for copy in ways[i].copies))
        if misleads[i] and parts in shown:
            continue
        found = _guides(bodies, ways[i], scene, seen, drawn, parts in shown)
        if found:
            shown.add(parts)
            count += 1
        drawn += found
    return drawn


def _misleads(way: Way, seen: render.Window) -> bool:
    """Is it level, and looks on paper as if the part went up or down? So does what goes straight away from the eye."""
    leg = way.corners[0] - way.corners[-1]
    on_paper, up = seen.frame[:2] @ leg, seen.frame[:2] @ (0.0, 0.0, 1.0)
    if abs(leg[2]) > _LEVEL * float(np.linalg.norm(leg)):
        return False
    return bool(abs(on_paper @ up) > _UPRIGHT * float(np.linalg.norm(on_paper) * np.linalg.norm(up)) > 0.0)


def _guides(
    bodies: Bodies, way: Way, scene: render.Scene, seen: render.Window, drawn: Sequence[np.ndarray], spare: bool
) -> list[np.ndarray]:
    """Those of one way, clear of what is `drawn`. Of one that is `spare`, as another that is alike shows it, only those whose end
    is seen."""
    size = seen.step * max(seen.shape)
    apart = (_ALIKE_APART if spare else _CLEAR) * size
    legs = way.corners[::-1] @ seen.frame.T  # (k, 3) from where it is drawn to its place, in the frame of the view
    if np.linalg.norm(legs[0, :2] - legs[-1, :2]) < _LEAST * size:
        return []
    touch = [
        t.places
        for (a, b), t in sorted(bodies.touches.items())
        if a in way.copies and b in way.past and b not in way.copies
    ]
    places = np.vstack(touch) if touch else render.all_points(bodies, way.copies)
    places = places[np.unique(np.linspace(0, len(places) - 1, min(len(places), _TRIED)).astype(int))] @ seen.frame.T
    lines = places[:, None] + legs[None]
    shares = _shares(lines, scene, seen, _NEAR * size)
    groups = [np.arange(len(places))]
    if np.ptp(places[:, 0]) > _WIDE * size:
        left = places[:, 0] < (places[:, 0].min() + places[:, 0].max()) / 2.0
        groups = [np.flatnonzero(left), np.flatnonzero(~left)]
    middle = places[:, :2].mean(axis=0)
    aside = np.linalg.norm(places[:, :2] - middle, axis=1) / size
    ends_seen = _clear(lines[:, -1:], scene, seen, _NEAR * size)[:, 0]
    best: list[np.ndarray] = []
    hidden: list[np.ndarray] = []  # that end where they go in behind something: as if that were where the part goes
    crossed: list[np.ndarray] = []
    for group in groups:
        outer = aside[group] if len(groups) > 1 else -aside[group]
        order = group[np.argsort(-np.round(shares[group] + 0.3 * outer, 6), kind="stable")]
        order = order[shares[order] >= _LEAST_SEEN]
        for number, i in enumerate(order):
            line = _with_shaft(_as_seen(lines[i], scene, seen, _NEAR * size), _SHAFT * size)
            if _is_clear(line, [*drawn, *best, *hidden], apart):
                (best if ends_seen[i] else hidden).append(line)
                break
            if number == 0:
                crossed.append(line)
    if best or spare:
        return best
    if hidden:
        return hidden
    start = _seen_middle(way.copies, scene, seen)
    if not crossed and start is not None:
        line = _as_seen(start + legs - legs[0], scene, seen, _NEAR * size)
        crossed.append(_with_shaft(line, _SHAFT * size))
    clear = [line for line in crossed if _is_clear(line, drawn, apart)]
    return clear[:1] or crossed[:1]


def _is_clear(line: np.ndarray, others: Sequence[np.ndarray], apart: float) -> bool:
    """Does a polyline (k, 2) keep so far `apart` from the others that no eye takes one for the other?"""
    own = shapely.LineString(line)
    return all(own.distance(shapely.LineString(other)) >= apart for other in others)


def _shares(lines: np.ndarray, scene: render.Scene, seen: render.Window, near: float) -> np.ndarray:
    """The share (n,) of each line (n, k, 3), in the frame of the view, that nothing lies before."""
    return _clear(_along(lines), scene, seen, near).mean(axis=1)


def _along(lines: np.ndarray) -> np.ndarray:
    """Places (n, m, 3) along lines (n, k, 3), `_SAMPLES` to a leg."""
    part = np.linspace(0.0, lines.shape[1] - 1.0, _SAMPLES * (lines.shape[1] - 1) + 1)
    first = np.minimum(part.astype(int), lines.shape[1] - 2)
    share = (part - first)[None, :, None]
    return (1.0 - share) * lines[:, first] + share * lines[:, first + 1]


def _clear(places: np.ndarray, scene: render.Scene, seen: render.Window, near: float) -> np.ndarray:
    """Which places (n, m, 3), in the frame of the view, nothing lies before."""
    cells = np.round((places[..., :2] - seen.low) / seen.step).astype(int)
    rows, columns = scene.depth.shape
    inside = ((cells >= 0) & (cells < (columns, rows))).all(axis=2)
    cells = np.where(inside[..., None], cells, 0)
    depth = np.where(inside, scene.depth[cells[..., 1], cells[..., 0]], np.inf)
    return np.asarray(places[..., 2] - near <= depth)


def _as_seen(line: np.ndarray, scene: render.Scene, seen: render.Window, near: float) -> np.ndarray:
    """A line (k, 2) that ends where it goes in behind something: with the longest stretch of it that is seen."""
    clear = binary_closing(np.pad(_clear(_along(line[None]), scene, seen, near)[0], _GAP), iterations=_GAP)[_GAP:-_GAP]
    ends = np.flatnonzero(np.diff(np.r_[False, clear, False].astype(int))).reshape(-1, 2)
    last = int(ends[int(np.argmax(ends[:, 1] - ends[:, 0])), 1]) - 1 if len(ends) else len(clear) - 1
    if last >= len(clear) - 2:
        return line[:, :2]
    leg = min(last // _SAMPLES, len(line) - 2)
    return np.vstack([line[: leg + 1, :2], _along(line[None])[0, last, :2]])


def _with_shaft(line: np.ndarray, least: float) -> np.ndarray:
    """A line that is drawn out at its start until it is long enough."""
    short = least - float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    leg = line[0] - line[1]
    if short <= 0.0 or np.linalg.norm(leg) < 1e-9:
        return line
    return np.vstack([line[:1] + short * leg / np.linalg.norm(leg), line[1:]])


def _seen_middle(copies: Sequence[int], scene: render.Scene, seen: render.Window) -> np.ndarray | None:
    """The place (3,) on what is seen of the copies that is nearest to the middle of it."""
    rows, columns = np.nonzero(np.isin(scene.owner[::_COARSE, ::_COARSE], copies))
    if not len(rows):
        return None
    cells = float(_COARSE) * np.column_stack([columns, rows])
    nearest = int(np.linalg.norm(cells - cells.mean(axis=0), axis=1).argmin())
    column, row = cells[nearest].astype(int)
    return np.array([*(seen.low + seen.step * cells[nearest]), scene.depth[row, column]])
