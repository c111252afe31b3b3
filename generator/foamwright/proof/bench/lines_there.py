"""Edges and darts of bent foam that come to lie elsewhere than the design has them, each part by itself.

What is sewn up comes out much the same wherever along its edge a dart is, and foam with a free edge springs open whether or
not that is cut as it should be; so the shape of the whole tells of neither. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from foamwright.proof.bench.assembly import Group
from foamwright.proof.bench.foam import Copy, Dart, Foam, Part
from foamwright.proof.bench.measure import Model, edges_away, measured, registered
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.records import CRUMPLED, MEAN, PROP, WORST, Fault
from foamwright.proof.bench.rigid import STILL

_SHARE = 4.0 / WORST  # of what a prop as long as the part may be off at worst


def line_faults(
    foam: Foam, model: Model, there: Mapping[Copy, Placed], lone: Callable[[Copy], Group | None]
) -> list[Fault]:
    """Of the first copy of each bent part: `there` are copies as they came out, laid on the model, whose outlines are known to
    be where they belong. What is not among them, or has a dart elsewhere, is bent over the model by itself (`lone`)."""
    faults = []
    for part in foam.parts.values():
        copy = Copy(part.id, 1)
        if not part.bent or (copy in there and not any(len(dart.place) for dart in part.darts)):
            continue
        most = _SHARE * WORST * _long(part)
        off: dict[str, float] = {}
        if copy in there:
            piece = there[copy].moved(registered({copy: there[copy]}, model, [copy]))
            off = _every_off(piece, copy, model)
        if not off or max(off.values()) > most:
            group = lone(copy)
            if group is None or not lies(group.placed[copy], copy, model):
                continue
            again = _every_off(group.placed[copy], copy, model)
            off = {name: min(far, off.get(name, far)) for name, far in again.items()}
        name, far = max(off.items(), key=lambda one: one[1])
        if far > most:
            faults.append(Fault(part.title, f"{name} comes to lie {far:.1f} mm from where the design has it", far))
    return faults


def _every_off(piece: Placed, copy: Copy, model: Model) -> dict[str, float]:
    """How far its edges and darts are at most from where they belong, by their names."""
    darts = {f"dart {n}": _dart_off(piece, dart) for n, dart in enumerate(piece.part.darts, 1) if len(dart.place)}
    return {"its outline": float(edges_away({copy: piece}, model).max(initial=0.0))} | darts


def _dart_off(piece: Placed, dart: Dart) -> float:
    """Of the ends of a closed dart, on the surface that keeps its lengths: at a bevelled edge its mouth lies elsewhere there
    than on the drawn face."""
    part = piece.part
    ends = [piece.place(part.within(leg[[0, -1]]), np.full(2, part.neutral)) for leg in (dart.first, dart.second)]
    return float(np.linalg.norm(np.mean(ends, axis=0) - dart.place, axis=1).max())


def lies(piece: Placed, copy: Copy, model: Model) -> bool:
    """Does it lie on its faces in the model, stretched by no more than is told of it?"""
    found = measured({copy: piece}, STILL, model)
    stretched, most = piece.stretch()
    well = stretched <= piece.part.most_mean_strain and most < CRUMPLED
    return well and all(float(one.away.mean()) <= MEAN * _long(piece.part) for one in found)


def _long(part: Part) -> float:
    """How many times as long as a small prop it is, by which the bounds grow; 1 if it is shorter."""
    return max(1.0, float(np.ptp(part.rings[0], axis=0).max()) / PROP)
