"""What must be true of a design beyond its schema, as far as no geometry is needed to see it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from foamwright.design.messages import complaint
from foamwright.design.records import CutSpec, FormSpec, PartSpec
from foamwright.design.source import Route, Source

_SIDES = {
    "plane": ("beyond", "before"),
    "prism": ("outside", "inside"),
    "form": ("outside", "inside"),
    "curve": ("beyond", "before"),
    "line": ("beyond", "before"),
}


def check_form(form: FormSpec, source: Source) -> None:
    """Stations in order, radii that close only at the ends, cuts that another form can make."""
    route = ("forms", form.id)
    if form.kind == "revolution":
        stations, radii = zip(*form.values["profile"], strict=True)
        _check_stations(stations, source, (*route, "profile"), (0,))
        _check_radii(radii, source, (*route, "profile"), (1,))
    if form.kind == "loft":
        sections = form.values["sections"]
        _check_stations([s["at"] for s in sections], source, (*route, "sections"), ("at",))
        for key in ("width", "height"):
            _check_radii([s[key] for s in sections], source, (*route, "sections"), (key,))
    for cut in form.cuts:
        here = (*route, "cuts", cut.id, cut.kind)
        if cut.kind == "form" and cut.values["form"] == form.id:
            raise complaint(source.where((*here, "form")), f"form {form.id!r} cut by itself", "another form")
        points = cut.values.get("points", cut.values.get("through", ()))
        listed = (*here, "points" if cut.kind == "curve" else "through")
        if cut.values.get("closed") and len(points) < 3:
            raise complaint(source.where(listed), "a closed line through 2 points", "at least 3")
        _check_distinct(points, source, listed)
        above, below = cut.values.get("above"), cut.values.get("below")
        if above is not None and below is not None and above >= below:
            wrong = f"nothing is above {above:g} and below {below:g}"
            raise complaint(source.where((*here, "above")), wrong, "above less than below")


def _check_distinct(points, source: Source, route: Route) -> None:
    for index, (before, after) in enumerate(pairwise(points), 1):
        if before == after:
            raise complaint(source.where((*route, index)), "the same point twice in a row", "points apart")


def _check_stations(stations, source: Source, route: Route, tail: Route) -> None:
    for index, (before, after) in enumerate(pairwise(stations), 1):
        if after <= before:
            wrong = f"station {after:g} after station {before:g}"
            raise complaint(source.where((*route, index, *tail)), wrong, "stations that increase")


def _check_radii(radii, source: Source, route: Route, tail: Route) -> None:
    for index, radius in enumerate(radii):
        end = index in (0, len(radii) - 1)
        if radius < 0 or (radius == 0 and not end):
            place = source.where((*route, index, *tail))
            raise complaint(place, f"{radius:g} here", "0 or more" if end else "more than 0 (0 only at an end)")
    if not any(radii):
        raise complaint(source.where(route), "no extent anywhere", "more than 0 somewhere")


def check_part(part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
    """Cuts that exist on the part's form, sides that fit them, widths stated once, rings with room inside."""
    route, values = ("parts", part.id), part.values
    for key in ("over", "after", "lies_on", "inside", "parts"):
        if part.id in values.get(key, ()):
            place = source.where((*route, key, values[key].index(part.id)))
            raise complaint(place, f"part {part.id!r} names itself in {key!r}", "another part")
    if part.kind in ("panel", "cover"):
        _check_panel(values, forms[values["form"]], source, route)
    if part.kind == "band":
        _check_band(values, forms, source, route)
    if part.kind == "ring" and values["inner_radius"] >= values["outer_radius"]:
        wrong = f"an inner radius of {values['inner_radius']:g} in an outer one of {values['outer_radius']:g}"
        raise complaint(source.where((*route, "inner_radius")), wrong, "less than the outer radius")
    along = (values.get("repeat") or {}).get("along")
    if along:
        _check_row(part, along, source, (*route, "repeat", "along"))
    frame = values.get("at") or values.get("along", {}).get("at")
    if frame:
        _check_frame(frame, source, (*route, "at") if "at" in values else (*route, "along", "at"))


def _check_panel(values: Mapping[str, Any], form: FormSpec, source: Source, route: Route) -> None:
    cuts = {cut.id: cut for cut in form.cuts}
    for cut_id, side in values["where"].items():
        here = (*route, "where", cut_id)
        cut = _cut(cuts, cut_id, form.id, source.where_key(here))
        if side not in _SIDES[cut.kind]:
            place = source.where(here)
            raise complaint(place, f"{side!r} of a {cut.kind} ({cut_id})", " or ".join(_SIDES[cut.kind]))
    edges = list(values["where"])
    if "seam" in values:
        _cut(cuts, values["seam"], form.id, source.where((*route, "seam")))
        edges += [f"{values['seam']}_far", f"{values['seam']}_near"]
    if "opened" in values:
        edges.append("opened")
    for key in ("flush", "square"):
        for i, name in enumerate(values.get(key, ())):
            if name not in edges:
                raise complaint(source.where((*route, key, i)), f"unknown cut {name!r}", "", name, edges)
    for inner, name in _dart_edges(values["darts"]):
        if not any(re.fullmatch(rf"{re.escape(edge)}(\.\d+)?", name) for edge in edges):
            raise complaint(source.where((*route, "darts", *inner)), f"unknown edge {name!r}", "", name, edges)


def _dart_edges(darts: Any) -> list[tuple[Route, str]]:
    """The edges that darts name, and where within them."""
    if darts == "auto":
        return []
    if isinstance(darts, Mapping):
        return [((key, i), name) for key in ("edges", "avoid") for i, name in enumerate(darts[key])]
    return [((i, "edge"), dart["edge"]) for i, dart in enumerate(darts)]


def _cut(cuts: Mapping[str, CutSpec], cut_id: str, form_id: str, place) -> CutSpec:
    if cut_id not in cuts:
        expected = "" if cuts else f"a cut under forms.{form_id}.cuts"
        raise complaint(place, f"form {form_id!r} has no cut {cut_id!r}", expected, cut_id, cuts)
    return cuts[cut_id]


def _check_band(values: Mapping[str, Any], forms: Mapping[str, FormSpec], source: Source, route: Route) -> None:
    opening = values["along"].get("opening")
    if opening:
        form = forms[opening["form"]]
        place = source.where((*route, "along", "opening", "cut"))
        _cut({cut.id: cut for cut in form.cuts}, opening["cut"], form.id, place)
    for key in ("proud", "depth"):
        if key in values and not opening:
            raise complaint(
                source.where_key((*route, key)), f"{key!r} without an opening", "along: opening, or no " + key
            )
    stated = [keys for keys in (("width",), ("from", "to"), ("proud", "depth")) if set(keys) & values.keys()]
    if ("from" in values) != ("to" in values):
        key = "from" if "from" in values else "to"
        raise complaint(source.where_key((*route, key)), f"{key!r} alone", "both from and to")
    if ("width",) in stated and ("from", "to") in stated:
        raise complaint(source.where_key((*route, "width")), "width together with from and to", "either of them")
    if "end_width" in values and not {"width", "span"} <= values.keys():
        place = source.where_key((*route, "end_width"))
        raise complaint(place, "'end_width' of a band without width and span", "width and span as well")
    if "from" in values and values["from"] >= values["to"]:
        wrong = f"from {values['from']:g} to {values['to']:g}"
        raise complaint(source.where((*route, "from")), wrong, "from less than to")
    if not stated:
        expected = "width, or from and to" + (", or proud and depth" if opening else "")
        raise complaint(source.where_key(route), f"no width in {'.'.join(route)}", expected)


def _check_row(part: PartSpec, along: Mapping[str, Any], source: Source, route: Route) -> None:
    """A row is of parts that are placed by `at`; its distances are stated once, and it goes forwards."""
    if part.kind not in ("plate", "ring", "disc"):
        raise complaint(source.where_key(route), f"a {part.kind} along a curve", "a plate, a ring or a disc")
    if part.values["at"].get("onto"):
        place = source.where_key(("parts", part.id, "at", "onto"))
        raise complaint(place, "'onto' in a row, whose `at` is told at the curve", "an offset of the row")
    stated = [key for key in ("count", "gap", "pitch") if key in along]
    if not stated or {"gap", "pitch"} <= set(stated):
        wrong = "gap and pitch together" if stated else f"no distances in {'.'.join(route)}"
        raise complaint(source.where_key(route), wrong, "count, gap or pitch")
    if "taper" in along and "pitch" in along:
        raise complaint(source.where_key((*route, "taper")), "taper with a pitch", "taper with a count or a gap")
    start, end = along["span"]
    if not start < end <= start + 1:
        raise complaint(source.where_key((*route, "span")), f"a span from {start:g} to {end:g}", "up to one turn")
    if "at" in along:
        _check_frame(along["at"], source, (*route, "at"))


_AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


def _check_frame(frame: Mapping[str, Any], source: Source, route: Route) -> None:
    a, b = (_AXES[w[-1]] if isinstance(w, str) else w for w in (frame["normal"], frame["up"]))
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    if sum(c * c for c in cross) <= 1e-18 * sum(c * c for c in a) * sum(c * c for c in b):
        raise complaint(source.where((*route, "up")), "up along the normal", "up across the normal")


def check_order(parts: tuple[PartSpec, ...], source: Source) -> None:
    """No part waits for itself through `after`, `lies_on` and `over`."""
    waits = {
        part.id: [
            (key, index, other)
            for key in ("after", "lies_on", "over")
            for index, other in enumerate(part.values.get(key, ()))
        ]
        for part in parts
    }
    done: set[str] = set()

    def visit(part: str, chain: tuple[str, ...]) -> None:
        for key, index, other in waits[part]:
            if other in chain or other == part:
                circle = " -> ".join((*(chain + (part,))[(chain + (part,)).index(other) :], other))
                raise complaint(source.where(("parts", part, key, index)), f"parts wait for each other: {circle}")
            if other not in done:
                visit(other, (*chain, part))
        done.add(part)

    for part in waits:
        if part not in done:
            visit(part, ())


def check_pairs(pairs: list[tuple[Route, tuple[str, str]]], source: Source) -> None:
    """Each pair (a join or an expected overlap) is of two different parts."""
    for route, (a, b) in pairs:
        if a == b:
            raise complaint(source.where(route), f"part {a!r} paired with itself", "two different parts")


def check_figure(
    figure: Mapping[str, Any] | None,
    stands: Mapping[str, Any] | None,
    forms: Mapping[str, FormSpec],
    source: Source,
) -> None:
    """An opening that says which way the figure goes in, and no mass for a figure that is not there."""
    if stands and "figure_mass" in stands and figure is None:
        raise complaint(source.where_key(("stands", "figure_mass")), "a figure's mass without a figure", "figure")
    opening = (figure or {}).get("enters", {}).get("through")
    if not opening:
        return
    form, place = forms[opening["form"]], source.where(("figure", "enters", "through", "cut"))
    cut = _cut({cut.id: cut for cut in form.cuts}, opening["cut"], form.id, place)
    if cut.kind not in ("plane", "prism"):
        raise complaint(place, f"{cut.id!r} is a {cut.kind}", "the cut of a plane or a prism, or a direction")
    if cut.kind == "prism" and ("above" in cut.values) == ("below" in cut.values):
        wrong = f"the prism {cut.id!r} does not say on which side the opening is"
        raise complaint(place, wrong, "above or below in the prism, or a direction here")
