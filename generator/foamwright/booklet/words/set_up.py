"""How the work is turned for what would hang on fresh cement: what stands far off a place that does not look up is set on from
above (common practice, no source)."""

from __future__ import annotations

import numpy as np

from foamwright.assembly.bodies import mean_off
from foamwright.assembly.naming import all_of
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count
from foamwright.parts.records import PanelBody, Piece

_UP = 0.5  # of a direction off a place, upwards, from which what is set on it stands by itself
_ONE_WAY = 0.9  # of a direction: less, and the part is held from several sides
_FAR = 80.0  # mm that a part reaches off the place, from which it drags at it
_SLENDER = 1.0  # times as far off as the place is wide


def lines(told: Fitting) -> list[str]:
    """A sentence for the parts of a step that are set on with the work turned, with what they are glued to."""
    sewn = {part for joint in told.seams if len(joint.parts) > 1 for part in joint.parts}
    found = [
        piece for piece in told.pieces if piece.id not in sewn and not told.whole_of(piece) and _hangs(told, piece)
    ]
    if not found:
        return []
    others = {m.other for m in told.meetings if m.new in {piece.id for piece in found} and m.glue != "none"}
    facts = {
        "parts": all_of(found),
        "others": all_of([piece for part, piece in told.every.items() if part in others]),
    }
    return [
        count(
            "Turn the work so that the place on {others} looks up, and set {parts} on from above; leave it so until the glue "
            "holds. Prop up with foam or cushions what does not stand by itself.",
            "Turn the work so that the place on {others} looks up, and set {parts} on from above, one after the other; leave "
            "each so until the glue holds. Prop up with foam or cushions what does not stand by itself.",
            sum(len(told.own(piece)) for piece in found),
            **facts,
        )
    ]


def _hangs(told: Fitting, piece: Piece) -> bool:
    """Is a bent part glued by its foot alone, on places that do not look up, and does it reach far off them?"""
    copies = told.own(piece)
    return isinstance(piece.body, PanelBody) and bool(copies) and all(_hangs_off(told, copy) for copy in copies)


def _hangs_off(told: Fitting, copy: int) -> bool:
    pairs = [pair for m in told.meetings if m.glue != "none" for pair in m.pairs if pair[0] == copy]
    touches = [told.bodies.touches[pair] for pair in pairs]
    if not touches:
        return False
    off = mean_off(touches)
    if float(np.linalg.norm(off)) < _ONE_WAY or float(off[2]) > _UP:
        return False
    places = np.vstack([t.places for t in touches])
    reach = float((told.bodies.mesh((copy,))[0] @ off).max() - (places @ off).mean())
    return reach > max(_FAR, _SLENDER * float(np.ptp(places, axis=0).max()))
