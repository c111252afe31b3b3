"""The letters on a picture, its arrow to the front, and the edge around what shows not all. Lengths in mm in the plane of
the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly.records import Inset, Picture
from foamwright.booklet.pictures import bubbles, render
from foamwright.booklet.pictures.figures import INSET, lettered_block

PRINTED = (92.0, 74.0)  # mm of paper that a step's picture fits into
OTHER_SIDE = (INSET[0], 44.0)  # and the whole in a small one, from where it shows what the large one does not
_UPRIGHT = 1.35  # times as high as others a narrow picture may be, or it would be the smallest of all
_ALONG_EYE = 0.3  # of a direction that is seen; less, and no arrow shows it
_LETTER, _LONG_LETTER = 3.1, 3.9  # mm on paper, radius of a letter's bubble, and where some have a number as well
_SMALL_LETTER = 2.5  # in an inset
_OFF_LETTERS = 1.2  # radii of a bubble from its middle to the room of the arrow to the front
_FRONT_ROOM = (1.5, 2.0)  # radii of a bubble: half the room that it takes across and up, with its word,
_WORD_BELOW = 0.6  # which is below its middle
_FRONT_PLACES = 15  # places that are tried for it across a picture and up
_FEW = 8  # letters, of which there is room for larger ones


@dataclass(frozen=True, eq=False)
class Drawn:
    """A picture before it has its letters: what it shows where, its PNG file and the box that this fills."""

    scene: render.Scene
    seen: render.Window
    png: bytes
    box: tuple[float, float, float, float]


def printed_in(wide: float, high: float) -> np.ndarray:
    """The mm of paper (2,), across and up, that a picture of this shape fits into."""
    upright = float(np.sqrt(high / max(wide, 1e-9) * PRINTED[0] / PRINTED[1]))
    return np.array([PRINTED[0], PRINTED[1] * min(max(upright, 1.0), _UPRIGHT)])


def lettered(
    drawn: Drawn,
    named: Sequence[tuple[str, int]],
    arrows: Sequence[np.ndarray],
    to_front: bool,
    taking: Sequence[tuple[str, int]] = (),
    room: tuple[float, float] = PRINTED,
) -> Picture:
    """With the letters of the copies `named` and of those `taking` them, arrows, the arrow to the front, and an edge where
    it shows not all."""
    scene, seen = drawn.scene, drawn.seen
    low, high = np.array(drawn.box[:2]), np.array(drawn.box[2:])
    ends = np.vstack([low, high, *arrows])
    low, high = ends.min(axis=0), ends.max(axis=0)
    letter = _LONG_LETTER if len(named) <= _FEW and any(len(label) > 2 for label, _ in named) else _LETTER
    letter = letter if room == PRINTED else _SMALL_LETTER
    inner = np.array(room) - 2.0 * 1.4 * letter
    radius = float(letter / (inner / np.maximum(high - low, 1e-9)).min())
    ground = bubbles.Ground(scene.owner[::3, ::3], seen.low, 3.0 * seen.step)
    letters = bubbles.placed(ground, named, radius, arrows, taking)
    front = front_arrow(scene, seen, letters, arrows, radius, low, high) if to_front else ()
    around = [np.add(b.spot, sign * 1.1 * radius) for b in letters for sign in (-1.0, 1.0)]
    if front:
        middle = np.add(front[:2], np.array(front[2:]) / 2.0) - (0.0, _WORD_BELOW * radius)
        around += [middle + sign * np.array(_FRONT_ROOM) * radius for sign in (-1.0, 1.0)]
    ends = np.vstack([low, high, *around])
    x0, y0, x1, y1 = drawn.box
    cut_off = bool((scene.owner[[0, -1]] >= 0).any() or (scene.owner[:, [0, -1]] >= 0).any())
    edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
    return Picture(
        (edge,) if cut_off else (),
        (),
        (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist()),
        png=drawn.png,
        box=drawn.box,
        bubbles=letters,
        arrows=tuple(arrows),
        front=front,
    )


def small(
    drawn: Drawn,
    named: Sequence[tuple[str, int]],
    said: str,
    room: tuple[float, float] = INSET,
    arrows: Sequence[np.ndarray] = (),
) -> Inset:
    """A picture as large as an inset, or as `room` says, with its letters and arrows."""
    picture = lettered(drawn, named, arrows, False, room=room)
    block = lettered_block(picture, *room)
    return Inset(block.items, block.height, said)


def front_arrow(
    scene: render.Scene, seen: render.Window, letters, lines: Sequence[np.ndarray], radius: float, low, high
) -> tuple[float, ...]:
    """Where the arrow to the front stands, clear of parts, letters and `lines`: as near to a corner of the picture as there
    is room, or below it."""
    way = seen.frame[:2] @ np.array([1.0, 0.0, 0.0])
    if np.linalg.norm(way) < _ALONG_EYE:
        return ()
    way = 2.2 * radius * way / np.linalg.norm(way)
    rows, columns = np.nonzero(scene.owner[::4, ::4] >= 0)
    taken = np.column_stack([columns, rows]) * (4.0 * seen.step) + seen.low
    taken = np.vstack([taken, *(bubbles.along(line, radius / 2.0) for line in lines)])
    spots = np.array([bubble.spot for bubble in letters]).reshape(-1, 2)
    leaders = [bubbles.along(np.array([b.spot, b.at]), radius / 2.0) for b in letters]
    taken = np.vstack([taken, *leaders])
    half = np.array(_FRONT_ROOM) * radius
    x0, y0 = low + half
    x1, y1 = np.maximum(high - half, (x0, y0))
    places = np.column_stack([np.linspace(x0, x1, _FRONT_PLACES), np.linspace(y0, y1, _FRONT_PLACES)])
    grid = [(x, y) for y in places[:, 1] for x in places[:, 0]]
    free = clear_of(taken, places, half) & clear_of(spots, places, half + _OFF_LETTERS * radius)
    corners = np.array([(x0, y0), (x1, y0), (x0, y1), (x1, y1)])
    size = float(np.linalg.norm(np.subtract(high, low)))
    off = [float(np.round(np.linalg.norm(corners - spot, axis=1).min() / size, 3)) for spot in grid]
    for number in sorted(range(len(grid)), key=lambda i: (off[i], i)):
        if free.ravel()[number]:
            middle = np.array(grid[number])
            break
    else:
        middle = np.array([x0, low[1] - half[1]])
    middle = middle + (0.0, _WORD_BELOW * radius)
    return (*(middle - way / 2.0).tolist(), *way.tolist())


def clear_of(taken: np.ndarray, places: np.ndarray, half: np.ndarray) -> np.ndarray:
    """For the middles (up, across) of a grid, which has its coordinates across and up in `places` (n, 2), whether none of the
    points `taken` (k, 2) lies in the rectangle around it."""
    across, up = (np.abs(taken[:, axis] - places[:, axis, None]) <= half[axis] for axis in (0, 1))
    return np.asarray(up.astype(np.float32) @ across.T.astype(np.float32) == 0.0)
