"""Can the figure leave the prop at all? Asked where the design does not say how it gets in."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from foamwright.model.figure import TOLERANCE, Figure, reaches_into, way_length
from foamwright.model.figure_solids import swept
from foamwright.model.placed import Placed
from foamwright.parts.records import Prop

# straight up first, then the other ways along axes and diagonals: 26 in all
_WAYS = sorted(
    (np.array(way, float) / np.linalg.norm(way) for way in product((-1, 0, 1), repeat=3) if any(way)),
    key=lambda way: (-round(float(way[2]), 3), round(float(np.abs(way).sum()), 3), way.tolist()),
)


def shut_in(prop: Prop, copies: Sequence[Placed], figure: Figure) -> bool:
    """Is no straight way out free for the figure? What is loose, or only rests, is taken off first; what the figure runs
    into in its place already is told elsewhere and does not count."""
    loose = {piece.id for piece in prop.pieces if piece.glue == "none" or piece.rests_on}
    loose |= {piece.id for piece in prop.pieces if loose & set(piece.lies_on)}
    fixed = [copy for copy in copies if copy.part not in loose]
    at_home = reaches_into(fixed, [body.solid for body in figure.bodies], TOLERANCE)
    fixed = [copy for copy in fixed if (copy.part, copy.number) not in at_home]
    for way in _WAYS:
        if not fixed:
            return False
        length = way_length(fixed, figure, -way)
        if not reaches_into(fixed, [swept(body, way, 0.0, length) for body in figure.bodies], TOLERANCE):
            return False
    return True


def told(prop: Prop, copies: Sequence[Placed], figure: Figure | None) -> list[str]:
    """A note for the maker of the design."""
    if figure is None or figure.way_in is not None or not copies or not shut_in(prop, copies, figure):
        return []
    return [
        f"the figure {figure.name} is shut in: no straight way in or out of its place is free; leave an opening, or a part "
        "loose, and say with `enters` how it gets in"
    ]
