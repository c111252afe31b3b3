"""Rods: round stock cut to length, a bar laminated from strips, or a many-sided bar wrapped from one sheet."""

from __future__ import annotations

import math

import numpy as np

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.parts.placing import default_up
from foamwright.parts.records import BandBody, BandCorner, RodBody, Stretch

_LEAST_CORE = 0.5  # mm, radius of the hollow in a wrapped rod: less cannot be folded shut


def rod_body(spec: PartSpec, stock: Stock) -> RodBody | BandBody:
    """The rod of `spec` between its two points. Raises BuildError for a diameter that its stock cannot make."""
    values = spec.values
    start, end = (np.asarray(values[key], float) for key in ("from", "to"))
    length = float(np.linalg.norm(end - start))
    if length == 0:
        raise BuildError("it begins where it ends; expected two different points")
    diameter = values.get("diameter", stock.thickness)
    if values["made"] == "bought":
        if abs(diameter - stock.thickness) > 1e-6:
            raise BuildError(
                f"a diameter of {diameter:g} mm from {stock.name}, which is bought round at {stock.thickness:g} mm; "
                "expected the same, or another stock"
            )
        return RodBody(start, end, diameter, bought=True)
    if values["made"] == "laminated":
        return RodBody(start, end, diameter, bought=False)
    return _wrapped(start, end, diameter, values["sides"], stock)


def layers_of(spec: PartSpec, stock: Stock) -> int:
    """Sheets that are laminated for one rod."""
    if spec.values["made"] != "laminated":
        return 1
    return max(1, math.ceil(spec.values.get("diameter", stock.thickness) / stock.thickness - 1e-9))


def _wrapped(start, end, diameter: float, sides: int, stock: Stock) -> BandBody:
    """A ring of `sides` flats, `diameter` across them; its corners are scored and folded, so that the length of
    the strip is that of the outer face."""
    if sides < 3:
        raise BuildError(f"{sides} sides; expected 3 or more")
    if diameter / 2 - stock.thickness < _LEAST_CORE:
        raise BuildError(
            f"a diameter of {diameter:g} mm cannot be wrapped from foam of {stock.thickness:g} mm; expected more than "
            f"{2 * (stock.thickness + _LEAST_CORE):g} mm, or made: laminated"
        )
    across = (end - start) / np.linalg.norm(end - start)
    up = default_up(across)
    up = up - (up @ across) * across
    up = up / np.linalg.norm(up)
    right = np.cross(up, across)
    half = np.pi / sides
    angle = half + 2 * half * np.arange(sides + 1)  # begins at a corner, where the strip closes
    outward = np.outer(np.sin(angle), right) + np.outer(np.cos(angle), up)
    outward[-1] = outward[0]
    if np.cross(outward[0], outward[1]) @ across < 0:
        outward = outward[::-1]
    corners = start + diameter / 2 / np.cos(half) * outward
    size = len(corners)
    return BandBody(
        curve=corners,
        normals=outward / np.cos(half),
        across=across,
        low=np.zeros(size),
        high=np.full(size, float(np.linalg.norm(end - start))),
        inner_offset=-stock.thickness,
        closed=True,
        trim_start=0.0,
        trim_end=0.0,
        joins_low=(),
        joins_high=(),
        stretches=tuple(Stretch(i, i + 1, "flat") for i in range(sides)),
        corners=tuple(BandCorner(i, 360.0 / sides, (180.0 / sides,) * 2, "scored") for i in range(sides)),
    )
