"""Labels on a drawing: how a line of words must lie to be read, and a label turned over so that it does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Label

_STEEPEST = 105.0  # degrees; a steeper line is read the other way


def reading_angle(angle: float) -> float:
    """The direction of a line, in degrees, such that words along it read from below or from the right.

    That is in (-75, 105]: a line that is nearly vertical reads like one that is (ways of reading after ISO 129-1,
    from memory; the 15 degrees are our own).
    """
    if _STEEPEST - 180.0 < angle <= _STEEPEST:
        return angle
    turned = (angle - _STEEPEST) % 180.0 + _STEEPEST - 180.0
    return _STEEPEST if turned == _STEEPEST - 180.0 else turned


def upright(label: Label) -> Label:
    """The label in the same box at an angle to read at: turned over about its middle if need be."""
    angle = reading_angle(label.angle)
    if angle == label.angle:
        return label
    if abs((angle - label.angle + 180.0) % 360.0 - 180.0) < 90.0:
        return Label(tuple(replace(text, angle=angle) for text in label.texts))
    along = np.radians(label.angle)
    turn = np.array([[np.cos(along), -np.sin(along)], [np.sin(along), np.cos(along)]])
    corners = label_corners(label) @ turn
    x, y = turn @ (corners.min(axis=0) + corners.max(axis=0))  # twice the middle
    return Label(tuple(replace(t, at=(float(x - t.at[0]), float(y - t.at[1])), angle=angle) for t in label.texts))


def label_corners(label: Label) -> np.ndarray:
    """(4 N, 2) corners of the boxes of all its lines, in mm."""
    return np.vstack([text_box(text) for text in label.texts])
