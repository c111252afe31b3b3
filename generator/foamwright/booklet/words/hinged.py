"""What a hinge of cloth holds, as a door in its doorway: how it is held while the hinge goes on."""

from __future__ import annotations

import igl
import numpy as np

from foamwright.assembly.bodies import Bodies, moving_as_one, surface
from foamwright.assembly.naming import all_of
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import length, say

_TOUCHES, _FAR = 0.3, 15.0  # mm: what is nearer needs no spacer, and what is further does not close what it hangs on


def lines(told: Fitting) -> list[str]:
    """A sentence for each thing that goes in now and that cloth alone holds to what stands, with a gap between the two."""
    bodies, text = told.bodies, dict[str, None]()
    new = [copy for move in told.moves for copy in move.copies]
    held = moving_as_one(bodies) if any(bodies.pieces[copy].stock.is_cloth for copy in new) else ()
    for hinge in new:
        if not held or not bodies.pieces[hinge].stock.is_cloth:
            continue
        ends = [b for (a, b), touch in sorted(bodies.touches.items()) if a == hinge and touch.glued]
        ends = [
            end for end in ends if not bodies.pieces[end].stock.is_cloth and (end in new or told.standing >> end & 1)
        ]
        if not ends:
            continue
        carrier = max(ends, key=lambda end: (told.standing >> end & 1, bodies.spheres[end, 3]))
        fixed = [end for end in ends if held[carrier] >> end & 1]
        opening = [end for end in ends if end not in fixed and end in new]
        gap = _gap(bodies, opening, fixed)
        if _TOUCHES < gap < _FAR:
            halves = round(2.0 * gap)
            sentence = say(
                "Before you glue {hinge} on, hold {parts} in its place with tape, {size} from {others}: strips of card or scrap "
                "foam as thick keep the gap. Keep glue off the edges that look at each other there, so that it opens.",
                hinge=all_of([bodies.pieces[hinge]]),
                parts=all_of([bodies.pieces[end] for end in opening]),
                others=all_of([bodies.pieces[end] for end in fixed]),
                size=length(halves / 2.0, halves % 2),
            )
            text[sentence] = None
    return [*text]


def _gap(bodies: Bodies, some: list[int], others: list[int]) -> float:
    """How near in mm some copies come to others; inf where there are none."""
    if not some or not others:
        return np.inf
    points, triangles = bodies.mesh(tuple(others))
    own = np.vstack([surface(bodies, copy)[0] for copy in some] + [bodies.mesh(tuple(some))[0]])
    return float(np.sqrt(igl.point_mesh_squared_distance(own, points, triangles)[0].min()))
