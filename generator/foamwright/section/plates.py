"""The patterns of flat parts: the boundaries of both faces of their solids, seen from the inside face. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from foamwright.errors import BuildError
from foamwright.flatten.arrows import on_plane
from foamwright.flatten.exact import exact_pattern, plain_edge
from foamwright.flatten.records import NO_FITTINGS, Fittings, Pattern, PatternEdge, PatternSlot, Round
from foamwright.flatten.ticks import edge_marks
from foamwright.geometry import chord_length, signed_area
from foamwright.geometry.drawn import drawing_frame
from foamwright.geometry.frame import Frame
from foamwright.model.flat import is_inner
from foamwright.model.records import INSIDE, OUTSIDE, Prototype
from foamwright.parts.records import EdgeRun, FlatBody, Piece, SeamSpec
from foamwright.section.boundary import Loop, boundary

_CLEAR = 1.0  # mm: a tick nearer to the end of its line cannot be told from the corner
_ALIKE = (
    1e-3  # mm: lines of both faces that differ by less are of one length: both edges of a seam then go by the drawn one
)
_LEAN = 1e-6  # radians: a rectangle that leans less lies straight


@dataclass(frozen=True, eq=False)
class _Face:
    """One face in the coordinates of the pattern: its loops as (wall, points (N, 2)) side by side; loop 0 is outer."""

    loops: tuple[tuple[tuple[str, np.ndarray], ...], ...]

    def ring(self, loop: int) -> np.ndarray:
        """(N, 2), first point not repeated."""
        return np.vstack([points[:-1] for _, points in self.loops[loop]])

    def side(self, loop: int, wall: str) -> np.ndarray:
        """(N, 2) the stretch of a loop on which the wall of that name stands; a whole loop ends where it began."""
        lines = [points for name, points in self.loops[loop] if name == wall]
        if not lines:
            raise BuildError(f"no edge of its solid is named {wall!r}")
        return np.vstack([lines[0][:1], *(points[1:] for points in lines)])

    def walls(self, loop: int) -> frozenset[str]:
        return frozenset(name for name, _ in self.loops[loop])


def plate_pattern(made: Prototype, seams: Sequence[SeamSpec] = ()) -> Pattern:
    """The pattern of a flat part from its solid; edges that are seams get match ticks.

    Raises BuildError naming the part if its solid has not the faces that its outline and holes ask for.
    """
    piece: Piece = made.piece
    body: FlatBody = piece.body
    try:
        return _plate_pattern(made, body, seams)
    except BuildError as error:
        raise BuildError(f"part {piece.id}: {error}") from error


def _plate_pattern(made: Prototype, body: FlatBody, seams: Sequence[SeamSpec]) -> Pattern:
    piece: Piece = made.piece
    frame = drawing_frame(body.frame)
    drawn, other = (_face(boundary(made.named, name), body, frame) for name in (INSIDE, OUTSIDE))
    frame, angle = _straightened(frame, drawn.ring(0))
    if angle:
        drawn, other = (_face(boundary(made.named, name), body, frame) for name in (INSIDE, OUTSIDE))
    outline, other_outline = drawn.ring(0), other.ring(0)
    holes = tuple(drawn.ring(loop) for loop in range(1, len(drawn.loops)))
    other_holes = tuple(other.ring(loop) for loop in range(1, len(other.loops)))
    sewn = {end.edge for seam in seams for end in (seam.a, seam.b) if end.part == piece.id}
    edges = []
    for run in reversed(body.runs):
        points, opposite = drawn.side(0, run.id), other.side(0, run.id)
        longest = points if _length(points) >= _length(opposite) - _ALIKE else opposite
        length = 2 * np.pi * body.radius if body.radius is not None else _length(longest)
        if run.id in sewn:
            edges.append(_seam_edge(piece, run, points, longest, seams))
        else:
            edges.append(plain_edge(run.id, points, length, tuple(reversed(run.bevel)), run.joins))
    for number, hole in enumerate(body.holes, 1):
        name = f"hole_{number}"
        points = drawn.side(number, name)
        length = _length(points)
        if body.inner_radius is not None and is_inner(hole, body):
            length = 2 * np.pi * body.inner_radius
        edges.append(plain_edge(name, points, length))
    return exact_pattern(
        piece,
        outline,
        tuple(edges),
        _area(body, outline, holes),
        holes=holes,
        other_outline=other_outline,
        other_holes=other_holes,
        frame=frame,
        fittings=_fittings(body, frame),
        forward=on_plane(frame, np.array([1.0, 0.0, 0.0])) if piece.placements else None,
        up=on_plane(frame, np.array([0.0, 0.0, 1.0])) if piece.placements else None,
        strip=_strip(piece, outline, bool(holes)),
    )


def _face(loops: Sequence[Loop], body: FlatBody, frame: Frame) -> _Face:
    """The outer loop counter-clockwise from the start of the first run, the holes clockwise in their own order."""
    flat = [[(side.wall, frame.to_frame(side.points)[:, :2]) for side in loop] for loop in loops]
    by_wall = {next(iter(sides))[0]: sides for sides in flat}
    outer = max(flat, key=lambda sides: abs(_ring_area(sides)))
    holes = [by_wall.get(f"hole_{number}") for number in range(1, len(body.holes) + 1)]
    if len(flat) != 1 + len(holes) or any(hole is None for hole in holes):
        raise BuildError(f"a face of its solid has {len(flat) - 1} holes; expected {len(holes)}")
    first = frame.to_frame(body.frame.to_space(body.outline[[body.runs[0].start % len(body.outline)]]))[0, :2]
    turned = _turned(outer, counter_clockwise=True)
    start = min(_starts(turned, body.runs[-1].id), key=lambda i: float(np.abs(turned[i][1][0] - first).max()))
    ordered = [turned[start:] + turned[:start], *(_turned(hole, counter_clockwise=False) for hole in holes if hole)]
    return _Face(tuple(tuple(sides) for sides in ordered))


def _starts(sides: Sequence[tuple[str, np.ndarray]], wall: str) -> list[int]:
    """Where a stretch of sides on one wall may begin: at its first side, or at any if there is but one wall."""
    named = [i for i, (name, _) in enumerate(sides) if name == wall]
    begin = [i for i in named if sides[i - 1][0] != wall]
    if not named:
        raise BuildError(f"no edge of its solid is named {wall!r}")
    return begin or named


def _turned(sides: list[tuple[str, np.ndarray]], counter_clockwise: bool) -> list[tuple[str, np.ndarray]]:
    if (_ring_area(sides) > 0.0) == counter_clockwise:
        return sides
    return [(name, points[::-1]) for name, points in reversed(sides)]


def _ring_area(sides: Sequence[tuple[str, np.ndarray]]) -> float:
    return signed_area(np.vstack([points[:-1] for _, points in sides]))


def _seam_edge(
    piece: Piece, run: EdgeRun, points: np.ndarray, longest: np.ndarray, seams: Sequence[SeamSpec]
) -> PatternEdge:
    """Ticks stand where those of the other part do: they are laid off on the longer face, which both parts share. Those
    that come to lie beyond an end of the drawn line have no place on it."""
    marked = edge_marks(piece, run, [longest], (), seams)
    line, shared = shapely.LineString(points), shapely.LineString(longest)

    def across(distance: float) -> float:
        return float(line.project(shared.interpolate(distance)))

    middle = None if marked.middle is None else across(marked.middle)
    ticks = np.array([across(t) for t in marked.ticks.tolist()])
    clear = (ticks > _CLEAR) & (ticks < line.length - _CLEAR)
    numbers = tuple(number for number, kept in zip(marked.tick_numbers, clear) if kept)
    return replace(marked, points=points, ticks=ticks[clear], tick_numbers=numbers, middle=middle)


def _length(points: np.ndarray) -> float:
    return float(chord_length(points)[-1])


def _area(body: FlatBody, outline: np.ndarray, holes: Sequence[np.ndarray]) -> float:
    """Of the drawn face; round parts by their radii."""
    others = [ring for ring, hole in zip(holes, body.holes) if not is_inner(hole, body)]
    area = signed_area(outline) if body.radius is None else np.pi * (body.radius**2 - (body.inner_radius or 0.0) ** 2)
    return float(area - sum(abs(signed_area(ring)) for ring in others))


def _fittings(body: FlatBody, frame: Frame) -> Fittings:
    """What the part carries beside its outline, in the coordinates of the pattern."""

    def on_pattern(points: np.ndarray) -> np.ndarray:
        return frame.to_frame(body.frame.to_space(np.atleast_2d(points)))[:, :2]

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = on_pattern(np.array(point))[0].tolist()
        return x, y

    circle = Round(at(body.centre), body.radius, body.inner_radius) if body.radius is not None else None
    slots = tuple(PatternSlot(at(slot.at), slot.part, tuple(map(at, slot.corners))) for slot in body.slots)
    made = Fittings(circle, tuple(map(on_pattern, body.engraving)), tuple(map(at, body.pins)), slots)
    return made if any((circle, made.engraving, made.pins, slots)) else NO_FITTINGS


def _straightened(frame: Frame, outline: np.ndarray) -> tuple[Frame, float]:
    """The frame turned so that a rectangle lies straight, by at most 45 degrees; and by how much, in radians."""
    corners = rectangle_corners(outline)
    if corners is None:
        return frame, 0.0
    side = corners[1] - corners[0]
    lean = float(np.arctan2(side[1], side[0]))
    lean -= np.pi / 2 * round(lean / (np.pi / 2))
    if abs(lean) < _LEAN:
        return frame, 0.0
    c, s = np.cos(lean), np.sin(lean)
    return Frame(frame.origin, frame.axes @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])), lean


def rectangle_corners(outline: np.ndarray) -> np.ndarray | None:
    """The four corners (4, 2) of an outline that is a rectangle, else None."""
    around = np.diff(np.vstack([outline, outline[:1]]), axis=0)
    before = np.roll(around, 1, axis=0)
    corner = np.abs(around[:, 0] * before[:, 1] - around[:, 1] * before[:, 0]) > 1e-6
    points = outline[corner]
    if len(points) != 4:
        return None
    sides = np.diff(np.vstack([points, points[:1]]), axis=0)
    square = np.abs((sides * np.roll(sides, 1, axis=0)).sum(1)) < 1e-6 * (sides**2).sum(1).max()
    return points if square.all() else None


def plain_strip(outline: np.ndarray, pierced: bool) -> tuple[float, float] | None:
    """Length and width, if the outline is a rectangle at least four times as long as wide and has no holes."""
    corners = None if pierced else rectangle_corners(outline)
    if corners is None:
        return None
    lengths = np.linalg.norm(np.diff(corners[:3], axis=0), axis=1)
    length, width = float(lengths.max()), float(lengths.min())
    return (length, width) if length >= 4 * width else None


def _strip(piece: Piece, outline: np.ndarray, pierced: bool) -> tuple[float, float] | None:
    """Length and width of a part that is measured off by them."""
    if piece.body.radius is not None:
        return None
    if piece.listed_only:
        spans = np.ptp(outline, axis=0)
        return (float(spans.max()), float(spans.min()))
    return plain_strip(outline, pierced)
