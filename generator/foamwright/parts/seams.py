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
from foamwright.parts.edge_faces import EdgeFace, edge_faces, ends_on, has_face, is_closed, near, touch
from foamwright.parts.edge_names import numbered
from foamwright.parts.placing import move
from foamwright.parts.records import EdgeRef, PanelBody, PanelEdge, Piece, SeamSpec

_SAME = 0.1  # mm: two points closer than this are one corner
# what an edge has at each of its points
_ALONG = ("chart", "points", "slope", "inner", "outer", "coords", "on_form", "inner_shift", "outer_shift", "normals")
_TRIED = np.linspace(0.02, 0.98, 9)  # of an edge's length: where its face is held against that of another form
_END = 1.0  # mm between the ends of two such edges, if they are one seam
_RIM = 0.005  # of its width: so near its rims are told by points along them
_AT_POINT = 0.02  # of the way from one point of an edge to the next: it is the point itself


def divide_edges(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Divide each seam edge where the corner of another panel meets it, so that seams have one edge a side.

    A closed edge has no corner of its own, and begins anywhere: where corners of others meet it, it begins at one of
    them. Two closed ones that face each other are divided where either of them begins. So are edges of two forms, of which
    one may run on where the other ends. What parts an edge of one copy parts those of all, which others meet in turn: that goes
    on until no edge is parted any more.
    """
    while True:
        divided = _divided(pieces)
        if _edges(divided) == _edges(pieces):
            return divided
        pieces = divided


def _edges(pieces: Sequence[Piece]) -> int:
    return sum(len(piece.body.edges) for piece in pieces if isinstance(piece.body, PanelBody))


def _divided(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    panels = [p for p in pieces if isinstance(p.body, PanelBody)]
    faces = _faces_in_place(panels)
    corners: dict[tuple, list[_Corners]] = {}
    for piece in panels:
        for edge in piece.body.edges:
            if edge.kind in ("trim", "tip"):
                continue
            ends = edge.on_form[[0, -1]]
            for place in piece.placements:
                found = _Corners(piece, move(ends, place.matrix), is_closed(edge))
                corners.setdefault(_line(piece, edge), []).append(found)
    divided = []
    for piece in pieces:
        if not isinstance(piece.body, PanelBody):
            divided.append(piece)
            continue
        edges = []
        for edge in piece.body.edges:
            beside = [one for one in corners.get(_line(piece, edge), ()) if _same_layer(piece, one.piece)]
            edges.extend(_divide(piece, edge, beside, faces))
        body = dataclasses.replace(piece.body, edges=tuple(numbered(edges)))
        divided.append(dataclasses.replace(piece, body=body))
    return tuple(divided)


@dataclasses.dataclass(frozen=True, eq=False)
class _Corners:
    """Where an edge of a copy of a panel ends: `points` (2, 3), one twice if it is `closed`."""

    piece: Piece[PanelBody]
    points: np.ndarray
    closed: bool


def _line(piece: Piece[PanelBody], edge: PanelEdge) -> tuple:
    """What two edges must share to meet, beside the layer in which they lie: the form and the cut."""
    return (piece.body.form, edge.cut)


def _divide(
    piece: Piece[PanelBody], edge: PanelEdge, corners: Sequence[_Corners], faces: Sequence[EdgeFace]
) -> list[PanelEdge]:
    if edge.kind == "tip":
        return [edge]
    # an edge in the surface of what cut it meets those of other forms alone
    corners = corners if edge.kind != "trim" else ()

    def met(edge: PanelEdge, closed: bool) -> list[float]:
        own = _met(piece, edge, [one for one in corners if one.closed == closed])
        return sorted((*own, *_met_across(piece, edge, [face for face in faces if face.closed == closed])))

    at = met(edge, False)
    if is_closed(edge):
        if at:
            edge = _begun_at(edge, piece.body.surface, at[0])
            at = met(edge, False)
        else:
            at = met(edge, True)
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


def _met_across(piece: Piece[PanelBody], edge: PanelEdge, faces: Sequence[EdgeFace]) -> list[float]:
    """Likewise the places at which edges of other forms end, whose faces lie on that of any copy of it."""
    at: list[float] = []
    for face in edge_faces(piece, edge) if has_face(edge) else ():
        at += [place for other in near(face, faces) for place in ends_on(face, other)]
    return [place for place in at if 3 < place < len(edge.points) - 4]


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
    """All pairs of panel edges that are glued to each other from end to end; each piece's edges learn which parts they join.

    A panel may meet its own mirror image or, with another edge, a copy of itself turned around an axis. Edges of one form do
    where they lie on one curve of it, unless their offsets differ (a skin over a panel); those of two forms where the
    faces along which they are cut lie on each other, by more than half of the narrower one.
    """
    panels = [p for p in pieces if isinstance(p.body, PanelBody)]
    seams: dict[frozenset, SeamSpec] = {}
    joins: dict[EdgeRef, dict[str, None]] = {}
    for one, other, sense, touches in (*_of_one_form(panels), *_of_two_forms(panels)):
        joins.setdefault(one.ref, {})[other.piece.id] = None
        joins.setdefault(other.ref, {})[one.piece.id] = None
        key = frozenset([one.ref, other.ref])
        if key not in seams:
            seams[key] = SeamSpec(
                f"S{len(seams) + 1}",
                one.ref,
                other.ref,
                sense < 0,
                glue_between(one.piece, other.piece),
                touch_a=touches[0],
                touch_b=touches[1],
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


_Pair = tuple[
    Any, Any, int, tuple[tuple[float, float], tuple[float, float]]
]  # two edges, the way they run, what touches


@dataclasses.dataclass(frozen=True, eq=False)
class _Line:
    """One edge of one copy of a panel: `points` (N, 3) where it lies on the form."""

    piece: Piece[PanelBody]
    ref: EdgeRef
    points: np.ndarray


def _of_one_form(panels: Sequence[Piece[PanelBody]]) -> Iterator[_Pair]:
    """Pairs of edges of one form that meet, whether the second runs the same way (1) or the other (-1), and the shares of either
    foam's thickness from which and to which they touch."""
    lines = [
        _Line(piece, EdgeRef(piece.id, edge.id), move(edge.on_form, place.matrix))
        for piece in panels
        for edge in piece.body.edges
        if edge.kind not in ("trim", "tip") and np.ptp(edge.on_form, axis=0).max() >= _SAME
        for place in piece.placements
    ]
    if not lines:
        return
    middles = np.array([(line.points[0] + line.points[-1]) / 2 for line in lines])
    for a, b in sorted(cKDTree(middles).query_pairs(5 * _SAME)):
        one, other = lines[a], lines[b]
        if one.piece.body.form == other.piece.body.form and _same_layer(one.piece, other.piece):
            sense = _same_curve(one.points, other.points)
            if sense:
                yield one, other, sense, _levels(one.piece, other.piece)


def _of_two_forms(panels: Sequence[Piece[PanelBody]]) -> Iterator[_Pair]:
    """As `_of_one_form`, of panels of two forms: the shares are those across the faces of their edges."""
    faces = _faces_in_place(panels)
    for number, one in enumerate(faces):
        for other in near(one, faces[number + 1 :]):
            whole = float(one.along[-1])
            on = touch(one.lines_at(whole * _TRIED), other)
            if not on.is_on.all():
                continue
            there = np.interp(on.at, np.arange(len(other.along)), other.along)
            sense = 1 if there[-1] > there[0] else -1
            ends = (there[0], other.along[-1] - there[-1]) if sense > 0 else (other.along[-1] - there[0], there[-1])
            if max(abs(end - whole * _TRIED[0]) for end in ends) < _END and (sense * np.diff(there) > 0.0).all():
                yield one, other, sense, (_mean(on.own), _mean(on.other))


def _mean(shares: np.ndarray) -> tuple[float, float]:
    """Of shares (K, 2) across a face; what nearly reaches a rim of it does."""
    low, high = shares.mean(axis=0).tolist()
    return 0.0 if low < _RIM else low, 1.0 if high > 1.0 - _RIM else high


def _faces_in_place(panels: Sequence[Piece[PanelBody]]) -> list[EdgeFace]:
    """The faces of all edges of all copies; none if all panels are of one form."""
    if len({piece.body.form for piece in panels}) < 2:
        return []
    return [face for piece in panels for edge in piece.body.edges if has_face(edge) for face in edge_faces(piece, edge)]


def _levels(a: Piece[PanelBody], b: Piece[PanelBody]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Of two panels of one form, the shares of the thickness of either at which what touches begins and ends."""
    low = max(a.body.inner_offset, b.body.inner_offset)
    high = min(a.body.inner_offset + a.stock.thickness, b.body.inner_offset + b.stock.thickness)
    first, second = (
        ((low - p.body.inner_offset) / p.stock.thickness, (high - p.body.inner_offset) / p.stock.thickness)
        for p in (a, b)
    )
    return first, second


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
