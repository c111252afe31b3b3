"""Smooth surfaces without thickness, and what cuts them."""

from __future__ import annotations

from collections.abc import Mapping

from foamwright.design.fields.declare import (
    FLAG,
    Named,
    by_id,
    by_kind,
    declared,
    exactly,
    key,
    listed,
    one_of,
    one_required,
)
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.planes import Plane
from foamwright.design.fields.quantities import (
    ANGLE,
    AXIS,
    FILE,
    FLAT_POINT,
    FORM_ID,
    LENGTH,
    NUMBER,
    POINT,
    FlatPoint,
    Point,
)


@declared
class PrismCut:
    """An outline drawn straight through space."""

    outline: Outline = key(
        Outline,
        "The outline, in the plane square to `along`; its axes are (y, z) along x, (x, z) along y, (x, y) along z. It may be in "
        "several pieces and have holes: a row of holes is one cut.",
    )
    along: str = key(AXIS, "The way it is drawn.")
    centre: Point = key(POINT, "Where the outline's origin lies.", default=[0, 0, 0])
    above: float | None = key(LENGTH, "It cuts only where the coordinate along the axis is above this.", optional=True)
    below: float | None = key(LENGTH, "It cuts only where the coordinate along the axis is below this.", optional=True)


@declared
class OtherForm:
    """Another form's surface, moved outwards."""

    form: str = key(FORM_ID, "The other form.")
    offset: float = key(LENGTH, "How far outwards.", default=0)


@declared
class Curve:
    """A line drawn in a view and carried straight through space. Past its ends it goes straight on."""

    points: tuple[FlatPoint, ...] = key(
        listed(FLAT_POINT, least=2, most=500),
        "Points that the line passes through, in order, in the plane square to `along`; its axes are (y, "
        "z) along x, (x, z) along y, (x, y) along z.",
    )
    along: str = key(AXIS, "The way it is carried.")
    smooth: bool = key(FLAG, "A smooth curve through the points; false: straight lines between them.", default=True)
    closed: bool = key(FLAG, "It goes back to its first point (at least 3 of them).", default=False)


@declared
class Line:
    """A smooth line on the form itself, cut square to it. Past its ends it goes straight on."""

    through: tuple[Point, ...] = key(
        listed(POINT, least=2, most=500),
        "Points [x, y, z] in order; the line passes through the places of the form nearest to them.",
    )
    closed: bool = key(FLAG, "It goes back to its first point (at least 3 of them).", default=False)


@one_required("plane", "prism", "form", "curve", "line")
@declared
class Cut:
    """A named surface that cuts a form: a plane, a prism, another form, a line drawn in a view or a line on the
    form."""

    plane: Plane | None = key(Plane, optional=True)
    prism: PrismCut | None = key(PrismCut, optional=True)
    form: OtherForm | None = key(OtherForm, optional=True)
    curve: Curve | None = key(Curve, optional=True)
    line: Line | None = key(Line, optional=True)


@declared
class FormFields:
    """What forms of every kind have."""

    cuts: Mapping[str, Cut] = key(by_id(Cut, most=100), "Surfaces that cut this form into panels, by id.", default={})


@declared
class Revolution(FormFields):
    """A profile turned about an axis."""

    axis: str = key(AXIS, "The axis it is turned about.")
    origin: Point = key(POINT, "A point that the axis passes through; stations count from it.", default=[0, 0, 0])
    profile: tuple[FlatPoint, ...] = key(
        listed(FLAT_POINT, least=2, most=200),
        "Points [station along the axis, radius], stations increasing. A radius of 0 at an end is a rounded pole.",
    )
    smooth: bool = key(FLAG, "A smooth curve through the points; false: straight lines between them.", default=True)


@declared
class Superellipsoid(FormFields):
    """An ellipsoid, or one with squarer shoulders."""

    centre: Point = key(POINT, "Its centre.", default=[0, 0, 0])
    radii: tuple[float, ...] = key(exactly(3, LENGTH, more_than=0), "Half its extent along x, y and z.")
    exponents: tuple[float, ...] = key(
        exactly(2, NUMBER, at_least=1, at_most=20),
        "Squareness [around the axis, along it]; 2 is an ellipse, more is squarer.",
        default=[2, 2],
    )
    axis: str = key(AXIS, "The axis through its poles.", default="z")


@declared
class LoftSection:
    """One section of a loft, a superellipse square to the axis."""

    at: float = key(LENGTH, "Station along the axis.")
    width: float = key(
        LENGTH,
        "Extent along the first axis of the section: y where the loft runs along x, z along y, x along z."
        " 0 in both at an end is a rounded pole, in one of them a line, as a boat's stem: panels cut along it are mitred.",
        at_least=0,
    )
    height: float = key(
        LENGTH,
        "Extent along the second axis of the section: z where the loft runs along x, x along y, y along z.",
        at_least=0,
    )
    centre: FlatPoint = key(FLAT_POINT, "Centre of the section from the axis.", default=[0, 0])
    exponent: float = key(
        NUMBER,
        "2 is an ellipse; more is squarer. 1 in all sections: rhombs, with sharp edges between flat sides, as a roof has.",
        at_least=1,
        at_most=20,
        default=2,
    )


@declared
class Loft(FormFields):
    """A smooth surface through sections."""

    axis: str = key(AXIS, "The axis that the sections are square to.")
    sections: tuple[LoftSection, ...] = key(
        listed(LoftSection, least=2, most=100), "The sections, stations increasing."
    )


@declared
class FromFile:
    """How a shape from a file is placed."""

    scale: float = key(
        NUMBER, "How much larger than in the file, about the file's origin.", at_least=1e-6, at_most=1e6, default=1
    )
    turn: tuple[float, ...] = key(
        exactly(3, ANGLE),
        "How it is turned after that: degrees about the fixed axes x, then y, then z.",
        default=[0, 0, 0],
    )
    at: Point = key(POINT, "Where the file's origin comes to lie in the end.", default=[0, 0, 0])


@declared
class MeshFile(FromFile):
    """A surface of triangles from a file."""

    file: str = key(FILE, "The mesh (STL, OBJ or PLY), relative to the design, inside the same repository.")
    unit: str = key(one_of("mm", "cm", "in", "m"), "What 1 in the file is.", default="mm")


@declared
class StepFile(FromFile):
    """A solid from a STEP file."""

    file: str = key(FILE, "The STEP file, relative to the design, inside the same repository.")


@declared
class FormFromFile(FormFields):
    """What forms from files have, which state no axis of their own."""

    axis: str | None = key(AXIS, "The axis about which a panel of it is `opened`.", optional=True)
    origin: Point | None = key(
        POINT, "A point that the axis passes through. Without it: where the file's origin lies.", optional=True
    )


@declared
class Mesh(MeshFile, FormFromFile):
    """A closed surface of triangles from a file, smooth except at its sharp edges."""

    crease: float = key(
        ANGLE,
        "Triangles that turn by more than this meet at a sharp edge; across all others the surface is smooth.",
        at_least=1,
        at_most=180,
        default=40,
    )
    smoothing: float = key(
        LENGTH,
        "Bumps narrower than about this, in place, are evened out, since foam does not follow them; it also "
        "shrinks what is strongly curved.",
        at_least=0,
        at_most=1000,
        default=0,
    )
    offset: float = key(
        LENGTH,
        "How far outside what `smoothing` leaves of it the form lies (negative: inside), as clearance from a scan: each place "
        "goes square to the surface, and sharp edges stay sharp.",
        at_least=-1000,
        at_most=1000,
        default=0,
    )


@declared
class Step(StepFile, FormFromFile):
    """A solid from a STEP file, at the size that the file states."""


FORMS: Mapping[str, type] = {
    "revolution": Revolution,
    "superellipsoid": Superellipsoid,
    "loft": Loft,
    "mesh": Mesh,
    "step": Step,
}
FORM = Named("form", {"description": "A smooth surface before any thickness.", **by_kind(FORMS, "form")})
