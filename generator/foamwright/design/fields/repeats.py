"""Copies of a part, and the curves of a form that rows and bands follow."""

from __future__ import annotations

from foamwright.design.fields.declare import TEXT, declared, exactly, key, listed, one_required, together
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.planes import Placement, Plane
from foamwright.design.fields.quantities import (
    ANGLE,
    COUNT,
    DIRECTION,
    FORM_ID,
    LENGTH,
    NUMBER,
    POINT,
    Direction,
    Point,
)


@declared
class Hoop:
    """Around a form at a plane."""

    form: str = key(FORM_ID, "The form.")
    plane: Plane = key(Plane, "The plane of the curve.")


@declared
class Opening:
    """The edge that a cut leaves in a form: a prism for what lines it, a plane as well for what stands along it or goes
    through it."""

    form: str = key(FORM_ID, "The form.")
    cut: str = key(TEXT, "The cut of that form.")


@declared
class Around:
    """Copies around an axis, turned as they go."""

    count: int = key(COUNT, "How many in all.")
    axis: Direction = key(DIRECTION, "The axis; they go counter-clockwise about it.")
    centre: Point = key(POINT, "A point on the axis.", default=[0, 0, 0])
    angle: float = key(
        ANGLE, "From the first copy to the last; 360 is all the way round at equal distances.", default=360
    )


@declared
class Grid:
    """Copies in rows and columns."""

    counts: tuple[int, ...] = key(exactly(2, COUNT), "How many along the first step and how many along the second.")
    steps: tuple[Point, ...] = key(exactly(2, POINT), "Two steps, each [x, y, z].")


@declared
class Taper:
    """Gaps that grow narrower or wider towards the end of a row."""

    to: float = key(LENGTH, "The last gap.", at_least=0)
    over: int = key(COUNT, "Over how many gaps it gets there, in equal steps.")


@one_required("hoop", "opening", "outline")
@together(outline="at", at="outline")
@declared
class Row:
    """Copies of a plate, ring or disc along a curve, turned to follow it. The part's `at` is then told at the
    curve: x outwards from it, y along it, z square to its plane. The curve starts on the side of its plane's y
    axis (a hoop's: up, or forward where it lies level) and runs counter-clockwise about the normal."""

    hoop: Hoop | None = key(Hoop, optional=True)
    opening: Opening | None = key(Opening, optional=True)
    outline: Outline | None = key(Outline, optional=True)
    at: Placement | None = key(Placement, "Where the outline lies; with `outline` only.", optional=True)
    offset: float = key(LENGTH, "How far outwards of the curve the copies stand; inwards if negative.", default=0)
    span: tuple[float, ...] = key(
        exactly(2, NUMBER),
        "From which share of the curve's length to which: [0, 1] is all the way round.",
        default=[0, 1],
    )
    count: int | None = key(COUNT, "How many in all, with equal gaps between them.", optional=True)
    gap: float | None = key(
        LENGTH,
        "The straight gap between two of them, as a spacer sets it. All the way round the nearest that "
        "closes it is taken.",
        more_than=0,
        optional=True,
    )
    pitch: float | None = key(
        LENGTH, "From the middle of one to that of the next, along the curve; likewise.", more_than=0, optional=True
    )
    taper: Taper | None = key(Taper, optional=True)


@one_required("step", "moves", "around", "grid", "along")
@together(step="count", count="step")
@declared
class Repeat:
    """Copies in a row, at places of their own, around an axis, in a grid, or along a curve."""

    count: int | None = key(COUNT, "How many in all, with `step`.", optional=True)
    step: Point | None = key(POINT, "From each copy to the next, [x, y, z].", optional=True)
    moves: tuple[Point, ...] | None = key(
        listed(POINT, least=1), "How far each further copy lies from the first, each [x, y, z].", optional=True
    )
    around: Around | None = key(Around, optional=True)
    grid: Grid | None = key(Grid, optional=True)
    along: Row | None = key(Row, optional=True)
