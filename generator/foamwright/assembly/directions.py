"""Words for directions and places of the prop: x leads forward, y to the left, z up. All vectors are unit, (3,)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.language import length, listed, say
from foamwright.templates.facing import largest, looks

SLANTED = 0.35  # a share of a direction below it is not named
_EIGHTH = np.pi / 4.0


def side(direction: Sequence[float]) -> str:
    """Where something comes from that moves against `direction`: "from above", "from the front and the left"."""
    return _named(
        direction,
        (
            (say("from the front"), say("from behind")),
            (say("from the left"), say("from the right")),
            (say("from above"), say("from below")),
        ),
    )


def onwards(direction: Sequence[float]) -> str:
    """Where something moves to that moves against `direction`: "down", "to the left"."""
    return _named(
        direction,
        ((say("back"), say("forward")), (say("to the right"), say("to the left")), (say("down"), say("up"))),
    )


def at(direction: Sequence[float] | np.ndarray) -> str:
    """Where something is that lies off the middle in a direction: "at the back", "on the left"."""
    return largest(
        direction,
        (
            (say("at the front"), say("at the back")),
            (say("on the left"), say("on the right")),
            (say("at the top"), say("at the bottom")),
        ),
    )


def beside(direction: Sequence[float] | np.ndarray) -> str:
    """Where something lies that is off another in a direction: "behind" it, "to the right of" it."""
    return largest(
        direction,
        (
            (say("in front of"), say("behind")),
            (say("to the left of"), say("to the right of")),
            (say("above"), say("below")),
        ),
    )


def around(direction: Sequence[float] | np.ndarray) -> str:
    """As `at`, of places around the prop: to an eighth of a turn, "at the front on the left"."""
    front, back = say("at the front"), say("at the back")
    left, right = say("on the left"), say("on the right")
    eighths = (
        front,
        say("at the front on the left"),
        left,
        say("at the back on the left"),
        back,
        say("at the back on the right"),
        right,
        say("at the front on the right"),
    )
    return eighths[round(float(np.arctan2(direction[1], direction[0])) / _EIGHTH) % len(eighths)]


def along_side(direction: Sequence[float] | np.ndarray) -> str:
    """Which side a strip runs along that goes by a place off the middle in a direction: "along the left"."""
    return largest(
        (direction[0], direction[1], 0.0),
        (
            (say("across the front"), say("across the back")),
            (say("along the left"), say("along the right")),
            (say("across the front"), say("across the back")),
        ),
    )


def around_from_middle(off: np.ndarray, least: float) -> str:
    """As `around`, of a place that lies `off` the middle (3,) in mm, to be measured: "at the back, 20 mm to the right of the
    middle"; not beside by less than `least`, nor halfway between two sides."""
    where = around(off)
    ahead = int(np.argmax(np.abs(off[:2])))
    beside_it = np.zeros(3)
    beside_it[1 - ahead] = off[1 - ahead]
    straight = np.zeros(3)
    straight[ahead] = off[ahead]
    if abs(off[1 - ahead]) < least or where != around(straight):
        return where
    size, side_of = length(float(abs(off[1 - ahead]))), beside(beside_it)
    return say("{where}, {size} {side} the middle", where=where, size=size, side=side_of)


def looking(direction: Sequence[float] | np.ndarray) -> str:
    """Where a face looks that may lean: "up", "towards the front and up"."""
    return _named(direction, looks())


def axes() -> tuple[tuple[str, str], ...]:
    """The two ways along each axis, as bare words."""
    return (say("forward"), say("back")), (say("left"), say("right")), (say("up"), say("down"))


def towards(direction: Sequence[float]) -> str:
    """A direction in words: "forward", "back and left"."""
    return _named(direction, axes())


def _named(direction: Sequence[float] | np.ndarray, words: Sequence[tuple[str, str]]) -> str:
    size = [round(abs(float(x)), 2) for x in direction]
    most = sorted(range(3), key=lambda i: (size[i], (1, 0, 2)[i]))[1:]  # three words say no more than two
    return listed([words[i][int(direction[i] < 0.0)] for i in range(3) if i in most and size[i] > SLANTED])
