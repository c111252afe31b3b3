"""What is engraved on the outside of flat parts, in a shaded picture. Lengths in mm in space."""

from __future__ import annotations

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render
from foamwright.parts.records import FlatBody, Piece

_OFF = 0.6  # mm and two cells: what stands so far before a line hides it


def seen_lines(bodies: Bodies, points: np.ndarray, scene: render.Scene, seen: render.Window) -> np.ndarray | None:
    """Where (rows, columns) a picture shows an engraved line, where its copies are drawn at `points`; None where none."""
    high, wide = scene.owner.shape
    mask = np.zeros((high, wide), bool)
    for copy, piece in enumerate(bodies.pieces):
        if not isinstance(piece.body, FlatBody) or not piece.body.engraving or not (scene.owner == copy).any():
            continue
        span = slice(*render.points_of(bodies)[copy])
        home = np.column_stack([bodies.points[span], np.ones(len(bodies.points[span]))])
        moved = np.linalg.lstsq(home, points[span], rcond=None)[0]  # (4, 3), from its place to where it is drawn
        for line in _in_place(piece, bodies.matrices[copy]):
            there = np.column_stack([line, np.ones(len(line))]) @ moved @ seen.frame.T
            across, up, depth = _dense(np.vstack([there, there[:1]]), seen.step / 2.0)
            columns, rows = (np.rint((at - low) / seen.step).astype(int) for at, low in zip((across, up), seen.low))
            inside = (rows >= 0) & (rows < high - 1) & (columns >= 0) & (columns < wide - 1)
            rows, columns, depth = rows[inside], columns[inside], depth[inside]
            met = (scene.owner[rows, columns] == copy) & (depth < scene.depth[rows, columns] + _OFF + 2.0 * seen.step)
            mask[rows[met], columns[met]] = True
            mask[rows[met] + 1, columns[met]] = True
    return mask if mask.any() else None


def _in_place(piece: Piece[FlatBody], matrix: np.ndarray) -> list[np.ndarray]:
    """The engraved lines (k, 3) of a copy, on its outside face."""
    high = piece.stock.thickness * piece.layers
    lines = [np.column_stack([line, np.full(len(line), high)]) for line in piece.body.engraving]
    return [piece.body.frame.to_space(line) @ matrix[:3, :3].T + matrix[:3, 3] for line in lines]


def _dense(line: np.ndarray, step: float) -> list[np.ndarray]:
    """The three coordinates of points along a line (k, 3) that are no further apart than `step`."""
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    every = np.linspace(0.0, at[-1], int(at[-1] / step) + 2)
    return [np.interp(every, at, line[:, k]) for k in range(3)]
