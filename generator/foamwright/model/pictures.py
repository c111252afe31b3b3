"""The pictures of the booklet: the finished prop, and each step with its new parts in bold."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.booklet.records import Picture, Pictures, Step
from foamwright.model.records import Model
from foamwright.model.views import View, view

# The eye looks along these: from the front left above, from behind on the right above, and from below.
FRONT = (-1.0, -1.3, -0.75)
BACK = (1.0, 1.3, -0.75)
ABOVE = (-0.5, -0.65, -2.2)
BELOW = (-1.0, -1.3, 0.6)
UP = (0.0, 0.0, 1.0)

_WELL_SEEN = 0.88  # share of the lines of the new parts that show: good enough to look no further


def draw_pictures(model: Model, steps: Sequence[Step]) -> Pictures:
    """All pictures that the steps need, and the finished prop from two sides."""
    everything = range(len(model.copies))
    finished = tuple(_picture(view(model, everything, way, UP), frozenset()) for way in (FRONT, BACK))
    drawn = {}
    placed: list[int] = []
    for step in steps:
        new = [i for i, copy in enumerate(model.copies) if copy.piece.id in step.places and i not in placed]
        if not new:
            continue
        shown = placed + new
        drawn[step.number] = _clearest(model, shown, set(new))
        placed = shown
    return Pictures(finished, drawn, _overall(model))


def _clearest(model: Model, shown: list[int], new: set[int]) -> Picture:
    """From the front, unless the new parts can hardly be seen from there and better from elsewhere."""
    marked = frozenset(k for k, i in enumerate(shown) if i in new)
    alone = sorted(new)
    best, best_share = None, -1.0
    for way in (FRONT, ABOVE, BACK, BELOW):
        together = view(model, shown, way, UP)
        free = _length(view(model, alone, way, UP), range(len(alone)))
        share = _length(together, marked) / max(free, 1e-9)
        if share > best_share + 0.15:
            best, best_share = _picture(together, marked), share
        if share > _WELL_SEEN:
            break
    return best


def _length(seen: View, which) -> float:
    return float(sum(np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for k in which for line in seen.lines[k]))


def _picture(seen: View, marked: frozenset[int]) -> Picture:
    old = tuple(line for k, lines in enumerate(seen.lines) if k not in marked for line in lines)
    new = tuple(line for k, lines in enumerate(seen.lines) if k in marked for line in lines)
    return Picture(old, new, seen.bounds)


def _overall(model: Model) -> tuple[float, float, float]:
    boxes = [copy.shape.BoundingBox() for copy in model.copies]
    return (
        max(b.xmax for b in boxes) - min(b.xmin for b in boxes),
        max(b.ymax for b in boxes) - min(b.ymin for b in boxes),
        max(b.zmax for b in boxes) - min(b.zmin for b in boxes),
    )
