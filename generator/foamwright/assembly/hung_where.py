"""Where something hangs, in words: on which side of what it hangs from, how far from the middle of that, and how far below."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies
from foamwright.language import count, length, listed, say

_AT_SIDE = 0.7  # of half the width of what something hangs from: further out, it hangs at that side
_WIDE = 10.0  # mm across what it hangs from: of what is narrower, as of a cord, no place is told
_OFF = 1.5  # mm off the middle that are told
_BELOW = 1.0  # mm below it that are told


def where(bodies: Bodies, pairs: Collection[tuple[int, int]], below: str) -> list[str]:
    """Sentences for the copies of one part that hang, `pairs` of one of them and the copy that it hangs from, which is called
    `below`; none where that is too narrow to tell of a place along it."""
    boxes = {copy: _box(bodies, copy) for pair in pairs for copy in pair}
    sides: dict[int, list[float]] = {}  # off the middle, by the eighth of a turn that leads to the side
    under: list[np.ndarray] = []
    for one, other in sorted(pairs):
        off, half = boxes[one].mean(axis=0) - boxes[other].mean(axis=0), np.ptp(boxes[other], axis=0)[:2] / 2.0
        if half.max() < _WIDE / 2.0:
            return []
        share = np.abs(off[:2]) / np.maximum(half, _WIDE / 2.0)
        out = int(np.argmax(share))
        if share[out] > _AT_SIDE and half.min() >= _WIDE / 2.0:
            sides.setdefault(2 * out + (4 if off[out] < 0.0 else 0), []).append(float(off[1 - out]))
        else:
            under.append(np.where(half >= _WIDE / 2.0, off[:2], 0.0))
    places = [*_beneath(under), *_at_sides(sides)]
    text = [
        count(
            "It hangs {places}, measured level to its own middle.",
            "They hang {places}, each measured level to its own middle.",
            len({one for one, _ in pairs}),
            places=listed(places),
        )
    ]
    drops = [float(boxes[other][0, 2] - boxes[one][1, 2]) for one, other in pairs]
    if min(drops) > _BELOW and np.ptp(drops) < _OFF:
        size = length(float(np.mean(drops)))
        text.append(
            count(
                "Its top is {size} below the lower side of {below}.",
                "Their tops are {size} below the lower side of {below}.",
                len({one for one, _ in pairs}),
                size=size,
                below=below,
            )
        )
    return text


def _box(bodies: Bodies, copy: int) -> np.ndarray:
    points = bodies.mesh((copy,))[0]
    return np.array([points.min(axis=0), points.max(axis=0)])


def _at_sides(sides: dict[int, list[float]]) -> list[str]:
    """Of what hangs at the sides, those that are alike told as one."""
    alike: dict[str, list[str]] = {}
    for turn, offs in sorted(sides.items()):
        along = turn % 4 == 0  # at the front or at the back, and so off to the left or the right
        name = directions.around((np.cos(turn * np.pi / 4.0), np.sin(turn * np.pi / 4.0), 0.0))
        for told in _from_middle([np.array((0.0, off) if along else (off, 0.0)) for off in offs]):
            alike.setdefault(told, []).append(name)
    return [
        say("{sides}, {place}", sides=listed(names), place=told)
        if len(names) == 1
        else say("{sides}, {place} of each", sides=listed(names), place=told)
        for told, names in alike.items()
    ]


def _beneath(offs: Sequence[np.ndarray]) -> list[str]:
    return [say("underneath, {place}", place=told) for told in _from_middle(offs)]


def _from_middle(offs: Sequence[np.ndarray]) -> list[str]:
    """Where each of some places lies (2,) off the middle; two that lie alike to both sides are told as one."""
    if len(offs) == 2 and np.abs(offs[0] + offs[1]).max() < _OFF and min(np.abs(offs[0])) < _OFF < max(np.abs(offs[0])):
        return [say("{size} to either side of the middle", size=length(float(np.abs(offs[0]).max())))]
    return [_off_middle(off) for off in offs]


def _off_middle(off: np.ndarray) -> str:
    sides = []
    for axis in (0, 1):
        if abs(off[axis]) >= _OFF:
            towards = np.zeros(3)
            towards[axis] = off[axis]
            size = length(float(abs(off[axis])))
            sides.append(say("{size} {side}", size=size, side=directions.beside(towards)))
    return say("{sides} the middle", sides=listed(sides)) if sides else say("in the middle")
