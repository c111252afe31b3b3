"""What is drawn on a flat part beside its outline: engraving, and pins that align its layers. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import shapely
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.parts import outlines
from foamwright.parts.records import EdgeFinish, FlatBody

PIN = 3.0  # diameter of an alignment pin: a cocktail stick or a 3 mm dowel (common practice, no source)


def detailed(
    body: FlatBody, values: Mapping[str, Any], area_of: Callable[[Mapping[str, Any]], shapely.Geometry]
) -> FlatBody:
    """The body with its engraving and pins. Raises BuildError for those that do not lie on it."""
    engrave, pins = values.get("engrave") or (), values.get("pins") or ()
    if not engrave and not pins:
        return body
    foam = Polygon(body.outline, body.holes)
    lines = []
    for given in engrave:
        for part in shapely.get_parts(area_of(given)):
            outer, inner = outlines.rings(part)
            lines += [outer, *inner]
            if not foam.buffer(1e-6).covers(part.exterior):
                raise BuildError("an engraving runs off the part; move it or make it smaller")
    if pins and int(values.get("layers") or 1) < 2:
        raise BuildError("pins in a part of one layer; expected layers: 2 or more")
    for pin in pins:
        if not foam.covers(shapely.Point(pin).buffer(PIN / 2)):
            raise BuildError(f"a pin at [{pin[0]:g}, {pin[1]:g}], which is not on the part")
    return replace(body, engraving=tuple(lines), pins=tuple(pins))


def edge_finish(values: Mapping[str, Any], thickness: float) -> EdgeFinish | None:
    """How the edges of a part, `thickness` mm thick, are worked, if the design says so. BuildError: there is not so much foam."""
    edge = values.get("edge")
    if edge and edge["size"] > thickness:
        told = f"an edge {edge['finish']} by {edge['size']:g} mm, of foam {thickness:g} mm thick"
        raise BuildError(f"{told}; expected no more than its thickness")
    return EdgeFinish(edge["finish"], edge["size"]) if edge else None
