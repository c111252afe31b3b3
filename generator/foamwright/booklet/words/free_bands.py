"""Strips that get their curve before they are glued, as nothing round is under them: those that nothing holds between their ends,
as a handle, and those that stand on their edge, as the side of a drum. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.naming import all_of, capital, one_of
from foamwright.flatten.records import Pattern
from foamwright.language import length, say
from foamwright.parts.records import BandBody, FlatBody, Piece

_LEAST_RISE = 3.0  # mm that a strip stands off straight, to be bent
_FREE = 0.03  # as much of its broad face that a strip touches beside its ends, and nothing holds it there


@dataclass(frozen=True, eq=False)
class FreeBand:
    """A strip seen on its edge, lying on the line between the two ends of its inside: the points of its `inside` and its
    `outside` (n, 2), the first at 0, 0 and the last of the inside level with it; it rises to positive y."""

    piece: Piece
    inside: np.ndarray
    outside: np.ndarray

    @property
    def apart(self) -> float:
        """From end to end of the inside."""
        return float(abs(self.inside[-1, 0]))

    @property
    def rise(self) -> float:
        """How far its inside stands off the line between its ends."""
        return float(np.abs(self.inside[:, 1]).max())


def free_bands(patterns: Sequence[Pattern], bodies: Bodies) -> list[FreeBand]:
    """Those of some patterns that are open strips of thick foam, bent and not folded, which touch nothing but
    with their ends."""
    found = (
        seen(p.piece, p.piece.body) for p in patterns if isinstance(p.piece.body, BandBody) and _is_free(p, bodies)
    )
    return [band for band in found if band.rise >= _LEAST_RISE]


def seen(piece: Piece, body: BandBody) -> FreeBand:
    """A strip as it is bent."""
    low, high = (
        body.curve + off * body.normals for off in (body.inner_offset, body.inner_offset + piece.stock.thickness)
    )
    level = low[-1] - low[0] - ((low[-1] - low[0]) @ body.across) * body.across
    if float(np.linalg.norm(level)) < 1e-6:  # its ends lie at one place
        level = low[1] - low[0]
    level = level / np.linalg.norm(level)
    plane = np.column_stack([level, np.cross(body.across, level)])
    inside, outside = (low - low[0]) @ plane, (high - low[0]) @ plane
    up = np.array([1.0, -1.0 if inside[np.abs(inside[:, 1]).argmax(), 1] < 0.0 else 1.0])
    return FreeBand(piece, up * inside, up * outside)


def lines(bands: Sequence[FreeBand]) -> list[str]:
    """How each is bent, in the step with the heat gun."""
    return [
        say(
            "{part} stands free between its ends: bend it by hand while it is warm, bit by bit, to the curve of its picture, and "
            "hold it until it is cool. Measured inside, its ends are {apart} apart, and it stands {rise} off the line "
            "between them.",
            part=capital(one_of(band.piece)),
            apart=length(band.apart),
            rise=length(band.rise),
        )
        for band in bands
    ]


def on_edge(patterns: Sequence[Pattern], bodies: Bodies) -> list[tuple[Piece, list[Piece]]]:
    """Those of some patterns that are bent strips of thick foam and stand along flat parts with a long edge, with these parts."""
    found = []
    for pattern in patterns:
        piece, body = pattern.piece, pattern.piece.body
        if not isinstance(body, BandBody) or not _takes_its_curve(piece, body) or seen(piece, body).rise < _LEAST_RISE:
            continue
        ends = _ends(piece, body)
        along = {
            bodies.pieces[other].id: bodies.pieces[other]
            for (copy, other), touch in bodies.touches.items()
            if bodies.pieces[copy].id == piece.id and touch.glued and touch.area > ends
            if touch.broad[0] < 0.5 < touch.broad[1] and isinstance(bodies.pieces[other].body, FlatBody)
        }
        if along:
            found.append((piece, list(along.values())))
    return found


def along_lines(standing: Sequence[tuple[Piece, Sequence[Piece]]]) -> list[str]:
    """How each is bent, in the step with the heat gun."""
    return [
        say(
            "{part} stands on its edge along a curve of {others}: bend it by hand while it is warm, bit by bit, until it follows "
            "that curve by itself.",
            part=capital(one_of(piece)),
            others=all_of(others),
        )
        for piece, others in standing
    ]


def _takes_its_curve(piece: Piece, body: BandBody) -> bool:
    """Is it thick foam that is bent, and not folded?"""
    return not body.corners and piece.stock.thickness > practice.THIN and piece.stock.material_type == "foam"


def _ends(piece: Piece, body: BandBody) -> float:
    """mm2 of the cut faces at both ends of a strip."""
    return 2.0 * float(np.mean(body.high - body.low)) * piece.stock.thickness


def _is_free(pattern: Pattern, bodies: Bodies) -> bool:
    piece, body = pattern.piece, pattern.piece.body
    if not isinstance(body, BandBody) or body.closed or not _takes_its_curve(piece, body):
        return False
    copies = bodies.of(piece.id)
    along = sum(touch.area for (copy, _), touch in bodies.touches.items() if copy in copies)
    along -= _ends(piece, body) * len(copies)
    return bool(copies) and along < _FREE * pattern.area * len(copies)
