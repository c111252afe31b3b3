"""Fillers: a plate in the space that a form, an outline and other flat parts leave at a plane."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.surface import Surface
from foamwright.parts import outlines
from foamwright.parts.flat import flat_body, wall_inside
from foamwright.parts.placing import default_up, move
from foamwright.parts.records import FlatBody, Frame, Piece
from foamwright.parts.sections import sections_in

_PARALLEL = 1e-6
_FAR = 1e5  # mm, beyond any prop


def filler_body(
    spec: PartSpec,
    stock: Stock,
    folder: str,
    surface_of: Callable[[str], Surface],
    inside_offset: float,
    between: Sequence[Piece],
) -> FlatBody:
    """The plate of `spec` in the room that `between` leave, all of them grown by the clearance.

    Its room is bounded by the form (inside, `inside_offset` from its surface, bevelled to its slope as a bulkhead is) or by
    the outline `within`, or by both. Raises BuildError if a part is not flat, or if the room falls apart and no
    point says which piece of it is meant.
    """
    values = spec.values
    plane, clearance = values["plane"], values["clearance"]
    normal = direction(plane["normal"])
    up = default_up(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    frame = Frame(normal * plane["at"], np.column_stack([np.cross(up, normal), up, normal]))
    thickness = stock.thickness * values["layers"]

    bounds, wall = [], None
    if "within" in values:
        sections = (sections_in(frame, surface_of, depths) for depths in ((0.0,), (0.0, thickness)))
        bounds.append(outlines.polygon(values["within"], folder, *sections))
    if "form" in values:
        wall = wall_inside(
            surface_of(values["form"]), plane, thickness, inside_offset, clearance, frame, stock.is_cloth
        )
        bounds.append(wall.shape)
    if not bounds:
        raise BuildError("nothing bounds it; expected a form, or an outline within")
    room = shapely.intersection_all(bounds)
    for piece in between:
        if not isinstance(piece.body, FlatBody):
            raise BuildError(f"the part {piece.id} is not flat; expected plates, bulkheads, discs or rings")
        for place in piece.placements:
            taken = _shadow(piece, place.matrix, frame, thickness)
            room = room.difference(taken.buffer(clearance, join_style="mitre"))
    shape = _chosen(room, values)
    return wall.met_by(shape, frame) if wall else flat_body(shape, frame)


def _chosen(room, values: Mapping) -> Polygon:
    parts = [part for part in shapely.get_parts(room) if part.geom_type == "Polygon" and part.area > 1.0]
    if "around" in values:
        parts = [part for part in parts if part.covers(Point(values["around"]))]
    if not parts:
        raise BuildError("no room is left for it; look at its plane, at `around` and at the parts beside it")
    if len(parts) > 1:
        raise BuildError(f"its room falls into {len(parts)} pieces; name a point of one of them: around: [x, y]")
    return outlines.whole(parts[0], "the filler")


def _shadow(piece: Piece, matrix: np.ndarray, frame: Frame, thickness: float):
    """What a flat part takes of the plate between z = 0 and `thickness` of the frame, seen along z.

    Exact for a part square to the plate or along it; for one that leans it is its sections at both faces and
    all that lies between them.
    """
    body: FlatBody = piece.body
    deep = piece.thickness
    shape = Polygon(body.outline, body.holes)
    back = np.linalg.inv(matrix)
    cuts = [_cut(shape, deep, body.frame, back, frame, z) for z in (1e-6, thickness / 2, thickness - 1e-6)]
    filled = [cut for cut in cuts if not cut.is_empty]
    if not filled:
        return Polygon()
    whole = shapely.union_all(filled)
    if whole.symmetric_difference(filled[0]).area < 1e-3:
        return whole
    pairs = [shapely.convex_hull(shapely.union_all([a, b])) for a, b in pairwise(filled)]
    return shapely.union_all(pairs)


def _cut(shape: Polygon, deep: float, own: Frame, back: np.ndarray, frame: Frame, z: float):
    """The section of a plate at height `z` over the frame's plane, in the frame's x and y."""
    corners = np.array([[0.0, 0.0, z], [1.0, 0.0, z], [0.0, 1.0, z]])
    at, x, y = own.to_frame(move(frame.to_space(corners), back))
    x, y = x - at, y - at  # local coordinates change so along the frame's x and y: p = at + a x + b y
    turn = np.array([x[:2], y[:2]]).T  # (2, 2) from (a, b) to local x and y
    if abs(np.linalg.det(turn)) > _PARALLEL:
        inverse = np.linalg.inv(turn)
        shift = -inverse @ at[:2]
        face = affinity.affine_transform(shape, [*inverse.ravel(), *shift])
        slope = np.array([x[2], y[2]])
        size = float(np.linalg.norm(slope))
        if size < _PARALLEL:
            return face if 0.0 <= at[2] <= deep else Polygon()
        # between the planes of its two faces: a strip across the slope
        downhill = slope / size
        side = np.array([-downhill[1], downhill[0]])
        low, high = -at[2] / size, (deep - at[2]) / size
        strip = [
            low * downhill - _FAR * side,
            high * downhill - _FAR * side,
            high * downhill + _FAR * side,
            low * downhill + _FAR * side,
        ]
        return face.intersection(Polygon(strip))
    # square to the plate: a line of its outline gives bands across its thickness
    u, _, vt = np.linalg.svd(turn)
    line, along = u[:, 0], vt[0]  # local direction of the line, and its direction in the frame
    line = line * np.sign((turn @ along) @ line)
    chord = shape.intersection(shapely.LineString([at[:2] - _FAR * line, at[:2] + _FAR * line]))
    across = np.array([-along[1], along[0]])
    rise = float(across @ np.array([x[2], y[2]]))
    low, high = sorted((-at[2] / rise, (deep - at[2]) / rise))
    strips = []
    for part in shapely.get_parts(chord):
        if part.length > 0:
            s = (shapely.get_coordinates(part) - at[:2]) @ line
            strips.append(_oriented(float(s.min()), float(s.max()), low, high, along, across))
    return shapely.union_all(strips) if strips else Polygon()


def _oriented(x0, x1, y0, y1, along, across):
    return affinity.affine_transform(box(x0, y0, x1, y1), [along[0], across[0], along[1], across[1], 0.0, 0.0])
