"""A whole design file, and the two other files that go with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from foamwright.design.fields.declare import (
    FLAG,
    LINE,
    NAME,
    TEXT,
    by_id,
    declared,
    exactly,
    key,
    listed,
    mapping,
    one_of,
    text,
)
from foamwright.design.fields.figure import Figure, SizeFigure, Stands
from foamwright.design.fields.forms import FORM
from foamwright.design.fields.part import GLUE
from foamwright.design.fields.quantities import COUNT, LENGTH, NUMBER, PART_ID, QUANTITY, SUPPLY_ID
from foamwright.language import LANGUAGES, UNITS


@declared
class Parameter:
    """A named number that a maker may change."""

    value: float = key(
        QUANTITY,
        "Its value: a number, a length as the trade writes it, or an expression over other parameters (in"
        " any order). A bare number is taken as it stands: mm where the unit is mm.",
    )
    min: float | None = key(QUANTITY, "Least value allowed.", optional=True)
    max: float | None = key(QUANTITY, "Greatest value allowed.", optional=True)
    unit: str | None = key(
        one_of("mm", "deg", "none"),
        "What it measures. Without it, it follows from a unit written in `value`, else none.",
        optional=True,
    )
    note: str = key(TEXT, "What it does, for the maker.", default="")
    measure: str = key(
        TEXT,
        "Where on the wearer, pet or object the maker measures it: the booklet lists it to be measured first.",
        default="",
    )


@declared
class Size:
    """One named set of parameter values: the same design for another figure."""

    note: str = key(TEXT, "For whom or what this size is.", default="")
    set: Mapping[str, float] = key(
        mapping(QUANTITY),
        "Parameters that differ from the file's own values, also stock thicknesses (`<stock id>_thickness`).",
        default={},
    )
    figure: SizeFigure | None = key(SizeFigure, optional=True)


@declared
class StockEntry:
    """A sheet material that is bought. Its thickness is also a parameter named `<id>_thickness`."""

    name: str = key(NAME, "Its trade name.")
    thickness: float = key(LENGTH, "Thickness as bought; it may not depend on `scale`.", at_least=0.05, at_most=300)
    k: float = key(
        NUMBER,
        "Where the neutral surface lies, as a fraction of the thickness from the inner face of a bend.",
        at_least=0,
        at_most=1,
        default=0.5,
    )
    strain_limit: float = key(
        NUMBER,
        "Greatest strain the foam forgives when it is bent over a double curve: 0.03 is 3 %.",
        at_least=0.001,
        at_most=1,
        default=0.03,
    )
    tension_limit: float | None = key(
        NUMBER,
        "Greatest strain where the foam is pulled. Without it: `strain_limit`.",
        at_least=0.001,
        at_most=1,
        optional=True,
    )
    compression_limit: float | None = key(
        NUMBER,
        "Greatest strain where the foam is pressed together. Without it: `strain_limit`.",
        at_least=0.001,
        at_most=1,
        optional=True,
    )
    sheet: tuple[float, ...] = key(
        exactly(2, LENGTH, at_least=1), "Size of one sheet, [width, height]; of round stock [its diameter, its length]."
    )
    density: float = key(NUMBER, "Density in kg/m3, for the weight.", at_least=0.1, at_most=25_000, default=100)
    colour: str = key(
        text(pattern=r"^#[0-9a-fA-F]{6}$", example="#e8b23a"),
        "Colour in drawings and in the model, #rrggbb.",
        default="#b8bcc2",
    )
    note: str = key(TEXT, "A remark for the shopping list.", default="")
    material_type: str = key(
        one_of("foam", "cloth", "card", "paper", "acrylic", "plywood"),
        "What it is: foam; cloth, as felt or leather, which bends and is neither heated nor painted; or a sheet that "
        "does not stretch.",
        default="foam",
        formerly="sort",
    )
    kerf: float | None = key(
        LENGTH,
        "Width of the machine's cut. With it each part gets a cutting file of its own, its lines moved by"
        " half of this so that the part comes out true; templates are printed without it.",
        at_least=0,
        at_most=10,
        optional=True,
    )
    price: float | None = key(
        NUMBER, "Price of one sheet, or of one metre of a roll, in `currency`.", at_least=0, optional=True
    )
    currency: str = key(
        text(pattern="^[^\\s]*$", example="EUR", most=10),
        "Currency of the price, as it stands after a number.",
        default="",
    )
    roll: float | None = key(
        LENGTH,
        "Width of the roll it is cut from, as long as need be. Without it: it comes in sheets.",
        at_least=10,
        optional=True,
    )
    turn: str = key(
        one_of("free", "half", "none"),
        "How pieces may lie on a sheet with a grain or a print: free; half, only as drawn or turned by "
        "180 degrees; none, only as drawn.",
        default="free",
    )
    flip: bool = key(
        FLAG,
        "Both faces are alike, so that any piece may be cut as drawn or mirrored and turned over. Else a "
        "mirrored copy is cut mirrored, from the same face as the others.",
        default=False,
    )
    gap: float = key(LENGTH, "Gap left between pieces on a sheet.", at_least=0, at_most=100, default="3 mm")
    edge: float = key(LENGTH, "Margin left along the edges of a sheet.", at_least=0, at_most=500, default="3 mm")


@declared
class Join:
    """Two parts that are glued together, beside the seams and laps that follow from the parts themselves."""

    parts: tuple[str, ...] = key(exactly(2, PART_ID), "The two parts.")
    glue: str = key(GLUE, default="contact")


@declared
class Bought:
    """Something that is bought beside foam, glue and paint: webbing, a bell, a string of lights. Called as one of those that the
    program knows by itself (felt, gravel, pins, strap), it takes its place."""

    name: str = key(LINE, "What it is called in the shopping list and in the steps.")
    size: float | None = key(
        LENGTH, "How wide, thick or across it is, printed behind its name.", at_least=0.1, at_most=10_000, optional=True
    )
    length: float | None = key(
        LENGTH,
        "How much is needed in all of what is bought by its length.",
        at_least=1,
        at_most=1_000_000,
        optional=True,
    )
    count: int | None = key(COUNT, "How many are needed; one, if there is neither a length nor this.", optional=True)
    note: str = key(TEXT, "A remark for the shopping list.", default="")
    through: tuple[tuple[str, ...], ...] = key(
        listed(exactly(2, TEXT)),
        "Webbing of a `size`: the two openings of a panel that each strap of it is threaded through, by the names of their cuts. "
        "From outside through the one, along the inside, and out through the other; the step that uses it shows so.",
        default=[],
    )


@declared
class StepNote:
    """A note to the builder, on the step in which its parts go in."""

    title: str = key(LINE, "Title of the step.", default="")
    parts: tuple[str, ...] = key(listed(PART_ID, least=1, unique=True), "Parts that go in.")
    note: str = key(TEXT, "What to mind.", default="")
    uses: tuple[str, ...] = key(
        listed(SUPPLY_ID, unique=True), "What is used in it, by the names under `supplies`.", default=[]
    )
    when: str = key(
        one_of("glued", "cured"),
        "As its parts are glued in, or at the very end, when all has cured: straps that are threaded, a lamp that is set in. A "
        "step that names nothing but parts that hang comes then in any case.",
        default="glued",
    )
    minutes: float | None = key(
        NUMBER,
        "Hands-on time of what the note asks for, in minutes, beside that of the gluing. Of a step at the very end it is 15 "
        "for each line of the note where nothing is said.",
        more_than=0,
        at_most=6000,
        optional=True,
    )


@declared
class Change:
    """What a version of the design has changed, for those who built an earlier one."""

    version: str = key(text(pattern=r"^\d+\.\d+\.\d+([-+].+)?$", example="1.1.0"), "The version.")
    date: str | None = key(
        text(pattern=r"^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$", example="2026-11-26"),
        "When it was published, as year-month-day: the gallery's feed tells of versions with a date.",
        optional=True,
    )
    text: str = key(text(least=1), "What is different, in a sentence.")


_ADDRESS = text(pattern=r"^https://[^\s<>\"']+$", example="https://example.org/lantern", most=500)


@declared
class Supplier:
    """Somebody who sells a stock."""

    name: str = key(LINE, "Who sells it.")
    address: str = key(_ADDRESS, "Where.")
    paid: bool = key(FLAG, "The maker is paid for what is bought by this link: it is marked so wherever it stands.")


@declared
class Channel:
    """Where the maker of the design can be seen, thanked and told: printed small, in the shopping list and in the
    gallery, and nowhere else."""

    video: str | None = key(_ADDRESS, "A film of the build.", optional=True)
    times: Mapping[str, str] = key(
        mapping(text(pattern=r"^\d{1,2}(:[0-5]\d){1,2}$", example="12:30")),
        "Where in the film parts go in, by their names in this file: minutes:seconds or hours:minutes:seconds.",
        default={},
    )
    credit: str = key(TEXT, "How to name the maker when a build is shown.", default="")
    feedback: str | None = key(
        text(pattern=r"^(https://|mailto:)[^\s<>\"']+$", example="https://example.org/tell", most=500),
        "Where to tell how it went.",
        optional=True,
    )
    to_measure: str | None = key(
        _ADDRESS,
        "A page that takes a visitor's measures to have a pack made: the gallery's form sends `design`, `version`, "
        "`size` and a field for each measure there, as a query.",
        optional=True,
    )
    suppliers: Mapping[str, tuple[Supplier, ...]] = key(
        mapping(listed(Supplier, least=1, most=10)), "Who sells what, by stock id.", default={}
    )


_INCLUDE = (
    "Fragments that give parameters and stock; paths are relative to this file and stay inside the repository. This "
    "file wins over them, a later one over an earlier one."
)
_FRAGMENTS = listed({**text(least=1, most=250), "description": "Path of a fragment."}, most=100)
_PARAMETERS = (
    "Named numbers that a maker may change, by id. Each design has `scale` (the whole prop larger or smaller; the "
    "foam stays as bought) and `clearance`."
)
_STOCK = "Sheet materials, by id."


@declared
class Design:
    """A prop made from sheet foam."""

    format: int = key({"const": 1}, "Version of the file format.")
    name: str = key(NAME, "Name of the prop.")
    version: str = key(
        text(pattern=r"^[0-9]+\.[0-9]+\.[0-9]+([-+][0-9A-Za-z.+-]+)?$", example="1.0.0", most=40),
        "Version of the design.",
    )
    licence: str = key(
        text(pattern="^[A-Za-z0-9.+-]+$", example="CC-BY-4.0", most=60), "Licence of the design, as an SPDX identifier."
    )
    author: str = key(LINE, "Who made the design.", default="")
    summary: str = key(TEXT, "What it is, in a sentence or two.", default="")
    address: str = key(
        text(pattern=r"^(https?://[^\s<>\"]+)?$", example="https://example.org/lantern"),
        "Where the design is published: printed on the cover, as text and as a QR code.",
        default="",
    )
    history: tuple[Change, ...] = key(
        listed(Change),
        "What changed from version to version, the latest first; the booklet lists the first few.",
        default=[],
    )
    channel: Channel | None = key(Channel, optional=True)
    used_by: tuple[str, ...] = key(
        listed(one_of("wearer", "child", "pet"), unique=True),
        "Who uses it beside people who look at it: the booklet says what they must know. `pet` with `wearer`: a pet "
        "wears it.",
        default=[],
    )
    lit_by: str = key(
        one_of("", "battery"),
        "Where a light belongs in it: battery, the only kind that foam allows. The booklet then warns of flames and of "
        "button cells.",
        default="",
    )
    language: str = key(one_of(*LANGUAGES), "Language of what is printed.", default="en")
    printed_units: str = key(
        one_of(*UNITS),
        "Lengths in the booklet: mm, inch (to 1/16), or both. Templates are always true to size.",
        default="mm",
    )
    units: str = key(
        one_of("mm", "in"),
        "What a bare number in a length field is: mm or in. Inside expressions and parameters numbers stand as they "
        "are; where the design is in inches, a sum with neither a unit nor a length in it is refused there.",
        default="mm",
    )
    include: tuple[str, ...] = key(_FRAGMENTS, _INCLUDE, default=[])
    parameters: Mapping[str, Parameter] = key({**by_id(Parameter), "required": ["scale", "clearance"]}, _PARAMETERS)
    sizes: Mapping[str, Size] = key(
        {
            "type": "object",
            "propertyNames": {"pattern": "^[a-z0-9][a-z0-9_-]*$", "examples": ["small"]},
            "minProperties": 1,
            "maxProperties": 50,
            "additionalProperties": {"$ref": Size},
        },
        "Named sizes; the first is the default.",
    )
    stock: Mapping[str, StockEntry] = key(by_id(StockEntry, least=1, most=100), _STOCK)
    forms: Mapping[str, Any] = key(
        by_id(FORM, most=100), "Smooth surfaces that parts follow, by id. A prop of flat parts needs none.", default={}
    )
    parts: Mapping[str, Any] = key(
        by_id("part", least=1, most=500), "Parts, by id, labelled A, B, C ... in this order."
    )
    joins: tuple[Join, ...] = key(
        listed(Join), "Parts glued together, beside the seams and laps that follow from the parts.", default=[]
    )
    overlaps: tuple[tuple[str, ...], ...] = key(
        listed(exactly(2, PART_ID)),
        "Pairs of parts that are meant to share space, and are trimmed until both fit. That holds neither of them: each needs a "
        "joint with something.",
        default=[],
    )
    figure: Figure | None = key(Figure, optional=True)
    stands: Stands | None = key(Stands, optional=True)
    supplies: Mapping[str, Bought] = key(
        by_id(Bought, most=100), "What is bought beside foam, glue and paint, by id.", default={}
    )
    steps: tuple[StepNote, ...] = key(listed(StepNote), "Notes to the builder.", default=[])


@declared
class Fragment:
    """A file named under `include`: parameters and stock shared by several designs."""

    format: int = key({"const": 1}, "Version of the file format.")
    include: tuple[str, ...] = key(_FRAGMENTS, _INCLUDE, default=[])
    parameters: Mapping[str, Parameter] | None = key(by_id(Parameter), _PARAMETERS, optional=True)
    stock: Mapping[str, StockEntry] | None = key(by_id(StockEntry), _STOCK, optional=True)


@declared
class Shelf:
    """What there is of one stock."""

    sheets: int = key({"type": "integer"}, "Whole sheets.", at_least=0, at_most=1000, default=0)
    offcuts: tuple[tuple[float, ...], ...] = key(
        listed(exactly(2, LENGTH, at_least=10), most=200),
        "Sizes of partly used sheets, [width, length] of the rectangle that is left; they are filled first.",
        default=[],
    )


@declared
class OnHand:
    """The foam on a maker's shelf. Bare numbers are mm."""

    format: int = key({"const": 1}, "Version of the format.")
    stock: Mapping[str, Shelf] = key(by_id(Shelf), "What there is of each stock, by the id it has in the designs.")
