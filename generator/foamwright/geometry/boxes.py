"""Boxes along the axes around points, by their lowest and their highest corner."""

from __future__ import annotations

import numpy as np


def box_of(points: np.ndarray) -> np.ndarray:
    """(2, 3) lowest and highest corner of the box around points (n, 3)."""
    return np.array([points.min(axis=0), points.max(axis=0)])


def boxes_apart(box: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n,) how far a box (2, 3) is from each of boxes (n, 2, 3), 0 where they meet: what is in them is no nearer."""
    gaps = np.maximum(box[0] - boxes[:, 1], boxes[:, 0] - box[1])
    return np.linalg.norm(np.maximum(gaps, 0.0), axis=1)
