"""Strips that stand with an edge along a closed line of a flat part, as the curved wall of a box does: they are bent as that
line runs, and as far round as they are long. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Edge, Foam, Part, ring_area
from foamwright.proof.bench.folded import turns_sharply
from foamwright.proof.bench.footings import FACES, Footing, out_of_foam
from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet

_CLOSED = 0.05  # between the ends of a line that comes round on itself
_CLOSES = 1.0  # between the ends of the strip once it is round, on a line of `_PER` mm or less
_PER = 500.0
_STRAIGHT = 0.999  # of the length of an edge, from end to end
_TRIANGLES = 2000  # of a strip, at most about


def stood_on_edge(foam: Foam, copy: Copy, joints: Sequence[Footing]) -> Placed | None:
    """A copy bent along the line that is drawn for its edge, where that lies on the bench; None of what other foam bends or is
    drawn on it, since nothing tells where along the line it begins, and of what is not as long as such a line."""
    part = foam.part(copy)
    if not part.bent or part.darts or part.marks or turns_sharply(part):
        return None
    if any(copy in (sewn.a, sewn.b) and sewn.a != sewn.b for sewn in foam.sewn):
        return None
    if any((copy, face) in ((t.a, t.face_a), (t.b, t.face_b)) for t in foam.touches if t.glued for face in FACES):
        return None
    for f in joints:
        if f.upper != copy or len(f.faces) != 1 or foam.part(f.lower).bent:
            continue
        edge = part.edge(f.faces[0])
        if edge is None or len(edge.stretches) != 1:
            continue
        begin, end = edge.stretches[0][[0, -1]]
        if float(np.linalg.norm(end - begin)) < _STRAIGHT * edge.length:
            continue
        fits = [(abs(float(chord_length(line)[-1]) - edge.length), line) for line in _neutral_lines(foam, f, part)]
        off, line = min(fits, key=lambda fit: fit[0], default=(np.inf, np.zeros((0, 2))))
        if off <= _CLOSES * max(1.0, edge.length / _PER):
            return _along(foam, copy, f, edge, line)
    return None


def _neutral_lines(foam: Foam, f: Footing, part: Part) -> Iterator[np.ndarray]:
    """Where the surface of the strip that keeps its lengths may run (N, 2) on the paper below: beside each closed line as far
    as it is from the face that is bounded there. Lines go round counter-clockwise."""
    for line in f.mark.lines:
        if len(line) < 4 or float(np.linalg.norm(line[0] - line[-1])) > _CLOSED:
            continue
        inner, outer = (part.neutral, part.thickness - part.neutral)[:: 1 if part.drawn_inside else -1]
        for away in (inner, -outer):
            area = shapely.Polygon(line).buffer(away, quad_segs=64)
            if area.geom_type == "Polygon" and not area.is_empty:
                yield shapely.get_coordinates(shapely.orient_polygons(area).exterior)


def _along(foam: Foam, copy: Copy, f: Footing, edge: Edge, line: np.ndarray) -> Placed:
    """The strip in space: along its edge it follows the line, across it stands square on the paper below."""
    part, mirrored = foam.part(copy), foam.mirrored(copy)
    below = foam.part(f.lower)
    lying = as_cut(below, foam.mirrored(f.lower), plain_sheet(below))
    up = out_of_foam(f, lying, line[:1])[0]
    course = lying.place(line, np.full(len(line), below.depth(f.mark.inside)))
    # seen from the drawn face the foam is to the left of its edge, and of its mirror image to the right
    seen = np.cross(course, np.roll(course, -1, axis=0)).sum(axis=0) @ up > 0.0  # counter-clockwise from above
    if seen == (part.drawn_inside != mirrored):
        course = course[::-1]
    begin, end = edge.stretches[0][[0, -1]]
    way = (end - begin) / np.linalg.norm(end - begin)
    sheet = sheet_of(part, max(part.thickness, float(np.sqrt(ring_area(part.rings) / _TRIANGLES / 0.433))))
    beside = sheet.flat - begin
    run = chord_length(course)
    at = (beside @ way) * run[-1] / edge.length
    foot = np.column_stack([np.interp(at, run, column) for column in course.T])
    high = beside @ np.array([-way[1], way[0]])
    return Placed(part, mirrored, sheet, foot + high[:, None] * up)
