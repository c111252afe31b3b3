"""Patterns that are exact: flat parts and rods as they are."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.flatten.records import Pattern, PatternEdge, Strain
from foamwright.flatten.ticks import edge_marks
from foamwright.geometry import signed_area
from foamwright.parts.records import FlatBody, Piece, RodBody, SeamSpec

NO_STRAIN = Strain(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
_MIRROR = np.array([-1.0, 1.0])


def flat_pattern(piece: Piece, seams: Sequence[SeamSpec] = ()) -> Pattern:
    """A flat part seen from its inside face (z = 0 of its frame); edges that are seams get match ticks."""
    body: FlatBody = piece.body
    outline = body.outline[::-1] * _MIRROR
    n = len(outline)
    edges = []
    sewn = {end.edge for seam in seams for end in (seam.a, seam.b) if end.part == piece.id}
    for run in reversed(body.runs):
        index = np.arange(run.start, run.stop + 1) % n
        points = body.outline[index][::-1] * _MIRROR
        if run.id in sewn:
            edges.append(edge_marks(piece, run, [points], (), seams))
            continue
        if body.radius is not None:
            length = 2 * np.pi * body.radius
        else:
            length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        edges.append(_edge(run.id, points, length, tuple(reversed(run.bevel)), run.joins))
    for number, hole in enumerate(body.holes, 1):
        points = np.vstack([hole, hole[:1]])[::-1] * _MIRROR
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        if _is_inner(hole, body):
            length = 2 * np.pi * body.inner_radius
        edges.append(_edge(f"hole_{number}", points, length, (0.0,), ()))
    others = [hole for hole in body.holes if not _is_inner(hole, body)]
    area = signed_area(outline) if body.radius is None else np.pi * (body.radius**2 - (body.inner_radius or 0.0) ** 2)
    area -= sum(abs(signed_area(hole)) for hole in others)
    return exact_pattern(
        piece,
        outline,
        tuple(edges),
        area,
        holes=tuple(hole[::-1] * _MIRROR for hole in body.holes),
        forward=_way(piece, np.array([1.0, 0.0, 0.0])),
        up=_way(piece, np.array([0.0, 0.0, 1.0])),
        strip=_strip(piece, outline),
    )


def exact_pattern(piece: Piece, outline: np.ndarray, edges: tuple[PatternEdge, ...], area: float, **more) -> Pattern:
    """A pattern without strain, darts or mesh; `more` gives the fields that are not as here."""
    plain = dict(
        holes=(),
        darts=(),
        strain=NO_STRAIN,
        neutral_offset=0.0,
        mesh=None,
        forward=None,
        up=None,
        strip=None,
        warnings=(),
        other_outline=outline,
        other_holes=more.get("holes", ()),
    )
    return Pattern(piece=piece, outline=outline, edges=edges, area=float(area), **(plain | more))


def _way(piece: Piece, direction: np.ndarray) -> tuple[float, float] | None:
    if not piece.placements:
        return None
    local = (direction @ piece.body.frame.axes)[:2] * _MIRROR
    size = np.linalg.norm(local)
    return None if size < 0.35 else (float(local[0] / size), float(local[1] / size))


def _is_inner(hole: np.ndarray, body: FlatBody) -> bool:
    """Is this hole the round one in the middle of a ring?"""
    if body.inner_radius is None:
        return False
    away = np.linalg.norm(hole - np.array(body.centre), axis=1)
    return bool(np.abs(away - body.inner_radius).max() < 0.05)


def _strip(piece: Piece, outline: np.ndarray) -> tuple[float, float] | None:
    """Length and width of a part that is measured off by them."""
    if piece.body.radius is not None:
        return None
    if piece.listed_only:
        spans = np.ptp(outline, axis=0)
        return (float(spans.max()), float(spans.min()))
    return plain_strip(outline, piece.body.holes)


def plain_strip(outline: np.ndarray, holes) -> tuple[float, float] | None:
    """Length and width, if the outline is a rectangle at least four times as long as wide."""
    if holes:
        return None
    around = np.diff(np.vstack([outline, outline[:1]]), axis=0)
    before = np.roll(around, 1, axis=0)
    corner = np.abs(around[:, 0] * before[:, 1] - around[:, 1] * before[:, 0]) > 1e-6
    points = outline[corner]
    if len(points) != 4:
        return None
    sides = np.diff(np.vstack([points, points[:1]]), axis=0)
    square = np.abs((sides * np.roll(sides, 1, axis=0)).sum(1)) < 1e-6 * (sides**2).sum(1).max()
    lengths = np.linalg.norm(sides, axis=1)
    if not square.all():
        return None
    length, width = float(max(lengths[:2])), float(min(lengths[:2]))
    return (length, width) if length >= 4 * width else None


def rod_pattern(piece: Piece) -> Pattern:
    """The strip that a laminated rod is built from, square so that it can be rounded; of a bought one its side."""
    body: RodBody = piece.body
    width = body.diameter if body.bought else max(body.diameter, piece.layers * piece.stock.thickness)
    x, y = body.length / 2, width / 2
    outline = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    names = ("low", "end", "high", "start")
    corners = np.vstack([outline, outline[:1]])
    edges = tuple(
        _edge(name, corners[i : i + 2], float(np.ptp(corners[i : i + 2], axis=0).max()), (0.0,), ())
        for i, name in enumerate(names)
    )
    return exact_pattern(piece, outline, edges, 4 * x * y, strip=(float(2 * x), float(2 * y)))


def _edge(name, points, length, bevel, joins) -> PatternEdge:
    return PatternEdge(
        id=name,
        points=points,
        length=float(length),
        bevel=bevel,
        joins=joins,
        seam=None,
        ticks=np.zeros(0),
        tick_numbers=(),
    )
