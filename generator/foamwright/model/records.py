"""The assembled model: every part as a solid with named faces, and the place of every copy. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from OCP.gp import gp_Trsf
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

from foamwright.model.colours import rgb
from foamwright.model.meshes import FaceMesh, closed_mesh
from foamwright.parts.records import Piece, Prop

if TYPE_CHECKING:  # its kernel is all that a pack needs; the rest takes as long again to load, and is for those who ask
    import cadquery as cq

INSIDE, OUTSIDE = "inside", "outside"  # the names of the two broad faces of a part


@dataclass(frozen=True, eq=False)
class NamedSolid:
    """A solid with all its faces by name: `inside`, `outside`, and one or several for the id of each edge."""

    shape: TopoDS_Shape
    faces: Mapping[str, tuple[TopoDS_Face, ...]]


@dataclass(frozen=True, eq=False)
class Prototype:
    """One part as modelled, or its mirror image, before it is placed; tessellated.

    `solid` and its `named` faces are the kernel's own; `shape` and `faces` are the same as CadQuery has them. `shortfall`
    says what the solid lacks where it could not be made exactly, and is empty where it could.
    """

    key: str  # its own in the model: the part's id, with "-mirrored" for the mirror image
    piece: Piece
    mirrored: bool
    solid: TopoDS_Shape
    named: Mapping[str, tuple[TopoDS_Face, ...]]
    face_meshes: tuple[FaceMesh, ...]  # the triangles of its faces, as the kernel has them
    volume: float  # mm3
    shortfall: str

    @property
    def exact(self) -> bool:
        return not self.shortfall

    @cached_property
    def closed_mesh(self) -> tuple[np.ndarray, np.ndarray]:
        """All of it as one closed mesh: points (n, 3), triangles (m, 3)."""
        return closed_mesh(self.face_meshes)

    @cached_property
    def shape(self) -> cq.Shape:
        import cadquery as cq

        return cq.Shape.cast(self.solid)

    @cached_property
    def faces(self) -> Mapping[str, tuple[cq.Face, ...]]:
        import cadquery as cq

        return {name: tuple(map(cq.Face, own)) for name, own in self.named.items()}


@dataclass(frozen=True, eq=False)
class Copy:
    """One copy of a part. `matrix` (4, 4) is the rigid motion that takes its prototype to its place."""

    piece: Piece
    number: int  # from 1, in the order of piece.placements
    prototype: Prototype
    matrix: np.ndarray

    @property
    def name(self) -> str:
        return f"{self.piece.label} {self.piece.name} ({self.number})"

    @property
    def volume(self) -> float:
        """mm3."""
        return self.prototype.volume

    @property
    def location(self) -> cq.Location:
        import cadquery as cq

        return cq.Location(location(self.matrix))

    @cached_property
    def shape(self) -> cq.Shape:
        """The solid in its place."""
        return self.prototype.shape.moved(self.location)

    def faces(self, name: str) -> tuple[cq.Face, ...]:
        """The faces of one name in their place; none if the part has no face of that name."""
        return tuple(face.moved(self.location) for face in self.prototype.faces.get(name, ()))


@dataclass(frozen=True, eq=False)
class Model:
    """All parts in place. A part that stands nowhere, as a spacer, has a prototype and no copy."""

    prop: Prop
    prototypes: tuple[Prototype, ...]  # in the order of prop.pieces; a mirror image follows its original
    copies: tuple[Copy, ...]  # in the order of prop.pieces

    def prototype(self, part_id: str) -> Prototype:
        """A part as it was modelled. Raises StopIteration for an unknown id."""
        return next(p for p in self.prototypes if p.key == part_id)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is not exact about the solids, one line for each part."""
        shortfalls = dict.fromkeys((p.piece, p.shortfall) for p in self.prototypes if p.shortfall)
        return tuple(f"{piece.label} {piece.name}: {shortfall}" for piece, shortfall in shortfalls)

    def assembly(self) -> cq.Assembly:
        """The model as a new CadQuery assembly in the colours of its foam, to colour, change and export.

        Every copy is a child named after it, with the part's id and the copy's number in its metadata and the names
        of its faces as those of its subshapes.
        """
        import cadquery as cq

        whole = cq.Assembly(name=self.prop.design.name)
        for copy in self.copies:
            whole.add(
                copy.prototype.shape,
                loc=copy.location,
                name=copy.name.replace("/", "-"),  # a slash parts the names of a path in an assembly
                color=cq.Color(*rgb(copy.piece.stock.colour)),
                metadata={"part": copy.piece.id, "copy": copy.number},
            )
            child = whole.children[-1]
            for name, faces in copy.prototype.faces.items():
                for number, face in enumerate(faces, 1):
                    child.addSubshape(face, name=name if len(faces) == 1 else f"{name} {number}")
        return whole


def location(matrix: np.ndarray) -> TopLoc_Location:
    """A rigid motion (4, 4) as the kernel's own."""
    return TopLoc_Location(transformation(matrix))


def transformation(matrix: np.ndarray) -> gp_Trsf:
    made = gp_Trsf()
    made.SetValues(*matrix[:3].ravel().tolist())
    return made
