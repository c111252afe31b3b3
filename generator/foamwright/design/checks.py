"""What must be true of a design beyond its schema, as far as no geometry is needed to see it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from foamwright.design.fields.declare import FINEST, keys_of
from foamwright.design.messages import mistake
from foamwright.design.records import CutSpec, FormSpec, PartSpec, Where
from foamwright.design.references import named_parts
from foamwright.design.source import Route, Source
from foamwright.errors import DesignError
from foamwright.registry import kind, kinds

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
            raise mistake(source.where((*here, "form")), f"form {form.id!r} cut by itself", "another form")
        points = cut.values.get("points", cut.values.get("through", ()))
        listed = (*here, "points" if cut.kind == "curve" else "through")
        if cut.values.get("closed") and len(points) < 3:
            raise mistake(source.where(listed), "a closed line through 2 points", "at least 3")
        _check_distinct(points, source, listed)
        above, below = cut.values.get("above"), cut.values.get("below")
        if above is not None and below is not None and above >= below:
            wrong = f"nothing is above {above:g} and below {below:g}"
            raise mistake(source.where((*here, "above")), wrong, "above less than below")


def _check_distinct(points: Sequence[Any], source: Source, route: Route) -> None:
    for index, (before, after) in enumerate(pairwise(points), 1):
        if before == after:
            raise mistake(source.where((*route, index)), "the same point twice in a row", "points apart")


def _check_stations(stations: Sequence[float], source: Source, route: Route, tail: Route) -> None:
    for index, (before, after) in enumerate(pairwise(stations), 1):
        if after <= before:
            wrong = f"station {after:g} after station {before:g}"
            raise mistake(source.where((*route, index, *tail)), wrong, "stations that increase")


def _check_radii(radii: Sequence[float], source: Source, route: Route, tail: Route) -> None:
    for index, radius in enumerate(radii):
        end = index in (0, len(radii) - 1)
        if radius < FINEST and not (end and radius == 0):
            place = source.where((*route, index, *tail))
            least = f"at least {FINEST:g}"
            raise mistake(place, f"{radius:g} here", f"0, or {least}" if end else f"{least} (0 only at an end)")
    if not any(radii):
        raise mistake(source.where(route), "no extent anywhere", "more than 0 somewhere")


def check_part(part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
    """What its kind asks for, and what holds for every kind: no part names itself, up is across the normal."""
    route, values = ("parts", part.id), part.values
    for key in named_parts(part.kind):
        ids = values.get(key) or ()
        places = {ids: (*route, key)} if isinstance(ids, str) else {id_: (*route, key, i) for i, id_ in enumerate(ids)}
        if part.id in places:
            raise mistake(source.where(places[part.id]), f"part {part.id!r} names itself in {key!r}", "another part")
        if not isinstance(ids, str):
            check_standing(places, source)
    along = (values.get("repeat") or {}).get("along")
    if along:
        _check_row(part, along, source, (*route, "repeat", "along"))
    if isinstance(values.get("at"), Mapping):
        check_frame(values["at"], source, (*route, "at"))
    kind(part.kind).check(part, forms, source)


def check_standing(places: Mapping[str, Route], source: Source) -> None:
    """Parts that others touch, or come after, stand in the prop. `places` says where each of them is named."""
    for other, route in places.items():
        name = source.data["parts"][other]["kind"]
        if not kind(name).stands:
            wrong = f"part {other!r} is a {name}, which stands nowhere in the prop"
            raise mistake(source.where(route), wrong, "a part that does")


def check_inside(part: PartSpec, source: Source) -> None:
    """The parts `inside` the form of a part can only be parts that lie on one."""
    for index, other in enumerate(part.values["inside"]):
        name = source.data["parts"][other]["kind"]
        if "laid" not in keys_of(kind(name).fields):
            words = [k.name for k in kinds() if "laid" in keys_of(k.fields)]
            place = source.where(("parts", part.id, "inside", index))
            raise mistake(place, f"part {other!r} is a {name}, which lies on no form", f"a {' or a '.join(words)}")


def check_on_form(
    part: PartSpec, forms: Mapping[str, FormSpec], source: Source, own_edges: tuple[str, ...] = ()
) -> None:
    """A part that follows a form: its cuts are cuts of that form, its sides sides of them, its edges its own.

    `own_edges` are names of edges that no cut in `where` makes.
    """
    values, form, route = part.values, forms[part.values["form"]], ("parts", part.id)
    for cut_id, side in values["where"].items():
        here = (*route, "where", cut_id)
        cut = cut_of(form, cut_id, source.where_key(here))
        if side not in _SIDES[cut.kind]:
            place = source.where(here)
            raise mistake(place, f"{side!r} of a {cut.kind} ({cut_id})", " or ".join(_SIDES[cut.kind]))
    edges = [*values["where"], *own_edges]
    if "opened" in values:
        edges.append("opened")
    for key in ("flush", "square"):
        for i, name in enumerate(values.get(key, ())):
            if name not in edges:
                raise _no_edge(name, "cut", edges, form, source.where((*route, key, i)))
    for inner, name in _dart_edges(values["darts"]):
        if not any(re.fullmatch(rf"{re.escape(edge)}(\.\d+)?", name) for edge in edges):
            raise _no_edge(name, "edge", edges, form, source.where((*route, "darts", *inner)))


def _no_edge(name: str, what: str, edges: list[str], form: FormSpec, place: Where) -> DesignError:
    """What is told where a part has no edge of the name: it may be a cut of the form at which the part does not end."""
    cut = re.sub(r"\.\d+$", "", name)
    if cut not in edges and any(one.id == cut for one in form.cuts):
        wrong = f"form {form.id!r} has the cut {cut!r}, but the part does not end there"
        instead = ", or one of its edges" if edges else ""
        return mistake(place, wrong, f"{cut!r} in the part's where as well{instead}")
    expected = "" if edges else "a cut that the part's where names"
    return mistake(place, f"unknown {what} {name!r}", expected, name, edges)


def _dart_edges(darts: Any) -> list[tuple[Route, str]]:
    """The edges that darts name, and where within them."""
    if darts == "auto":
        return []
    if isinstance(darts, Mapping):
        return [((key, i), name) for key in ("edges", "avoid") for i, name in enumerate(darts[key])]
    return [((i, "edge"), dart["edge"]) for i, dart in enumerate(darts)]


def cut_of(form: FormSpec, cut_id: str, place: Where) -> CutSpec:
    """The cut of a form by its id; raises DesignError at `place` where it has none of that name."""
    cuts = {cut.id: cut for cut in form.cuts}
    if cut_id not in cuts:
        expected = "" if cuts else f"a cut under forms.{form.id}.cuts"
        raise mistake(place, f"form {form.id!r} has no cut {cut_id!r}", expected, cut_id, cuts)
    return cuts[cut_id]


def _check_row(part: PartSpec, along: Mapping[str, Any], source: Source, route: Route) -> None:
    """A row is of parts that are placed by `at`; its distances are stated once, and it goes forwards."""
    if not kind(part.kind).in_rows:
        able = " or ".join(f"a {one.name}" for one in kinds() if one.in_rows)
        raise mistake(source.where_key(route), f"a {part.kind} along a curve", able)
    if part.values["at"].get("onto"):
        place = source.where_key(("parts", part.id, "at", "onto"))
        raise mistake(place, "'onto' in a row, whose `at` is told at the curve", "an offset of the row")
    stated = [key for key in ("count", "gap", "pitch") if key in along]
    if not stated or {"gap", "pitch"} <= set(stated):
        wrong = "gap and pitch together" if stated else f"no distances in {'.'.join(map(str, route))}"
        raise mistake(source.where_key(route), wrong, "count, gap or pitch")
    if "taper" in along and "pitch" in along:
        raise mistake(source.where_key((*route, "taper")), "taper with a pitch", "taper with a count or a gap")
    start, end = along["span"]
    if not start < end <= start + 1:
        raise mistake(source.where_key((*route, "span")), f"a span from {start:g} to {end:g}", "up to one turn")
    if "at" in along:
        check_frame(along["at"], source, (*route, "at"))


_AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


def check_frame(frame: Mapping[str, Any], source: Source, route: Route) -> None:
    """The way up of a placement is not along its normal."""
    a, b = (_AXES[w[-1]] if isinstance(w, str) else w for w in (frame["normal"], frame["up"]))
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    if sum(c * c for c in cross) <= 1e-18 * sum(c * c for c in a) * sum(c * c for c in b):
        raise mistake(source.where((*route, "up")), "up along the normal", "up across the normal")


def check_pairs(pairs: list[tuple[Route, tuple[str, str]]], source: Source) -> None:
    """Each pair (a join or an expected overlap) is of two different parts."""
    for route, (a, b) in pairs:
        if a == b:
            raise mistake(source.where(route), f"part {a!r} paired with itself", "two different parts")
        check_standing({a: (*route, "parts", 0), b: (*route, "parts", 1)}, source)


def check_figure(
    figure: Mapping[str, Any] | None,
    route: Route,
    stands: Mapping[str, Any] | None,
    forms: Mapping[str, FormSpec],
    source: Source,
) -> None:
    """An opening that says which way the figure goes in, at `route`, and no mass for a figure that is not there."""
    if stands and "figure_mass" in stands and figure is None:
        raise mistake(source.where_key(("stands", "figure_mass")), "a figure's mass without a figure", "figure")
    opening = (figure or {}).get("enters", {}).get("through")
    if not opening:
        return
    form, place = forms[opening["form"]], source.where((*route, "enters", "through", "cut"))
    cut = cut_of(form, opening["cut"], place)
    if cut.kind not in ("plane", "prism"):
        raise mistake(place, f"{cut.id!r} is a {cut.kind}", "the cut of a plane or a prism, or a direction")
    if cut.kind == "prism" and ("above" in cut.values) == ("below" in cut.values):
        wrong = f"the prism {cut.id!r} does not say on which side the opening is"
        raise mistake(place, wrong, "above or below in the prism, or a direction here")
