"""Every copy of a prop as triangles in its place. Lengths in mm, masses in kg."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from foamwright.geometry import Mesh
from foamwright.parts.records import Piece

if TYPE_CHECKING:
    from foamwright.model.records import Model

_KG_PER_MM3 = 1e-9  # times a density in kg/m3


@dataclass(frozen=True, eq=False)
class Placed:
    """One copy: the id of its part, its number from 1, its closed mesh in its place and its mass, whether it is only laid in,
    without glue, and whether it rests on something and can be lifted from that."""

    part: str
    number: int
    mesh: Mesh
    mass: float
    loose: bool = False
    rests: bool = False


def placed(piece: Piece, number: int, mesh: Mesh, volume: float) -> Placed:
    """A copy of a piece, `volume` in mm3, as heavy as its foam."""
    mass = volume * piece.stock.density * _KG_PER_MM3
    return Placed(piece.id, number, mesh, mass, piece.glue == "none", bool(piece.rests_on))


@lru_cache(maxsize=1)
def placed_copies(model: Model) -> tuple[Placed, ...]:
    """The copies of a model in their order, as triangles of its solids."""
    copies = []
    for copy in model.copies:
        points, triangles = copy.prototype.closed_mesh
        # a rigid motion, so that the triangles run counter-clockwise from outside as before
        mesh = Mesh(points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3], triangles)
        copies.append(placed(copy.piece, copy.number, mesh, copy.volume))
    return tuple(copies)
