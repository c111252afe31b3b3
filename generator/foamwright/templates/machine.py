"""The drawing that a cutting machine follows: lines moved by half its kerf, so that the part comes out true."""

from __future__ import annotations

import numpy as np

from foamwright.drawing.primitives import Drawing, Path
from foamwright.errors import BuildError
from foamwright.flatten.records import Pattern, silhouette
from foamwright.geometry.drawn import seen_from_inside
from foamwright.parts.outlines import rings
from foamwright.templates.fittings import fitting_lines


def machine_drawing(pattern: Pattern, mirrored: bool) -> Drawing:
    """What is cut and engraved of one copy, seen from the outside face, which lies up; in mm.

    The line is that of the larger face, since a machine cuts square: bevels are cut by hand afterwards. It is moved
    outwards and holes inwards by half the stock's kerf. A `mirrored` copy is the reflection. Raises BuildError for a
    stock without a kerf, and for a hole no wider than the kerf.
    """
    kerf = pattern.piece.stock.kerf
    if kerf is None:
        raise BuildError(f"stock {pattern.piece.stock.id} states no kerf")
    grown = silhouette(pattern).buffer(kerf / 2, join_style="mitre", mitre_limit=3.0)
    outline, holes = rings(grown)
    if len(holes) != len(pattern.holes):
        raise BuildError(f"part {pattern.piece.id}: a hole that a cut of {kerf:g} mm closes; make it larger")
    cuts = [Path(outline, "cut", closed=True), *(Path(hole, "cut-inner", closed=True) for hole in holes)]
    as_drawn = mirrored or not pattern.piece.placements  # what stands nowhere has no outside
    paths = (*cuts, *fitting_lines(pattern))
    if as_drawn:
        return Drawing(paths)
    return Drawing(tuple(Path(seen_from_inside(p.points), p.layer, p.closed) for p in paths))


def extent(drawing: Drawing) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of all its paths."""
    points = np.concatenate([path.points for path in drawing.items if isinstance(path, Path)])
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return x0, y0, x1, y1
