"""Planes, and where a flat part stands."""

from __future__ import annotations

from foamwright.design.fields.declare import FLAG, declared, key, marked
from foamwright.design.fields.quantities import DIRECTION, FORM_ID, LENGTH, POINT, Direction, Point


@declared
class Plane:
    """A plane square to `normal`. Its own axes, for outlines and points that lie in it: y goes along z, or along x where the
    normal is nearly along z, and x along y times the normal, so that [x, y] in a plane with the normal z is [-y, x] of the
    prop."""

    normal: Direction = key(DIRECTION, "The way the plane faces.")
    at: float = key(LENGTH, "Its distance from the origin along the normal.", default=0)


@declared
class Onto:
    """A form onto whose surface the origin is moved."""

    form: str = key(FORM_ID, "The form.")
    offset: float = key(LENGTH, "How far outside its surface (negative: inside).", default=0)
    turned: bool = key(
        FLAG,
        "Turn the part so that it lies flat on the form there; its own normal only says from where it is moved.",
        default=False,
    )


@marked("placement")
@declared
class Placement:
    """Where a flat part stands: the outline's origin, the way its thickness goes, and the outline's y axis. The outline's
    x axis goes along `up` times `normal`: with up z it is y of the prop for the normal x, x for -y and -x for y; with the
    normal z and up y it is x."""

    origin: Point = key(POINT, "Where the outline's origin lies.", default=[0, 0, 0])
    normal: Direction = key(DIRECTION, "The way the thickness goes, from the inside face.")
    up: Direction | None = key(
        DIRECTION,
        "The way of the outline's y axis, made square to the normal. Without it: z, or x where the normal "
        "is nearly along z.",
        optional=True,
    )
    onto: Onto | None = key(
        Onto,
        "Move the origin along the normal until it lies on a form's surface. Copies by `repeat` are put onto it each, from where "
        "that moves the origin.",
        optional=True,
    )
