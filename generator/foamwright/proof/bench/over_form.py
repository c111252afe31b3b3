"""Bent foam whose free edges leave its shape open, bent over the model's own faces as a maker bends it over the form.

Only the shape across the foam is taken from the model. Along it the foam keeps its own lengths and slides as it likes, so
that its edges come out where the lines on the paper put them. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.proof.bench.foam import SLANTED, Copy, Foam, Part, Sewn, ring_area
from foamwright.proof.bench.laying import fixed, together
from foamwright.proof.bench.measure import Model, Surface, on_face
from foamwright.proof.bench.pieces import Placed, as_cut
from foamwright.proof.bench.rigid import STILL, Motion, best_motion, slid
from foamwright.proof.bench.shell import Holds, at_rest
from foamwright.proof.bench.shells import Net, net

_TRIANGLES = 500  # of a copy, about
_STEPS = 8
_BEGIN = 0.3  # how hard its corners are drawn to those of the model, to begin with
_ROUNDS = (0.1, 0.5, 2.0, 2.0, 2.0, 2.0)  # how hard it is pressed on after that, beside glue
_DRAWN = 0.0002  # how hard its edges are drawn to those of the model beside that: it stretches nothing by 0.1 %
_SHIFTS = 3  # times that all is shifted as a whole after each,
_SLIDES = 0.02  # mm by which that may take it off the form on the mean: what is hollow both ways lies where it fits
_FACES = ("inside", "outside")
_MEET = 0.1  # mm between the faces of two edges that meet at a corner
_ABOUT = 0.2  # of its longest side, from the middle of a part without corners to places that an arrow tells
_TELLS = 0.5  # of the length of an arrow, that is seen square to the part
_MIDDLE = 1.0  # mm by which a point may be nearer to one end of an edge than to the other, and be its middle


@dataclass(frozen=True, eq=False)
class Formed:
    """Copies bent over the model, in its place."""

    net: Net
    points: np.ndarray  # (n, 3) of the net

    @property
    def placed(self) -> dict[Copy, Placed]:
        return self.net.placed(self.points)


def over_form(
    foam: Foam, copies: Sequence[Copy], sewn: Sequence[Sewn], model: Model, begun: Mapping[Copy, Placed]
) -> Formed | None:
    """The copies, sewn to each other, over their faces in the model; from `begun`, if there is a shape that lies there to
    begin with. None if the model lacks a face of theirs, or they have too few corners to be laid on it."""
    if any((copy, face) not in model.faces for copy in copies for face in _FACES):
        return None
    area = sum(ring_area(foam.part(copy).rings) for copy in copies)
    whole = net(foam, copies, sewn, float(np.sqrt(area / (_TRIANGLES * np.sqrt(len(copies))) / 0.433)))
    x = _carried(whole, begun) if begun else _laid_flat(whole, model)
    if x is None:
        return None
    for strength in _ROUNDS:
        placed = whole.placed(x)
        holds = together([h for copy in copies for h in _pressed(whole, placed[copy], copy, model, strength)])
        x = at_rest(whole.made, x, holds, steps=_STEPS).points
        for _ in range(_SHIFTS):
            there = _shifted(whole, x, model)(x)
            if len(sewn) >= len(copies) or _off_faces(whole, there, model) <= _off_faces(whole, x, model) + _SLIDES:
                x = there
    return Formed(whole, x)


def _shifted(whole: Net, x: np.ndarray, model: Model) -> Motion:
    """The small motion of all as one that lays its edges on those of the model: a ring, or a strip along a curve, goes round the
    form without any force, and so little draws at its edges that it would not come there in some rounds."""
    points, feet, ways = [], [], []
    for copy, piece in whole.placed(x).items():
        for edge in piece.part.edges:
            surface = model.faces.get((copy, edge.id))
            if surface is None or edge.length < 2 * _MIDDLE:
                continue
            along = np.linspace(_MIDDLE / 2, edge.length - _MIDDLE / 2, max(5, int(edge.length / whole.spacing)))
            half = np.full(len(along), piece.part.thickness / 2)
            before, here, past = (piece.place(edge.at(along + step), half) for step in (-_MIDDLE / 2, 0.0, _MIDDLE / 2))
            way = past - before
            points.append(here)
            feet.append(surface.nearest(here)[1])
            ways.append(way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9))
    return slid(*(np.vstack(some) for some in (points, feet, ways))) if points else STILL


def _off_faces(whole: Net, x: np.ndarray, model: Model) -> float:
    """How far copies are off their faces in the model, on the mean."""
    away = []
    for copy, piece in whole.placed(x).items():
        for face in _FACES:
            flat = on_face(piece.part, piece.sheet, face == "inside")
            away.append(
                model.faces[copy, face].nearest(
                    piece.place(flat, np.full(len(flat), piece.part.depth(face == "inside")))
                )[0]
            )
    return float(np.concatenate(away).mean())


def _pressed(whole: Net, piece: Placed, copy: Copy, model: Model, strength: float) -> list[Holds]:
    """Both faces drawn to those of the model along its normals, and the edges, softly, to its edges."""
    holds = []
    for face in _FACES:
        flat = on_face(piece.part, piece.sheet, face == "inside")
        depth = np.full(len(flat), piece.part.depth(face == "inside"))
        feet, normals = model.faces[copy, face].feet(piece.place(flat, depth))
        spots = whole.spots(copy, flat, depth)
        holds.append(fixed(spots, normals, feet, strength * whole.spacing / 2))
    for edge in piece.part.edges:
        if (surface := model.faces.get((copy, edge.id))) is None:
            continue
        along = np.linspace(0.0, edge.length, max(5, int(edge.length / whole.spacing)))
        holds += _drawn_to(whole, copy, edge.at(along), surface, piece, _DRAWN * whole.spacing)
    return holds


def _drawn_to(whole: Net, copy: Copy, flat: np.ndarray, surface: Surface, piece: Placed, share: float) -> list[Holds]:
    half = np.full(len(flat), piece.part.thickness / 2)
    goals = surface.nearest(piece.place(flat, half))[1]
    spots = whole.spots(copy, flat, half)
    return [fixed(spots, np.tile(way, (len(flat), 1)), goals, share) for way in np.eye(3)]


def _carried(whole: Net, begun: Mapping[Copy, Placed]) -> np.ndarray:
    """The vertices (n, 3) on a shape that was built before."""
    points = []
    for copy in whole.copies:
        piece, flat = begun[copy], whole.sheets[copy].flat
        points.append(piece.place(flat, np.full(len(flat), piece.part.neutral)))
    return np.vstack(points)


def _laid_flat(whole: Net, model: Model) -> np.ndarray | None:
    """The vertices (n, 3) of copies each of which is laid on the corners and middles of its edges in the model, bent
    so that it comes near them."""
    points, holds = [], []
    for copy in whole.copies:
        part = whole.foam.part(copy)
        flat, goals = _corners(part, copy, model)
        if len(flat) < 3:
            return None
        lying = as_cut(part, whole.foam.mirrored(copy), whole.sheets[copy])
        half = np.full(len(flat), part.thickness / 2)
        motion = best_motion(lying.place(flat, half), goals)
        points.append(motion(lying.points))
        spots = whole.spots(copy, flat, half)
        holds += [fixed(spots, np.tile(way, (len(flat), 1)), goals, _BEGIN * whole.spacing) for way in np.eye(3)]
    return at_rest(whole.made, np.vstack(points), together(holds), steps=3 * _STEPS).points


def _corners(part: Part, copy: Copy, model: Model) -> tuple[np.ndarray, np.ndarray]:
    """Ends of edges and their middles on the paper (K, 2), and the same in the model (K, 3), half way through the foam."""
    known: list[tuple[np.ndarray, np.ndarray]] = []
    own = [(edge, face) for edge in part.edges if (face := model.faces.get((copy, edge.id))) is not None]
    for edge, face in own:
        if edge.loop:
            continue
        ends = []
        for other, beyond in own:
            if other is edge or other.loop:
                continue
            for k, mine in enumerate((0.0, edge.length)):
                for theirs in (0.0, other.length):
                    at, there = edge.at(np.array([mine]))[0], other.at(np.array([theirs]))[0]
                    if (
                        np.linalg.norm(at - there) < 1.0
                        and (shared := _shared(face, beyond, part.thickness)) is not None
                    ):
                        known.append((at, shared))
                        ends.append((k, shared))
        if len(ends) == 2 and ends[0][0] != ends[1][0]:
            one, two = (np.linalg.norm(face.points - end, axis=1) for _, end in ends)
            even = np.abs(one - two)
            middle = face.points[even <= even.min() + _MIDDLE].mean(axis=0)
            known.append((edge.at(np.array([edge.length / 2]))[0], face.nearest(middle[None])[1][0]))
    if all(edge.loop for edge in part.edges):
        known += _about_middle(part, copy, model)
    return np.array([k[0] for k in known]).reshape(-1, 2), np.array([k[1] for k in known]).reshape(-1, 3)


def _about_middle(part: Part, copy: Copy, model: Model) -> list[tuple[np.ndarray, np.ndarray]]:
    """Of a part whose outline has no corners places about its middle, as an arrow on its paper tells them; nothing if it has
    none that does. `up` points along z and `forward` along x."""
    inside, outside = (model.faces[copy, face].middle for face in _FACES)
    middle, level = (inside + outside) / 2, (inside - outside) * (1.0 if part.drawn_inside else -1.0)
    level = level / max(float(np.linalg.norm(level)), 1e-9)  # towards the reader of the drawn face
    flat, far = (
        (part.rings[0].min(axis=0) + part.rings[0].max(axis=0)) / 2,
        _ABOUT * np.ptp(part.rings[0], axis=0).max(),
    )
    for name, axis in (("forward", np.array([1.0, 0.0, 0.0])), ("up", np.array([0.0, 0.0, 1.0]))):
        own = part.arrows[copy.number - 1].get(name)
        ahead = axis - (axis @ level) * level
        if own is None or np.linalg.norm(ahead) < _TELLS:
            continue
        ahead = ahead / np.linalg.norm(ahead)
        left = np.cross(level, ahead) * (-1.0 if part.mirrored[copy.number - 1] else 1.0)
        across = np.array([-own[1], own[0]])
        places = [(own, ahead), (-own, -ahead), (across, left), (-across, -left)]
        return [(flat, middle), *((flat + far * here, middle + far * there) for here, there in places)]
    return []


def _shared(one: Surface, other: Surface, thickness: float) -> np.ndarray | None:
    """(3,) the middle of the line in which the faces of two edges meet; None if they do not meet in one line."""
    points = one.points[cKDTree(other.points).query(one.points)[0] < _MEET]
    if not len(points) or np.linalg.norm(np.ptp(points, axis=0)) > SLANTED * thickness:
        return None
    middle: np.ndarray = points.mean(axis=0)
    return middle
