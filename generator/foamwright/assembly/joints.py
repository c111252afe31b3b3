"""Where glue goes within parts and along seams, measured on the patterns; what else is glued is told by what touches."""

from __future__ import annotations

import numpy as np

from foamwright.assembly.records import Joint
from foamwright.flatten.records import Pattern, PatternEdge, Patterns, Seam
from foamwright.parts.records import Piece, Prop


def joints(prop: Prop, patterns: Patterns) -> tuple[Joint, ...]:
    """The joints that the patterns tell, each once: those inside a part first, then seams. Loose parts have none."""
    stated = []
    for pattern in patterns.patterns:
        stated += _own(pattern)
    stated += [_seam(prop, seam) for seam in patterns.seams]
    return tuple(joint for joint in stated if joint.glue != "none")


def perimeter(pattern: Pattern) -> float:
    """Length in mm of everything that is cut for one copy: the outline with its darts, and the holes."""
    return sum(_loop_length(loop) for loop in (pattern.outline, *pattern.holes))


def beneath(prop: Prop) -> dict[str, tuple[str, ...]]:
    """The parts that each part is glued face to face on, in the order they are named."""
    lower: dict[str, dict[str, None]] = {piece.id: dict.fromkeys(piece.lies_on) for piece in prop.pieces}
    for lap in prop.laps:
        lower[lap.upper][lap.lower] = None
    return {part: tuple(parts) for part, parts in lower.items()}


def _loop_length(loop: np.ndarray) -> float:
    return float(np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1).sum())


def _own(pattern: Pattern) -> list[Joint]:
    """Darts and lamination: joints inside one part."""
    piece = pattern.piece
    own = []
    if pattern.split:
        lines = pattern.split.lines
        length = sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines)
        area = length * piece.stock.thickness
        if pattern.split.joint == "scarf":
            length /= 2  # each has two lines, and the sloping face between them
            area = sum(segment.area for segment in pattern.split.segments) - pattern.area
        own.append(Joint("split", (piece.id,), length, area, piece.quantity, "contact"))
    if pattern.darts:
        length = sum(max(dart.lengths) for dart in pattern.darts)
        area = length * piece.stock.thickness
        own.append(Joint("dart", (piece.id,), length, area, piece.quantity, piece.glue))
    if piece.layers > 1:
        area = pattern.area * (piece.layers - 1)
        own.append(Joint("laminate", (piece.id,), 0.0, area, len(piece.placements), "contact"))
    return own


def _seam(prop: Prop, seam: Seam) -> Joint:
    a, b = prop.piece(seam.part_a), prop.piece(seam.part_b)
    length = max(seam.length_a, seam.length_b)
    thickness = min(a.thickness, b.thickness)
    parts = (a.id,) if a is b else (a.id, b.id)
    copies = seam.copies or _seam_copies(seam, a, b)
    return Joint("seam", parts, length, length * thickness, copies, seam.glue, (seam.edge_a, seam.edge_b))


def _seam_copies(seam: Seam, a: Piece, b: Piece) -> int:
    """A seam between a part and its own mirror image takes two copies of the part, one with itself only one."""
    if a is b:
        return len(a.placements) if seam.edge_a != seam.edge_b else max(len(a.placements) // 2, 1)
    return max(len(a.placements), len(b.placements))


def drawn_length(edge: PatternEdge) -> float:
    """Length of an edge in mm as it is drawn, on the inside face, with its darts closed."""
    spans = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    spans[list(edge.mouths)] = 0.0
    return float(spans.sum())
