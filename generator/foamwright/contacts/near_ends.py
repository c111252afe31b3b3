"""Ends of bands that come near a part and do not reach it: a handle that hangs by one of its ends. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import igl
import numpy as np

from foamwright.contacts.find import GLUE_REACH
from foamwright.geometry import Mesh, box_of, boxes_apart, chord_length
from foamwright.parts.records import BandBody, Piece

_TOUCHES = 0.3  # mm; nearer somewhere, and the end touches with an edge, which is told as a wedge of air
_NEAR = 8.0  # mm; further off, and the end is meant to be free
_BESIDE = 4.0  # thicknesses from an end within which the band may be held by its face
_ACROSS, _THROUGH = 5, 3  # places across an end and through its foam


@dataclass(frozen=True, eq=False)
class Standing:
    """A copy of a part: the motion (4, 4) that takes its body to its place, and its closed mesh there."""

    piece: Piece
    matrix: np.ndarray
    mesh: Mesh


def near_ends_told(copies: Sequence[Standing], clearance: float) -> list[str]:
    """A line for each part of which an end of a strip stands a little off another part, for whoever makes the design."""
    told: dict[tuple[str, str], tuple[float, float, np.ndarray]] = {}
    boxes = np.array([box_of(copy.mesh.points) for copy in copies]).reshape(-1, 2, 3)
    for number, copy in enumerate(copies):
        if not isinstance(copy.piece.body, BandBody) or copy.piece.body.closed:
            continue
        near = np.flatnonzero(boxes_apart(boxes[number], boxes) < _NEAR).tolist()
        others = [copies[k] for k in near if k != number]
        for end, beside in _ends(copy):
            gaps = [(_distances(end, other.mesh), other) for other in others]
            gaps = [(gap, other) for gap, other in gaps if gap.min() < _NEAR]
            if not gaps:
                continue
            gap, other = min(gaps, key=lambda item: float(item[0].mean()))
            reach = GLUE_REACH + clearance
            held = gap.min() < _TOUCHES or gap.mean() <= reach
            if not held and min(float(_distances(beside, there.mesh).min()) for _, there in gaps) > reach:
                told.setdefault((copy.piece.id, other.piece.id), (float(gap.min()), float(gap.max()), end.mean(axis=0)))
    return [
        f"part {part}: its end near ({', '.join(f'{x:.0f}' for x in at)}) stands {low:.1f} to {high:.1f} mm off {other} "
        "and is glued to nothing; bring it up to the part, or further away"
        for (part, other), (low, high, at) in told.items()
    ]


def _ends(copy: Standing) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Places (n, 3) on each end of a band in its place, and on both its faces beside that."""
    body, turn, shift = copy.piece.body, copy.matrix[:3, :3], copy.matrix[:3, 3]
    thick = copy.piece.thickness
    depths = body.inner_offset + np.linspace(0.0, thick, _THROUGH)
    shares = np.linspace(0.0, 1.0, _ACROSS)

    def places(rows: np.ndarray, depths: np.ndarray) -> np.ndarray:
        levels = body.low[rows, None] + (body.high - body.low)[rows, None] * shares
        through = body.curve[rows, None] + body.normals[rows, None] * depths[None, :, None]
        return (through[:, :, None] + levels[:, None, :, None] * body.across).reshape(-1, 3) @ turn.T + shift

    along = chord_length(body.curve)
    for row, off in ((0, along), (len(along) - 1, along[-1] - along)):
        near = np.flatnonzero((off < _BESIDE * thick) & (off > 0.5 * thick))
        yield places(np.array([row]), depths), places(near if len(near) else np.array([row]), depths[[0, -1]])


def _distances(points: np.ndarray, mesh: Mesh) -> np.ndarray:
    tree = igl.AABB()
    tree.init(mesh.points, mesh.triangles)
    return np.sqrt(np.reshape(tree.squared_distance(mesh.points, mesh.triangles, np.ascontiguousarray(points))[0], -1))
