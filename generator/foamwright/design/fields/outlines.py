"""Closed shapes in a plane."""

from __future__ import annotations

from typing import Any

from foamwright.design.fields.declare import FLAG, by_type, declared, exactly, key, listed, one_required, text, together
from foamwright.design.fields.planes import Plane
from foamwright.design.fields.quantities import ANGLE, COUNT, FILE, FLAT_POINT, FORM_ID, LENGTH, NUMBER, FlatPoint


@declared
class Circle:
    """A circle."""

    radius: float = key(LENGTH, "Radius.", more_than=0)
    centre: FlatPoint = key(FLAT_POINT, "Its centre.", default=[0, 0])


@declared
class Rectangle:
    """A rectangle, its corners rounded if wanted."""

    width: float = key(LENGTH, "Extent along x.", more_than=0)
    height: float = key(LENGTH, "Extent along y.", more_than=0)
    corner: float = key(LENGTH, "Radius of the corners.", at_least=0, default=0)
    centre: FlatPoint = key(FLAT_POINT, "Its centre.", default=[0, 0])


@declared
class Polygon:
    """Straight lines through points, closed."""

    points: tuple[FlatPoint, ...] = key(
        listed(FLAT_POINT, least=3, most=2000), "Corners in order, the first not repeated."
    )
    corner: float = key(LENGTH, "Radius of the corners.", at_least=0, default=0)


@declared
class Spline:
    """A smooth closed curve through points."""

    points: tuple[FlatPoint, ...] = key(
        listed(FLAT_POINT, least=3, most=500), "Points in order, the first not repeated."
    )


@declared
class Slot:
    """A long hole with round ends."""

    length: float = key(LENGTH, "Length over all.", more_than=0)
    width: float = key(LENGTH, "Width.", more_than=0)
    angle: float = key(ANGLE, "Turn of its long axis from x.", default=0)
    centre: FlatPoint = key(FLAT_POINT, "Its centre.", default=[0, 0])


@declared
class Superellipse:
    """Between an ellipse (exponent 2) and a rectangle (a large exponent)."""

    width: float = key(LENGTH, "Extent along x.", more_than=0)
    height: float = key(LENGTH, "Extent along y.", more_than=0)
    exponent: float = key(NUMBER, "2 is an ellipse; more is squarer.", at_least=0.5, at_most=50, default=2)
    centre: FlatPoint = key(FLAT_POINT, "Its centre.", default=[0, 0])


@declared
class Section:
    """The section of a form at a plane. Taken away from flat foam: at both faces, so that a square cut clears the form."""

    form: str = key(FORM_ID, "The form that is cut.")
    plane: Plane = key(Plane, "The plane of the section.")
    offset: float = key(LENGTH, "How far outwards from the form's surface.", default=0)


@declared
class Svg:
    """A shape drawn in an SVG file, millimetres honoured. The drawing's own origin (0, 0 of its viewBox) is that of the
    outline, and what is up in the drawing is y."""

    file: str = key(FILE, "The SVG file, relative to the design, inside the same repository.")
    scale: float = key(
        NUMBER,
        "How much larger than in the file, about that origin: `scale` lets it follow the prop's size.",
        at_least=1e-3,
        at_most=1e3,
        default=1,
    )


@declared
class PathStep:
    """One step of a path: a straight leg, an arc (with `through`) or a smooth curve (with `along`)."""

    to: FlatPoint = key(FLAT_POINT, "Where it ends.")
    through: FlatPoint | None = key(FLAT_POINT, "A point on the arc between its ends.", optional=True)
    along: tuple[FlatPoint, ...] | None = key(
        listed(FLAT_POINT, least=1, most=500), "Points that a smooth curve passes on the way.", optional=True
    )
    corner: float = key(LENGTH, "Radius of the corner at its end, between two straight legs.", at_least=0, default=0)


@declared
class Path:
    """A closed line from point to point: straight legs, arcs and smooth curves, with corners rounded. It closes by
    itself."""

    from_: FlatPoint = key(FLAT_POINT, "Where it starts and ends.")
    steps: tuple[Any, ...] = key(
        listed(by_type(array=FLAT_POINT, object=PathStep), least=1),
        "The way round: [x, y] for a straight leg to that point, or a mapping.",
    )
    corner: float = key(LENGTH, "Radius of the corner at the start, between two straight legs.", at_least=0, default=0)


@declared
class Text:
    """One line of letters, to be cut out or engraved."""

    value: str = key(text(pattern=r"^.*\S.*$", example="LAMP", least=1, most=100), "The letters.")
    height: float = key(LENGTH, "Height of the capitals.", at_least=1, at_most=2000)
    bold: bool = key(FLAG, "The bold face.", default=False)
    angle: float = key(ANGLE, "Turn of the line from x.", default=0)
    centre: FlatPoint = key(FLAT_POINT, "The middle of the line, at half the height of the capitals.", default=[0, 0])


@declared
class StencilText:
    """Letters for a stencil: bridges hold what is inside of an O or an A."""

    value: str = key(text(pattern=r"^.*\S.*$", example="LAMP", least=1, most=100), "The letters.")
    height: float = key(LENGTH, "Height of the capitals.", at_least=1, at_most=2000)
    bold: bool = key(FLAG, "The bold face.", default=False)
    bridge: float = key(LENGTH, "Width of a bridge.", more_than=0, default=2)
    angle: float = key(ANGLE, "Turn of the line from x.", default=0)
    centre: FlatPoint = key(FLAT_POINT, "The middle of the line, at half the height of the capitals.", default=[0, 0])


@declared
class FlatAround:
    """Copies around a point, turned as they go."""

    count: int = key(COUNT, "How many in all.")
    centre: FlatPoint = key(FLAT_POINT, "The point.", default=[0, 0])
    angle: float = key(
        ANGLE, "From the first copy to the last; 360 is all the way round at equal distances.", default=360
    )


@declared
class FlatGrid:
    """Copies in rows and columns."""

    counts: tuple[int, ...] = key(exactly(2, COUNT), "How many along the first step and how many along the second.")
    steps: tuple[FlatPoint, ...] = key(exactly(2, FLAT_POINT), "Two steps, each [x, y].")


@one_required("step", "moves", "around", "grid")
@together(step="count", count="step")
@declared
class FlatRepeat:
    """Copies in a plane: in a row, at places of their own, around a point, or in a grid."""

    count: int | None = key(COUNT, "How many in a row, with `step`.", optional=True)
    step: FlatPoint | None = key(FLAT_POINT, "From each copy to the next, [x, y].", optional=True)
    moves: tuple[FlatPoint, ...] | None = key(
        listed(FLAT_POINT, least=1), "How far each further copy lies from the first, each [x, y].", optional=True
    )
    around: FlatAround | None = key(FlatAround, optional=True)
    grid: FlatGrid | None = key(FlatGrid, optional=True)


@one_required(
    "path", "text", "stencil_text", "circle", "rectangle", "polygon", "spline", "slot", "superellipse", "section", "svg"
)
@declared
class Outline:
    """A closed shape in a plane: one of the shapes, with others added or taken away."""

    circle: Circle | None = key(Circle, optional=True)
    rectangle: Rectangle | None = key(Rectangle, optional=True)
    polygon: Polygon | None = key(Polygon, optional=True)
    spline: Spline | None = key(Spline, optional=True)
    slot: Slot | None = key(Slot, optional=True)
    superellipse: Superellipse | None = key(Superellipse, optional=True)
    section: Section | None = key(Section, optional=True)
    svg: Svg | None = key(Svg, optional=True)
    path: Path | None = key(Path, optional=True)
    text: Text | None = key(Text, optional=True)
    stencil_text: StencilText | None = key(StencilText, optional=True)
    plus: tuple[Outline, ...] = key(listed("Outline", most=200), "Outlines added to it.", default=[])
    minus: tuple[Outline, ...] = key(listed("Outline", most=200), "Outlines taken away from it.", default=[])
    repeat: FlatRepeat | None = key(FlatRepeat, "Copies of all this, as of holes in a row.", optional=True)
    piece: int | None = key(
        COUNT,
        "Which of its pieces, counted from left to right, where all this falls into several, as a word does into its letters.",
        optional=True,
    )
