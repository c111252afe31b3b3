"""Flat parts held against the faces of the model: the lines of both faces must be the bounds of those faces.

Nothing is built for it. A part is laid on its faces by the best motion, so only its shape counts and not where it lies; it is
never turned over, so of a pair the one that is cut the wrong way round is seen. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Foam, Part
from foamwright.proof.bench.footings import arrow
from foamwright.proof.bench.measure import Model, registered, turns_over
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet
from foamwright.proof.bench.records import Fault
from foamwright.proof.bench.rigid import STILL, Lines, frame_of, lengths, slid, turned_about, with_corners

OFF = 0.5  # mm between a line and the bound of its face: knives are as good, triangles of the model far better
_HAIR = 0.02  # mm by which what is laid as its arrow says may be further off, and lie there as well
_STILL = 1e-3
_STEP = 2.0  # mm between the points of lines that are compared
_MOST = 400  # points of a line
_ROUNDS = 12
_TURNS = 24
_SOME_TURN = np.radians(7.0)  # no part of the turn from one corner to the next of a figure with equal sides
_FACES = ("inside", "outside")
_WAYS = {"forward": np.array([1.0, 0.0, 0.0]), "up": np.array([0.0, 0.0, 1.0])}


@dataclass(frozen=True, eq=False)
class Lying:
    """A flat copy laid on its faces in the model, and how far its lines are from their bounds at most, and which line."""

    piece: Placed
    off: float
    line: str


def laid_flat(foam: Foam, model: Model) -> dict[Copy, Lying]:
    """Flat parts on their faces in the model: of each the first copy for each hand that it is cut in."""
    found: dict[Copy, Lying] = {}
    seen = set()
    for copy in foam.copies:
        part = foam.part(copy)
        hand = (copy.part, foam.mirrored(copy), model.reflected.get(copy))
        if part.bent or hand in seen or any((copy, face) not in model.faces for face in _FACES):
            continue
        seen.add(hand)
        found[copy] = lying_there(part, copy, foam.mirrored(copy), model)
    return found


def outline_faults(foam: Foam, lying: Mapping[Copy, Lying]) -> list[Fault]:
    """Flat parts that are not of the shape that the model has."""
    found: dict[str, Fault] = {}
    for copy, own in lying.items():
        if own.off > OFF and copy.part not in found:
            what = f"{own.line} of its paper is {own.off:.1f} mm from that of the model"
            found[copy.part] = Fault(foam.part(copy).title, what, own.off)
    return list(found.values())


def lying_there(part: Part, copy: Copy, mirrored: bool, model: Model) -> Lying:
    """Where its lines come nearest to the bounds of its faces, either way; first as its arrows say that it lies."""
    flat = as_cut(part, mirrored, plain_sheet(part))
    first = flat.moved(registered({copy: flat}, model, [copy]))
    best: Lying | None = None
    # the names of its edges may be those of its mirror image, where one template serves both hands
    for start in (*_as_told(first, copy), first, *_turned(first)):
        piece = _on_lines(start, copy, model)
        off, line = _off(piece, copy, model)
        if best is None or off < best.off:
            best = Lying(piece, off, line)
        if best.off <= OFF:
            break
    assert best is not None
    for piece in _as_told(best.piece, copy):  # what is round was turned a little by the triangles of the model alone
        off, line = _off(piece, copy, model)
        if off <= best.off + _HAIR:
            best = Lying(piece, off, line)
    return best


def just_there(piece: Placed, copy: Copy, model: Model) -> Placed:
    """A flat copy that came out about where the model has it, laid on its faces there; as it is where its lines do not fit
    them, as where it stands for another copy that is alike."""
    if any((copy, face) not in model.faces for face in _FACES):
        return piece
    laid = _on_lines(piece, copy, model)
    return laid if _off(laid, copy, model)[0] <= OFF else piece


def goes_round(piece: Placed, copy: Copy, model: Model) -> bool:
    """Could a flat copy that lies on its faces lie there turned as well, and no arrow says how?"""
    if any(arrow(copy, piece, name) is not None for name in _WAYS):
        return False
    up, middle = piece.up(piece.part.rings[0][:1])[0], piece.points.mean(axis=0)
    return _off(piece.moved(turned_about(up, _SOME_TURN, middle)), copy, model)[0] <= OFF


def _as_told(piece: Placed, copy: Copy) -> Iterator[Placed]:
    """Turned in its plane as an arrow on it says: forward is along x, up along z."""
    up, middle = piece.up(piece.part.rings[0][:1])[0], piece.points.mean(axis=0)
    for name, way in _WAYS.items():
        own = arrow(copy, piece, name)
        if own is not None:
            angle = np.arctan2(np.cross(own, way) @ up, own @ way - (own @ up) * (way @ up))
            yield piece.moved(turned_about(up, float(angle), middle))
            return


def _turned(piece: Placed) -> Iterator[Placed]:
    """A piece turned round in its plane, and over if that is all one."""
    up, middle = piece.up(piece.part.rings[0][:1])[0], piece.points.mean(axis=0)
    side = frame_of(up)[0]
    for first in (STILL, turned_about(side, np.pi, middle))[: 2 if turns_over(piece.part) else 1]:
        for k in range(_TURNS):
            yield piece.moved(turned_about(up, 2 * np.pi * k / _TURNS, middle).after(first))


def _off(piece: Placed, copy: Copy, model: Model) -> tuple[float, str]:
    return max(_every_off(piece, copy, model))


def _every_off(piece: Placed, copy: Copy, model: Model) -> Iterator[tuple[float, str]]:
    """How far each line is from the bound of its face, either way, and its name."""
    part = piece.part
    for face in _FACES:
        bound = model.faces[copy, face].bound
        rings = [_in_space(piece, ring, face) for ring in part.face_rings(face == "inside")]
        bounds = np.vstack([bound.starts, bound.ends])
        each = np.array([_away(bounds, _line(piece, ring, face)) for ring in part.face_rings(face == "inside")])
        back, nearest = each.min(axis=0), each.argmin(axis=0)
        for number, ring in enumerate(rings):
            name = "the outline" if number == 0 else f"hole {number}"
            yield float(_away(ring, bound).max()), name
            yield float(back[nearest == number].max(initial=0.0)), name


def _away(points: np.ndarray, lines: Lines) -> np.ndarray:
    """(K,)"""
    return lengths(lines.nearest(points) - points)


def _on_lines(piece: Placed, copy: Copy, model: Model) -> Placed:
    """From about where it belongs, line on line."""
    bounds = [model.faces[copy, face].bound for face in _FACES]
    for _ in range(_ROUNDS):
        lines = [
            np.vstack([_in_space(piece, ring, face) for ring in piece.part.face_rings(face == "inside")])
            for face in _FACES
        ]
        found = [bound.feet(line) for bound, line in zip(bounds, lines)]
        motion = slid(np.vstack(lines), *(np.vstack([each[k] for each in found]) for k in range(2)))
        piece = piece.moved(motion)
        if float(np.abs(motion(lines[0]) - lines[0]).max()) < _STILL:
            break
    return piece


def _line(piece: Placed, ring: np.ndarray, face: str) -> Lines:
    line = piece.place(ring, np.full(len(ring), piece.part.depth(face == "inside")))
    return Lines.between(line, np.roll(line, -1, axis=0))


def _in_space(piece: Placed, ring: np.ndarray, face: str) -> np.ndarray:
    closed = np.vstack([ring, ring[:1]])
    line = with_corners(closed, max(_STEP, float(chord_length(closed)[-1]) / _MOST))
    return piece.place(line, np.full(len(line), piece.part.depth(face == "inside")))
