"""Patterns that are exact: flat parts as they are, and bands as the straight development of their curve."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.flatten.records import Pattern, PatternEdge, Strain
from foamwright.flatten.ticks import edge_marks
from foamwright.geometry import arc_length, signed_area
from foamwright.parts.records import BandBody, FlatBody, Piece, RodBody, SeamSpec

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
    return _exact(
        piece,
        outline,
        tuple(edges),
        area,
        holes=tuple(hole[::-1] * _MIRROR for hole in body.holes),
        forward=_way(piece, np.array([1.0, 0.0, 0.0])),
        up=_way(piece, np.array([0.0, 0.0, 1.0])),
        strip=_strip(piece, outline),
    )


def _exact(piece: Piece, outline: np.ndarray, edges: tuple[PatternEdge, ...], area: float, **more) -> Pattern:
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


def band_pattern(piece: Piece) -> Pattern:
    """A band laid straight: x is the length of its neutral curve, y the place across it. Exact."""
    body: BandBody = piece.body
    k = 1.0 if body.fold else piece.stock.k  # where it is scored to the outer skin, only that skin bends
    neutral = body.inner_offset + k * piece.stock.thickness
    along = neutral_length(body, neutral)
    total = float(along[-1])
    x0, x1 = -body.trim_start, total + body.trim_end
    low = _edge_line(along, body.low, x0, x1)
    high = _edge_line(along, body.high, x0, x1)
    # seen from inside: the curve runs counter-clockwise about `across`, so its inside is seen with x turned
    flip = np.array([-1.0, 1.0])
    low, high = low[::-1] * flip, high[::-1] * flip
    outline = np.vstack([low, high[::-1]])
    ends = (piece.id,) if body.closed else ()
    edges = (
        _edge("low", low, _length(low), (0.0,), body.joins_low),
        _edge("start", np.array([low[-1], high[-1]]), float(high[-1, 1] - low[-1, 1]), (body.fold / 2,), ends),
        _edge("high", high[::-1], _length(high), (0.0,), body.joins_high),
        _edge("end", np.array([high[0], low[0]]), float(high[0, 1] - low[0, 1]), (body.fold / 2,), ends),
    )
    straight = np.ptp(body.low) < 1e-9 and np.ptp(body.high) < 1e-9
    width = float(body.high[0] - body.low[0])
    up = float(np.sign(body.across[2])) if abs(body.across[2]) > 0.35 else 0.0
    forward = float(np.sign(body.across[0])) if abs(body.across[0]) > 0.35 else 0.0
    return _exact(
        piece,
        outline,
        edges,
        signed_area(outline),
        neutral_offset=neutral,
        forward=(0.0, forward) if forward else None,
        up=(0.0, up) if up else None,
        strip=(x1 - x0, width) if straight else None,
        warnings=_too_tight(piece, body),
    )


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
    return _exact(piece, outline, edges, 4 * x * y, strip=(float(2 * x), float(2 * y)))


def neutral_length(body: BandBody, neutral: float) -> np.ndarray:
    """Running length (N,) of the band's curve moved by `neutral` along its normals."""
    if body.fold:
        steps = np.linalg.norm(np.diff(body.curve + neutral * body.normals, axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(steps)])
    return arc_length(body.curve + neutral * body.normals)


def _too_tight(piece: Piece, body: BandBody) -> tuple[str, ...]:
    """Common practice, no source: sheet foam bends cold to an inside radius of about twice its thickness."""
    if body.fold:
        return ()
    curve = body.curve + body.inner_offset * body.normals
    step = np.linalg.norm(np.diff(curve, axis=0), axis=1)
    turn = np.arccos(np.clip((body.normals[:-1] * body.normals[1:]).sum(1), -1, 1))
    radius = float(np.min(step / np.maximum(turn, 1e-9)))
    if radius < 2 * piece.stock.thickness:
        return (f"bends to a radius of {radius:.0f} mm: warm it or score the back of the bend",)
    return ()


def _edge_line(along, heights, x0, x1) -> np.ndarray:
    x = np.concatenate([[x0] if x0 < 0 else [], along, [x1] if x1 > along[-1] else []])
    y = np.concatenate([[heights[0]] if x0 < 0 else [], heights, [heights[-1]] if x1 > along[-1] else []])
    if np.ptp(heights) < 1e-9:
        return np.array([[x[0], y[0]], [x[-1], y[-1]]])
    return np.column_stack([x, y])


def _length(points) -> float:
    return float(arc_length(points)[-1])


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
