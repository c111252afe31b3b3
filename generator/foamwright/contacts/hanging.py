"""Which copies hang from which, and whether these are above them. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.design.records import Design
from foamwright.geometry import boxes_apart
from foamwright.parts.placing import direction
from foamwright.parts.records import Piece


def hanging(pieces: Sequence[Piece], boxes: np.ndarray) -> list[tuple[int, int]]:
    """Each copy that hangs, with the copy of each part that it hangs from which is nearest to it, by their numbers. `pieces` has
    the part of each copy, `boxes` (n, 2, 3) their lowest and highest corners."""
    pairs = []
    for one, piece in enumerate(pieces):
        for part in piece.hangs_from:
            others = [number for number, other in enumerate(pieces) if other.id == part]
            if others:
                pairs.append((one, others[int(np.argmin(boxes_apart(boxes[one], boxes[others])))]))
    return pairs


def hung_too_high(
    design: Design, pieces: Sequence[Piece], points: Sequence[np.ndarray], boxes: np.ndarray
) -> list[tuple[int, int]]:
    """Of those that hang the pairs of which the first reaches higher than what it hangs from, by the `points` (n, 3) of each
    copy. What is worn is held any way up."""
    if "wearer" in design.used_by:
        return []
    up = -direction((design.stands or {}).get("down", "-z"))
    top = [float((places @ up).max()) for places in points]
    return [(one, other) for one, other in hanging(pieces, boxes) if top[one] > top[other]]


def too_high_told(part: str, carrier: str, copy: int) -> str:
    """In words, that a copy (from 1) of a part hangs above its carrier."""
    return f"part {part} hangs from {carrier}, but its copy {copy} reaches higher than that; move it down, or let it rest there"
