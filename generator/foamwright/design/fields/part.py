"""What parts of every kind have, and what flat ones and panels have beside that."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from foamwright.design.fields.declare import LINE, TEXT, Named, by_type, declared, key, listed, mapping, one_of, text
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.quantities import (
    ANGLE,
    AXIS,
    COUNT,
    FLAT_POINT,
    FORM_ID,
    LENGTH,
    NUMBER,
    PART_ID,
    PARTS,
    STOCK_ID,
    FlatPoint,
)
from foamwright.design.fields.repeats import Repeat

AS_IT_IS = "none"  # the paint of what gets none


@declared
class EdgeFinish:
    """How all edges of the part are worked once it is cut."""

    finish: str = key(one_of("rounded", "chamfered"), "Rounded or chamfered, by sanding.")
    size: float = key(
        LENGTH, "Radius of the rounding, or width of the chamfer: the thickness of the part at most.", more_than=0
    )


@declared
class Split:
    """The part is glued up from segments. Without it: only where it is larger than the sheet, and then in as few of
    one size as it takes."""

    joint: str | None = key(
        one_of("puzzle", "scarf", "butt"),
        "puzzle: dovetails, for plates. scarf: both ends bevelled over three times the thickness, for "
        "strips. butt: straight. Without it: scarf for a plain strip or a band, else puzzle.",
        optional=True,
    )
    across: str | None = key(
        one_of("x", "y"),
        "The axis of the outline that is divided; x is the length of a band. Without it: the longer one.",
        optional=True,
    )
    at: tuple[float, ...] | None = key(
        listed(NUMBER, least=1, bounds={"exclusiveMinimum": 0, "exclusiveMaximum": 1}),
        "Where the joints lie, as fractions of its extent. Without it: as few segments of one size as fit the sheet.",
        optional=True,
    )


@declared
class Tab:
    """A tab on the edge of a part. It is as deep as the part it enters is thick, and its slot is larger all round
    by half the fit."""

    into: str = key(PART_ID, "The flat part with the slot, or a box: the edge lies on a face of it.")
    at: FlatPoint = key(FLAT_POINT, "The tab's middle lies on the straight edge nearest to this point.")
    length: float = key(LENGTH, "Along the edge.", more_than=0)
    fit: float = key(LENGTH, "How much longer and wider the slot is.", at_least=0, default=0.3)


GLUE = Named(
    "glue",
    {
        "description": "contact: contact cement; instant: instant glue (cyanoacrylate); none: it lies or stands there "
        "loose. A part that lies on another is glued to it by its own, also to a loose one. A seam has the glue of its "
        "parts; where they differ none if either says so, else contact.",
        **one_of("contact", "instant", "none"),
    },
)


@declared
class SheetFields:
    """What every kind of part has, also one that stands nowhere in the prop."""

    name: str | None = key(
        LINE,
        "Name on the template. Without it: the id in words. A comma turns it round in English sentences: `Bow, upper` is called "
        "the upper bow and `Lid, ring` the ring of the lid. Where one part of a thing is its floor, roof, lid, ring or so, the "
        "others are its pieces: beside `Bay, floor`, `Bay, side` is called the side piece of the bay.",
        optional=True,
    )
    stock: str = key(STOCK_ID, "The material it is cut from.")
    note: str = key(TEXT, "A remark on the template and in the booklet, a whole sentence.", default="")
    paint: str = key(
        text(example="dark red"),
        f"The base colour it is painted, in words; `{AS_IT_IS}` leaves the foam as it is bought, without heat, primer or paint. "
        "Without it: the booklet leaves it open.",
        default="",
    )


@declared
class PartFields(SheetFields):
    """What every kind of part has beside its own."""

    lies_on: tuple[str, ...] = key(
        PARTS, "Parts that it is glued to, face to face; its outline is marked on them.", default=[]
    )
    rests_on: tuple[str, ...] = key(
        PARTS, "Parts that it stands on or sits in without glue, and can be lifted from.", default=[]
    )
    hangs_from: tuple[str, ...] = key(
        PARTS,
        "Parts that it hangs from without glue, by what a step with it `uses`: a cord, screw eyes, a chain. It need not touch "
        "them, and is hung up when all has cured.",
        default=[],
    )
    padding: float = key(LENGTH, "Felt or the like between it and the parts that it rests on.", at_least=0, default=0.0)
    after: tuple[str, ...] = key(PARTS, "Parts that must be in place first.", default=[])
    glue: str = key(GLUE, default="contact")
    mirror: str | None = key(
        AXIS, "A second copy, reflected in the plane through the origin square to this axis.", optional=True
    )
    repeat: Repeat | None = key(Repeat, "Copies of it; with `mirror` each of them is mirrored too.", optional=True)


@declared
class FlatFields(PartFields):
    """What flat parts of one outline have beside their own."""

    layers: int = key(COUNT, "Laminated from so many sheets.", at_most=50, default=1)
    pins: tuple[FlatPoint, ...] = key(
        listed(FLAT_POINT, most=100),
        "Where 3 mm pins align the layers of a laminated part, each [x, y]; marked on every layer.",
        default=[],
    )
    engrave: tuple[Outline, ...] = key(
        listed(Outline, most=200), "Outlines that are engraved or drawn on the outside face, not cut.", default=[]
    )
    edge: EdgeFinish | None = key(EdgeFinish, optional=True)
    split: Split | None = key(Split, optional=True)


@declared
class TabbedFields(FlatFields):
    """What flat parts with straight edges have beside their own."""

    tabs: tuple[Tab, ...] = key(
        listed(Tab),
        "Tabs on straight edges that enter slots in other flat parts; the slots are cut where the tabs stand.",
        default=[],
    )


SIDE = Named(
    "side",
    {
        "description": "Which side of a cut: beyond or before a plane (along its normal), outside or inside a prism or "
        "another form, beyond (left) or before (right) of a curve or line in its direction, a curve seen with"
        " its first axis to the right and its second up, a line seen from outside the form.",
        **one_of("beyond", "before", "outside", "inside"),
    },
)


@declared
class Dart:
    """A wedge cut from an edge, so that the panel closes into a curve."""

    edge: str = key(
        TEXT,
        "The cut that makes the edge; waist.1, waist.2 where the cut waist makes several edges of this panel: 1 is the "
        "foremost, of two as far forward the left one, and the next follow around the panel, counter-clockwise as seen from "
        "outside.",
    )
    at: float = key(NUMBER, "Where along the edge, as a fraction of its length.", more_than=0, less_than=1, default=0.5)
    depth: float = key(LENGTH, "How far into the panel.", more_than=0)


@declared
class DartRules:
    """Automatic darts, some things about them pinned."""

    edges: tuple[str, ...] = key(
        listed(TEXT), "The only edges that darts may start from. Without it: any edge.", default=[]
    )
    avoid: tuple[str, ...] = key(listed(TEXT), "Edges that darts may not start from.", default=[])
    count: int | None = key(
        COUNT, "How many darts in a row. Without it: as many as it takes.", at_most=50, optional=True
    )
    at: tuple[float, ...] = key(
        listed(NUMBER, most=50, bounds={"exclusiveMinimum": 0, "exclusiveMaximum": 1}),
        "Their places along the edge, as fractions of its length. Without it: where they do most.",
        default=[],
    )
    along: tuple[str, ...] = key(
        listed(TEXT),
        "Cuts of the form whose lines across the panel the darts follow, as where a cover or a skin will hide them.",
        default=[],
    )


@declared
class PanelFields(PartFields):
    """What parts that follow a form have beside their own."""

    form: str = key(FORM_ID, "The form it follows.")
    where: Mapping[str, str] = key(
        mapping(SIDE),
        "Which part of the form: for each cut that bounds the panel, the side on which it lies. beyond a plane is further "
        "along its normal; see side under Quantities.",
        default={},
    )
    laid: str = key(one_of("outside", "inside"), "On which side of the form's surface it lies.", default="outside")
    over: tuple[str, ...] = key(PARTS, "Parts that lie beneath it: it is moved off by their thicknesses.", default=[])
    opened: float | None = key(
        ANGLE,
        "Cut open along one line from the form's axis, so that it may go all the way around with a single"
        " seam: the angle of the line about the axis, from y towards z where the axis is x, from z "
        "towards x for y, from x towards y for z.",
        optional=True,
    )
    flush: tuple[str, ...] = key(
        listed(TEXT, unique=True),
        "Planes whose edges lie in the plane itself, bevelled, as where a flat part closes the end. Other"
        " planes are cut square to the foam, and mitred where they run along a sharp edge of the form.",
        default=[],
    )
    square: tuple[str, ...] = key(
        listed(TEXT, unique=True),
        "Prisms and forms whose edges are cut square to the foam. Others lie in the cutting surface, "
        "bevelled, as where a ring, a lip or another form meets them; but cloth is always cut square, and so is what leans so "
        "little that its two faces end within 0.5 mm of each other.",
        default=[],
    )
    darts: Any = key(
        by_type(string={"enum": ["auto"]}, array=listed(Dart, most=50), object=DartRules),
        "auto (as many as the strain asks for, wherever they do most; evenly round an edge without ends, as that of a disc),"
        " automatic with some things pinned, or a list of stated darts.",
        default=[],
    )
