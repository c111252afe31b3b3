"""The faces along which panels are cut, as they lie on each other between two forms: where what is drawn across one edge comes
to lie on another. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import igl
import numpy as np

from foamwright.geometry import box_of, boxes_apart, chord_length
from foamwright.parts.placing import move
from foamwright.parts.records import EdgeRef, PanelBody, PanelEdge, Piece

_ON = 0.1  # mm: nearer points lie on a face
_ACROSS = np.linspace(0.0, 1.0, 25)  # where a line across the foam is tried
_WITHIN = 0.02  # of the way across: what is nearer to a face's rim may be that of a point beside it
_LEAST = 0.5  # of the narrower of two faces, that touches at least where they are glued to each other
_BESIDE_END, _BESIDE_SHARE = (
    5.0,
    0.1,
)  # mm, or the share of an edge if that is less, from its end: the edge itself touches there


@dataclass(frozen=True, eq=False)
class EdgeFace:
    """The face of one edge of one copy of a panel: `inner` and `outer` (N, 3) are its rims."""

    piece: Piece[PanelBody]
    ref: EdgeRef
    inner: np.ndarray
    outer: np.ndarray
    closed: bool  # it runs back into itself

    @cached_property
    def box(self) -> np.ndarray:
        return box_of(np.vstack([self.inner, self.outer]))

    @cached_property
    def along(self) -> np.ndarray:
        """(N,) how far its points are from its beginning, in its middle."""
        return chord_length((self.inner + self.outer) / 2.0)

    def moved(self, matrix: np.ndarray) -> EdgeFace:
        return replace(self, inner=move(self.inner, matrix), outer=move(self.outer, matrix))

    def lines_at(self, along: np.ndarray) -> np.ndarray:
        """(K, 2, 3) from rim to rim, at distances (K,) from its beginning."""
        rims = [np.column_stack([np.interp(along, self.along, c) for c in rim.T]) for rim in (self.inner, self.outer)]
        return np.stack(rims, axis=1)

    @cached_property
    def _triangles(self) -> np.ndarray:
        first = 2 * np.arange(len(self.inner) - 1)[:, None]
        return np.vstack([first + [0, 1, 2], first + [1, 3, 2]])

    def places(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Of points (K, 3) the nearest place on the face: its point along it, as 2.25, its share across, and how far off."""
        corners = np.stack([self.inner, self.outer], axis=1).reshape(-1, 3)
        off, face, there = igl.point_mesh_squared_distance(np.ascontiguousarray(points), corners, self._triangles)
        triangles = self._triangles[face]
        weights = igl.barycentric_coordinates(
            there, *(np.ascontiguousarray(corners[triangles[:, k]]) for k in range(3))
        )
        at = (weights * (triangles // 2)).sum(axis=1)
        across = (weights * (triangles % 2)).sum(axis=1)
        return at, across, np.sqrt(np.maximum(off, 0.0))


@dataclass(frozen=True, eq=False)
class Touch:
    """Where lines across one face lie on another: `at` (K,) the point along that one, `own` and `other` (K, 2) the shares
    across both from which and to which they touch; NaN where they do not."""

    at: np.ndarray
    own: np.ndarray
    other: np.ndarray

    @property
    def is_on(self) -> np.ndarray:
        return ~np.isnan(self.at)


def edge_faces(piece: Piece[PanelBody], edge: PanelEdge) -> list[EdgeFace]:
    """That of every copy of an edge."""
    face = EdgeFace(piece, EdgeRef(piece.id, edge.id), edge.inner, edge.outer, is_closed(edge))
    return [face.moved(place.matrix) for place in piece.placements]


def has_face(edge: PanelEdge) -> bool:
    """Not so in the tip of a cone."""
    return edge.kind != "tip" and bool(np.ptp(edge.on_form, axis=0).max() >= _ON)


def near(face: EdgeFace, others: Sequence[EdgeFace]) -> list[EdgeFace]:
    """Those of the others, of other forms, that it may be glued to: what rests on it, or on which it rests, is not."""
    if not others:
        return []
    close = boxes_apart(face.box, np.array([other.box for other in others])) < _ON
    return [other for other, ok in zip(others, close) if ok and _may_be_glued(face.piece, other.piece)]


def _may_be_glued(a: Piece[PanelBody], b: Piece[PanelBody]) -> bool:
    return a.body.form != b.body.form and b.id not in a.rests_on and a.id not in b.rests_on


def touch(lines: np.ndarray, face: EdgeFace) -> Touch:
    """Where lines (K, 2, 3) across another face touch a face."""
    points = lines[:, :1] + _ACROSS[:, None] * (lines[:, 1:] - lines[:, :1])
    at, across, off = (values.reshape(len(lines), -1) for values in face.places(points.reshape(-1, 3)))
    good = (off < _ON) & (across > _WITHIN) & (across < 1.0 - _WITHIN)
    found = Touch(*(np.full(shape, np.nan) for shape in (len(lines), (len(lines), 2), (len(lines), 2))))
    for k, line in enumerate(lines):
        on = np.flatnonzero(good[k])
        if len(on) < 2:
            continue
        first, last = on[0], on[-1]
        rise = (across[k, last] - across[k, first]) / (_ACROSS[last] - _ACROSS[first])
        if abs(rise) < _WITHIN:
            continue
        rims = np.sort(
            (np.array([0.0, 1.0]) - across[k, first]) / rise + _ACROSS[first]
        )  # where the line crosses its rims
        own = np.clip(rims, 0.0, 1.0)
        width = float(np.linalg.norm(line[1] - line[0]))
        if np.ptp(own) * width >= _LEAST * min(width, width / abs(rise)) and np.ptp(own) > 0.0:
            other = np.sort(across[k, first] + rise * (own - _ACROSS[first]))
            found.at[k], found.own[k], found.other[k] = _mean_place(at[k, on], face), own, np.clip(other, 0.0, 1.0)
    return found


def _mean_place(at: np.ndarray, face: EdgeFace) -> float:
    """Of places (K,) along a face that are beside each other. Where it runs back into itself some may be at its end and others at
    its beginning, and what is between these is elsewhere: those count that are where the middle one is."""
    middle = np.sort(at)[len(at) // 2]
    return float(at[np.abs(at - middle) < len(face.inner) / 2.0].mean())


def ends_on(face: EdgeFace, other: EdgeFace) -> list[float]:
    """Where along a face another that lies on it ends: the points, as 2.25."""
    whole = float(other.along[-1])
    beside = min(_BESIDE_END, _BESIDE_SHARE * whole)
    found = touch(other.lines_at(np.array([0.0, beside, whole - beside, whole])), face)
    return [float(found.at[end]) for end, by in ((0, 1), (3, 2)) if found.is_on[[end, by]].all()]


def is_closed(edge: PanelEdge) -> bool:
    """Does it run back into itself? One that a slit opens has both ends in one place of the form and not of the rough map."""
    return all(np.linalg.norm(line[0] - line[-1]) < _ON for line in (edge.on_form, edge.chart))
