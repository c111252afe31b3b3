"""What a part is built among: the forms of its design, its stock, and the parts built before it. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from foamwright.design.records import CutSpec, Design, FormSpec, PartSpec, Stock
from foamwright.design.references import in_order_of_shape
from foamwright.errors import BuildError
from foamwright.forms import make_surfaces
from foamwright.forms.axes import OUTLINE_COLUMNS
from foamwright.forms.surface import Surface
from foamwright.parts import outlines
from foamwright.parts.copies import course_of
from foamwright.parts.fill import cleaned, simple
from foamwright.parts.levels import Level, make_level
from foamwright.parts.others import Others
from foamwright.parts.records import Frame, Piece
from foamwright.parts.rows import Course
from foamwright.parts.sections import section, sections_in
from foamwright.registry import kind
from foamwright.store import Store

if TYPE_CHECKING:
    from foamwright.beside import Beside


class Surroundings:
    """One design while its parts are built, in an order in which each finds those that it takes its shape from."""

    def __init__(
        self,
        design: Design,
        run_own_code: bool = False,
        store: Store | None = None,
        beside: Beside | None = None,
    ):
        """`run_own_code`: whoever builds the design has said that code which comes with it may be run. `store` keeps
        the shapes of parts; a process `beside` this one may work some of them out."""
        self.design = design
        self.store = store or Store(None)
        self.others = Others(None if run_own_code else beside)
        self.run_own_code = run_own_code
        self.folder = design.folder
        self.parts = {part.id: part for part in design.parts}
        self.order = in_order_of_shape(design.parts)
        self.surfaces: Mapping[str, Surface] = make_surfaces(design)
        self.level = lru_cache(maxsize=None)(self._level)
        self._beneath = self._thickness_beneath()
        self._pieces: dict[str, Piece] = {}

    def add(self, piece: Piece) -> None:
        """Let later parts find a piece."""
        self._pieces[piece.id] = piece

    def left(self) -> list[PartSpec]:
        """The parts that are not built yet, in their order."""
        return [part for part in self.order if part.id not in self._pieces]

    def piece(self, part: str) -> Piece:
        """A part that is built already: one that a key of `Kind.shaped_by` names."""
        return self._pieces[part]

    def made_for(self, part: PartSpec) -> Piece | None:
        """The part that a spacer or a mask is made for."""
        return self.piece(part.values["of"]) if "of" in part.values else None

    def stock(self, part: PartSpec) -> Stock:
        """The material that a part is cut from."""
        return self.design.stock[part.stock]

    def layers(self, part: PartSpec) -> int:
        """How many sheets are glued face to face for one copy of a part."""
        return kind(part.kind).layers(part, self.stock(part))

    def form(self, form: str) -> FormSpec:
        """A form as the design states it."""
        return self.design.forms[form]

    def surface(self, form: str) -> Surface:
        """The surface of a form."""
        return self.surfaces[form]

    def cut(self, form: str, cut: str) -> CutSpec:
        """A cut of a form as the design states it."""
        return next(c for c in self.design.forms[form].cuts if c.id == cut)

    def beneath(self, part: PartSpec) -> float:
        """Thickness of what lies beneath a part; of several parts beneath the thickest stack counts."""
        return self._beneath[part.id]

    def inner_offset(self, part: PartSpec) -> float:
        """Where the inner face of a part on a form lies from the form's surface, outwards positive."""
        beneath = self.beneath(part)
        return beneath if part.values["laid"] == "outside" else -beneath - self.stock(part).thickness

    def offset_inside(self, part: PartSpec) -> float:
        """Where the innermost face of the parts that `part` says are inside its form lies from the form, 0 or less."""
        return min([0.0] + [self.inner_offset(self.parts[other]) for other in part.values["inside"]])

    def areas_in(self, frame: Frame) -> Callable[[Mapping[str, Any]], shapely.Geometry]:
        """What makes outlines of the design into shapes in the plane of a frame."""
        section_of = sections_in(frame, self.surface)
        return lambda outline: outlines.area(outline, self.folder, section_of)

    def areas_in_plane(self) -> Callable[[Mapping[str, Any]], shapely.Geometry]:
        """`areas_in` for a part that stands nowhere: in the plane of x and y."""
        return self.areas_in(Frame(np.zeros(3), np.eye(3)))

    def course(self, along: Mapping[str, Any]) -> Course:
        """The curve of a row. Raises BuildError if it is an opening that goes straight through nothing."""

        def axis_of(form: str, cut: str) -> str:
            given = self.cut(form, cut)
            if given.kind != "prism":
                raise BuildError(f"the cut {cut} is a {given.kind}; a row follows the opening of a prism")
            return str(given.values["along"])

        return course_of(along, self.folder, self.surface, self.level, axis_of)

    def _level(self, form: str, cut: str) -> Level:
        given = self.cut(form, cut)

        def section_of(section_given: Mapping[str, Any]) -> shapely.Geometry:
            surface = self.surfaces[section_given["form"]]
            ring = section(surface, section_given["plane"], section_given["offset"])
            return simple(ring[:-1, OUTLINE_COLUMNS[given.values["along"]]], "a section")

        def outline(shape: Mapping[str, Any]) -> shapely.Polygon | shapely.MultiPolygon:
            return cleaned(outlines.area(shape, self.folder, section_of), "the outline")

        return make_level(given, self.surfaces[form], outline, self.surface)

    def _thickness_beneath(self) -> dict[str, float]:
        thickness: dict[str, float] = {}
        stacked: dict[str, float] = {}
        for part in self.order:
            thickness[part.id] = max((stacked[other] for other in part.values.get("over") or ()), default=0.0)
            stacked[part.id] = self.stock(part).thickness * self.layers(part) + thickness[part.id]
        return thickness
