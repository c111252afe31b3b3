"""What turns on bars: which bars lie in holes and which in open slots, what sits on them without glue, and whether anything keeps
it from sliding off."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies, axis_of, goes_around, moving_as_one
from foamwright.assembly.ways_in import Ways
from foamwright.language import listed, say
from foamwright.parts.records import FlatBody, RodBody

_SQUARE = 0.5  # cosine between a bar and the way off a face, from which it goes through that
_Way = tuple[float, float, float]


def is_bar(bodies: Bodies, copy: int) -> bool:
    return isinstance(bodies.pieces[copy].body, RodBody)


def in_slot(bodies: Bodies, bar: int, host: int) -> bool:
    """Does a bar lie in a place of a flat part that is open to a side, so that it is laid in from there?"""
    place = _place_in(bodies, bar, host)
    return place is not None and not _in_a_hole(bodies, host, place)


def _in_a_hole(bodies: Bodies, host: int, place: shapely.Point) -> bool:
    return any(shapely.Polygon(hole).contains(place) for hole in bodies.pieces[host].body.holes)


def _place_in(bodies: Bodies, bar: int, host: int) -> shapely.Point | None:
    """Where a bar goes through a flat part, in the plane of its outline; None where it goes through none."""
    body = bodies.pieces[host].body
    if not isinstance(body, FlatBody):
        return None
    back = np.linalg.inv(bodies.matrices[host])
    start, along, length = axis_of(bodies, bar)
    ends = np.array([start, start + length * along]) @ back[:3, :3].T + back[:3, 3]
    a, b = body.frame.to_frame(ends)
    if abs(b[2] - a[2]) < _SQUARE * length:
        return None  # it lies along the part
    level = bodies.pieces[host].thickness / 2.0
    share = (level - a[2]) / (b[2] - a[2])
    near = level / abs(b[2] - a[2])  # as far as its end reaches into the foam
    return shapely.Point(*(a + share * (b - a))[:2]) if -near < share < 1.0 + near else None


def _is_held(bodies: Bodies, bar: int, host: int) -> bool:
    """Does a bar sit in a part that goes round it, be it with so much air that the two do not touch?"""
    touch = bodies.touches.get((bar, host))
    place = _place_in(bodies, bar, host) if touch is None else None
    return goes_around(touch) if touch is not None else place is not None and _in_a_hole(bodies, host, place)


def in_holes(bodies: Bodies, pairs: Sequence[tuple[int, int]]) -> np.ndarray | None:
    """The way (3,) along a bar that lies in holes or slots of all that it rests on; None for what lies on things."""
    bar = pairs[0][0]
    if not all(is_bar(bodies, a) and _is_held(bodies, a, b) for a, b in pairs):
        return None
    return axis_of(bodies, bar)[1]


def sits_on(bodies: Bodies, pairs: Sequence[tuple[int, int]]) -> np.ndarray | None:
    """The way (3,) along the bars that all of what rests on others has in its holes, as an arm has its pivot; None for others."""
    if any(is_bar(bodies, a) or not is_bar(bodies, b) or not _is_held(bodies, b, a) for a, b in pairs):
        return None
    if any(in_slot(bodies, b, a) for a, b in pairs):
        return None
    return axis_of(bodies, pairs[0][1])[1]


def kept_on(ways: Ways, pairs: Sequence[tuple[int, int]]) -> str:
    """Whether anything keeps from sliding off what is in the holes of other copies or has these in its own, pair by pair."""
    bodies = ways.bodies
    held = moving_as_one(bodies)
    open_: dict[str, None] = {}
    for a, b in pairs:
        along = axis_of(bodies, a if is_bar(bodies, a) else b)[1]
        one, other = (tuple(i for i in range(len(bodies)) if held[copy] >> i & 1) for copy in (a, b))
        mover = one if len(one) <= len(other) else other
        open_ |= dict.fromkeys(directions.at(np.array(way)) for way in _slides_off(ways, mover, along))
    if not open_:
        return say("What stands at both ends keeps it from sliding out.")
    return say(
        "Nothing keeps it from sliding out {sides}: hold it there when you turn the prop over.", sides=listed([*open_])
    )


def _slides_off(ways: Ways, copies: tuple[int, ...], along: np.ndarray) -> list[_Way]:
    """The ways along a bar on which nothing stops what is on it, `copies` that move as one, when all stands."""
    mine, mesh = ways.bodies.mask(copies), ways.bodies.mesh(copies)
    both = [_triple(sign * along) for sign in (1.0, -1.0)]
    return [way for way in both if not ways.met_by(*mesh, way) & ~mine]


def _triple(way: np.ndarray) -> _Way:
    x, y, z = way.tolist()
    return x, y, z
