"""Strips that nothing holds between their ends, as a handle: they get their curve before they are glued. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.naming import capital, one_of
from foamwright.flatten.records import Pattern
from foamwright.language import length, say
from foamwright.parts.records import BandBody, Piece

_LEAST_RISE = 3.0  # mm that a strip stands off straight, to be bent
_FREE = 0.03  # of its broad face that a strip touches, and nothing holds it there


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
    """Those of some patterns that are open strips of thick foam, bent and not folded, which touch nothing with their broad
    faces."""
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


def _is_free(pattern: Pattern, bodies: Bodies) -> bool:
    body = pattern.piece.body
    thin = pattern.piece.stock.thickness <= practice.THIN
    if not isinstance(body, BandBody) or body.closed or body.corners or thin:
        return False
    copies = bodies.of(pattern.piece.id)
    on_broad = sum(touch.broad[0] * touch.area for (copy, _), touch in bodies.touches.items() if copy in copies)
    return bool(copies) and on_broad < _FREE * pattern.area * len(copies)
