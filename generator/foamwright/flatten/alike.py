"""Panels that are one shape in two places, or its mirror image: they get the same darts.

A search on a mesh follows a little how the mesh lies, which decides between plans that are nearly as good. So it is made once
for each shape, and what it found is carried over to where the others are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from foamwright.flatten.covers import covered_edges
from foamwright.flatten.mesh import DartLine, PanelMesher
from foamwright.geometry import arc_length
from foamwright.parts.records import DartRules, PanelBody, PanelEdge, Piece

_SAME = 0.1  # mm between edges that are one shape: less than can be cut
_LIKE = 0.01  # of the size of a panel's surface: what its rough mesh may be wrong
_ALONG_EDGE, _ALONG_DART = 9, 9  # points that are compared, and carried over
_STEP, _STEPS = 1e-3, 8  # mm, for the slope of the surface in the rough map; towards a point of it


@dataclass(frozen=True, eq=False)
class Twin:
    """Where a panel is that has the shape of another, `of`: `point @ turn.T + shift` takes the other's points to its own."""

    of: Piece[PanelBody]
    turn: np.ndarray  # (3, 3), a reflection too where they are mirror images
    shift: np.ndarray  # (3,)
    edges: Mapping[str, str]  # its own edge for each of the other's

    @property
    def mirrored(self) -> bool:
        return bool(np.linalg.det(self.turn) < 0)

    def darts(self, found: Sequence[DartLine], theirs: PanelMesher, own: PanelMesher) -> tuple[DartLine, ...]:
        """Darts of the other panel as darts of this one, each through the same places of its surface."""
        carried = []
        for dart in found:
            edge, share = self.edges[dart.edge], 1.0 - dart.share if self.mirrored else dart.share
            start, _ = own.at_edge(edge, share)
            way = np.linspace(0.0, 1.0, _ALONG_DART)[1:] * arc_length(dart.line)[-1]
            line = np.column_stack([np.interp(way, arc_length(dart.line), column) for column in dart.line.T])
            places = _places(own, _surface_points(theirs, line) @ self.turn.T + self.shift)
            carried.append(DartLine(edge, share, np.vstack([start, places])))
        return tuple(carried)


def twins(pieces: Sequence[Piece[PanelBody]]) -> dict[str, Twin]:
    """By id, the panels whose darts are searched for and that have the shape, the foam and the rules of one before them."""
    marks = {p.id: _marks(p, pieces) for p in pieces if p.body.automatic is not None}
    found: dict[str, Twin] = {}
    first: list[Piece[PanelBody]] = []
    for piece in pieces:
        if piece.body.automatic is None or piece.body.automatic.along:
            continue
        twin = next((t for other in first for t in _twins(other, piece, marks[other.id], marks[piece.id])), None)
        if twin is None:
            first.append(piece)
        else:
            found[piece.id] = twin
    return found


def _marks(piece: Piece[PanelBody], pieces: Sequence[Piece[PanelBody]]) -> dict[str, tuple[bool, bool]]:
    """What decides on a panel's darts beside its shape: of each edge whether it is joined, and whether it is covered."""
    covered = covered_edges(piece, pieces)
    return {edge.id: (bool(edge.joins), edge.id in covered) for edge in piece.body.edges}


def _twins(of: Piece[PanelBody], piece: Piece[PanelBody], theirs: Mapping, own: Mapping) -> Iterator[Twin]:
    if of.stock != piece.stock or abs(of.body.inner_offset - piece.body.inner_offset) > _SAME:
        return
    for mirror in (False, True):
        for order in _orders(of.body.edges, piece.body.edges, mirror):
            edges = {a.id: b.id for a, b in zip(of.body.edges, order)}
            if any(theirs[a] != own[b] for a, b in edges.items()):
                continue
            if _renamed(of.body.automatic, edges, mirror) != piece.body.automatic:
                continue
            motion = _motion(of.body, piece.body, order, mirror)
            if motion is not None:
                yield Twin(of, *motion, edges)


def _orders(theirs: Sequence[PanelEdge], own: Sequence[PanelEdge], mirror: bool) -> Iterator[list[PanelEdge]]:
    """The panel's own edges in each order in which they may be the other's: its outer edges from any of them on."""
    if [edge.loop for edge in theirs] != [edge.loop for edge in own]:
        return
    loops = [[edge for edge in own if edge.loop == loop] for loop in sorted({edge.loop for edge in own})]
    if mirror:
        loops = [loop[::-1] for loop in loops]
    outer, holes = loops[0], [edge for loop in loops[1:] for edge in loop]
    for k in range(len(outer)):
        yield [*outer[k:], *outer[:k], *holes]


def _renamed(rules: DartRules | None, edges: Mapping[str, str], mirror: bool) -> DartRules | None:
    if rules is None or not {*rules.edges, *rules.avoid} <= set(edges):
        return None
    at = tuple(1.0 - share for share in rules.at) if mirror else rules.at
    return DartRules(tuple(edges[e] for e in rules.edges), tuple(edges[e] for e in rules.avoid), rules.count, at)


def _motion(
    of: PanelBody, body: PanelBody, order: Sequence[PanelEdge], mirror: bool
) -> tuple[np.ndarray, np.ndarray] | None:
    """The turn and the shift that take one panel to the other; None where they are not one shape."""
    theirs = np.vstack([_faces(edge, False) for edge in of.edges])
    own = np.vstack([_faces(edge, mirror) for edge in order])
    flip = np.diag([-1.0 if mirror else 1.0, 1.0, 1.0])
    middle, target = theirs.mean(axis=0), own.mean(axis=0)
    turned, _ = Rotation.align_vectors(own - target, (theirs - middle) @ flip)
    turn = turned.as_matrix() @ flip
    shift = target - turn @ middle
    if np.linalg.norm(theirs @ turn.T + shift - own, axis=1).max() > _SAME:
        return None
    (area, centre), (own_area, own_centre) = _extent(of), _extent(body)
    if abs(area - own_area) > _LIKE * area or np.linalg.norm(turn @ centre + shift - own_centre) > _LIKE * area**0.5:
        return None
    return turn, shift


def _faces(edge: PanelEdge, backwards: bool) -> np.ndarray:
    """Points at equal distances along an edge, on both faces."""
    along = arc_length(edge.points)
    at = np.linspace(0.0, along[-1], _ALONG_EDGE)[:: -1 if backwards else 1]
    return np.vstack([np.column_stack([np.interp(at, along, c) for c in line.T]) for line in (edge.inner, edge.outer)])


def _extent(body: PanelBody) -> tuple[float, np.ndarray]:
    """The area of a panel on its form, and its middle (3,)."""
    corners = body.surface.point(body.chart.coords)[body.chart.faces]
    areas = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    return float(areas.sum()), np.average(corners.mean(axis=1), axis=0, weights=areas)


def _surface_points(mesher: PanelMesher, chart: np.ndarray) -> np.ndarray:
    return mesher.body.surface.offset(mesher.lift(chart), mesher.body.inner_offset)


def _places(mesher: PanelMesher, points: np.ndarray) -> np.ndarray:
    """Where in the rough map points (N, 3) of the panel's surface are, (N, 2)."""
    body = mesher.body
    nearest = cKDTree(body.surface.offset(body.chart.coords, body.inner_offset)).query(points)[1]
    places = body.chart.flat[nearest].copy()
    for _ in range(_STEPS):
        here = _surface_points(mesher, places)
        slopes = np.stack([(_surface_points(mesher, places + d) - here) / _STEP for d in _STEP * np.eye(2)], axis=2)
        places += np.array([np.linalg.lstsq(s, gap, rcond=None)[0] for s, gap in zip(slopes, points - here)])
    return places
