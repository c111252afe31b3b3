"""The lines along which a strip is scored and folded, at its corners but the one where it closes."""

from __future__ import annotations

import numpy as np

from foamwright.drawing.primitives import Path, Primitive
from foamwright.flatten.bands import developed
from foamwright.flatten.records import Pattern
from foamwright.parts.records import BandBody
from foamwright.templates import wording
from foamwright.templates.edges import Walk, edge_label
from foamwright.templates.place import Field


def fold_lines(pattern: Pattern) -> list[Path]:
    return [Path(line, "fold") for line, _ in _folds(pattern)]


def fold_labels(pattern: Pattern, field: Field) -> tuple[Primitive, ...]:
    """How each fold is cut, along its line; nothing where all are alike, as the heading says it then."""
    folds = _folds(pattern)
    if not wording.folds_differ(pattern):
        return ()
    drawn: list[Primitive] = []
    for line, turn in folds:
        distance = np.array([0.0, float(np.hypot(*(line[1] - line[0])))])
        drawn += edge_label(wording.fold_text(turn), Walk(line, distance, distance, 1), field)
    return tuple(drawn)


def _folds(pattern: Pattern) -> list[tuple[np.ndarray, float]]:
    """Each line (2, 2) with its turn in degrees, + where it is cut from the face that is drawn on; left to right."""
    body, stock = pattern.piece.body, pattern.piece.stock
    if not isinstance(body, BandBody):
        return []
    y0, y1 = pattern.outline[:, 1].min(), pattern.outline[:, 1].max()
    places = -developed(body, stock.thickness, stock.k).places  # seen from inside
    found = [(float(places[c.at]), c.turn) for c in body.corners if c.made == "scored" and c.at]
    return [(np.array([[x, y0], [x, y1]]), turn) for x, turn in sorted(found)]
