"""How far a flat part leans that is glued by one edge only: nothing but a card sets that. Lengths in mm."""

from __future__ import annotations

import math

import igl
import numpy as np

from foamwright.assembly.bodies import frame
from foamwright.assembly.naming import one_of, the
from foamwright.assembly.which_copy import some
from foamwright.booklet.words.fitting import Fitting
from foamwright.geometry import Mesh
from foamwright.language import count, say
from foamwright.parts.records import FlatBody

_EDGE = 1.5  # thicknesses of a part: what holds it in a strip no wider than that gives way like a hinge
_REACH, _LEAST = 3.0, 20.0  # thicknesses and mm that it reaches from there at least, so that a lean is seen
_UPRIGHT, _LYING = 87, 15  # degrees off a face: beyond them a part stands square on it, or lies on it
_CARD = 20.0  # mm of a face that a card needs to stand on


def lines(told: Fitting) -> list[str]:
    """A sentence for the copies of each part that lean alike from one other."""
    text = []
    for piece in told.pieces:
        found: dict[tuple[str, int], list[int]] = {}
        for copy in told.own(piece):
            lean = _lean(told, copy)
            if lean is not None:
                found.setdefault(lean, []).append(copy)
        for (other, angle), copies in found.items():
            each = len(copies) == len(piece.placements)
            corner = say("in the narrow corner") if angle < 90 else say("in the wide corner")
            text.append(
                count(
                    "One edge alone does not hold {part} at its angle to {other}: cut a card to {angle}°, and hold it {corner} "
                    "between the two while you press {part} on.",
                    "One edge alone does not hold {part} at their angle to {other}: cut a card to {angle}°, and hold it {corner} "
                    "between each of them and {other} while you press it on.",
                    len(copies),
                    part=one_of(piece) if each and len(copies) == 1 else some(told.bodies, copies),
                    other=the(told.every[other]),
                    angle=angle,
                    corner=corner,
                )
            )
    return text


def _lean(told: Fitting, copy: int) -> tuple[str, int] | None:
    """What a copy leans from, and the angle in degrees between the two where a card can stand on that; None where it does not
    lean, or something else holds it."""
    bodies, piece = told.bodies, told.bodies.pieces[copy]
    axes = frame(piece, bodies.matrices[copy])
    held = _holding(told, copy)
    if axes is None or not isinstance(piece.body, FlatBody) or not held or told.whole_of(piece):
        return None
    own = bodies.mesh((copy,))[0]
    places = np.vstack([bodies.touches[copy, b].places for b in held])
    foot = np.average(places, axis=0, weights=np.concatenate([bodies.touches[copy, b].areas for b in held]))
    along = own.mean(axis=0) - foot
    along -= (along @ axes[2]) * axes[2]
    along /= max(float(np.linalg.norm(along)), 1e-9)
    rims = np.vstack([line for b in held for patch in bodies.touches[copy, b].outlines for line in patch] or [places])
    reach = float(((own - foot) @ along).max())
    if float(np.ptp(rims @ along)) > _EDGE * piece.thickness or reach < max(_REACH * piece.thickness, _LEAST):
        return None
    carrier = max(held, key=lambda b: bodies.touches[copy, b].area)
    square = _face_met(told, copy, carrier)
    edge = np.cross(axes[2], along)
    square -= (square @ edge) * edge
    square /= max(float(np.linalg.norm(square)), 1e-9)
    angle = round(math.degrees(math.asin(float(np.clip(along @ square, -1.0, 1.0)))))
    if not _LYING <= angle <= _UPRIGHT:
        return None
    face = bodies.mesh((carrier,))[0] - foot
    level = along - (along @ square) * square
    level /= float(np.linalg.norm(level))
    ahead, behind = (float((face @ way).max()) >= _CARD for way in (level, -level))
    name = bodies.pieces[carrier].id
    return (name, angle) if ahead else (name, 180 - angle) if behind else None


def _face_met(told: Fitting, copy: int, carrier: int) -> np.ndarray:
    """(3,) outwards off what a copy is glued to, where it is. A touch tells the way off the edge that stands there, which may
    lean as well."""
    touch = told.bodies.touches[copy, carrier]
    points, triangles = told.bodies.mesh((carrier,))
    nearest = igl.point_mesh_squared_distance(touch.places, points, np.ascontiguousarray(triangles, dtype=np.int64))[1]
    return np.asarray(touch.areas @ Mesh(points, triangles).face_normals[nearest])


def _holding(told: Fitting, copy: int) -> list[int]:
    """The copies that a new one is glued to and that are held themselves: such as stand, and new ones that are glued to those; of
    the first of a prop all."""
    bodies = told.bodies
    new = {c for move in told.moves for c in move.copies}
    glued: dict[int, set[int]] = {}
    for (a, b), touch in bodies.touches.items():
        if touch.glued:
            glued.setdefault(a, set()).add(b)
    stands = {b for b in range(len(bodies)) if told.standing >> b & 1}
    held = stands | {b for b in new if glued.get(b, set()) & stands} if stands else new
    return sorted((glued.get(copy, set()) & held) - {copy})
