"""A solid between two faces whose boundaries run along together: panels and plates alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from OCP.Geom import Geom_Surface

from foamwright.model import brep
from foamwright.model.curves import Run, fit, split_at_corners
from foamwright.model.records import INSIDE, OUTSIDE, NamedSolid


class FaceSurface(Protocol):
    """The surface that one of the two faces lies in."""

    @property
    def geometry(self) -> Geom_Surface: ...

    def at(self, plane: np.ndarray) -> np.ndarray:
        """Parameters (N, 2) to points (N, 3)."""
        ...


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of the boundary on both faces: points (N, 3) and their parameters (N, 2) on each.

    `name` is that of the wall that stands on it.
    """

    name: str
    inner: np.ndarray
    outer: np.ndarray
    inner_plane: np.ndarray
    outer_plane: np.ndarray

    def reversed(self) -> Stretch:
        return Stretch(self.name, self.inner[::-1], self.outer[::-1], self.inner_plane[::-1], self.outer_plane[::-1])


Loop = Sequence[Stretch]  # each begins where the one before ends, the first where the last ends


def solid_between(
    loops: Sequence[Loop], inner: FaceSurface, outer: FaceSurface, curve: Callable[[np.ndarray, int], Run] = fit
) -> NamedSolid:
    """The solid from the inner to the outer face, ruled walls between; loop 0 bounds it, others are holes.

    Both surfaces have their normal from the inner to the outer face. Loops may run either way. `curve` makes the
    smooth curves between corners. Raises ShapeFailure.
    """
    walls, inner_loops, outer_loops = [], [], []
    for number, loop in enumerate(loops):
        below, above, sides = _loop(_turned(loop, counter_clockwise=number == 0), inner, outer, curve)
        inner_loops.append([(e, True) for e in below])
        outer_loops.append([(e, True) for e in above])
        walls += sides
    bottom = brep.flipped(brep.face(inner.geometry, inner_loops))
    top = brep.face(outer.geometry, outer_loops)
    return brep.solid([(INSIDE, bottom), (OUTSIDE, top), *walls])


def _turned(loop: Loop, counter_clockwise: bool) -> Loop:
    x, y = np.vstack([s.inner_plane[:-1] for s in loop]).T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return loop if (area > 0.0) == counter_clockwise else [s.reversed() for s in reversed(loop)]


def _loop(loop: Loop, inner: FaceSurface, outer: FaceSurface, curve: Callable[[np.ndarray, int], Run]):
    pieces, names, counts = [], [], []
    for s in loop:
        for piece in _pieces(s):
            pieces.append(curve(np.hstack(piece), 6))
            names.append(s.name)
            counts.append(len(piece[0]))
    corners = []
    for piece in pieces:
        a, b = piece.spline.c[0, 0:3], piece.spline.c[0, 3:6]
        low, high = brep.vertex(a), brep.vertex(b)
        corners.append((low, high, brep.straight(low, a, high, b)))
    below, above, walls = [], [], []
    ends = corners[1:] + corners[:1]
    for name, piece, count, (low, high, first), (low_end, high_end, last) in zip(names, pieces, counts, corners, ends):
        knots, degree = piece.spline.t, piece.spline.k
        # a surface may swing between the few control points of a line that is straight
        t = np.linspace(0.0, piece.length, max(4 * len(piece.spline.c), 2 * count))
        path = piece.spline(t)
        edges = []
        for surface, space, plane, start, end in (
            (inner, slice(0, 3), slice(6, 8), low, low_end),
            (outer, slice(3, 6), slice(8, 10), high, high_end),
        ):
            # Curve and surface were fitted apart; how far they part is the edge's own tolerance.
            gap = np.linalg.norm(surface.at(path[:, plane]) - path[:, space], axis=1).max()
            tolerance = max(brep.TOLERANCE, 1.2 * float(gap))
            made = brep.edge(knots, piece.spline.c[:, space], degree, start, end, tolerance)
            brep.put_on(surface.geometry, made, piece.spline.c[:, plane], tolerance)
            edges.append(made)
        below.append(edges[0])
        above.append(edges[1])
        walls.append((name, brep.wall(edges[0], edges[1], first, last)))
    return below, above, walls


def _pieces(s: Stretch):
    """Cut a stretch at corners, and in two if it closes on itself, so that no edge ends where it began."""
    pieces = []
    for piece in split_at_corners(s.inner, s.outer, s.inner_plane, s.outer_plane):
        if np.linalg.norm(piece[0][0] - piece[0][-1]) < 1e-6 and len(piece[0]) > 3:
            half = len(piece[0]) // 2
            pieces += [tuple(p[: half + 1] for p in piece), tuple(p[half:] for p in piece)]
        else:
            pieces.append(piece)
    return pieces
