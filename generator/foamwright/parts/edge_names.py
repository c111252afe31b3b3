"""Names of a panel's edges: the id of the cut, numbered where one cut makes several.

The numbers follow from where edges lie on the form and never from where its triangles happen to begin: the same design
has the same names at every size. Lengths in mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from foamwright.parts.records import PanelEdge

_ALIKE = 0.01  # of the panel's size: two places less far apart than this count as equally far on


def numbered(edges: Sequence[PanelEdge]) -> list[PanelEdge]:
    """Edges in their order, which is that around each loop, with the id of their cut and a number where it makes several.

    Number 1 is the foremost of them (x forward), of those equally far forward the one furthest left (y), then the highest
    (z), by their centres of gravity; the next follow around the panel, counter-clockwise as seen from outside. Those of
    openings come after those of the rim, opening by opening in the same way.
    """
    total = Counter(edge.cut for edge in edges)
    names = [edge.cut for edge in edges]
    for cut, count in total.items():
        if count > 1:
            own = [i for i, edge in enumerate(edges) if edge.cut == cut]
            for number, i in enumerate(_in_order(edges, own), 1):
                names[i] = f"{cut}.{number}"
    return [replace(edge, id=name) for edge, name in zip(edges, names)]


def _in_order(edges: Sequence[PanelEdge], own: Sequence[int]) -> list[int]:
    """The numbers `own` of edges of one cut, in the order in which they are named."""
    places = _places([edges[i] for i in own])
    slack = _ALIKE * float(np.ptp(np.vstack([edge.on_form for edge in edges]), axis=0).max())
    left, ordered = list(range(len(own))), []
    while left:
        rim = [k for k in left if edges[own[k]].loop == 0]
        first = _foremost(places, rim or left, slack)
        around = [k for k in left if edges[own[k]].loop == edges[own[first]].loop]
        start = around.index(first)
        ordered += around[start:] + around[:start]
        left = [k for k in left if k not in around]
    return [own[k] for k in ordered]


def _foremost(places: np.ndarray, of: Sequence[int], slack: float) -> int:
    """Of the places (n, 6) numbered in `of` the one that is furthest along the first of their axes on which they differ."""
    kept = np.asarray(of)
    for axis in range(places.shape[1]):
        along = places[kept, axis]
        kept = kept[along > along.max() - slack]
    return int(kept[0])


def _places(edges: Sequence[PanelEdge]) -> np.ndarray:
    """(n, 6) the centre of gravity of each edge on the form and, for two that run along one line both ways, where it begins."""
    return np.array([np.r_[_middle(edge.on_form), edge.on_form[0]] for edge in edges])


def _middle(line: np.ndarray) -> np.ndarray:
    """(3,) the centre of gravity of a line (N, 3), which is the same from wherever a closed one begins."""
    lengths = np.linalg.norm(np.diff(line, axis=0), axis=1)
    return np.average((line[1:] + line[:-1]) / 2, axis=0, weights=np.maximum(lengths, 1e-9))
