"""A bent part as it is cut, and bent as it stands in the prop. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.strokes import arrow_up, pointed, turned_up
from foamwright.drawing.primitives import Drawing, Path, Primitive, Shading
from foamwright.drawing.transform import translate
from foamwright.flatten.blank import lying
from foamwright.flatten.records import Pattern
from foamwright.language import lengths, say
from foamwright.templates.folds import fold_lines

_SLENDER = 2.6  # times as long as it is wide
_FLAT_ROOM, _BENT_ROOM = (20.0, 20.0), (17.0, 20.0)  # mm
_BENT_CELLS = (520, 520)


def before_and_after(pattern: Pattern, bodies: Bodies) -> Inset:
    """A bent part as it is cut, in the colour of its foam, and bent as it stands in the prop."""
    scored = fold_lines(pattern)
    turn = np.eye(2) if scored else lying(pattern.outline)  # folds run as they do on the template
    measured = np.maximum(np.ptp(pattern.outline @ turn, axis=0), 1e-9)
    slender = measured[0] > _SLENDER * measured[1]  # the two below each other, else side by side
    upright = None if scored or slender else turned_up(pattern)
    turn = turn if upright is None else upright
    points, holes = pattern.outline @ turn, [hole @ turn for hole in pattern.holes]
    low, high = points.min(axis=0), points.max(axis=0)
    long, wide = np.maximum(high - low, 1e-9)
    room, bent_room = ((INSET[0], 6.0), (INSET[0], 15.0)) if slender else (_FLAT_ROOM, _BENT_ROOM)
    scale = float(min(room[0] / long, room[1] / wide))
    shift = np.array([(room[0] - scale * long) / 2.0 - scale * low[0], -scale * high[1]])
    items: list[Primitive] = [Path(_thin(scale * points + shift), "view", True, pattern.piece.stock.colour)]
    items += [Path(_thin(scale * hole + shift), "view", True, "#ffffff") for hole in holes]
    items += [replace(line, points=scale * line.points + shift) for line in scored]
    size = lengths((float(measured[0]), float(measured[1])))
    said = (
        say(
            "{part} before and after it is folded; flat, the drawn face up: {size}.",
            part=pattern.piece.label,
            size=size,
        )
        if scored
        else say(
            "{part} before and after it is bent; flat, the drawn face up: {size}.", part=pattern.piece.label, size=size
        )
    )
    png, across, up = _bent(bodies, bodies.of(pattern.piece.id), *bent_room)
    flat_up = float(scale * wide)
    if slender:
        bent = Shading(((INSET[0] - across) / 2.0, -flat_up - 2.0 - up), across, up, png)
        return Inset((*items, bent), flat_up + 2.0 + up, said)
    tall = max(flat_up, up)
    bent = Shading((INSET[0] - (_BENT_ROOM[0] + across) / 2.0, -(tall + up) / 2.0), across, up, png)
    start = np.array([_FLAT_ROOM[0] + 0.6, -tall / 2.0])
    flat = translate(Drawing(tuple(items)), 0.0, (flat_up - tall) / 2.0).items
    way_up = () if upright is None else arrow_up(start[0], start[1] + 2.0)
    return Inset((*flat, *pointed(start, start + (3.4, 0.0)), *way_up, bent), tall, said)


def _bent(bodies: Bodies, copies: Sequence[int], width: float, height: float) -> tuple[bytes, float, float]:
    """The copy that shows most from the front, by itself: a PNG file, and how wide and high it is on paper."""
    frame = basis(FRONT)
    windows = [render.window(bodies.points, bodies, [copy], frame, _BENT_CELLS) for copy in copies]
    scenes = [render.look(bodies.points, bodies, [copy], seen) for copy, seen in zip(copies, windows)]
    most = int(np.argmax([round(float((s.owner >= 0).sum()) * w.step**2) for s, w in zip(scenes, windows)]))
    scene, seen = scenes[most], windows[most]
    normal = render.normals_of(bodies.points, bodies, render.corner_normals(bodies), scene, seen)
    png, (x0, y0, x1, y1) = render.framed(
        render.paint(render.foam_colours(bodies), scene, normal, seen, copies, bold=1), seen
    )
    scale = min(width / (x1 - x0), height / (y1 - y0))
    return png, scale * (x1 - x0), scale * (y1 - y0)


def _thin(loop: np.ndarray) -> np.ndarray:
    """A loop without what is finer than print."""
    return np.array(shapely.Polygon(loop).simplify(0.03).exterior.coords)[:-1]
