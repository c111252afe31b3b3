"""From a design to the prop: every part in place, with its offset from what lies beneath it, and every seam."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from foamwright.design.records import CutSpec, Design, PartSpec
from foamwright.errors import BuildError
from foamwright.forms import make_surfaces
from foamwright.forms.make import form_axis
from foamwright.parts import band, contacts, flat, loose, outlines, rod, seams
from foamwright.parts.box import box_body
from foamwright.parts.copies import copies, course_of
from foamwright.parts.cover import beside_line
from foamwright.parts.details import detailed, edge_finish
from foamwright.parts.filler import filler_body
from foamwright.parts.levels import Level, make_level
from foamwright.parts.panel import panel_body
from foamwright.parts.placing import placements
from foamwright.parts.prism import prism_body
from foamwright.parts.records import FlatBody, Frame, Lap, Piece, Prop
from foamwright.parts.sections import section
from foamwright.parts.slit import half_plane
from foamwright.parts.tabs import with_tabs
from foamwright.parts.whole import find_mitres, spread


def build_prop(design: Design) -> Prop:
    """Build all parts of the design. Raises BuildError naming the part that cannot be built."""
    builder = _Builder(design)
    pieces = builder.pieces()
    pieces = seams.divide_edges(pieces)
    pieces, found = seams.find_seams(pieces)
    found += find_mitres(pieces, len(found) + 1)
    pieces = band.join_lips(pieces, design)
    clearance = next((p.value for p in design.parameters if p.name == "clearance"), 0.0)
    pieces = contacts.join_flat_edges(pieces, clearance)
    pieces = with_tabs(pieces, {spec.id: spec for spec in design.parts})
    laps = tuple(Lap(piece.id, lower, piece.glue) for piece in pieces for lower in piece.lies_on)
    laps += tuple(Lap(*join["parts"], join["glue"]) for join in design.joins)
    return Prop(design, pieces, found, laps, builder.notes())


class _Builder:
    def __init__(self, design: Design):
        self.design = design
        self.surfaces = make_surfaces(design)
        self.specs = {spec.id: spec for spec in design.parts}
        self.level_of = lru_cache(maxsize=None)(self._level_of)
        self.piece_of = lru_cache(maxsize=None)(self._piece_of)

    def pieces(self) -> tuple[Piece, ...]:
        made = tuple(self.piece_of(spec.id) for spec in self.design.parts)
        spacers = {spec.id: spec.values["of"] for spec in self.design.parts if spec.kind == "spacer"}
        return loose.with_spacers(made, spacers)

    def notes(self) -> tuple[str, ...]:
        """What was done to imported forms to make them whole."""
        return tuple(
            f"form {form}: {note}" for form, surface in self.surfaces.items() for note in getattr(surface, "notes", ())
        )

    def _piece_of(self, part: str) -> Piece:
        return spread(self._piece(self.specs[part]), self.specs[part], self._surface)

    def _piece(self, spec: PartSpec) -> Piece:
        stock = self.design.stock[spec.stock]
        values = spec.values
        layers = self._layers(spec)
        body, matrices, gap = self._placed(spec, stock.thickness * layers)
        return Piece(
            id=spec.id,
            label=spec.label,
            name=spec.name,
            kind=spec.kind,
            stock=stock,
            body=body,
            placements=() if spec.kind in loose.KINDS else placements(matrices, values.get("mirror")),
            layers=layers,
            lies_on=tuple(values.get("lies_on") or values.get("over") or ()),
            after=tuple(values.get("after") or ()),
            glue=values.get("glue", "contact"),
            note=values.get("note") or loose.purpose(spec.kind, self._belongs_to(spec)),
            loose=values["count"] if spec.kind in loose.KINDS else 0,
            edge_finish=edge_finish(values),
            gap=gap,
        )

    def _placed(self, spec: PartSpec, thickness: float):
        body = self._body(spec)
        try:
            if isinstance(body, FlatBody):
                body = detailed(body, spec.values, self._area_in(body.frame))
            return copies(body, spec.values.get("repeat"), thickness, self._course)
        except BuildError as error:
            raise BuildError(f"{spec.where}: part {spec.id}: {error}") from error

    def _belongs_to(self, spec: PartSpec) -> Piece | None:
        """The part that a spacer or a mask is made for."""
        return self.piece_of(spec.values["of"]) if "of" in spec.values else None

    def _area_in(self, frame: Frame):
        """Outlines of the design in the plane of a frame."""

        def section_of(given):
            ring = section(self.surfaces[given["form"]], given["plane"], given["offset"])
            return frame.to_frame(ring)[:, :2]

        return lambda outline: outlines.area(outline, self.design.folder, section_of)

    def _course(self, along):
        def way_of(form: str, cut: str):
            given = self._cut(form, cut)
            if given.kind != "prism":
                raise BuildError(f"the cut {cut} is a {given.kind}; a row follows the opening of a prism")
            return given.values["along"]

        return course_of(along, self.design.folder, self._surface, self.level_of, way_of)

    def _body(self, spec: PartSpec):
        stock = self.design.stock[spec.stock]
        values = spec.values
        try:
            if spec.kind in ("panel", "cover"):
                return self._panel(spec)
            if spec.kind in loose.KINDS:
                area_of = self._area_in(Frame(np.zeros(3), np.eye(3)))
                return loose.loose_body(spec.kind, values, self._belongs_to(spec), area_of)
            if spec.kind == "rod":
                return rod.rod_body(spec, stock)
            if spec.kind == "prism":
                return prism_body(spec, stock, self.design.folder, self._surface)
            if spec.kind == "box":
                return box_body(spec, stock, self.design.folder, self._surface)
            if spec.kind == "filler":
                inside = min([0.0] + [self._inner_offset(self.specs[i]) for i in values["inside"]])
                between = [self.piece_of(part) for part in values["parts"]]
                return filler_body(spec, stock, self.design.folder, self._surface, inside, between)
            if spec.kind == "plate":
                return flat.plate_body(spec, stock, self.design.folder, self._surface)
            if spec.kind == "bulkhead":
                inside = min([0.0] + [self._inner_offset(self.specs[i]) for i in values["inside"]])
                return flat.bulkhead_body(spec, stock, self.design.folder, self._surface, inside)
            if spec.kind == "ring":
                return flat.ring_body(spec, self._surface)
            if spec.kind == "disc":
                return flat.disc_body(spec, self._surface)
            return band.band_body(
                spec,
                stock,
                self.design.folder,
                self._surface,
                self.level_of,
                self._cut,
                self._beneath(spec),
                self._walls(spec),
            )
        except BuildError as error:
            text = str(error)
            if text.startswith(str(spec.where)):
                raise
            raise BuildError(f"{spec.where}: part {spec.id}: {text}") from error

    def _panel(self, spec: PartSpec):
        values, stock = spec.values, self.design.stock[spec.stock]
        form = values["form"]
        surface = self.surfaces[form]
        darts = values["darts"]
        guides = darts["along"] if isinstance(darts, Mapping) else ()
        levels = {cut: self.level_of(form, cut) for cut in (*values["where"], *guides)}
        square = self._square_cuts(spec)
        if spec.kind == "cover":
            far, near = beside_line(surface, self.level_of(form, values["seam"]), values["width"])
            names = {f"{values['seam']}_far": (far, "before"), f"{values['seam']}_near": (near, "beyond")}
            levels |= {name: level for name, (level, _) in names.items()}
            square |= names.keys()
            where = {**{name: side for name, (_, side) in names.items()}, **values["where"]}
            spec = replace(spec, values={**values, "where": where})
        opened = None
        if "opened" in values:
            opened = half_plane(*form_axis(self.design.forms[form]), values["opened"])
        return panel_body(spec, stock, surface, levels, square, self._inner_offset(spec), opened)

    def _layers(self, spec: PartSpec) -> int:
        if spec.kind == "rod":
            return rod.layers_of(spec, self.design.stock[spec.stock])
        return int(spec.values.get("layers") or 1)

    def _surface(self, form: str):
        return self.surfaces[form]

    def _cut(self, form: str, cut: str) -> CutSpec:
        return next(c for c in self.design.forms[form].cuts if c.id == cut)

    def _level_of(self, form: str, cut: str) -> Level:
        def outline(given):
            return outlines.polygon(given, self.design.folder, lambda s: self._prism_section(form, cut, s))

        return make_level(self._cut(form, cut), self.surfaces[form], outline, self._surface)

    def _prism_section(self, form: str, cut: str, given):
        from foamwright.forms.axes import OUTLINE_COLUMNS

        along = self._cut(form, cut).values["along"]
        ring = section(self.surfaces[given["form"]], given["plane"], given["offset"])
        return ring[:, OUTLINE_COLUMNS[along]]

    def _square_cuts(self, spec: PartSpec) -> frozenset[str]:
        """The cuts whose edges are cut square to the foam: where a panel meets another panel of the form or its
        own mirror image, and free ends. The others lie in the cutting surface."""
        values = spec.values
        kinds = {cut: self._cut(values["form"], cut).kind for cut in values["where"]}
        flush = {cut for cut, kind in kinds.items() if kind in ("prism", "form")} | set(values.get("flush", ()))
        found = set(kinds) - flush | set(values.get("square", ()))
        for cut, side in values["where"].items():
            given = self._cut(values["form"], cut)
            if given.kind == "plane" and values.get("mirror") and _square_to(given.values["normal"], values["mirror"]):
                if given.values["at"] == 0:
                    found.add(cut)
            for other in self.design.parts:
                if (
                    other.kind not in ("panel", "cover")
                    or other.id == spec.id
                    or other.values["form"] != values["form"]
                ):
                    continue
                opposite = other.values["where"].get(cut)
                if opposite is not None and opposite != side and other.values["laid"] == values["laid"]:
                    if abs(self._inner_offset(other) - self._inner_offset(spec)) < 1e-9:
                        found.add(cut)
        return frozenset(found)

    def _beneath(self, spec: PartSpec) -> float:
        """Thickness of what lies beneath a part; of several parts beneath the thickest stack counts."""
        return max((self._stack(self.specs[i]) for i in spec.values.get("over") or ()), default=0.0)

    def _stack(self, spec: PartSpec) -> float:
        return self.design.stock[spec.stock].thickness * self._layers(spec) + self._beneath(spec)

    def _inner_offset(self, spec: PartSpec) -> float:
        """Where the part's inner face lies from the form's surface, outwards positive."""
        thickness = self.design.stock[spec.stock].thickness
        beneath = self._beneath(spec)
        return beneath if spec.values["laid"] == "outside" else -beneath - thickness

    def _walls(self, spec: PartSpec) -> tuple[float, float]:
        """Offsets of the inner and the outer face of the panels around a band's opening."""
        opening = spec.values["along"].get("opening")
        if not opening:
            return (0.0, 0.0)
        around = [
            p
            for p in self.design.parts
            if p.kind == "panel" and p.values["form"] == opening["form"] and opening["cut"] in p.values["where"]
        ]
        if not around:
            return (0.0, 0.0)
        inner = [self._inner_offset(p) for p in around]
        outer = [self._inner_offset(p) + self.design.stock[p.stock].thickness for p in around]
        return (min(inner), max(outer))


def _square_to(normal, axis: str) -> bool:
    if isinstance(normal, str):
        return normal.lstrip("+-") == axis
    others = [abs(n) for n, a in zip(normal, "xyz") if a != axis]
    return max(others) < 1e-12
