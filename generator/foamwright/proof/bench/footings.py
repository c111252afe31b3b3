"""What is drawn on foam for a part that stands there, and the foot that comes to stand on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import shapely

from foamwright.geometry.polyline import divided
from foamwright.proof.bench.foam import (
    Copy,
    Edge,
    Foam,
    Mark,
    Part,
    Touch,
    nearest,
    opposite_stretches,
    other_stretches,
)
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import Lines, sampled

FACES = ("inside", "outside")
_BAR, _HOLE = "rod", "hole"
_SPACING = 4.0  # mm between the points of a mark that are laid on a foot, about
_BENT = 3.0  # mm between the points of a foot that is bent, at most
_RIM = 0.4  # mm from the edge of the foam
_STRIP = 1.7  # times as wide as the part is thick: no mark of its edge is wider
_LOOKS = 0.4  # cosine
_GRAZES = 0.3  # mm between two broad faces: the outline of what touches is that of no face


@dataclass(frozen=True, eq=False)
class Footing:
    """A copy stands on a mark: `lower` is drawn on, `upper` stands there with its `faces`.

    `gap` is what is left between the two, felt or glue, over the `area` in mm2 that touches, and by as much as it `opens` an edge
    stands off that leans away.
    """

    lower: Copy
    upper: Copy
    mark: Mark
    faces: tuple[str, ...]
    gap: float
    area: float = 0.0
    opens: float = 0.0

    @property
    def copies(self) -> tuple[Copy, Copy]:
        return self.lower, self.upper

    @property
    def grazes(self) -> bool:
        """Does it only bound what comes near, two broad faces that do not lie against each other?"""
        return self.gap >= _GRAZES and all(face in FACES for face in self.faces)


def footings(foam: Foam) -> tuple[Footing, ...]:
    """Every mark with the copies that it is about and the faces of the upper one that are glued on there."""
    by_pair: dict[tuple[Copy, Copy], list[tuple[str, Touch]]] = {}
    for touch in foam.touches:
        by_pair.setdefault((touch.a, touch.b), []).append((touch.face_b, touch))
        by_pair.setdefault((touch.b, touch.a), []).append((touch.face_a, touch))
    all_footings = []
    for name, part in foam.parts.items():
        for mark in part.marks:
            for lower, upper in mark.of:
                pair = Copy(name, lower), Copy(mark.part, upper)
                if pair[0] == pair[1] or pair[1].part not in foam.parts or not mark.lines:
                    continue
                side = "inside" if mark.inside else "outside"
                met = [
                    (face, touch)
                    for face, touch in by_pair.get(pair, ())
                    if touch.glued and side == (touch.face_a if touch.a == pair[0] else touch.face_b)
                ]
                met = _met_there(met, mark, pair[0]) or met
                faces = tuple(dict.fromkeys(face for face, _ in met))
                gap = float(np.median([touch.gap for _, touch in met])) if met else 0.0
                if faces:
                    area, opens = sum(touch.area for _, touch in met), max(touch.opens for _, touch in met)
                    all_footings.append(Footing(*pair, mark, faces, gap, area, opens))
    return tuple(all_footings)


class Stuck(NamedTuple):
    """A round bar that goes through a hole of another part, and the gap all round it in mm."""

    plate: Copy
    hole: Edge
    bar: Copy
    gap: float


def stuck(foam: Foam) -> Iterator[Stuck]:
    """Every hole with a bar in it, as the record tells what touches."""
    for touch in foam.touches:
        for plate, face, bar in ((touch.a, touch.face_a, touch.b), (touch.b, touch.face_b, touch.a)):
            if face.startswith(_HOLE) and is_bar(foam.part(bar)) and (hole := foam.part(plate).edge(face)) is not None:
                yield Stuck(plate, hole, bar, touch.gap)


def _met_there(met: Sequence[tuple[str, Touch]], mark: Mark, lower: Copy) -> list[tuple[str, Touch]]:
    """Of what touches a copy those whose outlines on its paper lie where the mark is: a strip that goes round a part has a mark
    for each of its sides."""
    if len(met) < 2:
        return []
    low, high = (end(np.vstack(mark.lines), axis=0) for end in (np.min, np.max))
    found = []
    for face, touch in met:
        rings = touch.on_a if touch.a == lower else touch.on_b
        middles = [(ring.min(axis=0) + ring.max(axis=0)) / 2 for ring in rings]
        if any(np.all(middle > low - _RIM) and np.all(middle < high + _RIM) for middle in middles):
            found.append((face, touch))
    return found


def drawn(footing: Footing, lower: Placed) -> list[np.ndarray]:
    """The lines (N, 3) of a mark in space, on the face that they are drawn on."""
    depth = lower.part.depth(footing.mark.inside)
    return [lower.place(line, np.full(len(line), depth)) for line in footing.mark.lines]


def own_points(footing: Footing, lower: Placed, spacing: float = _SPACING) -> tuple[np.ndarray, np.ndarray]:
    """Points (K, 2) of the paper along a mark, and those (M, 2) on the edge of the foam that it is drawn on: there it
    may end because that part does, and says little of the one that is glued on."""
    points, _, inner = _mark_points(footing, lower.part, spacing)
    return points[inner], points[~inner]


@lru_cache(maxsize=2048)
def _mark_points(footing: Footing, part: Part, spacing: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (K, 2) along a mark, unit steps (K, 2) along its lines there, and which points (K,) are not on the rim."""
    lines = [sampled(line, _fine(line, spacing)) for line in footing.mark.lines]
    points, steps = np.vstack(lines), np.vstack([np.gradient(line, axis=0) for line in lines])
    steps = steps / np.maximum(np.linalg.norm(steps, axis=1, keepdims=True), 1e-9)
    rim = nearest(points, (*part.rings, *part.other_rings))
    return points, steps, np.linalg.norm(points - rim, axis=1) > _RIM


def outward(footing: Footing, lower: Placed, thickness: float, spacing: float = _SPACING) -> np.ndarray:
    """(K, 3) in space, for the first of `own_points`: unit steps out of the strip that is marked, which is about as
    wide as what stands there is thick and ends at another line of the mark or at the edge of the foam; 0 where neither
    or both sides of the line have such an end."""
    flat, points = _outward(footing, lower.part, thickness, spacing)
    depth = np.full(len(points), lower.part.depth(footing.mark.inside))
    direction: np.ndarray = lower.place(points + 0.5 * flat, depth) - lower.place(points - 0.5 * flat, depth)
    return direction


@lru_cache(maxsize=2048)
def _outward(footing: Footing, part: Part, thickness: float, spacing: float) -> tuple[np.ndarray, np.ndarray]:
    """The same steps (K, 2) on the paper, and the points (K, 2)."""
    points, steps, inner = _mark_points(footing, part, spacing)
    points, steps = points[inner], steps[inner]
    rings = part.face_rings(footing.mark.inside)
    ends = shapely.union_all([*map(shapely.LineString, footing.mark.lines), *map(shapely.LinearRing, rings)])
    shapely.prepare(ends)
    side = np.column_stack([steps[:, 1], -steps[:, 0]])
    met = []
    for direction in (side, -side):
        rays = np.stack([points + 0.15 * thickness * direction, points + _STRIP * thickness * direction], axis=1)
        met.append(shapely.intersects(ends, shapely.linestrings(rays)).astype(float))
    return side * (met[1] - met[0])[:, None], points


def _fine(line: np.ndarray, spacing: float) -> float:
    """At least so many points on a short line, too."""
    return min(spacing, max(0.5, float(np.ptp(line, axis=0).max()) / 6.0))


def out_of_foam(footing: Footing, lower: Placed, flat: np.ndarray) -> np.ndarray:
    """(K, 3) unit, out of the face that a mark is drawn on, at points (K, 2) of the paper."""
    up = lower.up(flat)
    return up if footing.mark.inside == lower.part.drawn_inside else -up


def drawn_normal(footing: Footing, lower: Placed) -> np.ndarray:
    """(3,) unit, out of the foam, in the middle of a mark."""
    points = np.vstack(footing.mark.lines)
    up = lower.up(points).mean(axis=0)
    up = up / max(float(np.linalg.norm(up)), 1e-9)
    return up if footing.mark.inside == lower.part.drawn_inside else -up


def is_bar(part: Part) -> bool:
    """Is it a round bar, whose paper is a strip as wide as it is thick?"""
    return part.kind == _BAR and not part.bent and all(part.edge(name) is not None for name in ("start", "end"))


def _both_lines(part: Part, edge: Edge) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Each stretch of an edge on the drawn face, and on the other one."""
    return tuple(zip(edge.stretches, other_stretches(part, edge) if part.bent else opposite_stretches(part, edge)))


def foot(footing: Footing, upper: Placed) -> list[np.ndarray]:
    """Closed lines (N, 3) that bound the faces of the upper part that stand on the mark."""
    part = upper.part
    lines = []
    for face in footing.faces:
        if face in FACES:
            inside = face == "inside"
            for ring in part.face_rings(inside):
                closed = _followed(part, np.vstack([ring, ring[:1]]))
                lines.append(upper.place(closed, np.full(len(closed), part.depth(inside))))
            continue
        edge = part.edge(face)
        if edge is None:
            continue
        if is_bar(part):
            lines.append(_end(upper, edge))
            continue
        for stretch, across in _both_lines(part, edge):
            stretch, across = _followed(part, stretch), _followed(part, across)
            near = upper.place(stretch, np.zeros(len(stretch)))
            far = upper.place(across, np.full(len(across), part.thickness))
            lines += [near, far] if edge.loop else [np.vstack([near, far[::-1], near[:1]])]
    return lines


def _followed(part: Part, line: np.ndarray) -> np.ndarray:
    """A line (N, 2) of the paper with points enough to follow the bend of its part: a straight leg may go all round."""
    return divided(line, _BENT) if part.bent else line


@dataclass(frozen=True, eq=False)
class Foot:
    """The lines of a foot; of a flat part that stands on its edge also those of the drawn face and of the other one
    apart, with the normal `up` (3,) of the drawn face."""

    lines: Lines
    drawn: Lines | None
    other: Lines | None
    up: np.ndarray

    @staticmethod
    def of(footing: Footing, upper: Placed) -> Foot | None:
        every = foot(footing, upper)
        if not every:
            return None
        part, up = upper.part, upper.up(upper.part.rings[0][:1])[0]
        edges = [part.edge(face) for face in footing.faces]
        if part.bent or is_bar(part) or any(edge is None for edge in edges):
            return Foot(Lines.of(every), None, None, up)
        both = [pair for edge in edges if edge is not None for pair in _both_lines(part, edge)]
        near = [upper.place(stretch, np.zeros(len(stretch))) for stretch, _ in both]
        far = [upper.place(across, np.full(len(across), part.thickness)) for _, across in both]
        return Foot(Lines.of(every), Lines.of(near), Lines.of(far), up)

    def nearest(self, points: np.ndarray, directions: np.ndarray) -> np.ndarray:
        """The points (N, 3) of the lines that are nearest to marks (N, 3), of the face that `directions` (N, 3) look to."""
        return self.feet(points, directions)[0]

    def feet(self, points: np.ndarray, directions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The same, and which way the lines run there (N, 3), as `Lines.feet` tells it."""
        lean = directions @ self.up
        drawn, other = lean > _LOOKS, lean < -_LOOKS
        feet, ways = np.empty_like(points), np.empty_like(points)
        for lines, here in ((self.drawn, drawn), (self.other, other), (self.lines, ~(drawn | other))):
            if here.any():
                feet[here], ways[here] = (lines or self.lines).feet(points[here])
        return feet, ways


def _end(bar: Placed, edge: Edge) -> np.ndarray:
    """The circle (N, 3) in which a round bar ends, whose paper is a strip as wide as it is thick."""
    radius, angle = bar.part.thickness / 2, np.linspace(0.0, 2 * np.pi, 49)
    line = edge.stretches[0]
    across = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    flat = line.mean(axis=0) + radius * np.outer(np.cos(angle), across)
    return bar.place(flat, radius * (1.0 + np.sin(angle)))


def foot_normal(footing: Footing, upper: Placed) -> np.ndarray | None:
    """(3,) unit, out of the foam where the upper part stands on the mark; None where it faces all ways, as a rim."""
    part, total = upper.part, np.zeros(3)
    for face in footing.faces:
        if face in FACES:
            ring = part.rings[0]
            up = upper.up(ring[:: max(1, len(ring) // 12)]).mean(axis=0)
            total += up if (face == "inside") == part.drawn_inside else -up
        elif (edge := part.edge(face)) is not None:
            line = np.vstack(edge.stretches)
            tangent = np.gradient(line, axis=0)
            out = np.column_stack([tangent[:, 1], -tangent[:, 0]])  # the foam is to the left of its outline
            ends = upper.place(
                line + 0.5 * out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9),
                np.full(len(line), part.thickness / 2),
            ) - upper.place(line, np.full(len(line), part.thickness / 2))
            total += ends.mean(axis=0) / 0.5
    size = float(np.linalg.norm(total))
    return None if size < 0.6 else total / size


@lru_cache(maxsize=4096)
def arrow(copy: Copy, piece: Placed, name: str) -> np.ndarray | None:
    """(3,) where an arrow on a copy's paper points in space; None if it says nothing of this copy. It is asked of all that
    stands whenever something is set."""
    direction = piece.part.arrows[copy.number - 1].get(name)
    if direction is None:
        return None
    middle = piece.part.rings[0].mean(axis=0)
    ends = piece.place(np.array([middle, middle + direction]), np.zeros(2))
    step = ends[1] - ends[0]
    return step / max(float(np.linalg.norm(step)), 1e-9)
