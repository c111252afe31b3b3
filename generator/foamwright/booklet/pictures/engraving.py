"""What is engraved on the outside of flat parts, and painted on it through stencils, and the seam of a part whose own ends
meet, in a shaded picture. Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import shapely

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.colours import colour
from foamwright.parts.records import FlatBody, PanelBody, PanelEdge, Piece

_OFF = 0.6  # mm and two cells: what stands so far before a line hides it


def seen_lines(bodies: Bodies, points: np.ndarray, scene: render.Scene, seen: render.Window) -> np.ndarray | None:
    """Where (rows, columns) a picture shows an engraved line or the seam of a part with itself, where its copies are drawn at
    `points`; None where none."""
    high, wide = scene.owner.shape
    mask = np.zeros((high, wide), bool)
    for copy, piece in enumerate(bodies.pieces):
        lines = _in_place(piece, bodies.matrices[copy])
        if not lines or not (scene.owner == copy).any():
            continue
        moved = _moved(bodies, copy, bodies.points, points)
        for line in lines:
            there = np.column_stack([line, np.ones(len(line))]) @ moved @ seen.frame.T
            across, up, depth = _dense(there, seen.step / 2.0)
            columns, rows = (np.rint((at - low) / seen.step).astype(int) for at, low in zip((across, up), seen.low))
            inside = (rows >= 0) & (rows < high - 1) & (columns >= 0) & (columns < wide - 1)
            rows, columns, depth = rows[inside], columns[inside], depth[inside]
            met = (scene.owner[rows, columns] == copy) & (depth < scene.depth[rows, columns] + _OFF + 2.0 * seen.step)
            mask[rows[met], columns[met]] = True
            mask[rows[met] + 1, columns[met]] = True
    return mask if mask.any() else None


def printed(
    bodies: Bodies, points: np.ndarray, scene: render.Scene, seen: render.Window, copies: Collection[int]
) -> tuple[np.ndarray, np.ndarray] | None:
    """Which paint (rows, columns) was put through a stencil on what a picture shows of `copies`, -1 where none, and the colours
    (k, 3) of these paints; None where nowhere. The copies are drawn at `points`."""
    which = np.full(scene.owner.shape, -1, np.int32)
    every = (paint for part in sorted(bodies.stencilled) for paint, _ in bodies.stencilled[part])
    paints = {paint: found for paint in every if (found := colour(paint)) is not None}
    for copy in copies:
        piece = bodies.pieces[copy]
        rows, columns = np.nonzero(scene.owner == copy) if piece.id in bodies.stencilled else ((), ())
        if not len(rows):
            continue
        at = np.column_stack([seen.step * np.column_stack([columns, rows]) + seen.low, scene.depth[rows, columns]])
        there = np.column_stack([at @ seen.frame, np.ones(len(at))]) @ _moved(bodies, copy, points, bodies.points)
        own = np.column_stack([there, np.ones(len(there))]) @ np.linalg.inv(bodies.matrices[copy]).T
        flat = piece.body.frame.to_frame(own[:, :3])
        outside = np.abs(flat[:, 2] - piece.thickness) < _OFF + 2.0 * seen.step
        for paint, shape in bodies.stencilled[piece.id]:
            if paint in paints:
                shapely.prepare(shape)
                met = outside & shapely.contains_xy(shape, flat[:, 0], flat[:, 1])
                which[rows[met], columns[met]] = list(paints).index(paint)
    return (which, np.array(list(paints.values()))) if (which >= 0).any() else None


def _moved(bodies: Bodies, copy: int, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """How a copy is taken (4, 3) from where it lies in the one set of points to where it lies in the other."""
    span = slice(*render.points_of(bodies)[copy])
    return np.asarray(
        np.linalg.lstsq(np.column_stack([start[span], np.ones(len(start[span]))]), end[span], rcond=None)[0]
    )


def own_seam(piece: Piece) -> list[PanelEdge]:
    """The edges at which a part that is a single piece is joined to itself."""
    if not isinstance(piece.body, PanelBody) or len(piece.placements) != 1:
        return []
    return [edge for edge in piece.body.edges if piece.id in edge.joins]


def _in_place(piece: Piece, matrix: np.ndarray) -> list[np.ndarray]:
    """The lines (k, 3) on a copy: engraved ones on the outside face, the seam with itself on both."""
    lines = [line for edge in own_seam(piece) for line in (edge.outer, edge.inner)]
    if isinstance(piece.body, FlatBody):
        loops = (np.vstack([line, line[:1]]) for line in piece.body.engraving)
        flat = (np.column_stack([loop, np.full(len(loop), piece.thickness)]) for loop in loops)
        lines = [piece.body.frame.to_space(line) for line in flat]
    return [line @ matrix[:3, :3].T + matrix[:3, 3] for line in lines]


def _dense(line: np.ndarray, step: float) -> list[np.ndarray]:
    """The three coordinates of points along a line (k, 3) that are no further apart than `step`."""
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    every = np.linspace(0.0, at[-1], int(at[-1] / step) + 2)
    return [np.interp(every, at, line[:, k]) for k in range(3)]
