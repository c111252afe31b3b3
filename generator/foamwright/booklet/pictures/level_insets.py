"""Small drawings of how far: a part below a rim, and the gap that a spacer sets. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from foamwright.assembly.bodies import Bodies, frame
from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.slices import sliced
from foamwright.booklet.pictures.strokes import WORDS, figure, pointed, polygons
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.flatten.records import Pattern
from foamwright.language import length, say
from foamwright.parts.records import Piece

_SQUARE = 0.05  # sides of a spacer that differ by less look alike


def recess(bodies: Bodies, copy: int, there: Sequence[int], top: float, rim: float) -> Inset:
    """A cut across the prop through a level part, with how far its upper face lies below the rim of the opening."""
    middle = bodies.mesh((copy,))[0].mean(axis=0)
    view = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    at = np.array([middle[0], middle[1], top])
    cut = {i: shape for i in there if not (shape := sliced(bodies, i, at, view)).is_empty}
    bounds = np.array([shape.bounds for shape in cut.values()])
    low, high = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    high[1] = max(high[1], rim - top)
    scale = float((np.array(INSET) * (1.0, 1.3) / (high - low)).min())
    shift = np.array([INSET[0] / 2.0 - scale * (low[0] + high[0]) / 2.0, -scale * high[1] - 0.5])
    items: list[Primitive] = []
    for i, shape in cut.items():
        colour = bodies.pieces[i].stock.colour
        rings = [scale * np.array(polygon.exterior.coords)[:-1] + shift for polygon in polygons(shape)]
        items += [Path(ring, "view", True, colour) for ring in rings]
    ends = [np.array([0.0, level]) * scale + shift for level in (rim - top, 0.0)]
    across = [np.array([x, rim - top]) * scale + shift for x in (low[0], high[0])]
    items.append(Path(np.array(across), "fold"))
    middle_of = (ends[0] + ends[1]) / 2.0
    items += pointed(middle_of, ends[0]) + pointed(middle_of, ends[1])
    items.append(Text((float(middle_of[0]) + 1.2, float(middle_of[1]) - 1.0), length(rim - top), WORDS, "note"))
    said = say("Cut across: the upper face of {part} is {size} below the rim.", part=bodies.pieces[copy].label,
               size=length(rim - top))  # fmt: skip
    return Inset(tuple(items), scale * float(high[1] - low[1]) + 1.0, said)


def spacer(gauge: Pattern, piece: Piece, bodies: Bodies) -> Inset | None:
    """Two neighbours with the gauge between them, seen square to the face that they stand on."""
    copies = bodies.of(piece.id)
    axes = frame(piece, bodies.matrices[copies[0]]) if len(copies) > 1 else None
    even = piece.gap
    if axes is None or even is None:
        return None
    pairs = [_side_by_side(bodies, axes[2], one, other) for one, other in pairwise(copies)]
    shapes = min(pairs, key=lambda pair: round(abs(_gap(pair) - even), 2))  # a row may close up towards its end
    gap = _gap(shapes)
    if gap < 0.5:
        return None
    low, high = shapes[0].bounds[0], shapes[1].bounds[2]
    tall = max(shape.bounds[3] - shape.bounds[1] for shape in shapes)
    sides = np.ptp(gauge.outline, axis=0).tolist()
    across, along = sorted(sides, key=lambda side: abs(side - gap))
    scale = min((INSET[0] - 4.0) / (high - low), 16.0 / tall, 24.0 / along)
    half = scale * max(along, tall) / 2.0
    shift = np.array([INSET[0] / 2.0 - scale * (low + high) / 2.0, -half - 0.5])
    items: list[Primitive] = []
    for shape in shapes:
        ring = np.array(polygons(shape)[0].simplify(0.05).exterior.coords)[:-1]
        items.append(Path(scale * ring + shift, "view", True, piece.stock.colour))
    x0, x1 = shapes[0].bounds[2], shapes[1].bounds[0]
    y = along / 2.0
    strip = scale * np.array([[x0, -y], [x1, -y], [x1, y], [x0, y]]) + shift
    items.append(Path(strip, "view-new", True, gauge.piece.stock.colour))
    items.append(figure((float(strip[:, 0].mean()), -2.0 * half - 3.6), length(gap)))
    if abs(across - along) < _SQUARE * along:
        said = say("Spacer {gauge} sets the gap between two {part}.", gauge=gauge.piece.label, part=piece.label)
    elif across < along:
        said = say("Spacer {gauge} sets the gap between two {part}: its short side lies across.",
                   gauge=gauge.piece.label, part=piece.label)  # fmt: skip
    else:
        said = say("Spacer {gauge} sets the gap between two {part}: its long side lies across.",
                   gauge=gauge.piece.label, part=piece.label)  # fmt: skip
    said += " " + say("Take it away before the glue holds it.")
    return Inset(tuple(items), 2.0 * half + 4.6, said)


def _side_by_side(bodies: Bodies, off: np.ndarray, one: int, other: int) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Two copies seen along `off`, the second to the right of the first."""
    here, there = (bodies.mesh((copy,))[0].mean(axis=0) for copy in (one, other))
    line = there - here - ((there - here) @ off) * off
    line = line / max(float(np.linalg.norm(line)), 1e-9)
    view = np.vstack([line, np.cross(off, line)])
    shapes = []
    for copy in (one, other):
        points, triangles = bodies.mesh((copy,))
        flat = (points - here) @ view.T
        shapes.append(shapely.union_all(shapely.polygons(flat[triangles])))
    return shapes[0], shapes[1]


def _gap(shapes: tuple[shapely.Geometry, shapely.Geometry]) -> float:
    return float(shapes[1].bounds[0] - shapes[0].bounds[2])
