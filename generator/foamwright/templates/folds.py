"""The lines along which a strip is scored and folded, at its corners but the one where it closes."""

from __future__ import annotations

import numpy as np

from foamwright.drawing.primitives import Path, Primitive
from foamwright.flatten.bands import folds
from foamwright.flatten.records import Pattern
from foamwright.templates import wording
from foamwright.templates.edges import Walk, edge_label
from foamwright.templates.place import Field


def fold_lines(pattern: Pattern) -> list[Path]:
    return [Path(line, "fold") for line, _ in _folds(pattern)]


def fold_labels(pattern: Pattern, field: Field) -> tuple[Primitive, ...]:
    """How each fold is cut, along its line; nothing where all are alike, as the heading says it then."""
    lines = _folds(pattern)
    if not wording.folds_differ(pattern):
        return ()
    drawn: list[Primitive] = []
    for line, turn in lines:
        distance = np.array([0.0, float(np.hypot(*(line[1] - line[0])))])
        drawn += edge_label(wording.fold_text(turn), Walk(line, distance, distance, 1), field)
    return tuple(drawn)


def _folds(pattern: Pattern) -> list[tuple[np.ndarray, float]]:
    """Each line (2, 2) with its turn, as `folds` has it."""
    y0, y1 = pattern.outline[:, 1].min(), pattern.outline[:, 1].max()
    return [(np.array([[x, y0], [x, y1]]), turn) for x, turn in folds(pattern.piece)]
