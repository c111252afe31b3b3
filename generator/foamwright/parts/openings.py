"""Openings cut square through a flat part."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.forms.surface import Surface
from foamwright.parts import outlines
from foamwright.parts.records import FlatBody
from foamwright.parts.sections import sections_in


def opened(
    body: FlatBody,
    thickness: float,
    openings: Sequence[Mapping],
    folder: str,
    surface_of: Callable[[str], Surface],
) -> FlatBody:
    """The part with `openings` (outlines in its frame) as holes; its edges stay as they are.

    Raises BuildError for an opening that reaches the edge of either face, or another opening.
    """

    section_of = sections_in(body.frame, surface_of)
    shape = Polygon(body.outline)
    inner, outer = (Polygon(face) for face in body.faces(thickness))
    holes = list(body.holes)
    for number, given in enumerate(openings, 1):
        hole = outlines.polygon(given, folder, section_of)
        if not shape.contains_properly(hole) or any(Polygon(h).intersects(hole) for h in holes):
            raise BuildError(f"its opening {number} runs out of the plate or into another; make it smaller or move it")
        if not (inner.contains_properly(hole) and outer.contains_properly(hole)):
            raise BuildError(
                f"its opening {number} runs into a bevelled edge, whose {'outer' if inner.contains_properly(hole) else 'inner'} "
                "line lies further in; make it smaller or move it"
            )
        holes.append(outlines.rings(hole)[0])
    return replace(body, holes=tuple(holes))
