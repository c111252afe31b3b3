"""Bands: strips bent around a curve, as rims, lips and hoops are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from foamwright.design.checks import check_frame, cut_of
from foamwright.design.fields.declare import declared, exactly, key, one_of, one_required, together
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import EdgeFinish, PartFields, Split
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import ANGLE, LENGTH, NUMBER, PARTS
from foamwright.design.fields.repeats import Hoop, Opening
from foamwright.design.messages import mistake
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import BandBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Trim:
    """Extra length left on purpose and trimmed to fit."""

    start: float = key(LENGTH, "At the start of the band.", at_least=0, default=0)
    end: float = key(LENGTH, "At its end.", at_least=0, default=0)


@one_required("angles", "shares", "points")
@declared
class Span:
    """A part of a closed curve, counter-clockwise as one looks against the plane's normal. Angle 90 is the way of
    the outline's y axis (of a hoop: z, or x where the normal is nearly along z), seen from the middle of the
    curve's area; shares of the whole length count from angle 0."""

    angles: tuple[float, ...] | None = key(
        exactly(2, ANGLE), "From the first angle to the second, in degrees.", optional=True
    )
    shares: tuple[float, ...] | None = key(
        exactly(2, NUMBER), "From the first share of the curve's length to the second; may be negative.", optional=True
    )
    points: tuple[tuple[float, float], ...] | None = key(
        exactly(2, exactly(2, LENGTH)),
        "From the first point on the curve to the second, in the axes of the outline: from corner to corner, for instance.",
        optional=True,
    )


@one_required("opening", "hoop", "outline")
@together(outline="at", at="outline")
@declared
class Course:
    """The curve that a band follows: the edge of an opening, a hoop around a form, or an outline in a plane."""

    opening: Opening | None = key(
        Opening, "The edge of an opening that a prism cuts; along a plane use `hoop`.", optional=True
    )
    hoop: Hoop | None = key(Hoop, optional=True)
    outline: Outline | None = key(Outline, optional=True)
    at: Placement | None = key(Placement, "Where the outline lies; with `outline` only.", optional=True)


@declared
class Fields(PartFields):
    """A strip bent around a curve. It bends one way only and stands along the normal of the curve's plane: a form that
    slopes there it leaves, or cuts into; a cover or a panel follows it."""

    along: Course = key(Course)
    laid: str = key(one_of("outside", "inside"), "On which side of the curve it lies.", default="outside")
    over: tuple[str, ...] = key(PARTS, "Parts that lie beneath it: it is moved off by their thicknesses.", default=[])
    width: float | None = key(LENGTH, "Its width, half to each side of the curve.", more_than=0, optional=True)
    from_: float | None = key(
        LENGTH,
        "Lower edge, measured from the curve along the plane's normal or the way of the opening; with "
        "`to`, instead of `width`.",
        optional=True,
    )
    to: float | None = key(LENGTH, "Upper edge, likewise.", optional=True)
    proud: float | None = key(
        LENGTH,
        "Along an opening: its upper edge stands so far beyond the outer face of the panels that the cut bounds, or "
        "beyond the form itself where it bounds none.",
        optional=True,
    )
    depth: float | None = key(
        LENGTH,
        "Along an opening: its lower edge lies so far below the inner face of the panels that the cut bounds, or below "
        "the form itself where it bounds none.",
        at_least=0,
        optional=True,
    )
    end_width: float | None = key(
        LENGTH,
        "Its width at the end, where the band tapers evenly from `width` to it; with `span` only.",
        more_than=0,
        optional=True,
    )
    span: Span | None = key(Span, "Only a part of the way around. Without it: all around.", optional=True)
    corners: str | None = key(
        one_of("scored", "mitred"),
        "How it turns the sharp corners of its curve. scored: one strip, cut through to the skin on the outer side of "
        "each turn and folded. mitred: a piece for each side, cut at half the turn. Without it: its curve has none.",
        optional=True,
    )
    trim: Trim = key(Trim, default={})
    edge: EdgeFinish | None = key(EdgeFinish, optional=True)
    split: Split | None = key(Split, optional=True)


class Band(Kind):
    name = "band"
    fields = Fields
    rank = "band"
    is_shell = True
    shaped_by = ("over",)

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        values, route = part.values, ("parts", part.id)
        opening = values["along"].get("opening")
        if opening:
            cut_of(forms[opening["form"]], opening["cut"], source.where((*route, "along", "opening", "cut")))
        if "at" in values["along"]:
            check_frame(values["along"]["at"], source, (*route, "along", "at"))
        if opening and "span" in values:
            place = source.where_key((*route, "span"))
            raise mistake(place, "'span' along an opening", "no span, or along: hoop or outline")
        if "hoop" in values["along"] and "points" in values.get("span", {}):
            place = source.where_key((*route, "span", "points"))
            raise mistake(place, "'points' of a span around a hoop", "angles or shares, or along: outline")
        for name in ("proud", "depth"):
            if name in values and not opening:
                place = source.where_key((*route, name))
                raise mistake(place, f"{name!r} without an opening", f"along: opening, or no {name}")
        self._check_width(values, source, route)

    def _check_width(self, values: Mapping[str, Any], source: Source, route: tuple[str, ...]) -> None:
        stated = [keys for keys in (("width",), ("from", "to"), ("proud", "depth")) if set(keys) & values.keys()]
        if ("from" in values) != ("to" in values):
            name = "from" if "from" in values else "to"
            raise mistake(source.where_key((*route, name)), f"{name!r} alone", "both from and to")
        if ("width",) in stated and ("from", "to") in stated:
            raise mistake(source.where_key((*route, "width")), "width together with from and to", "either of them")
        if "end_width" in values and not {"width", "span"} <= values.keys():
            place = source.where_key((*route, "end_width"))
            raise mistake(place, "'end_width' of a band without width and span", "width and span as well")
        if "from" in values and values["from"] >= values["to"]:
            wrong = f"from {values['from']:g} to {values['to']:g}"
            raise mistake(source.where((*route, "from")), wrong, "from less than to")
        if not stated:
            expected = "width, or from and to" + (", or proud and depth" if "opening" in values["along"] else "")
            raise mistake(source.where_key(route), f"no width in {'.'.join(route)}", expected)

    def body(self, part: PartSpec, among: Surroundings) -> BandBody:
        from foamwright.parts.band import band_body
        from foamwright.parts.on_form import walls_around

        return band_body(
            part,
            among.stock(part),
            among.folder,
            among.surface,
            among.level,
            among.cut,
            among.beneath(part),
            walls_around(part.values["along"].get("opening"), among),
        )


KIND = Band()
