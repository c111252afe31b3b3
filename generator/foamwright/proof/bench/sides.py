"""Which way round a flat part goes into bent foam, as its maker reads it: what touches which of its faces comes first,
then how its edge is bevelled beside the slope of the foam it stands on, and where it fits alike
both ways the word: the inside face looks inwards. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from foamwright.proof.bench.foam import Copy, Foam
from foamwright.proof.bench.footings import FACES, Footing, own_points
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import STILL, Motion, sampled

_SPACING = 6.0
_LEAST = np.sin(np.radians(0.5))  # of the bevel: less is square to the eye
_WORD = 0.1
_AGREES = 0.3  # of the bevel, by which the foam must lean the same way on average, or it tells nothing


@dataclass(frozen=True, eq=False)
class Look:
    """A broad face, with its `middle` (3,) and its normal `out` (3,) of the foam, looks to a point (3,) in space, the
    middle of what is glued on that face."""

    middle: np.ndarray
    out: np.ndarray
    towards: np.ndarray

    @staticmethod
    def of(piece: Placed, inside: bool, towards: np.ndarray) -> Look:
        return Look(_middle(piece), _up(piece) if inside == piece.part.drawn_inside else -_up(piece), towards)

    def met(self, motion: Motion) -> bool:
        """Does it, when its copy moves so?"""
        return float((self.towards - motion(self.middle)) @ (motion.turn @ self.out)) > 0.0


def looks(foam: Foam, standing: Mapping[Copy, Placed], moving: Mapping[Copy, Placed]) -> list[Look]:
    """What the record tells of the broad faces of flat parts that move, by the flat parts that stand in place."""
    looks = []
    for touch in foam.touches:
        for (one, face), other in (((touch.a, touch.face_a), touch.b), ((touch.b, touch.face_b), touch.a)):
            flat = one in moving and other in standing and not (foam.part(one).bent or foam.part(other).bent)
            if flat and other not in moving and face in FACES:
                looks.append(Look.of(moving[one], face == "inside", _middle(standing[other])))
    return looks


def way_round(
    foam: Foam,
    fixed: Mapping[Copy, Placed],
    standing: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
) -> Callable[[Motion], float]:
    """How many of the things read on the paper a motion keeps, less those that it does not; 0.1 either way for the word.

    `fixed` is the foam that `joints` lie on, `standing` the other flat parts where they are by now.
    """
    seen = looks(foam, standing, moving)
    if seen:
        return lambda motion: sum(1.0 if look.met(motion) else -1.0 for look in seen)
    rims = _rims(joints, fixed, moving)
    if all(np.abs(rim.lean).max() < _LEAST for rim in rims):
        rims = []  # however it moves, they say nothing
    middle = np.vstack([piece.points for piece in fixed.values()]).mean(axis=0)
    inwards = Look.of(next(iter(moving.values())), True, middle)
    return lambda motion: _by_bevel(rims, motion) or (_WORD if inwards.met(motion) else -_WORD)


def left_open(
    foam: Foam,
    fixed: Mapping[Copy, Placed],
    standing: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
) -> bool:
    """Does neither what touches the parts, as they stand now, nor any bevel tell which way round they go in?"""
    if looks(foam, standing, moving):
        return False
    rims = _rims(joints, fixed, moving)
    return _by_bevel(rims, STILL) == 0


@dataclass(frozen=True, eq=False)
class _Rim:
    """The bevelled edge of a flat part and the mark it stands on: `points` (K, 3) half way through the edge and its
    `lean` (K,), the sine of the bevel, positive where it looks up to the reader of the drawn face, whose normal is
    `up` (3,); `walls` (M, 3) on the foam and its normals there, out of the foam."""

    points: np.ndarray
    lean: np.ndarray
    up: np.ndarray
    walls: np.ndarray
    normals: np.ndarray

    @cached_property
    def tree(self) -> cKDTree:
        return cKDTree(self.points)

    @staticmethod
    def of(footing: Footing, fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed]) -> _Rim | None:
        if footing.upper not in moving or footing.lower not in fixed:
            return None
        upper, lower = moving[footing.upper], fixed[footing.lower]
        part = upper.part
        points, lean = [], []
        for edge in (part.edge(face) for face in footing.faces):
            for stretch in edge.stretches if edge is not None else ():
                line = sampled(stretch, _SPACING)
                across = part.across(line, edge)
                tangent = np.gradient(line, axis=0)
                out = np.column_stack([tangent[:, 1], -tangent[:, 0]])  # the foam is to the left of its outline
                out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
                grown = ((across - line) * out).sum(axis=1)
                lean.append(grown / np.hypot(grown, part.thickness))
                points.append(upper.place((line + across) / 2, np.full(len(line), part.thickness / 2)))
        flat = np.vstack(own_points(footing, lower, _SPACING))
        if not points or not len(flat):
            return None
        walls = lower.place(flat, np.full(len(flat), lower.part.depth(footing.mark.inside)))
        normals = lower.up(flat) * (1.0 if footing.mark.inside == lower.part.drawn_inside else -1.0)
        return _Rim(np.vstack(points), np.concatenate(lean), _up(upper), walls, normals)


def _rims(joints: Sequence[Footing], fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed]) -> list[_Rim]:
    return [rim for f in joints if (rim := _Rim.of(f, fixed, moving)) is not None]


def _by_bevel(rims: Sequence[_Rim], motion: Motion) -> int:
    """1 if the edges lean as the foam does on the whole, -1 if they lean the other way, else 0."""
    both, own, count = 0.0, 0.0, 0
    for rim in rims:
        near = rim.tree.query(motion.inverse()(rim.walls))[1]
        wanted = -rim.normals @ (motion.turn @ rim.up)
        both += float(rim.lean[near] @ wanted)
        own += float(rim.lean[near] @ rim.lean[near])
        count += len(near)
    if own < count * _LEAST**2 or not count:
        return 0
    return int(np.sign(both)) if abs(both) > _AGREES * own else 0


def _middle(piece: Placed) -> np.ndarray:
    ring = piece.part.rings[0]
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
    centre: np.ndarray = piece.place(middle[None], np.full(1, piece.part.thickness / 2))[0]
    return centre


def _up(piece: Placed) -> np.ndarray:
    up: np.ndarray = piece.up(piece.part.rings[0][:1])[0]
    return up
