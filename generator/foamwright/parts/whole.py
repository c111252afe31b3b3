"""Pieces that are several times in one whole, as the sides of a prism are: where they stand, and their seams."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from foamwright.design.records import PartSpec
from foamwright.forms.surface import Surface
from foamwright.parts.placing import move
from foamwright.parts.records import EdgeRef, EdgeRun, FlatBody, Piece, Placement, SeamSpec
from foamwright.parts.seams import glue_between
from foamwright.registry import kind

_SAME = 0.01  # mm
_SHARP = 0.5  # degrees: an edge with less of a bevel is no mitre


def spread(piece: Piece, spec: PartSpec, surface_of: Callable[[str], Surface]) -> Piece:
    """The piece with every place of it in one whole, for each place of the whole."""
    within = kind(spec.kind).places(spec, surface_of)
    if within is None:
        return piece
    places = tuple(
        Placement(whole.matrix @ own.matrix, whole.mirrored != own.mirrored)
        for whole in piece.placements
        for own in within
    )
    return replace(piece, placements=places)


def find_mitres(pieces: Sequence[Piece], first: int) -> tuple[SeamSpec, ...]:
    """The seams between mitred plates: edges whose outer lines are one; numbered from `first`."""
    plates = [p for p in pieces if isinstance(p.body, FlatBody) and any(run.joins for run in p.body.runs)]
    seams: list[SeamSpec] = []
    pairs = set()
    for piece in plates:
        for run in piece.body.runs:
            for other in plates:
                if other.id not in run.joins:
                    continue
                for candidate in other.body.runs:
                    key = frozenset([(piece.id, run.id), (other.id, candidate.id)])
                    if key in pairs:
                        continue
                    senses = _senses(piece, run, other, candidate)
                    if senses:
                        pairs.add(key)
                        a, b = EdgeRef(piece.id, run.id), EdgeRef(other.id, candidate.id)
                        name = f"S{first + len(seams)}"
                        glue, both_ways = glue_between(piece, other), len(set(senses)) > 1
                        seams.append(SeamSpec(name, a, b, senses[0] < 0, glue, len(senses), both_ways))
    return tuple(seams)


def _senses(piece: Piece, run: EdgeRun, other: Piece, candidate: EdgeRun) -> list[int]:
    """For every place in the prop where two edges are one: 1 if they run the same way there, else -1."""
    senses = []
    for place in piece.placements:
        for beside in other.placements:
            if other is piece and (beside is place or candidate.id == run.id):
                continue
            sense = _same_line(_outer_line(piece, run, place), _outer_line(other, candidate, beside))
            if sense:
                senses.append(sense)
    return senses


def _outer_line(piece: Piece, run: EdgeRun, place: Placement) -> np.ndarray | None:
    """Both ends (2, 3) of a straight edge on the outer face; None where it is not mitred."""
    body: FlatBody = piece.body
    if min(run.bevel) < _SHARP or run.stop - run.start != 1:
        return None
    flat = body.outline[np.array([run.start, run.stop]) % len(body.outline)]
    ends = body.frame.to_space(np.column_stack([flat, np.full(2, piece.thickness)]))
    return move(ends, place.matrix)


def _same_line(a: np.ndarray | None, b: np.ndarray | None) -> int:
    """1 if two lines are one, -1 if one runs against the other, 0 if they differ."""
    if a is None or b is None:
        return 0
    if np.abs(a - b).max() < _SAME:
        return 1
    return -1 if np.abs(a - b[::-1]).max() < _SAME else 0
