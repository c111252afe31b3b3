"""What the design step returns: the design file with every number worked out, in mm and degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Where:
    """A place in a design file, for error messages. Lines and columns count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True)
class Parameter:
    """A named number of the design. `value` is in mm for lengths, degrees for angles, else plain."""

    name: str
    value: float
    unit: str  # "mm", "deg" or "" (a plain number or a count)
    minimum: float | None
    maximum: float | None
    note: str
    measure: str = ""  # where the maker measures it, if it is a measure of the figure


@dataclass(frozen=True)
class Stock:
    """A sheet material that is bought. Lengths in mm, density in kg/m3."""

    id: str
    name: str
    thickness: float
    k: float  # neutral surface, as a share of the thickness from the inner face
    strain_limit: float  # 0.03 is 3 %
    sheet: tuple[float, float]
    density: float
    colour: str  # "#rrggbb", for the model and the drawings
    note: str
    tension_limit: float | None = None  # where pulling and pressing are limited apart from each other
    compression_limit: float | None = None
    material_type: str = "foam"  # "foam", "cloth", "card", "paper", "acrylic" or "plywood"
    kerf: float | None = None  # width of the machine's cut; None: cut by hand
    price: float | None = None  # of one sheet, or of one metre of a roll
    currency: str = ""
    roll: float | None = None  # width of the roll it is cut from; None: it comes in sheets
    turn: str = "free"  # how pieces may lie on a sheet: "free", "half" (only turned by 180) or "none"
    flip: bool = False  # both faces are alike, so that any piece may be cut as drawn or mirrored
    gap: float = 3.0  # left between pieces
    edge: float = 3.0  # left along the edges of a sheet

    @property
    def is_cloth(self) -> bool:
        """Is it cut with scissors, never at an angle, and does it bend as a hinge?"""
        return self.material_type == "cloth"

    def __post_init__(self) -> None:
        for name in ("tension_limit", "compression_limit"):
            if getattr(self, name) is None:
                object.__setattr__(self, name, self.strain_limit)


@dataclass(frozen=True)
class CutSpec:
    """A named surface that cuts a form: `kind` is "plane", "prism", "form", "curve" or "line"."""

    id: str
    kind: str
    values: Mapping[str, Any]
    where: Where


@dataclass(frozen=True)
class FormSpec:
    """A smooth surface before any thickness; `kind`: "revolution", "superellipsoid", "loft", "mesh" or "step"."""

    id: str
    kind: str
    values: Mapping[str, Any]
    cuts: tuple[CutSpec, ...]
    where: Where


@dataclass(frozen=True)
class PartSpec:
    """One part as the design states it; `values` holds the fields of its kind, all numbers resolved."""

    id: str
    label: str  # A to Z without I, L, O, R and V, then AA, AB, ...; in the order of the file
    name: str
    kind: str  # the name of one of registry.kinds()
    stock: str
    values: Mapping[str, Any]
    where: Where


@dataclass(frozen=True)
class Bought:
    """What the design wants bought: its size across in mm, a length in mm in all or how many, and the cuts whose openings each
    strap of it is threaded through."""

    name: str
    size: float | None
    length: float | None
    count: int
    note: str
    through: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Design:
    """A design at one size, every expression worked out. Nothing in it refers to the file any more."""

    id: str  # the file's stem
    name: str
    version: str
    licence: str
    author: str
    summary: str
    size: str  # its name: that of the file, or one of its own where the caller changed values
    size_note: str
    parameters: tuple[Parameter, ...]
    stock: Mapping[str, Stock]
    forms: Mapping[str, FormSpec]
    parts: tuple[PartSpec, ...]
    figure: Mapping[str, Any] | None  # {"name", "solids": [{"ellipsoid"|"cylinder"|...: ...}], "enters"?}
    expected_overlaps: tuple[tuple[str, str], ...]  # part ids that may share space, as the design declares
    steps: tuple[Mapping[str, Any], ...]  # notes of the design on its assembly: {"title","parts","note","uses"}
    digest: str  # sha256 over every input: files, size, overrides, program version
    folder: str  # where the design lies; relative files (SVG outlines) are read from here
    joins: tuple[Mapping[str, Any], ...] = ()  # more glued pairs: {"parts": (a, b), "glue"}
    stands: Mapping[str, Any] | None = None  # {"down", "figure_mass"?}; None: it need not stand by itself
    base_size: str = ""  # the size of the file that the caller's changes start from
    changes: Mapping[str, float] = field(default_factory=dict)  # values of the caller that differ from that size
    address: str = ""  # where it is published
    history: tuple[Mapping[str, Any], ...] = ()  # {"version", "text"}, the latest first
    channel: Mapping[str, Any] = field(default_factory=dict)  # {"video", "times", "credit", "feedback", ...}
    supplies: Mapping[str, Bought] = field(default_factory=dict)  # what is bought beside foam, glue and paint
    used_by: tuple[str, ...] = ()  # among "wearer", "child", "pet"; the first with the last: a pet wears it
    lit_by: str = ""  # "battery" where a light belongs in it
    language: str = "en"  # of what is printed, one of language.LANGUAGES
    printed_units: str = "mm"  # of lengths in the booklet, one of language.UNITS
    notes: tuple[str, ...] = ()  # what its maker should know, each a line with its place in the file
