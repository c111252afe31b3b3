"""Which copy of a part goes where: the left and the right one of a mirrored pair are told apart by that, in sentences as on
pictures; other copies that differ by their number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.naming import one_plate, some_of, the
from foamwright.language import listed, say
from foamwright.parts.records import Piece

_TALLER = 2.0  # times as far apart upwards as sideways, so that copies are told apart by height


def name(bodies: Bodies, copy: int) -> str:
    """A copy in a sentence: "the top (A)", "end B 1", "the left body (D)"; of copies that are alike "one of the 6 sides (C)"."""
    piece = bodies.pieces[copy]
    noun = one_plate(piece)
    if len(piece.placements) == 1:
        return say("the {name} ({label})", name=noun, label=piece.label)
    number = bodies.of(piece.id).index(copy)
    on_left = is_left(bodies, copy)
    if on_left is not None:
        if on_left:
            return say("the left {name} ({label})", name=noun, label=piece.label)
        return say("the right {name} ({label})", name=noun, label=piece.label)
    if is_numbered(bodies, piece):
        return say("{name} {label} {n}", name=noun, label=piece.label, n=number + 1)
    return say("one of {parts}", parts=the(piece))


def places(bodies: Bodies, part: str) -> tuple[str, ...]:
    """Where each copy of a part stands in the prop, in the order of their numbers; () where words do not tell them
    apart."""
    copies = bodies.of(part)
    if len(copies) < 2:
        return ()
    middles = np.array([np.ptp(bodies.mesh((c,))[0], axis=0) / 2 + bodies.mesh((c,))[0].min(axis=0) for c in copies])
    off = middles - middles.mean(axis=0)
    spans = np.abs(off).max(axis=0)
    if spans[2] > _TALLER * max(spans[0], spans[1]):
        words = [directions.at((0.0, 0.0, height)) for height in off[:, 2]]
    else:
        words = [directions.around(way) for way in off]
    return tuple(words) if len(set(words)) == len(words) else ()


def sides(bodies: Bodies, pieces: Sequence[Piece]) -> tuple[list[Piece], list[Piece]]:
    """Of parts that are cut as drawn and mirrored, those whose drawn copy goes on the left, and those on the right."""
    left: list[Piece] = []
    right: list[Piece] = []
    for piece in pieces:
        copies = bodies.of(piece.id)
        if not piece.is_pair or not copies:
            continue
        drawn = copies[[place.mirrored for place in piece.placements].index(False)]
        other = copies[[place.mirrored for place in piece.placements].index(True)]
        apart = bodies.spheres[drawn, :3] - bodies.spheres[other, :3]
        if np.abs(apart).argmax() == 1 and abs(apart[1]) > 1.0:
            (left if apart[1] > 0.0 else right).append(piece)
    return left, right


def is_numbered(bodies: Bodies, piece: Piece) -> bool:
    """Do the pieces of a part have numbers? Not where one is the left one and one the right: those have L and R. The front and
    the back half of a thing have, as nothing else that is written on them tells the mirrored one."""
    return (piece.id in bodies.numbered or piece.is_pair) and not any(sides(bodies, [piece]))


def seams_of_its_own(
    bodies: Bodies, part: str, numbers: Mapping[frozenset[tuple[str, str]], int]
) -> tuple[tuple[int, ...], ...]:
    """For each copy of a part the numbers of the seams that not all of its copies have."""
    each: list[set[int]] = []
    for copy in bodies.of(part):
        met = [
            numbers.get(frozenset(((part, edge), (bodies.pieces[b].id, beside))))
            for (a, b), touch in bodies.touches.items()
            if a == copy
            for edge, beside in touch.edges
        ]
        each.append({number for number in met if number is not None})
    common = set.intersection(*each) if each else set()
    return tuple(tuple(sorted(own - common)) for own in each)


def label(bodies: Bodies, copy: int) -> str:
    """As it stands in a bubble on a picture, and is written on the piece: the part's letter, with the number of the piece
    where pieces differ, or L and R for the left and the right one of a mirrored pair."""
    piece = bodies.pieces[copy]
    number = bodies.of(piece.id).index(copy)
    if is_numbered(bodies, piece):
        return f"{piece.label} {number + 1}"
    on_left = is_left(bodies, copy)
    if on_left is None:
        return piece.label
    return say("{label} L", label=piece.label) if on_left else say("{label} R", label=piece.label)


def is_left(bodies: Bodies, copy: int) -> bool | None:
    """Is a copy the left one of a mirrored pair; None where there is no left and right."""
    piece = bodies.pieces[copy]
    left, right = sides(bodies, [piece])
    if not (left or right):
        return None
    return bool(left) != piece.placements[bodies.of(piece.id).index(copy)].mirrored


def some(bodies: Bodies, copies: Sequence[int]) -> str:
    """Copies of one part: which they are, where they can be told apart, and else how many of how many."""
    piece = bodies.pieces[copies[0]]
    if (piece.id in bodies.numbered or piece.is_pair) and len(set(copies)) < len(piece.placements):
        return listed([name(bodies, copy) for copy in sorted(set(copies))])
    return some_of(piece, len(set(copies)))
