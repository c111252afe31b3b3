"""From a form of the design to its surface."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from foamwright.design.records import Design, FormSpec
from foamwright.errors import BuildError
from foamwright.forms.axes import turning_frame
from foamwright.forms.loft import Loft
from foamwright.forms.parametric import Revolution, Superellipsoid
from foamwright.forms.surface import Surface
from foamwright.working import working_on


def make_surface(form: FormSpec, folder: str) -> Surface:
    """The surface of one form; lengths in mm. Files are named from `folder`. Raises BuildError."""
    v = form.values
    if form.kind in ("mesh", "step"):
        from foamwright.forms.imported import imported_surface

        try:
            return imported_surface(form.kind, v, folder)
        except BuildError as error:
            raise BuildError(f"{form.where}: form {form.id}: {error}") from None
    if form.kind == "revolution":
        return Revolution(v["axis"], v["origin"], v["profile"], v["smooth"])
    if form.kind == "superellipsoid":
        return Superellipsoid(v["centre"], v["radii"], v["exponents"], v["axis"])
    if form.kind == "loft":
        sections = v["sections"]
        return Loft(
            v["axis"],
            [s["at"] for s in sections],
            [(s["width"] / 2, s["height"] / 2) for s in sections],
            [s["centre"] for s in sections],
            [s["exponent"] for s in sections],
        )
    raise BuildError(f"{form.where}: form {form.id}: no builder for the kind {form.kind}")


def make_surfaces(design: Design) -> Mapping[str, Surface]:
    surfaces = {}
    for form in design.forms.values():
        working_on(f"form {form.id}")
        try:
            surfaces[form.id] = make_surface(form, design.folder)
        except (ValueError, ArithmeticError, np.linalg.LinAlgError) as error:
            # profiles and sections that are well formed and yet give no curve
            raise BuildError(f"{form.where}: form {form.id}: no surface can be made of it: {error}") from error
    return surfaces


def form_axis(form: FormSpec) -> tuple[np.ndarray, np.ndarray]:
    """The axis of a form with the two directions square to it (columns of a (3, 3)), and a point (3,) of it.

    Raises BuildError for a form that has none.
    """
    v = form.values
    if "axis" not in v:
        raise BuildError(
            f"{form.where}: form {form.id} has no axis about which a panel could be opened; expected `axis`: x, y or z"
        )
    place = next((v[name] for name in ("origin", "centre", "at") if v.get(name) is not None), (0.0, 0.0, 0.0))
    return turning_frame(v["axis"]), np.asarray(place, float)
