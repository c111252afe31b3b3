"""Flat copies laid each by itself where the model has them, to tell a fault of the paper from one of the bench.

What fits together there is cut right, however the bench came to set it. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from foamwright.proof.bench.fits import as_it_stands
from foamwright.proof.bench.foam import Copy, Foam
from foamwright.proof.bench.footings import Footing
from foamwright.proof.bench.measure import Model, measured, registered
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.plates import seam_gap
from foamwright.proof.bench.rigid import STILL
from foamwright.proof.bench.seams import glue


def laid_in_place(placed: Mapping[Copy, Placed], copies: Iterable[Copy], model: Model) -> dict[Copy, Placed]:
    """The copies as the model has them, those of which it has the faces."""
    found = {}
    for copy in copies:
        if (copy, "inside") in model.faces and (copy, "outside") in model.faces:
            own = {copy: placed[copy]}
            found[copy] = placed[copy].moved(registered(own, model, [copy]))
    return found


def fits_together(foam: Foam, there: Mapping[Copy, Placed], model: Model, gap: float, off: float) -> bool:
    """Are copies, as they lie `there`, no further than `off` from their faces, and their seams no wider than `gap`?"""
    joined = [sewn for sewn in foam.sewn if sewn.a in there and sewn.b in there]
    gaps = [seam_gap(there, g) for sewn in joined if (g := glue(foam, sewn))]
    away = [float(one.away.max()) for one in measured(there, STILL, model)]
    return max(gaps, default=0.0) <= gap and max(away, default=0.0) <= off


def stands_on(there: Mapping[Copy, Placed], joints: Sequence[Footing], off: float) -> bool:
    """Are the feet of flat copies, as they lie `there`, no further than `off` from the lines drawn for them?"""
    lower = {f.lower: there[f.lower] for f in joints}
    upper = {f.upper: there[f.upper] for f in joints}
    return max(as_it_stands(lower, upper, joints), default=0.0) <= off
