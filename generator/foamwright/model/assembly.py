"""Every copy of every part as a solid in its place. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import cadquery as cq
import numpy as np
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.gp import gp_Trsf
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape

from foamwright.model.meshes import tessellate
from foamwright.model.shape import model
from foamwright.parts.records import Piece, Placement, Prop


@dataclass(frozen=True, eq=False)
class Copy:
    """One copy of a part. `hand` is the shape as modelled, or its mirror image, and `matrix` (4, 4) the rigid
    motion that takes it to its place; `shape` is it in place, tessellated. `exact` is False where a plainer
    shape stands in for one that could not be made."""

    piece: Piece
    number: int  # from 1, in the order of piece.placements
    hand: cq.Shape
    matrix: np.ndarray
    shape: cq.Shape
    volume: float  # mm3
    exact: bool

    @property
    def name(self) -> str:
        return f"{self.piece.label} {self.piece.name} ({self.number})"


@dataclass(frozen=True, eq=False)
class Assembly:
    prop: Prop
    copies: tuple[Copy, ...]  # in the order of prop.pieces


MIRROR = np.diag([1.0, -1.0, 1.0, 1.0])  # a mirrored copy is modelled as the image in the plane y = 0


def assemble(prop: Prop) -> Assembly:
    """Model every part once, and once more for its mirror image, and set up all copies."""
    copies = []
    for piece in prop.pieces:
        if not piece.placements:
            continue
        made = model(piece)
        tessellate(made.shape)
        hands = {False: _wrap(made.shape)}
        if any(_reflects(p) for p in piece.placements):
            mirrored = BRepBuilderAPI_Transform(made.shape, _transform(MIRROR), True).Shape()
            tessellate(mirrored)
            hands[True] = _wrap(mirrored)
        for number, placement in enumerate(piece.placements, 1):
            mirrored = _reflects(placement)
            matrix = placement.matrix @ MIRROR if mirrored else placement.matrix
            hand = hands[mirrored]
            shape = hand.moved(location(matrix))
            copies.append(Copy(piece, number, hand, matrix, shape, made.volume, made.exact))
    return Assembly(prop, tuple(copies))


def _reflects(placement: Placement) -> bool:
    return bool(np.linalg.det(placement.matrix[:3, :3]) < 0.0)


def _wrap(shape: TopoDS_Shape) -> cq.Shape:
    return cq.Shape.cast(shape)


def location(matrix: np.ndarray) -> cq.Location:
    return cq.Location(TopLoc_Location(_transform(matrix)))


def _transform(matrix: np.ndarray) -> gp_Trsf:
    made = gp_Trsf()
    made.SetValues(*matrix[:3].ravel().tolist())
    return made
