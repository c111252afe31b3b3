"""Where bent parts are touched on their broad faces, on their patterns: for the record, and for whoever builds by it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.contacts.footprints import footprints
from foamwright.contacts.records import FACES, Contacts
from foamwright.flatten.records import Patterns
from foamwright.parts.records import BandBody, PanelBody
from foamwright.templates.marks import touched_lines


@dataclass(frozen=True, eq=False)
class Touched:
    """What one contact, by its place among all, covers of a face of one copy: closed `lines` (N, 2) on the pattern, in mm;
    the first point is not repeated."""

    contact: int
    part: str
    copy: int
    face: str
    lines: tuple[np.ndarray, ...]


def touched_faces(patterns: Patterns, contacts: Contacts) -> tuple[Touched, ...]:
    """In the order of the patterns, of their copies, and of what touches each."""
    place = {contact: number for number, contact in enumerate(contacts.found)}
    made = (
        Touched(
            place[footprint.contact],
            pattern.piece.id,
            copy,
            footprint.face,
            touched_lines(pattern, footprint),
        )
        for pattern in patterns.patterns
        if isinstance(pattern.piece.body, PanelBody | BandBody)
        for copy in range(1, len(pattern.piece.placements) + 1)
        for footprint in footprints(pattern.piece, copy, contacts)
        if footprint.face in FACES
    )
    return tuple(own for own in made if own.lines)
