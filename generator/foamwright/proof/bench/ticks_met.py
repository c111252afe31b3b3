"""Ticks of seams of unlike foam, which no rule holds against each other: the surfaces that keep their lengths lie at unlike
heights there, and differ from tick to tick by what the foam turns.

So each of both panels is bent over the model by itself, without the other, and the ticks must come together where they touch, as
far along the seam as its ends tell. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from foamwright.proof.bench.assembly import Group
from foamwright.proof.bench.foam import Copy, Edge, Foam
from foamwright.proof.bench.lines_there import lies
from foamwright.proof.bench.measure import Model
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.records import PROP, Fault
from foamwright.proof.bench.seams import is_even, matched, placed_at, touched

_PAST = 2.0  # along a seam of `PROP` mm or less: over sound props of unlike foams 0.8
_SLID = 2.0  # times that, by which the ends of a seam may lie past each other; farther off, and nothing is told
_STEP = 0.5  # to either side of a tick, which tell which way its edge runs


def tick_faults(foam: Foam, model: Model, lone: Callable[[Copy], Group | None]) -> Iterator[Fault]:
    """Seams on which a tick of one edge comes to lie elsewhere than that of the other, once each; `lone` is a copy bent over the
    model by itself. Where either does not lie there well, nothing is told."""
    told = set()
    for sewn in foam.sewn:
        a, b = foam.part(sewn.a), foam.part(sewn.b)
        edge_a, edge_b = a.edge(sewn.edge_a), b.edge(sewn.edge_b)
        against = foam.mirrored(sewn.a) == foam.mirrored(sewn.b)
        key = (sewn.seam, sewn.edge_a, sewn.edge_b, against)
        if edge_a is None or edge_b is None or key in told or not (a.bent and b.bent) or is_even(a, b, sewn):
            continue
        told.add(key)
        along, beside = matched(edge_a, edge_b, against)
        one, other = (_there(model, lone, copy) for copy in (sewn.a, sewn.b))
        if len(along) < 3 or one is None or other is None:
            continue
        depth, across = (float(np.mean(heights)) for heights in touched(a, b, sewn))
        apart = placed_at(other, edge_b, beside, across) - placed_at(one, edge_a, along, depth)
        past = (apart * _way(one, edge_a, along, depth)).sum(axis=1)
        most = _PAST * max(1.0, edge_a.length / PROP)
        if np.abs(past[[0, -1]]).max() > _SLID * most:
            continue
        off = np.abs(past - np.interp(along, along[[0, -1]], past[[0, -1]]))
        worst = float(off.max())
        if worst > most:
            number = sorted(edge_a.ticks, key=lambda tick: tick[1])[int(off.argmax()) - 1][0]
            where = f"seam {sewn.seam} of {a.title} and {b.title}"
            yield Fault(where, f"tick {number} of one edge comes to lie {worst:.1f} mm past that of the other", worst)


def _there(model: Model, lone: Callable[[Copy], Group | None], copy: Copy) -> Placed | None:
    """A copy bent over the model, if it lies there well."""
    group = lone(copy)
    return group.placed[copy] if group is not None and lies(group.placed[copy], copy, model) else None


def _way(piece: Placed, edge: Edge, along: np.ndarray, depth: float) -> np.ndarray:
    """Unit steps (K, 3) along an edge."""
    before, past = (placed_at(piece, edge, np.clip(along + step, 0.0, edge.length), depth) for step in (-_STEP, _STEP))
    way: np.ndarray = (past - before) / np.maximum(np.linalg.norm(past - before, axis=1, keepdims=True), 1e-9)
    return way
