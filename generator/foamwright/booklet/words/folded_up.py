"""A ring of flat pieces, as the walls of a tower: they are laid side by side, taped along their joints, and folded up as one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.assembly import which_copy
from foamwright.assembly.bodies import Bodies, frame
from foamwright.booklet.words import glue_up
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.glue_up import Joining
from foamwright.language import listed, say
from foamwright.parts.records import FlatBody, PanelBody

_LEAST = 3  # pieces of a ring
_UPRIGHT = 0.9  # cosine between the axis of a ring and the way up
_OPENS = 0.02  # cosine by which a neighbour must lie behind the outside of a piece, for their joint to open inwards


def ring(told: Fitting, order: Sequence[Joining]) -> tuple[Joining, ...]:
    """The pieces of a ring as they follow each other round, from left to right as they are seen from outside where it stands
    upright, each with the one before it; the first has the last. Empty for what is no ring of flat pieces alone, and for one
    with a hollow corner, which no tape on its outside closes."""
    beside: dict[int, dict[int, tuple[int, ...]]] = {}
    for joining in order:
        for other, numbers in joining.met:
            beside.setdefault(joining.copy, {})[other] = numbers
            beside.setdefault(other, {})[joining.copy] = numbers
    copies = [joining.copy for joining in order]
    if len(copies) < _LEAST or {*beside} != {*copies} or any(len(near) != 2 for near in beside.values()):
        return ()
    walk = [copies[0], min(beside[copies[0]], key=copies.index)]
    while len(walk) < len(copies):
        onward = [other for other in beside[walk[-1]] if other != walk[-2]]
        if onward[0] in walk:
            return ()  # two rings
        walk.append(onward[0])
    outsides = _outsides(told.bodies, walk)
    if outsides is None:
        return ()
    middles = told.bodies.spheres[walk, :3]
    steps = np.roll(middles, -1, axis=0) - middles
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    forward, back = np.sum(outsides * steps, axis=1), -np.sum(np.roll(outsides, -1, axis=0) * steps, axis=1)
    if (np.r_[forward, back] > -_OPENS).any():
        return ()
    if _turns_up(outsides)[2] < 0.0:  # to the left as it is seen from outside
        walk = [walk[0], *reversed(walk[1:])]
    return tuple(Joining(copy, ((walk[at - 1], beside[copy][walk[at - 1]]),)) for at, copy in enumerate(walk))


def before(told: Fitting, pieces: Sequence[Joining]) -> list[str]:
    """How a ring is laid out and taped, in which order its pieces follow each other, and how it is tried dry."""
    first, *rest = pieces
    facts = {
        "first": which_copy.name(told.bodies, first.copy),
        "rest": listed(
            [
                say(
                    "{piece} {along}",
                    piece=which_copy.name(told.bodies, joining.copy),
                    along=glue_up.in_brackets(told, joining.numbers),
                )
                for joining in rest
            ]
        ),
    }
    outsides = _outsides(told.bodies, [joining.copy for joining in pieces])
    upright = outsides is not None and abs(_turns_up(outsides)[2]) > _UPRIGHT
    return [
        say(
            "Lay the pieces side by side, the outside up and their upper edges away from you, from left to right: {first}, then "
            "{rest}.",
            **facts,
        )
        if upright
        else say("Lay the pieces side by side, the outside up, in this order: {first}, then {rest}.", **facts),
        say(
            "Push their outer edges against each other, so that equal ticks meet, and stick a strip of masking tape along every "
            "joint. Turn the row over: the joints open upwards. Fold it up dry once, to see that every joint closes."
        ),
    ]


def line(told: Fitting, pieces: Sequence[Joining]) -> str:
    """How a row that is taped becomes a ring."""
    return say(
        "Coat both edges of every joint, and the two ends of the row. When they are tacky, fold the row up joint by joint, and "
        "press each shut from its tape inwards; last close the ring {along}, and hold it with tape.",
        along=glue_up.in_brackets(told, pieces[0].numbers),
    )


def _outsides(bodies: Bodies, copies: Sequence[int]) -> np.ndarray | None:
    """For each piece of a ring the direction off its face that is outside, (n, 3); None if one is not flat."""
    found = []
    middle = bodies.spheres[list(copies), :3].mean(axis=0)
    for copy in copies:
        piece, turn = bodies.pieces[copy], bodies.matrices[copy][:3, :3]
        axes = frame(piece, bodies.matrices[copy])
        if isinstance(piece.body, PanelBody) and piece.body.plane is not None:
            normal = turn @ piece.body.plane.axes[:, 2]
        elif axes is not None and isinstance(piece.body, FlatBody):
            normal = axes[2]
        else:
            return None
        found.append(normal * np.sign(normal @ (bodies.spheres[copy, :3] - middle)))
    return np.array(found)


def _turns_up(outsides: np.ndarray) -> np.ndarray:
    """The axis (3,) about which the outsides of a ring turn from each to the next, by the right hand."""
    axis = np.cross(outsides, np.roll(outsides, -1, axis=0)).sum(axis=0)
    return axis / np.linalg.norm(axis)
