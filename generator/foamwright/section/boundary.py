"""The boundary of a named face of a solid, edge by edge. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Wire

from foamwright.errors import BuildError
from foamwright.model.brep import parts
from foamwright.parts.solid_edges import chained, edge_points


@dataclass(frozen=True, eq=False)
class Side:
    """One edge of a face: the name of the wall that stands on it, and its points (N, 3) along the loop."""

    wall: str
    points: np.ndarray


Loop = tuple[Side, ...]  # closed: each side begins where the one before ends


def boundary(faces: Mapping[str, tuple[TopoDS_Face, ...]], name: str) -> tuple[Loop, ...]:
    """The loops around the one face of that name, in the kernel's order; each side names its wall.

    A straight edge gives its ends, a full circle points as `parts.outlines.circle` has them, an arc points at even
    angles, a spline its knots, and any other curve points within the same sagitta. Raises BuildError if the solid
    has not one such face.
    """
    own = faces.get(name, ())
    if len(own) != 1:
        raise BuildError(f"its solid has {len(own)} faces {name!r}; expected one")
    walls = _walls(faces, name)
    wires = [TopoDS.Wire_s(w) for w in parts(own[0], TopAbs_ShapeEnum.TopAbs_WIRE)]
    return tuple(_loop(wire, own[0], walls) for wire in wires)


class _EdgeNames:
    """Names of edges, whichever way they are walked."""

    def __init__(self) -> None:
        self._sides: dict[int, list[tuple[TopoDS_Shape, str]]] = {}

    def put(self, edge: TopoDS_Shape, name: str) -> None:
        edge = edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
        self._sides.setdefault(hash(edge), []).append((edge, name))

    def of(self, edge: TopoDS_Shape) -> str:
        edge = edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
        for known, name in self._sides.get(hash(edge), ()):
            if known.IsSame(edge):
                return name
        raise BuildError("an edge of its solid belongs to no face with a name")


def _walls(faces: Mapping[str, tuple[TopoDS_Face, ...]], name: str) -> _EdgeNames:
    names = _EdgeNames()
    for wall, shapes in faces.items():
        if wall != name:
            for face in shapes:
                for edge in parts(face, TopAbs_ShapeEnum.TopAbs_EDGE):
                    names.put(edge, wall)
    return names


def _loop(wire: TopoDS_Wire, face: TopoDS_Face, walls: _EdgeNames) -> Loop:
    sides = []
    explorer = BRepTools_WireExplorer(wire, face)
    while explorer.More():
        edge = explorer.Current()
        sides.append(Side(walls.of(edge), edge_points(edge)))
        explorer.Next()
    lines = chained([side.points for side in sides])
    return tuple(Side(side.wall, points) for side, points in zip(sides, lines))
