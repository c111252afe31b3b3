"""The solid of one part kind. Exact where that can be done, else the nearest that can. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from OCP.TopoDS import TopoDS_Shape

from foamwright.errors import BuildError
from foamwright.model.band import band_solid
from foamwright.model.brep import volume
from foamwright.model.facets import band_facets, panel_facets
from foamwright.model.failure import SHAPE_ERRORS, ShapeFailure
from foamwright.model.flat import flat_solid
from foamwright.model.panel import panel_solid
from foamwright.model.rod import rod_solid
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody


@dataclass(frozen=True, eq=False)
class Modelled:
    """`exact` is False where a plainer shape stands in: facets, or a plate without its bevels."""

    shape: TopoDS_Shape
    volume: float  # mm3
    exact: bool


def model(piece: Piece) -> Modelled:
    """The part as modelled, before it is placed. Raises BuildError if nothing can be made of it."""
    thickness = piece.stock.thickness * piece.layers
    exact, plain = {
        PanelBody: (panel_solid, panel_facets),
        BandBody: (band_solid, band_facets),
        FlatBody: (flat_solid, _square_cut),
        RodBody: (rod_solid, rod_solid),
    }[type(piece.body)]
    try:
        return _measured(exact(piece.body, thickness), True)
    except SHAPE_ERRORS:
        pass
    try:
        return _measured(plain(piece.body, thickness), False)
    except SHAPE_ERRORS as error:
        raise BuildError(f"part {piece.id}: no solid can be made of it: {error}") from error


def _measured(shape: TopoDS_Shape, exact: bool) -> Modelled:
    size = volume(shape)
    if size <= 0.0:
        raise ShapeFailure("the solid is inside out")
    return Modelled(shape, size, exact)


def _square_cut(body: FlatBody, thickness: float) -> TopoDS_Shape:
    return flat_solid(replace(body, runs=()), thickness)
