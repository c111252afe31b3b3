"""A form that goes on past its open end, where foam that follows it is cut by a plane there.

The faces of foam lie beside the form and end beside the form's own end: on a cone that is cut level, one face would end
short of the cut. The sheet goes straight on, as foam does.
"""

from __future__ import annotations

import math

import numpy as np

from foamwright.forms.loft import Loft
from foamwright.forms.parametric import Revolution
from foamwright.forms.surface import Surface
from foamwright.parts.levels import PlaneLevel

_AROUND = 96  # points that stand for an end
_ON = 1e-6  # mm
_TO_SPARE = 1.5, 1.0  # times what the farthest face needs, and mm


def past_ends(surface: Surface, plane: PlaneLevel, farthest: float) -> Surface:
    """The form carried on past each open end that `plane` cuts off whole, as far as foam whose faces lie up to `farthest`
    mm from the form runs beyond that end on its way to the plane. Forms without such an end are as they were."""
    if not isinstance(surface, Revolution | Loft):
        return surface
    reach = [_reach(surface, plane, farthest, end) for end in (0, 1)]
    return surface.carried_on(*reach) if any(reach) else surface


def _reach(surface: Revolution | Loft, plane: PlaneLevel, farthest: float, end: int) -> float:
    if surface.poles[end] or surface.tips[end]:
        return 0.0
    rim, across = (np.column_stack([np.full(_AROUND, u), np.arange(_AROUND) / _AROUND]) for u in (end, 1.0 - end))
    inwards = math.copysign(1.0, float(plane(surface.point(across)).mean() - plane(surface.point(rim)).mean()))
    within = inwards * plane(surface.point(rim))  # how far the rim lies on the side of the form's other end
    lean = np.abs(surface.normal(rim) @ plane.normal).max()
    needed = farthest * lean / math.sqrt(max(1.0 - lean**2, 1e-6))
    if within.max() > _ON or within.max() < -needed:  # it leaves some of the end as it is, or lies clear of it
        return 0.0
    return _TO_SPARE[0] * needed + _TO_SPARE[1]
