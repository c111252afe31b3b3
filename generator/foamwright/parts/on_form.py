"""Panels and covers among the other parts of their form: how far off it they lie, and which edges are cut square."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from foamwright.design.records import PartSpec
from foamwright.forms.make import form_axis
from foamwright.parts.cover import beside_line
from foamwright.parts.levels import Level
from foamwright.parts.panel import panel_body
from foamwright.parts.records import PanelBody
from foamwright.parts.slit import half_plane
from foamwright.parts.surroundings import Surroundings
from foamwright.registry import kind


def panel_on_form(part: PartSpec, among: Surroundings) -> PanelBody:
    """The body of a panel. Raises BuildError where its cuts leave nothing, or more than one piece."""
    return _bounded(part, among, {}, square_cuts(part, among))


def cover_on_form(part: PartSpec, among: Surroundings) -> PanelBody:
    """The body of a cover: a panel between two lines beside its seam, both cut square."""
    values = part.values
    seam = values["seam"]
    stock = among.stock(part)
    neutral = among.inner_offset(part) + stock.k * stock.thickness
    far, near = beside_line(among.surface(values["form"]), among.level(values["form"], seam), values["width"], neutral)
    lines = {f"{seam}_far": far, f"{seam}_near": near}
    where = {f"{seam}_far": "before", f"{seam}_near": "beyond", **values["where"]}
    square = square_cuts(part, among) | lines.keys()
    return _bounded(replace(part, values={**values, "where": where}), among, lines, square)


def _bounded(part: PartSpec, among: Surroundings, lines: Mapping[str, Level], square: frozenset[str]) -> PanelBody:
    """The panel that the cuts in `where` bound, those of `lines` being no cuts of the form."""
    values = part.values
    form, darts = values["form"], values["darts"]
    guides = darts["along"] if isinstance(darts, Mapping) else ()
    cuts = [cut for cut in (*values["where"], *guides) if cut not in lines]
    levels = {**{cut: among.level(form, cut) for cut in cuts}, **lines}
    opened = half_plane(*form_axis(among.form(form)), values["opened"]) if "opened" in values else None
    return panel_body(part, among.stock(part), among.surface(form), levels, square, among.inner_offset(part), opened)


def square_cuts(part: PartSpec, among: Surroundings) -> frozenset[str]:
    """The cuts whose edges are cut square to the foam: where a part meets another part of its form or its own
    mirror image, and free ends. The others lie in the cutting surface."""
    values = part.values
    form = values["form"]
    kinds = {cut: among.cut(form, cut).kind for cut in values["where"]}
    flush = {cut for cut, cut_kind in kinds.items() if cut_kind in ("prism", "form")} | set(values["flush"])
    square = set(kinds) - flush | set(values["square"])
    beside = [
        other
        for other in among.parts.values()
        if kind(other.kind).follows_form
        and other.id != part.id
        and other.values["form"] == form
        and other.values["laid"] == values["laid"]
        and abs(among.inner_offset(other) - among.inner_offset(part)) < 1e-9
    ]
    for cut, side in values["where"].items():
        given = among.cut(form, cut)
        mirrored = values.get("mirror")
        if (
            given.kind == "plane"
            and mirrored
            and given.values["at"] == 0
            and _square_to(given.values["normal"], mirrored)
        ):
            square.add(cut)
        if any(other.values["where"].get(cut, side) != side for other in beside):
            square.add(cut)
    return frozenset(square)


def walls_around(opening: Mapping[str, Any] | None, among: Surroundings) -> tuple[float, float]:
    """Offsets of the inner and the outer face of the panels around an opening in their form; 0 where none is."""
    around = [
        part
        for part in among.parts.values()
        if opening
        and kind(part.kind).follows_form
        and kind(part.kind).is_shell
        and part.values["form"] == opening["form"]
        and opening["cut"] in part.values["where"]
    ]
    if not around:
        return (0.0, 0.0)
    inner = [among.inner_offset(part) for part in around]
    outer = [among.inner_offset(part) + among.stock(part).thickness for part in around]
    return (min(inner), max(outer))


def _square_to(normal: Any, axis: str) -> bool:
    if isinstance(normal, str):
        return normal.lstrip("+-") == axis
    others = [abs(n) for n, a in zip(normal, "xyz", strict=True) if a != axis]
    return max(others) < 1e-12
