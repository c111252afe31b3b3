"""Stacks: discs and rings one on another along an axis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import declared, key, listed
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import COUNT, LENGTH
from foamwright.design.messages import mistake
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source


@declared
class Round:
    """A disc or a ring of a stack."""

    radius: float = key(LENGTH, "Its radius.", more_than=0)
    inner_radius: float | None = key(LENGTH, "Makes it a ring.", more_than=0, optional=True)
    layers: int = key(COUNT, "Laminated from so many sheets.", at_most=50, default=1)


@declared
class Fields(PartFields):
    """Rounds one on another along an axis. In a pack its members are parts of their own: id_1 at the bottom, id_2 and
    so on; a design names it whole."""

    rounds: tuple[Round, ...] = key(listed(Round, least=1, most=100), "From the bottom up.")
    at: Placement = key(Placement, "The middle of the lowest round's inside face, and the way the stack grows.")


class Stack(Kind):
    name = "stack"
    fields = Fields
    in_trade = "stacked rounds"

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        for number, given in enumerate(part.values["rounds"]):
            inner, outer = given.get("inner_radius", 0.0), given["radius"]
            if inner >= outer:
                place = source.where(("parts", part.id, "rounds", number, "inner_radius"))
                raise mistake(
                    place, f"an inner radius of {inner:g} in an outer one of {outer:g}", "less than the outer radius"
                )

    def members(self, part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
        """Discs and rings: each lies on the one below, its thickness further along the axis."""
        shared = {key: value for key, value in part.values.items() if key not in ("rounds", "at")}
        layers: list[PartSpec] = []
        height = 0.0
        for number, given in enumerate(part.values["rounds"], 1):
            at = _raised(part.values["at"], height)
            below = (layers[-1].id,) if layers else part.values["lies_on"]
            kind, radii = "disc", {"radius": given["radius"]}
            if "inner_radius" in given:
                kind, radii = "ring", {"outer_radius": given["radius"], "inner_radius": given["inner_radius"]}
            values = {**shared, **radii, "layers": given["layers"], "at": at, "lies_on": below, "whole": part.id}
            layers.append(
                replace(part, id=f"{part.id}_{number}", name=f"{part.name}, round {number}", kind=kind, values=values)
            )
            height += thickness * given["layers"]
        return tuple(layers)


def _raised(at: Mapping[str, Any], height: float) -> Mapping[str, Any]:
    """A placement moved by `height` (mm) along its normal."""
    if "onto" in at:
        return {**at, "onto": {**at["onto"], "offset": at["onto"]["offset"] + height}}
    axes = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
    normal = at["normal"]
    direction = axes[normal[-1]] if isinstance(normal, str) else normal
    size = sum(c * c for c in direction) ** 0.5 * (-1.0 if isinstance(normal, str) and normal[0] == "-" else 1.0)
    return {**at, "origin": tuple(o + height * c / size for o, c in zip(at["origin"], direction, strict=True))}


KIND = Stack()
