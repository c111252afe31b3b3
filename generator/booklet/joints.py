"""Where glue goes: every seam, joined edge, lap, dart and lamination of a prop, measured on its patterns."""

from __future__ import annotations

import numpy as np

from generator.booklet.records import Joint
from generator.flatten.records import Pattern, Patterns, Seam
from generator.parts.records import Piece, Prop


def joints(prop: Prop, patterns: Patterns) -> tuple[Joint, ...]:
    """All joints, each once: those inside a part first, then seams, joined edges and laps."""
    found = []
    for pattern in patterns.patterns:
        found += _own(pattern)
    found += [_seam(prop, seam) for seam in patterns.seams]
    found += _edges(patterns)
    found += _laps(prop, patterns)
    return tuple(found)


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
    found = []
    if pattern.darts:
        length = sum(max(dart.lengths) for dart in pattern.darts)
        area = length * piece.stock.thickness
        found.append(Joint("dart", (piece.id,), length, area, piece.quantity, piece.glue))
    if piece.layers > 1:
        area = pattern.area * (piece.layers - 1)
        found.append(Joint("laminate", (piece.id,), 0.0, area, len(piece.placements), "contact"))
    return found


def _seam(prop: Prop, seam: Seam) -> Joint:
    a, b = prop.piece(seam.part_a), prop.piece(seam.part_b)
    length = max(seam.length_a, seam.length_b)
    thickness = min(a.stock.thickness * a.layers, b.stock.thickness * b.layers)
    parts = (a.id,) if a is b else (a.id, b.id)
    area = length * thickness
    return Joint("seam", parts, length, area, _seam_copies(a, b), seam.glue, (seam.edge_a, seam.edge_b))


def _seam_copies(a: Piece, b: Piece) -> int:
    """A seam between a part and its own mirror image takes two copies of the part."""
    if a is b:
        return max(len(a.placements) // 2, 1)
    return max(len(a.placements), len(b.placements))


def _edges(patterns: Patterns) -> list[Joint]:
    """Edges that meet another part without being a seam, as the rim of a bulkhead does."""
    found = []
    counted: set[frozenset[str]] = set()
    for pattern in patterns.patterns:
        piece = pattern.piece
        pairs_here: set[frozenset[str]] = set()
        for edge in pattern.edges:
            pairs = {frozenset((piece.id, other)) for other in edge.joins}
            if edge.seam is not None or not pairs - counted:
                continue
            pairs_here |= pairs
            parts = (piece.id, *edge.joins)
            found.append(_rim(parts, edge.length, piece, piece.glue, (edge.id,)))
        counted |= pairs_here
    return found


def _laps(prop: Prop, patterns: Patterns) -> list[Joint]:
    """Parts glued by a whole face. A bulkhead touches the form with its rim, which is an edge, not a lap."""
    stated = {lap.upper: lap.glue for lap in prop.laps}
    found = []
    for part, lower in beneath(prop).items():
        pattern = patterns.pattern(part)
        piece = pattern.piece
        glue = stated.get(part, piece.glue)
        if not lower:
            continue
        if piece.kind != "bulkhead":
            found.append(Joint("lap", (part, *lower), 0.0, pattern.area, len(piece.placements), glue))
        elif not any(edge.joins for edge in pattern.edges):
            found.append(_rim((part, *lower), _loop_length(pattern.outline), piece, glue, ()))
    return found


def _rim(parts: tuple[str, ...], length: float, piece: Piece, glue: str, edges: tuple[str, ...]) -> Joint:
    area = length * piece.stock.thickness * piece.layers
    return Joint("edge", parts, length, area, len(piece.placements), glue, edges)
