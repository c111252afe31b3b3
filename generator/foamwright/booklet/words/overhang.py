"""How far a flat part stands out beyond the face that it is glued on: its placement line ends where that face does, so that the
paper alone does not tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies, frame
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import one_of, the
from foamwright.booklet.words.checks import STANDS_OUT, about
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import say
from foamwright.parts.records import FlatBody, Piece

_REACH = 0.6  # mm between two faces that count as one plane
_FLAT = 0.999  # cosine
_BLUR = 0.3  # mm by which a contact may fall short of what it stands for
_ONE_SIDE = 0.3  # of an overhang, by which its edge may be hollow, as one over a round hole is
_MOSTLY = 0.5  # of a foot that lies beyond
_NAMED = 0.35  # of a direction that has a name


@dataclass(frozen=True)
class _Over:
    """What of a copy's foot lies beyond the face of another: how far in mm, which way (3,), and whether over a hole of it."""

    size: float
    way: np.ndarray
    hole: bool


def lines(told: Fitting) -> list[str]:
    """A sentence for each part of a step that stands out beyond the face that it is glued on, on one side of it."""
    text = []
    for piece in told.pieces:
        on = [m for m in told.meetings if m.new == piece.id and m.on_broad and not m.around and m.glue != "none"]
        if not isinstance(piece.body, FlatBody) or told.whole_of(piece) or len(on) != 1:
            continue
        host = told.every[on[0].other]
        found = [_beyond(told.bodies, pair, on[0]) for pair in on[0].pairs] if isinstance(host.body, FlatBody) else []
        over = [one for one in found if one is not None]
        if over and len(over) == len(found) and max(one.size for one in over) < min(one.size for one in over) + _BLUR:
            text.append(_sentence(told, piece, host, on[0], over))
    return text


def _sentence(told: Fitting, piece: Piece, host: Piece, meeting: Meeting, over: Sequence[_Over]) -> str:
    facts = {"part": one_of(piece), "other": the(host), "size": about(over[0].size)}
    if all(one.hole for one in over):
        return say(
            "Check: {part} stands {size} out over the edge of the hole in {other}: its foot is that much wider than its line.",
            **facts,
        )
    where = _where(told.bodies, [copy for copy, _ in meeting.pairs], [one.way for one in over])
    if where:
        return say("Check: {part} stands {size} out beyond the edge of {other}, {where}.", where=where, **facts)
    return say("Check: {part} stands {size} out beyond the edge of {other}.", **facts)


def _where(bodies: Bodies, copies: Sequence[int], ways: Sequence[np.ndarray]) -> str:
    """Where an overhang is, in a word that holds for every copy; "" where there is none."""
    mean = np.mean(ways, axis=0)
    if np.abs(mean).max() > _NAMED:
        return directions.at(mean)
    off = bodies.spheres[list(copies), :2] - bodies.spheres[:, :2].mean(axis=0)
    inwards = [float(way[:2] @ out) for way, out in zip(ways, off)]
    if max(inwards) < 0.0:
        return say("towards the middle of the prop")
    return say("away from the middle of the prop") if min(inwards) > 0.0 else ""


def _beyond(bodies: Bodies, pair: tuple[int, int], meeting: Meeting) -> _Over | None:
    """None where nothing of the foot lies beyond, or on several sides of what it is glued to."""
    copy, other = pair
    axes, theirs = (frame(bodies.pieces[i], bodies.matrices[i]) for i in pair)
    touch = bodies.touches[copy, other]
    if axes is None or theirs is None or not touch.outlines:
        return None
    off = theirs[2] if float(touch.areas @ touch.normals @ theirs[2]) > 0.0 else -theirs[2]
    first = axes[int(np.argmin(np.abs(axes @ off)))]
    flat = np.column_stack([first, np.cross(off, first)])
    level = float(touch.places.mean(axis=0) @ off)
    foot = _foot(bodies, copy, off, level, flat)
    held = shapely.unary_union(
        [
            shapely.Polygon(patch[0] @ flat, [hole @ flat for hole in patch[1:]]).buffer(_BLUR)
            for (one, _), met in bodies.touches.items()
            if one == copy
            for patch in met.outlines
            if float(np.abs(patch[0] @ off - level).max()) < _REACH
        ]
    )
    out = foot.difference(held).buffer(-_BLUR)
    if held.is_empty or out.area > _MOSTLY * foot.area:
        return None  # what stands out that far, as a wing does, has its place by the outline
    if out.is_empty:
        return None
    rim = shapely.get_coordinates(shapely.segmentize(out, 1.0))
    size = float(shapely.distance(shapely.points(rim), held).max()) + 2.0 * _BLUR
    if size < STANDS_OUT:
        return None
    there, here = rim @ flat.T, shapely.get_coordinates(held) @ flat.T
    slack = max(_ONE_SIDE * size, 2.0 * _BLUR)
    sides = [
        way
        for axis in axes
        if abs(float(axis @ off)) < 1.0 - _FLAT
        for way in (axis, -axis)
        if float((there @ way).min()) > float((here @ way).max()) - slack
    ]
    if len(sides) != 1:
        return None
    hole = any(
        shapely.Polygon(_placed(bodies, other, hole) @ flat).contains(out.centroid) for hole in _holes(bodies, other)
    )
    return _Over(size, sides[0], hole)


def _foot(bodies: Bodies, copy: int, off: np.ndarray, level: float, flat: np.ndarray) -> shapely.Geometry:
    """All of a copy that lies in the plane of a contact, seen along `off`."""
    points, triangles = bodies.mesh((copy,))
    low = np.abs(points @ off - level) < _REACH
    there = triangles[low[triangles].all(axis=1)]
    return shapely.union_all(shapely.polygons((points @ flat)[there]).astype(object)).buffer(0.0)


def _holes(bodies: Bodies, copy: int) -> Sequence[np.ndarray]:
    body = bodies.pieces[copy].body
    return body.holes if isinstance(body, FlatBody) else ()


def _placed(bodies: Bodies, copy: int, outline: np.ndarray) -> np.ndarray:
    """An outline (n, 2) of a flat copy in its place (n, 3)."""
    body, matrix = bodies.pieces[copy].body, bodies.matrices[copy]
    assert isinstance(body, FlatBody)
    return body.frame.to_space(outline) @ matrix[:3, :3].T + matrix[:3, 3]
