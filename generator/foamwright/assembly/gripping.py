"""Would contact cement catch before a part is where it goes?"""

from __future__ import annotations

from foamwright.assembly import practice
from foamwright.assembly.taking_apart import Move, Stage
from foamwright.assembly.ways_in import Ways
from foamwright.parts.records import FlatBody, RodBody

_OPPOSITE = 0.25  # product of mean directions of two glued places that lie against each other


def grips(stage: Stage, standing: int, sewn: set[frozenset[str]], ways: Ways) -> bool:
    """Is contact cement dragged along a wall on the way in, or does a plate catch between two? `standing` are the copies,
    as bits, that stand before the stage, `sewn` the pairs of parts that share a seam."""
    return _dragged(stage, standing, sewn, ways) or _wedged(stage, standing, ways)


def _wedged(stage: Stage, standing: int, ways: Ways) -> bool:
    """Does a plate go in between walls that its edges are glued to on opposite sides, or what is built as a whole go over what
    its walls are glued to on opposite sides? Then cement grips askew."""
    for move in stage.moves:
        piece = ways.bodies.pieces[move.copies[0]]
        if isinstance(piece.body, FlatBody) and piece.glue == "contact":
            whole = stage.units[-1].whole and len(move.copies) > 1
            sides = [
                touch.off
                for touch in ways.touches_of(move.copies if whole else move.copies[:1], standing)
                if touch.glued and (whole or touch.broad[0] < 0.5) and not set(touch.edges)
            ]
            if any(float(a @ b) < -_OPPOSITE for a in sides for b in sides):
                return True
        standing |= ways.bodies.mask(move.copies)
    return False


def _in_holes(move: Move, standing: int, ways: Ways) -> bool:
    """Is it a bar that is pushed into holes, or what goes over the ends of bars? No paper goes in there; the cement is wet."""
    pieces = ways.bodies.pieces
    glued = [touch for touch in ways.touches_of(move.copies, standing) if touch.glued]
    return all(isinstance(pieces[t.a].body, RodBody) or isinstance(pieces[t.b].body, RodBody) for t in glued)


def _dragged(stage: Stage, standing: int, sewn: set[frozenset[str]], ways: Ways) -> bool:
    """Would contact cement be dragged along a wall on the way in?"""
    for move in stage.moves:
        drag = ways.drag(move.copies, move.way, standing, sewn)
        if drag > practice.DRAGGED and not _in_holes(move, standing, ways):
            return True
        standing |= ways.bodies.mask(move.copies)
    return False
