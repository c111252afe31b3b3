"""Which edges meet: seams between panels, and the corners that divide longer edges."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from foamwright.forms.surface import Surface
from foamwright.geometry import arc_length
from foamwright.parts.edge_names import numbered
from foamwright.parts.placing import move
from foamwright.parts.records import EdgeRef, PanelBody, PanelEdge, Piece, SeamSpec

_SAME = 0.1  # mm: two points closer than this are one corner
# what an edge has at each of its points
_ALONG = ("chart", "points", "slope", "inner", "outer", "coords", "on_form", "inner_shift", "outer_shift", "normals")
_AT_POINT = 0.02  # of the way from one point of an edge to the next: it is the point itself


def divide_edges(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Divide each seam edge where the corner of another panel meets it, so that seams have one edge a side.

    A closed edge has no corner of its own, and begins anywhere: where corners of others meet it, it begins at one of
    them. Two closed ones that face each other are divided where either of them begins.
    """
    panels = [p for p in pieces if isinstance(p.body, PanelBody)]
    corners: dict[tuple, list[_Corners]] = {}
    for piece in panels:
        for edge in piece.body.edges:
            if edge.kind in ("trim", "tip"):
                continue
            ends = edge.on_form[[0, -1]]
            for place in piece.placements:
                found = _Corners(piece, move(ends, place.matrix), _closed(edge))
                corners.setdefault(_line(piece, edge), []).append(found)
    divided = []
    for piece in pieces:
        if not isinstance(piece.body, PanelBody):
            divided.append(piece)
            continue
        edges = []
        for edge in piece.body.edges:
            beside = [one for one in corners.get(_line(piece, edge), ()) if _same_layer(piece, one.piece)]
            edges.extend(_divide(piece, edge, beside))
        body = dataclasses.replace(piece.body, edges=tuple(numbered(edges)))
        divided.append(dataclasses.replace(piece, body=body))
    return tuple(divided)


@dataclasses.dataclass(frozen=True, eq=False)
class _Corners:
    """Where an edge of a copy of a panel ends: `points` (2, 3), one twice if it is `closed`."""

    piece: Piece[PanelBody]
    points: np.ndarray
    closed: bool


def _closed(edge: PanelEdge) -> bool:
    """Does it run back into itself? One that a slit opens has both ends in one place of the form and not of the rough map."""
    return all(np.linalg.norm(line[0] - line[-1]) < _SAME for line in (edge.on_form, edge.chart))


def _line(piece: Piece[PanelBody], edge: PanelEdge) -> tuple:
    """What two edges must share to meet, beside the layer in which they lie: the form and the cut."""
    return (piece.body.form, edge.cut)


def _divide(piece: Piece[PanelBody], edge: PanelEdge, corners: Sequence[_Corners]) -> list[PanelEdge]:
    if edge.kind in ("trim", "tip"):
        return [edge]
    at = _met(piece, edge, [one for one in corners if not one.closed])
    if _closed(edge):
        if at:
            edge = _begun_at(edge, piece.body.surface, at[0])
            at = _met(piece, edge, [one for one in corners if not one.closed])
        else:
            at = _met(piece, edge, [one for one in corners if one.closed])
    # neighbours closer than 3 points are one
    cuts = [0.0]
    for place in at:
        if place - cuts[-1] > 3:
            cuts.append(place)
    if len(cuts) == 1:
        return [edge]
    cuts.append(len(edge.points) - 1.0)
    return [_stretch(edge, first, last) for first, last in itertools.pairwise(cuts)]


def _met(piece: Piece[PanelBody], edge: PanelEdge, corners: Sequence[_Corners]) -> list[float]:
    """The places along an edge at which corners meet it, in order, those at its own ends left out."""
    if not corners:
        return []
    points = edge.on_form
    back = np.linalg.inv(piece.placements[0].matrix)
    others = move(np.vstack([one.points for one in corners]), back)
    far = (np.linalg.norm(others - points[0], axis=1) > 10 * _SAME) & (
        np.linalg.norm(others - points[-1], axis=1) > 10 * _SAME
    )
    spacing = np.linalg.norm(np.diff(points, axis=0), axis=1).max()
    distance, index = cKDTree(points).query(others)
    at = set()
    for point, i, d, ok in zip(others, index, distance, far):
        if ok and d < spacing and 0 < i < len(points) - 1 and _gap(points, i, point) < _SAME:
            at.add(_place(points, int(i), point))
    return sorted(at)


def _begun_at(edge: PanelEdge, surface: Surface, place: float) -> PanelEdge:
    """A closed edge that begins and ends at a place along its points."""
    last, first = _stretch(edge, 0.0, place), _stretch(edge, place, len(edge.points) - 1.0)
    joined: dict[str, Any] = {name: np.concatenate([getattr(first, name), getattr(last, name)[1:]]) for name in _ALONG}
    coords = joined["coords"]
    for i in range(len(first.coords), len(coords)):
        coords[i] = surface.near(coords[i : i + 1], coords[i - 1 : i])[0]
    return dataclasses.replace(edge, **joined)


def _place(points: np.ndarray, i: int, point: np.ndarray) -> float:
    """Where beside its point `i` a line (N, 3) comes nearest to a point: 2.25 is a quarter of the way from 2 to 3."""
    places = []
    for first in (i - 1, i):
        chord = points[first + 1] - points[first]
        share = float(np.clip((point - points[first]) @ chord / max(float(chord @ chord), 1e-300), 0.0, 1.0))
        places.append((float(np.linalg.norm(points[first] + share * chord - point)), first + share))
    place = min(places)[1]
    return float(round(place)) if abs(place - round(place)) < _AT_POINT else place


def _stretch(edge: PanelEdge, first: float, last: float) -> PanelEdge:
    """The edge from one place along its points to another, which may lie between two of them."""
    inner = np.arange(math.floor(first) + 1, math.ceil(last))
    at = np.concatenate([[first], inner, [last]])
    low = np.minimum(at.astype(int), len(edge.points) - 2)
    share = at - low

    def along(values: np.ndarray) -> np.ndarray:
        weight = share.reshape(-1, *[1] * (values.ndim - 1))
        return values[low] + weight * (values[low + 1] - values[low])

    told: dict[str, Any] = {name: along(getattr(edge, name)) for name in _ALONG}
    told["normals"] /= np.linalg.norm(told["normals"], axis=1, keepdims=True)
    return dataclasses.replace(edge, **told)


def _gap(points: np.ndarray, i: int, point: np.ndarray) -> float:
    best = np.inf
    for a, b in ((points[i - 1], points[i]), (points[i], points[i + 1])):
        chord = b - a
        t = np.clip((point - a) @ chord / (chord @ chord), 0, 1)
        best = min(best, float(np.linalg.norm(a + t * chord - point)))
    return best


def find_seams(pieces: Sequence[Piece]) -> tuple[tuple[Piece, ...], tuple[SeamSpec, ...]]:
    """All pairs of panel edges that lie on one curve; each piece's edges learn which parts they join.

    A panel may meet its own mirror image or, with another edge, a copy of itself turned around an axis. Edges of
    different offsets (a skin over a panel) do not meet. Edges of panels of two forms do where both of their faces end in
    the same lines, as those of lobes that are cut in the plane between them.
    """
    panels = [p for p in pieces if isinstance(p.body, PanelBody)]
    seams: dict[frozenset, SeamSpec] = {}
    joins: dict[EdgeRef, dict[str, None]] = {}
    for one, other, sense in (*_of_one_form(panels), *_of_two_forms(panels)):
        joins.setdefault(one.ref, {})[other.piece.id] = None
        joins.setdefault(other.ref, {})[one.piece.id] = None
        key = frozenset([one.ref, other.ref])
        if key not in seams:
            seams[key] = SeamSpec(
                f"S{len(seams) + 1}", one.ref, other.ref, sense < 0, glue_between(one.piece, other.piece)
            )
        known = seams[key]
        turned = sense < 0 if one.ref == other.ref else (sense < 0) != known.reversed_b
        seams[key] = dataclasses.replace(known, copies=known.copies + 1, both_ways=known.both_ways or turned)
    joined = []
    for piece in pieces:
        if isinstance(piece.body, PanelBody):
            edges = tuple(
                dataclasses.replace(e, joins=tuple(joins.get(EdgeRef(piece.id, e.id), ()))) for e in piece.body.edges
            )
            piece = dataclasses.replace(piece, body=dataclasses.replace(piece.body, edges=edges))
        joined.append(piece)
    return tuple(joined), tuple(seams.values())


def glue_between(a: Piece, b: Piece) -> str:
    """The glue of a seam: what both parts say. Where they differ it lies loose if either does; else it is contact
    cement, which needs both faces coated and stays flexible, so that instant glue is left to seams it has alone."""
    return next(glue for glue in ("none", "contact", "instant") if glue in (a.glue, b.glue))


@dataclasses.dataclass(frozen=True, eq=False)
class _Line:
    """One edge of one copy of a panel: `points` (N, 3) where it lies on the form, and both faces' own lines (M, 3)."""

    piece: Piece[PanelBody]
    ref: EdgeRef
    points: np.ndarray
    faces: tuple[np.ndarray, np.ndarray]


def _of_one_form(panels: Sequence[Piece[PanelBody]]) -> Iterator[tuple[_Line, _Line, int]]:
    """Pairs of edges of one form that meet, and whether the second runs the same way (1) or the other (-1)."""
    lines = _edges_in_place(panels, ("trim", "tip"))
    for one, other in _near(lines, [line.points for line in lines]):
        if one.piece.body.form == other.piece.body.form and _same_layer(one.piece, other.piece):
            sense = _same_curve(one.points, other.points)
            if sense:
                yield one, other, sense


def _of_two_forms(panels: Sequence[Piece[PanelBody]]) -> Iterator[tuple[_Line, _Line, int]]:
    """As `_of_one_form`, of panels of two forms in one foam: lengths are compared on one line, which both have."""
    lines = _edges_in_place(panels, ("tip",))
    for one, other in _near(lines, [line.faces[0] for line in lines]):
        a, b = one.piece, other.piece
        foams = {(p.stock.thickness, p.stock.k, p.body.inner_offset) for p in (a, b)}
        if a.body.form != b.body.form and len(foams) == 1:
            senses = {_same_curve(*both) for both in zip(one.faces, other.faces)}
            if len(senses) == 1 and 0 not in senses:
                yield one, other, senses.pop()


def _near(lines: Sequence[_Line], at: Sequence[np.ndarray]) -> list[tuple[_Line, _Line]]:
    """The pairs of edges between whose ends, those of the lines `at`, lies the same place."""
    if not lines:
        return []
    middles = np.array([(points[0] + points[-1]) / 2 for points in at])
    return [(lines[a], lines[b]) for a, b in sorted(cKDTree(middles).query_pairs(5 * _SAME))]


def _edges_in_place(panels: Sequence[Piece[PanelBody]], without: tuple[str, ...]) -> list[_Line]:
    """The edges that may be seams, of all copies, those of the kinds `without` left out: one in the tip of a cone meets
    everything and joins nothing."""
    lines = []
    for piece in panels:
        for edge in piece.body.edges:
            if edge.kind not in without and np.ptp(edge.on_form, axis=0).max() >= _SAME:
                ref, told = EdgeRef(piece.id, edge.id), (edge.on_form, edge.inner, edge.outer)
                for place in piece.placements:
                    points, inner, outer = (move(line, place.matrix) for line in told)
                    lines.append(_Line(piece, ref, points, (inner, outer)))
    return lines


def _same_layer(a: Piece[PanelBody], b: Piece[PanelBody]) -> bool:
    """Do the two lie at one depth, so that their edges face each other?"""
    low = max(a.body.inner_offset, b.body.inner_offset)
    high = min(a.body.inner_offset + a.stock.thickness, b.body.inner_offset + b.stock.thickness)
    return high - low > 0.5 * min(a.stock.thickness, b.stock.thickness)


def _same_curve(a: np.ndarray, b: np.ndarray) -> int:
    """+1 if two curves are one in the same direction, -1 if reversed, 0 if they differ.

    They are compared at equal shares of their lengths: of a closed curve only places beside its middle tell the way.
    """
    for sense, c in ((1, b), (-1, b[::-1])):
        ends = max(np.linalg.norm(a[0] - c[0]), np.linalg.norm(a[-1] - c[-1]))
        if ends < 5 * _SAME and np.linalg.norm(_quarters(a) - _quarters(c), axis=1).max() < 1.0:
            return sense
    return 0


def _quarters(points: np.ndarray) -> np.ndarray:
    """Three points (3, 3) at a quarter, half and three quarters of a line's length."""
    along = arc_length(points)
    at = along[-1] * np.array([0.25, 0.5, 0.75])
    return np.column_stack([np.interp(at, along, column) for column in points.T])
