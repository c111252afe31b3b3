"""From a form of the design to its surface."""

from __future__ import annotations

from collections.abc import Mapping

from generator.design.records import Design, FormSpec
from generator.errors import BuildError
from generator.forms.parametric import Loft, Revolution, Superellipsoid
from generator.forms.surface import Surface


def make_surface(form: FormSpec) -> Surface:
    """The surface of one form; lengths in mm."""
    v = form.values
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
    return {form.id: make_surface(form) for form in design.forms.values()}
