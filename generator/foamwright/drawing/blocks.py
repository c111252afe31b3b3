"""Texts that belong together: lines set below each other, and blocks beside each other on one middle line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from foamwright.drawing.metrics import line_step, text_box
from foamwright.drawing.primitives import Text

Block = tuple[Text, ...]

_STEEPEST = 105.0  # degrees; a steeper line is read the other way
_SAME = 1e-3  # mm within which lines of a block stand where they were set


def text_blocks(texts: Iterable[Text]) -> tuple[Block, ...]:
    """The texts in blocks, in their order. What only happens to stand near is no part of a block."""
    columns: list[list[Text]] = []
    for text in texts:
        if columns and _follows(columns[-1][-1], text):
            columns[-1].append(text)
        else:
            columns.append([text])
    blocks: list[list[Text]] = []
    for column in columns:
        if blocks and _beside(blocks[-1], column):
            blocks[-1] += column
        else:
            blocks.append(column)
    return tuple(map(tuple, blocks))


def reading_angle(angle: float) -> float:
    """The direction of a line, in degrees, such that words along it read from below or from the right.

    That is in (-75, 105]: a line that is nearly vertical reads like one that is (ways of reading after ISO 129-1,
    from memory; the 15 degrees are our own).
    """
    if _STEEPEST - 180.0 < angle <= _STEEPEST:
        return angle
    turned = (angle - _STEEPEST) % 180.0 + _STEEPEST - 180.0
    return _STEEPEST if turned == _STEEPEST - 180.0 else turned


def upright(block: Sequence[Text]) -> Block:
    """The block in the same box at an angle to read at: turned over about its middle if need be."""
    angle = reading_angle(block[0].angle)
    if abs((angle - block[0].angle + 180.0) % 360.0 - 180.0) < 90.0:
        return tuple(replace(text, angle=angle) for text in block)
    low, high = _extent(block)
    middle = _turn(block[0].angle) @ ((low + high) / 2.0)
    return tuple(replace(t, at=tuple(map(float, 2.0 * middle - t.at)), angle=angle) for t in block)


def _follows(above: Text, text: Text) -> bool:
    """Is the text the line below?"""
    if (above.angle, above.layer, above.anchor) != (text.angle, text.layer, text.anchor):
        return False
    step = (np.asarray(text.at) - above.at) @ _turn(text.angle)
    return bool(np.abs(step + (0.0, line_step(above, text))).max() < _SAME)


def _beside(block: Sequence[Text], column: Sequence[Text]) -> bool:
    """Does the column stand to the right of a block that is headed in bold?"""
    if not block[0].bold or block[0].angle != column[0].angle:
        return False
    (_, low), (right, high) = _extent(block)
    (left, its_low), (_, its_high) = _extent(column)
    return abs(low + high - its_low - its_high) < _SAME and -_SAME < left - right <= block[0].height


def _extent(block: Sequence[Text]) -> tuple[np.ndarray, np.ndarray]:
    """Lower left and upper right corner, in the axes of its lines."""
    corners = np.vstack([text_box(text) for text in block]) @ _turn(block[0].angle)
    return corners.min(axis=0), corners.max(axis=0)


def _turn(angle: float) -> np.ndarray:
    """(2, 2) its columns are the directions along a line of text and up from it."""
    a = np.radians(angle)
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
