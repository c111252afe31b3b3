"""What the templates step returns: one drawing per piece of foam, with everything a template must say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.drawing.primitives import Drawing
from foamwright.flatten.records import FlatMesh, Pattern
from foamwright.parts.records import Piece


@dataclass(frozen=True, eq=False)
class Mark:
    """Where a copy of `upper` lies: the `lines` to draw, the `region` under it, and on which face."""

    upper: Piece
    lines: tuple[np.ndarray, ...]  # (N, 2) each
    region: shapely.Geometry
    on_inside: bool
    copies: tuple[int, ...] = ()  # of the lower part, from 1, on which it lies; empty for all
    of: tuple[tuple[int, int], ...] = ()  # copies of the lower part, and which copy of the upper one lies there
    glued: bool = True  # False where it only rests there
    overhang: float = 0.0  # mm by which it reaches beyond what it lies on there

    @property
    def layer(self) -> str:
        """The layer of its lines: they look unlike where no glue goes, and on the face that is not drawn on."""
        return ("mark" if self.glued else "rest") + ("" if self.on_inside else "-other")


LAID = {
    True: "laid",
    False: "laid-other",
}  # the layer of the Vs beside lines, by whether these are on the inside face: of a V
# in the dots of its line nothing but specks would be left


@dataclass(frozen=True, eq=False)
class Template:
    """A piece of foam ready to print: `drawing` in pattern coordinates, `bounds` (x0, y0, x1, y1) of all.

    `pattern` is that of the part, or of one of its segments in the coordinates of the part.
    `footprint` (N, 2) is the cut outline: what must stay clear of other parts on a page. `marks` are the outlines drawn
    on it of what is glued there.
    """

    pattern: Pattern
    drawing: Drawing
    bounds: tuple[float, float, float, float]
    footprint: np.ndarray
    marks: tuple[Mark, ...] = ()


def mesh_of(pattern: Pattern) -> FlatMesh:
    """The mesh of a pattern that was flattened from a curved form; ValueError for any other."""
    if pattern.mesh is None:
        raise ValueError(f"{pattern.piece.id} is flat or a straight development and has no mesh")
    return pattern.mesh
