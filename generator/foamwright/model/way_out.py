"""Can the figure leave the prop at all? Asked where the design does not say how it gets in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from itertools import product

import numpy as np

from foamwright.model.figure import TOLERANCE, Figure, reaches_into, way_length
from foamwright.model.figure_solids import swept
from foamwright.model.placed import Placed

Copy = tuple[str, int]  # the id of its part, and its number from 1

# straight up first, then the other ways along axes and diagonals: 26 in all
_WAYS = sorted(
    (np.array(way, float) / np.linalg.norm(way) for way in product((-1, 0, 1), repeat=3) if any(way)),
    key=lambda way: (-round(float(way[2]), 3), round(float(np.abs(way).sum()), 3), way.tolist()),
)


def shut_in(groups: Iterable[Set[Copy]], copies: Sequence[Placed], figure: Figure) -> bool:
    """Does any of the groups of copies that are glued together leave the figure no straight way out? Groups come off each
    other first, a lid with all that is glued to it. What the figure runs into in its place already is told elsewhere and
    does not count."""
    at_home = reaches_into(copies, [body.solid for body in figure.bodies], TOLERANCE)
    barring = [copy for copy in copies if (copy.part, copy.number) not in at_home]
    return any(not _leaves([copy for copy in barring if (copy.part, copy.number) in group], figure) for group in groups)


def _leaves(fixed: Sequence[Placed], figure: Figure) -> bool:
    if not fixed:
        return True
    left = list(fixed)
    for way in _WAYS:
        length = way_length(fixed, figure, -way)
        bodies = [swept(body, way, 0.0, length) for body in figure.bodies]
        first = next((copy for copy in left if reaches_into([copy], bodies, TOLERANCE)), None)
        if first is None:
            return True
        left.remove(first)  # what bars one way often bars the next
        left.insert(0, first)
    return False


def told(groups: Iterable[Set[Copy]], copies: Sequence[Placed], figure: Figure | None) -> list[str]:
    """A note for the maker of the design."""
    if figure is None or figure.way_in is not None or not shut_in(groups, copies, figure):
        return []
    return [
        f"the figure {figure.name} is shut in: no straight way in or out of its place is free; leave an opening, or a part "
        "loose, and say with `enters` how it gets in"
    ]
