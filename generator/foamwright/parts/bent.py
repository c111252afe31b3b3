"""Foam bent along the legs of a plane curve: where its two faces run, and how it turns its corners. In mm.

A face of the foam is a parallel of the curve. In a corner the two faces of one leg meet those of the next where
their parallels cross: beyond the end of a leg that lies on the outer side of the turn, which goes on straight, and
short of it on the inner side. The cut between both points is the mitre, at half the turn between straight legs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from foamwright.errors import BuildError
from foamwright.parts.curves import arc_steps
from foamwright.parts.legs import SHARP, Arc, Leg, Straight, turn_between
from foamwright.parts.records import BandCorner, Stretch

_STEP = 1.0  # mm between two stations
_LEAST_LEFT = 0.1  # mm of a leg on either face: less no knife cuts, and where parallels only touch it is as uncertain
_MOST = 1600  # stations of one leg
_FAN = 9  # stations over a leg's end that is cut back in a corner


@dataclass(frozen=True, eq=False)
class Bent:
    """Stations along the foam: `inner` and `outer` (N, 2) are its faces, `along` (N,) the length of the curve there.

    `ahead` (N - 1, 2) is how far the curve goes from where a station has its inner and its outer face to where the next has
    them, and `turned` (N - 1, 2) by how many radians it turns to the left there. Closed, it repeats its first station at the end.
    """

    inner: np.ndarray
    outer: np.ndarray
    along: np.ndarray
    ahead: np.ndarray
    turned: np.ndarray
    stretches: tuple[Stretch, ...]
    corners: tuple[BandCorner, ...]


@dataclass(frozen=True)
class _End:
    """Where both faces of a leg end, as lengths along the leg, and the bevel of the cut there in degrees."""

    inner: float
    outer: float
    bevel: float = 0.0


def has_corners(legs: Sequence[Leg], closed: bool) -> bool:
    return any(abs(turn) > SHARP for turn in _turns(legs, closed))


def _turns(legs: Sequence[Leg], closed: bool) -> list[float]:
    """Radians by which each leg turns against the one before it; of an open curve's first leg none."""
    turns = [turn_between(before, after) for before, after in zip((legs[-1], *legs[:-1]), legs)]
    return turns if closed else [0.0, *turns[1:]]


def bent(legs: Sequence[Leg], closed: bool, inner: float, outer: float, made: str, even: bool) -> Bent:
    """Foam whose faces lie `inner` and `outer` to the right of the legs.

    `made` says how its corners are turned; straight legs have stations between their ends only if not `even`.
    Raises BuildError where a face would have no length, or no radius, left.
    """
    for leg in legs:
        _check_bend(leg, inner, outer)
    turns = _turns(legs, closed)
    begins, stops = _leg_ends(legs, turns, inner, outer)
    stations: list[np.ndarray] = []  # (n, 2) of each leg: lengths along it of the inner and the outer face
    kinds: list[list[tuple[int, str]]] = []
    for leg, begin, stop in zip(legs, begins, stops):
        s, kind = _stations(leg, begin, stop, outer - inner, even)
        stations.append(s)
        kinds.append(kind)
    faces: tuple[list, list] = ([], [])
    along, ahead, turned, stretches, corners = [], [], [], [], []
    count, so_far = 0, 0.0
    for i, (leg, s, kind) in enumerate(zip(legs, stations, kinds)):
        if abs(turns[i]) > SHARP:
            corners.append(BandCorner(count, math.degrees(turns[i]), (stops[i - 1].bevel, begins[i].bevel), made))
        for face, column, offset in zip(faces, s.T, (inner, outer)):
            points, tangents = leg.at(column)
            face.append((points + offset * _right(tangents))[:-1])
        along.append(so_far + np.clip(s.mean(axis=1), 0.0, leg.length)[:-1])
        ahead.append(np.diff(s, axis=0))
        turned.append(np.column_stack([_turned(leg.at(column)[1]) for column in s.T]))
        for (a, bend), (b, _) in pairwise([*kind, (len(s) - 1, "")]):
            stretches.append(Stretch(count + a, count + b, bend))
        so_far += leg.length
        count += len(s) - 1
    for face, column, offset in zip(faces, stations[-1][-1:].T, (inner, outer)):
        points, tangents = legs[-1].at(column)
        face.append(faces[0 if face is faces[0] else 1][0][:1] if closed else points + offset * _right(tangents))
    along.append(np.array([so_far]))
    return Bent(
        np.vstack(faces[0]),
        np.vstack(faces[1]),
        np.concatenate(along),
        np.vstack(ahead),
        np.vstack(turned),
        tuple(stretches),
        tuple(corners),
    )


def _turned(tangents: np.ndarray) -> np.ndarray:
    """Radians (N - 1,) from each direction (N, 2) to the next, + to the left."""
    a, b = tangents[:-1], tangents[1:]
    return np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))


def _right(tangents: np.ndarray) -> np.ndarray:
    return np.column_stack([tangents[:, 1], -tangents[:, 0]])


def _check_bend(leg: Leg, inner: float, outer: float) -> None:
    """The face on the inner side of a bend needs a radius."""
    if isinstance(leg, Straight):
        return
    if isinstance(leg, Arc):
        bend = np.array([math.copysign(1.0, leg.turn) / leg.radius])
    else:
        s = np.linspace(0.0, leg.length, int(np.clip(leg.length / _STEP, 32, _MOST)))
        tangents = leg.at(s)[1]
        bend = np.gradient(np.unwrap(np.arctan2(tangents[:, 1], tangents[:, 0])), s)
    for offset in (inner, outer):
        left = 1.0 + offset * bend
        if left.min() <= 0.0:
            radius = 1.0 / abs(bend[np.argmin(left)])
            raise BuildError(
                f"its curve turns with a radius of {radius:.1f} mm, too tight for a face that lies {abs(offset):g} mm "
                "to the inner side of the turn; expected a larger radius, or a sharp one with corners: scored or mitred"
            )


def _leg_ends(legs: Sequence[Leg], turns: Sequence[float], inner: float, outer: float):
    """How each leg begins and stops."""
    begins = [_End(0.0, 0.0) for _ in legs]
    stops = [_End(leg.length, leg.length) for leg in legs]
    for i, turn in enumerate(turns):
        if abs(turn) > SHARP:
            before, after = legs[i - 1], legs[i]
            met = [_crossing(before, after, turn, offset) for offset in (inner, outer)]
            stops[i - 1] = _End(met[0][0], met[1][0], _bevel(before, met[0][0], met[1][0], inner, outer))
            begins[i] = _End(met[0][1], met[1][1], _bevel(after, met[0][1], met[1][1], inner, outer, -1.0))
    for leg, begin, stop in zip(legs, begins, stops):
        left = min(stop.inner - begin.inner, stop.outer - begin.outer)
        if left < _LEAST_LEFT:
            raise BuildError(
                f"a leg of {leg.length:.2f} mm between two corners leaves nothing of the foam's inner side; "
                "make it longer or the foam thinner"
            )
    return begins, stops


def _bevel(leg: Leg, at_inner: float, at_outer: float, inner: float, outer: float, sign: float = 1.0) -> float:
    """Degrees from square of the cut from the inner to the outer face, + where the outer face is the longer one."""
    (a, b), tangents = leg.at(np.array([at_inner, at_outer]))
    right = _right(tangents)
    across = (b + outer * right[1]) - (a + inner * right[0])
    tangent = tangents.mean(axis=0)
    out = np.array([tangent[1], -tangent[0]])
    return sign * math.degrees(math.atan2(float(across @ tangent), float(across @ out)))


def _crossing(before: Leg, after: Leg, turn: float, offset: float) -> tuple[float, float]:
    """The lengths along two legs where their parallels at `offset` cross near the corner between them."""
    if offset == 0.0:
        return before.length, 0.0
    if abs(turn) > math.pi - 1e-6:
        raise BuildError("the line turns straight back there, and a strip cannot; open the turn a little, or round it")
    reach = offset * math.tan(turn / 2)
    s, t = before.length + reach, -reach
    if reach < 0 and (s < 0 or t > after.length):
        raise BuildError(
            f"a leg of {min(before.length, after.length):.2f} mm is too short for a corner that takes "
            f"{-reach:.2f} mm of it; make it longer or the foam thinner"
        )
    h = 1e-5
    for _ in range(30):
        (p, p_on), (q, q_on) = (_parallel(leg, np.array([at, at + h]), offset) for leg, at in ((before, s), (after, t)))
        gap = q - p
        if np.hypot(*gap) < 1e-10:
            break
        ds, dt = np.linalg.solve(np.column_stack([(p_on - p) / h, -(q_on - q) / h]), gap)
        s, t = s + ds, t + dt
    else:
        if np.hypot(*gap) > 1e-6:
            raise BuildError(f"the faces of the foam do not meet in a corner that turns {math.degrees(turn):.1f}°")
    if s < 0 or t > after.length:
        raise BuildError(
            f"a leg of {min(before.length, after.length):.2f} mm is too short for its corner; "
            "make it longer or the foam thinner"
        )
    return float(s), float(t)


def _parallel(leg: Leg, s: np.ndarray, offset: float) -> np.ndarray:
    points, tangents = leg.at(s)
    return points + offset * _right(tangents)


def _stations(leg: Leg, begin: _End, stop: _End, thickness: float, even: bool):
    """Stations (N, 2) of both faces along a leg, and from which station on it bends how."""
    first, last = max(0.0, begin.inner, begin.outer), min(leg.length, stop.inner, stop.outer)
    square = [end.inner == end.outer for end in (begin, stop)]
    straight = isinstance(leg, Straight)
    level = straight and even  # as high all along, so that nothing but its ends tells
    if not level and last > first:  # the faces find together over a stretch of their own
        room = min(thickness, (last - first) / 4)
        first, last = (first + (0.0 if square[0] else room), last - (0.0 if square[1] else room))
    ends = np.array([[begin.inner, begin.outer], [stop.inner, stop.outer]])
    if last - first < 1e-9:  # they run skew over all of it
        share = np.linspace(0.0, 1.0, 2 if level else 4 * _FAN)[:, None]
        return ends[0] + share * (ends[1] - ends[0]), [(0, "flat" if straight else "free")]
    fan = 2 if level else _FAN
    main = np.linspace(first, last, _count(leg, last - first, even))
    rows, kinds = [np.column_stack([main, main])], [(0, _bend(leg))]
    if not square[0]:
        share = np.linspace(0.0, 1.0, fan)[:-1, None]
        rows.insert(0, ends[0] + share * (first - ends[0]))
        kinds = [(0, "flat" if straight else "free"), (fan - 1, _bend(leg))]
    if not square[1]:
        share = np.linspace(0.0, 1.0, fan)[1:, None]
        kinds.append((sum(map(len, rows)) - 1, "flat" if straight else "free"))
        rows.append(last + share * (ends[1] - last))
    if straight:
        kinds = [(0, "flat")]
    return np.vstack(rows), kinds


def _bend(leg: Leg) -> str:
    return {Straight: "flat", Arc: "round"}.get(type(leg), "free")


def _count(leg: Leg, length: float, even: bool) -> int:
    if isinstance(leg, Straight):
        return 2 if even else int(np.clip(math.ceil(length / _STEP) + 1, 2, _MOST))
    least = 17
    if isinstance(leg, Arc):
        least = arc_steps(leg.radius, length / leg.radius) + 1
    return int(np.clip(math.ceil(length / _STEP) + 1, least, max(_MOST, least)))
