"""Every copy in place as a closed mesh, with what is asked of it when it is moved: frame, bend, thickness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody

if TYPE_CHECKING:  # the solids are heavy, and their meshes are read where a model is handed in
    from foamwright.model.records import Model


@dataclass(frozen=True, eq=False)
class Bodies:
    """All copies of a prop in the order of its pieces: points (n, 3) in mm, triangles (m, 3) of all of them.

    `spans` (copies, 2) are the triangles of each, `spheres` (copies, 4) a ball around each, `pieces` their parts
    and `matrices` (copies, 4, 4) the places in the order of the copies.
    """

    points: np.ndarray
    triangles: np.ndarray
    spans: np.ndarray
    spheres: np.ndarray
    pieces: tuple[Piece, ...]
    matrices: tuple[np.ndarray, ...]

    def __len__(self) -> int:
        return len(self.pieces)

    def mesh(self, copies: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
        """Points (k, 3) and triangles (m, 3) of some copies together."""
        triangles = np.vstack([self.triangles[slice(*self.spans[i])] for i in copies])
        used, numbered = np.unique(triangles, return_inverse=True)
        return self.points[used], numbered.reshape(-1, 3).astype(np.int64)

    def of(self, part: str) -> tuple[int, ...]:
        """The copies of a part."""
        return tuple(i for i, piece in enumerate(self.pieces) if piece.id == part)

    def mask(self, copies) -> int:
        """A set of copies as the bits of one number."""
        return sum(1 << i for i in copies)


def bodies_of(model: Model) -> Bodies:
    """The meshes of a model in place."""
    from foamwright.model.meshes import closed_mesh

    hands: dict[str, tuple[np.ndarray, np.ndarray]] = {}
    meshes = []
    for copy in model.copies:
        if copy.prototype.key not in hands:
            hands[copy.prototype.key] = closed_mesh(copy.prototype.shape.wrapped)
        points, triangles = hands[copy.prototype.key]
        meshes.append((points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3], triangles))
    matrices = tuple(copy.piece.placements[copy.number - 1].matrix for copy in model.copies)
    return bodies(tuple(copy.piece for copy in model.copies), meshes, matrices)


def bodies(pieces: tuple[Piece, ...], meshes, matrices: tuple[np.ndarray, ...]) -> Bodies:
    """Copies from their meshes (points, triangles) in place, one for each of `pieces`."""
    if not meshes:
        none = np.zeros((0, 3))
        return Bodies(none, none.astype(np.int64), np.zeros((0, 2), np.int64), np.zeros((0, 4)), (), ())
    first_point = np.cumsum([0, *(len(points) for points, _ in meshes)])
    first_triangle = np.cumsum([0, *(len(triangles) for _, triangles in meshes)])
    points = np.vstack([points for points, _ in meshes])
    triangles = np.vstack([triangles + start for (_, triangles), start in zip(meshes, first_point)]).astype(np.int64)
    spans = np.column_stack([first_triangle[:-1], first_triangle[1:]]).astype(np.int64)
    spheres = np.array([_ball(points) for points, _ in meshes])
    for array in (points, triangles, spans, spheres):
        array.setflags(write=False)
    return Bodies(points, triangles, spans, spheres, tuple(pieces), tuple(matrices))


def _ball(points: np.ndarray) -> tuple[float, float, float, float]:
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    return (*middle.tolist(), float(np.linalg.norm(points - middle, axis=1).max()))


def thickness(piece: Piece) -> float:
    """Smallest extent of a part as it is built, mm."""
    return piece.body.diameter if isinstance(piece.body, RodBody) else piece.stock.thickness * piece.layers


def frame(piece: Piece, matrix: np.ndarray) -> np.ndarray | None:
    """Directions (3, 3) of a flat part or a bar in place as rows: along, across, and off its face; None if curved."""
    turn = matrix[:3, :3]
    if isinstance(piece.body, FlatBody):
        return (turn @ piece.body.frame.axes).T
    if isinstance(piece.body, RodBody):
        along = turn @ (piece.body.end - piece.body.start)
        along /= np.linalg.norm(along)
        across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
        across /= np.linalg.norm(across)
        return np.vstack([np.cross(across, along), across, along])
    return None


def outward(piece: Piece, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (k, 3) on a curved part and the directions (k, 3) off its outside face there."""
    body = piece.body
    if isinstance(body, PanelBody):
        places, normals = body.surface.point(body.chart.coords), body.surface.normal(body.chart.coords)
    elif isinstance(body, BandBody):
        places = np.vstack([body.curve + np.outer(level, body.across) for level in (body.low, body.high)])
        normals = np.vstack([body.normals, body.normals])
    else:
        raise TypeError(f"{piece.id} is not curved")
    turned = normals @ matrix[:3, :3].T
    return (
        places @ matrix[:3, :3].T + matrix[:3, 3],
        turned / np.maximum(np.linalg.norm(turned, axis=1, keepdims=True), 1e-12),
    )
