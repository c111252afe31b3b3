"""Which points of two edges are glued to each other: tick on tick, and evenly between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.proof.bench.foam import Edge, Foam, Part, Sewn
from foamwright.proof.bench.pieces import Placed

_SPACING = 6.0  # mm between glued points, about
_EVEN = 1e-3  # mm
_CORNER = 1.05  # of the blade's way across, from a corner to the first of them


@dataclass(frozen=True, eq=False)
class Glue:
    """Points of the papers of `a` and `b` that come together: (K, 2) each, with their depths (K,) below the drawn face.

    They come in pairs, at the same place along the edges: first all on one side of what touches, then all on the other.
    `later` and `along` (K,) are where they lie on edge `a`, `along` from 0 to 1.
    """

    sewn: Sewn
    a: np.ndarray
    depth_a: np.ndarray
    b: np.ndarray
    depth_b: np.ndarray


def matched(a: Edge, b: Edge, against: bool) -> tuple[np.ndarray, np.ndarray]:
    """Running lengths at which the same points are on both edges: ends and ticks.

    Seen from their inside faces two sheets side by side run their edges `against` each other; not so where one of them
    is cut flipped.
    """
    pairs = [(0.0, b.length if against else 0.0)]
    pairs += _ticks(a, b, against)
    pairs.append((a.length, 0.0 if against else b.length))
    return np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])


def _ticks(a: Edge, b: Edge, against: bool) -> list[tuple[float, float]]:
    """Ticks of one number, in the order of those on `a`; a number may stand at both ends of an edge, where copies of a
    seam meet both ways."""
    one = sorted(a.ticks, key=lambda tick: tick[1])
    other = sorted(b.ticks, key=lambda tick: tick[1], reverse=against)
    if [number for number, _ in one] == [number for number, _ in other]:
        return [(along, beside) for (_, along), (_, beside) in zip(one, other)]
    places = dict(b.ticks)
    return [(along, places[number]) for number, along in one if number in places]


def glue(foam: Foam, sewn: Sewn, spacing: float = _SPACING) -> Glue | None:
    """What is glued along a seam; None if an edge has no line on the paper."""
    part_a, part_b = foam.part(sewn.a), foam.part(sewn.b)
    edge_a, edge_b = part_a.edge(sewn.edge_a), part_b.edge(sewn.edge_b)
    if edge_a is None or edge_b is None:
        return None
    known_a, known_b = matched(edge_a, edge_b, foam.mirrored(sewn.a) == foam.mirrored(sewn.b))
    count = max(3, int(np.ceil(edge_a.length / spacing)) + 1)
    clear = min(0.3 * edge_a.length, _CORNER * max(_corner(part_a, edge_a), _corner(part_b, edge_b)))
    along_a = np.linspace(clear, edge_a.length - clear, count)
    along_b = np.interp(along_a, known_a, known_b)
    sides = []
    for depth_a, depth_b in zip(*touched(part_a, part_b, sewn)):
        sides.append((*_at(part_a, edge_a, along_a, depth_a), *_at(part_b, edge_b, along_b, depth_b)))
    return Glue(sewn, *(np.concatenate([side[k] for side in sides]) for k in range(4)))


def _corner(part: Part, edge: Edge) -> float:
    """How far from its ends, in mm, the blade comes out nearer to the next edge's line than to its own: its own way
    across, and that by which the next edge comes in over the part."""
    side = 1.0 if part.drawn_inside else -1.0
    own = float(np.abs(np.tan(np.radians(edge.bevel))).max())
    if own == 0.0:  # both lines are above each other
        return 0.0
    inwards = [-side * np.tan(np.radians(other.bevel)) for other in part.edges if other is not edge]
    return (own + max((0.0, *(float(far.max()) for far in inwards if far.size)))) * part.thickness


def touched(a: Part, b: Part, sewn: Sewn) -> tuple[tuple[float, float], tuple[float, float]]:
    """The depths below the inside faces of both from which and to which they touch."""
    return sewn.touch_a or (0.0, a.thickness), sewn.touch_b or (0.0, b.thickness)


def is_even(a: Part, b: Part, sewn: Sewn) -> bool:
    """Do all of two edges of one thickness touch? Then they are of one length wherever it is measured."""
    whole = ((0.0, a.thickness), (0.0, b.thickness))
    return abs(a.thickness - b.thickness) < _EVEN and np.allclose(touched(a, b, sewn), whole, atol=_EVEN)


def placed_at(piece: Placed, edge: Edge, along: np.ndarray, from_inside: float) -> np.ndarray:
    """Points (K, 3) of the edge's cut at a depth below the inside face, by running lengths (K,) along its line."""
    return piece.place(*_at(piece.part, edge, along, from_inside))


def _at(part: Part, edge: Edge, along: np.ndarray, from_inside: float) -> tuple[np.ndarray, np.ndarray]:
    """Points (K, 2) of the edge's cut at a depth below the inside face, and that depth (K,) below the drawn face."""
    depth = from_inside if part.drawn_inside else part.thickness - from_inside
    drawn = edge.at(along)
    share = depth / part.thickness
    points = drawn if share == 0.0 else drawn + share * (part.across(drawn, edge) - drawn)
    return points, np.full(len(along), depth)
