"""Solids with named faces as bytes, so that they can be kept while the part stays."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO

from OCP.BinTools import BinTools
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape
from OCP.TopTools import TopTools_IndexedMapOfShape

from foamwright.model.records import NamedSolid

Packed = tuple[bytes, Mapping[str, tuple[tuple[int, bool], ...]]]
"""The solid and its triangles as the kernel writes them; for each name the numbers of its faces, each with whether it is
reversed."""

_REVERSED = TopAbs_Orientation.TopAbs_REVERSED
_WAY = {False: TopAbs_Orientation.TopAbs_FORWARD, True: _REVERSED}


def packed(solid: NamedSolid) -> Packed:
    """As bytes, without names of faces that it does not have."""
    of_it = _faces(solid.shape)

    def numbered(face: TopoDS_Face) -> tuple[int, bool]:
        return of_it.FindIndex(face), face.Orientation() == _REVERSED

    written = BytesIO()
    BinTools.Write_s(solid.shape, written)
    named = {name: tuple(map(numbered, faces)) for name, faces in solid.faces.items()}
    return written.getvalue(), {name: tuple(own for own in numbers if own[0]) for name, numbers in named.items()}


def unpacked(made: Packed) -> NamedSolid:
    """The same solid, with the same triangles and names."""
    content, named = made
    shape = TopoDS_Shape()
    BinTools.Read_s(shape, BytesIO(content))
    of_it = _faces(shape)

    def face(number: int, is_reversed: bool) -> TopoDS_Face:
        return TopoDS.Face_s(of_it.FindKey(number).Oriented(_WAY[is_reversed]))

    return NamedSolid(shape, {name: tuple(face(*own) for own in numbers) for name, numbers in named.items()})


def _faces(shape: TopoDS_Shape) -> TopTools_IndexedMapOfShape:
    """Each face once, by numbers from 1 in an order that the shape alone decides."""
    found = TopTools_IndexedMapOfShape()
    TopExp.MapShapes_s(shape, TopAbs_ShapeEnum.TopAbs_FACE, found)
    return found
