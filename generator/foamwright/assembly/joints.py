"""Where glue goes: every seam, joined edge, lap, dart and lamination of a prop, measured on its patterns."""

from __future__ import annotations

import numpy as np

from foamwright.assembly.records import Joint
from foamwright.flatten.records import Pattern, PatternEdge, Patterns, Seam
from foamwright.parts.records import Piece, Prop, RodBody
from foamwright.registry import kind


def joints(prop: Prop, patterns: Patterns) -> tuple[Joint, ...]:
    """All joints, each once: those inside a part first, then seams, joined edges and laps. Loose parts have none."""
    stated = []
    for pattern in patterns.patterns:
        stated += _own(pattern)
    stated += [_seam(prop, seam) for seam in patterns.seams]
    stated += _edges(patterns)
    stated += _laps(prop, patterns)
    return tuple(joint for joint in (*stated, *_spots(prop, patterns, stated)) if joint.glue != "none")


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
    thickness = min(a.stock.thickness * a.layers, b.stock.thickness * b.layers)
    parts = (a.id,) if a is b else (a.id, b.id)
    copies = seam.copies or _seam_copies(seam, a, b)
    return Joint("seam", parts, length, length * thickness, copies, seam.glue, (seam.edge_a, seam.edge_b))


def _seam_copies(seam: Seam, a: Piece, b: Piece) -> int:
    """A seam between a part and its own mirror image takes two copies of the part, one with itself only one."""
    if a is b:
        return len(a.placements) if seam.edge_a != seam.edge_b else max(len(a.placements) // 2, 1)
    return max(len(a.placements), len(b.placements))


def _edges(patterns: Patterns) -> list[Joint]:
    """Edges that meet another part without being a seam, as the rim of a bulkhead does.

    An edge that both parts name is one joint; so are the two ends of a band that meet each other.
    """
    glued = []
    counted: set[frozenset[str]] = set()
    for pattern in patterns.patterns:
        piece = pattern.piece
        pairs_here: set[frozenset[str]] = set()
        for edge in pattern.edges:
            pairs = {frozenset((piece.id, other)) for other in edge.joins}
            own_ends = frozenset((piece.id,))
            if edge.seam is not None or not pairs - counted or pairs & pairs_here == {own_ends}:
                continue
            pairs_here |= pairs
            parts = tuple(dict.fromkeys((piece.id, *edge.joins)))
            area = edge.length * piece.stock.thickness * piece.layers
            copies = len(piece.placements)
            glued.append(Joint("edge", parts, edge.length, area, copies, piece.glue, (edge.id,)))
        counted |= pairs_here
    return glued


def _laps(prop: Prop, patterns: Patterns) -> list[Joint]:
    """Parts glued by a whole face, which a bulkhead never is: it touches what it lies on with its rim."""
    stated = {lap.upper: lap.glue for lap in prop.laps}
    lapped = []
    for part, lower in beneath(prop).items():
        pattern = patterns.pattern(part)
        piece = pattern.piece
        if lower and not kind(piece.kind).rim_only:
            glue = stated.get(part, piece.glue)
            lapped.append(Joint("lap", (part, *lower), 0.0, _face(pattern), len(piece.placements), glue))
    return lapped


def _face(pattern: Pattern) -> float:
    """Area in mm2 of the face that a part is glued on with: of a bar its end."""
    body = pattern.piece.body
    return np.pi * body.diameter**2 / 4 if isinstance(body, RodBody) else pattern.area


def _spots(prop: Prop, patterns: Patterns, stated: list[Joint]) -> list[Joint]:
    """Parts of which no edge or face is known to meet another part: they are glued where they touch.

    A bulkhead touches the shell around it with its whole rim, any other part the parts that it comes after.
    """
    lower = beneath(prop)
    between = [joint for joint in stated if len(joint.parts) > 1]
    first = {joint.parts[0] for joint in between}
    either = first | {part for joint in between if joint.kind in ("seam", "edge") for part in joint.parts}
    spots = []
    for piece in prop.pieces:
        if piece.id in (first if kind(piece.kind).rim_only else either):
            continue
        near = dict.fromkeys((*piece.after, *lower[piece.id]))
        if kind(piece.kind).rim_only:
            near |= dict.fromkeys(_shell_around(prop, piece, lower))
            length = _loop_length(patterns.pattern(piece.id).outline)
            area = length * piece.stock.thickness * piece.layers
            spots.append(Joint("rim", (piece.id, *near), length, area, len(piece.placements), piece.glue))
        else:
            spots.append(Joint("spot", (piece.id, *near), 0.0, 0.0, len(piece.placements), piece.glue))
    return spots


def _shell_around(prop: Prop, bulkhead: Piece, lower: dict[str, tuple[str, ...]]) -> list[str]:
    """The panels of the form that the bulkhead is a section of, without the skins over them."""
    form = {spec.id: spec.values.get("form") for spec in prop.design.parts}
    own = form.get(bulkhead.id)
    return [
        piece.id
        for piece in prop.pieces
        if own is not None and kind(piece.kind).is_shell and form.get(piece.id) == own and not lower[piece.id]
    ]


def drawn_length(edge: PatternEdge) -> float:
    """Length of an edge in mm as it is drawn, on the inside face, with its darts closed."""
    spans = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    spans[list(edge.mouths)] = 0.0
    return float(spans.sum())
