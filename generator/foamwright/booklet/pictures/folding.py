"""Small drawings of how a strip is folded in its corners: the V that is cut down to the skin, open and shut. Lengths in mm on
paper; in the proportions of the foam."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.strokes import figure, pointed
from foamwright.drawing.primitives import Path, Primitive
from foamwright.flatten.records import Pattern
from foamwright.language import say
from foamwright.parts.records import BandBody, BandCorner
from foamwright.templates.wording import number

_ARROW = 3.4  # from the open V to the shut one, and as much room as that takes between them
_ARM = 1.6  # thicknesses of foam to both sides of a V, at its mouth
_THICKEST = 5.0  # that foam is drawn
_SKIN = 0.08  # of the thickness that is drawn uncut


def folds(patterns: Iterable[Pattern]) -> Iterator[Inset]:
    """The sharpest fold that is cut from the face that is drawn on, and the sharpest that is cut from the other one."""
    every = [(corner, pattern) for pattern in patterns for corner in _scored(pattern)]
    for sign in (1.0, -1.0):
        own = [one for one in every if sign * one[0].turn > 0.0]
        if own:
            yield fold(*max(own, key=lambda one: round(abs(one[0].turn), 3)))


def _scored(pattern: Pattern) -> list[BandCorner]:
    """The corners that are folded: where a strip closes, its ends meet instead."""
    body = pattern.piece.body
    return [c for c in body.corners if c.made == "scored" and c.at] if isinstance(body, BandBody) else []


def fold(corner: BandCorner, pattern: Pattern) -> Inset:
    """The section of a fold, the face that is drawn on up: cut, and folded with its glue."""
    t, up = 1.0, 1.0 if corner.turn > 0.0 else -1.0  # in thicknesses; y from the skin to the mouth of the V
    leans = [np.radians(abs(bevel)) for bevel in corner.bevels]
    mouths = [float(np.tan(lean)) for lean in leans]
    arm = max(mouths) + _ARM
    flat = np.array([[-arm, t], [-mouths[0], t], [0.0, _SKIN], [mouths[1], t], [arm, t], [arm, 0.0], [-arm, 0.0]])
    halves = [
        _turned(np.array([[0.0, 0.0], [-mouths[0], t], [-arm, t], [-arm, 0.0]]), -leans[0]),
        _turned(np.array([[0.0, 0.0], [mouths[1], t], [arm, t], [arm, 0.0]]), leans[1]),
    ]
    shut = np.vstack(halves)
    room = (INSET[0] - 2.0 * _ARROW) / 2.0
    scale = float(min(room / (2.0 * arm), room / np.ptp(shut[:, 0]), INSET[1] / np.ptp(shut[:, 1]), _THICKEST))
    tall = scale * float(np.ptp(shut[:, 1]))
    colour = pattern.piece.stock.colour

    def placed(points: np.ndarray, whole: np.ndarray, middle: float) -> np.ndarray:
        """In the middle of the height, and about `middle` across."""
        low, high = whole.min(axis=0), whole.max(axis=0)
        return scale * (points - (low + high) / 2.0) * (1.0, up) + (middle, -tall / 2.0)

    left, right = room / 2.0, INSET[0] - room / 2.0
    items: list[Primitive] = [Path(placed(flat, flat, left), "view", True, colour)]
    items += [Path(placed(half, shut, right), "view", True, colour) for half in halves]
    items.append(Path(placed(halves[0][:2], shut, right), "glue"))
    items += [Path(placed(flat[side], flat, left), "glue") for side in ([1, 2], [2, 3])]
    start = np.array([INSET[0] / 2.0 - _ARROW / 2.0, -tall / 2.0])
    items += pointed(start, start + (_ARROW, 0.0))
    height = -min(float(item.points[:, 1].min()) for item in items if isinstance(item, Path)) + 0.5
    items.append(figure((left, -height - 2.4), f"{number(abs(corner.turn))}°"))
    said = (
        say("Cut through a fold of {part}, drawn face up: a V from this side, and shut.", part=pattern.piece.label)
        if corner.turn > 0.0
        else say(
            "Cut through a fold of {part}, drawn face up: a V from the other side, and shut.", part=pattern.piece.label
        )
    )
    said += " " + say("Its skin stays whole. Before it is folded, glue goes where it is red.")
    return Inset(tuple(items), height + 3.4, said)


def _turned(points: np.ndarray, angle: float) -> np.ndarray:
    """Points (n, 2) turned about the origin, counter-clockwise."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return points @ np.array([[cosine, sine], [-sine, cosine]])
