"""Close views: what is around new parts that would hardly be seen in the whole, and of parts that are too small in the picture
to see how they go. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset, Picture, Step
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import guides
from foamwright.booklet.pictures.figures import INSET, picture_block
from foamwright.booklet.pictures.lettering import PRINTED, Drawn, printed_in
from foamwright.booklet.pictures.step_views import View
from foamwright.language import say

_CLOSE_CELLS = (1000, 804)  # of a picture that is filled to its edges
_AROUND = 0.4  # a close view shows so much of the size of all around the new parts,
_DETAIL = 0.5  # at least so much of it in all,
_WORTH = 0.75  # and is not worth it where the whole would be more than so much as large
_TINY = 4.5  # mm on paper: what is no larger in the picture has a close view of its own,
_AROUND_TINY = 1.6  # which shows so much of the way that it goes
_TOGETHER = 2.0  # times as much of the way as of one, and all that are alike are in it
_LARGER = 1.5  # times as large as in the picture; a close view that shows it no larger shows nothing more
_DETAILS = 3  # close views beside one step, at most
_DETAIL_CELLS = 700
_SHORT_WAY = 2.5  # times as far off its place as it is long a tiny part is drawn there


def close_window(bodies: Bodies, points, whole: render.Window, new: Sequence[int]) -> render.Window | None:
    """What is around the new parts, where these are so small that they would hardly be seen in the whole."""
    span = whole.step * np.array(whole.shape[::-1])
    home = bodies.points
    own = np.vstack([at[slice(*render.points_of(bodies)[i])] for i in new for at in (points, home)])
    flat = own @ whole.frame[:2].T
    low, high = flat.min(axis=0), flat.max(axis=0)
    wanted = np.maximum(high - low + _AROUND * float(span.max()), _DETAIL * float(span.max()))
    wanted = np.minimum(wanted, span)
    scales = [float((printed_in(*size) / size).min()) for size in (wanted, span)]
    if scales[1] > _WORTH * scales[0]:
        return None
    wanted = np.minimum(np.maximum(wanted, np.array(PRINTED) / scales[0]), span)
    corner = np.clip((low + high - wanted) / 2.0, whole.low, whole.low + span - wanted)
    step = float((wanted / _CLOSE_CELLS).max())
    rows, columns = np.ceil(wanted[::-1] / step).astype(int)
    return render.Window(whole.frame, corner, step, (int(rows), int(columns)))


def details(
    bodies: Bodies, draw: Callable[[View, render.Window], Drawn], step: Step, view: View, drawn: Drawn
) -> tuple[Inset, ...]:
    """Close views of new parts that are too small in the picture to see how they go, alone or with what goes in as one."""
    x0, y0, x1, y1 = drawn.box
    scale = min(PRINTED[0] / (x1 - x0), PRINTED[1] / (y1 - y0))
    found = []
    for label, copy in render.best_seen(bodies, view.new, drawn.scene):
        together = next(move.copies for move in step.moves if copy in move.copies)
        rows, columns = np.nonzero(np.isin(drawn.scene.owner, together))
        if not len(rows) or max(np.ptp(rows), np.ptp(columns)) * drawn.seen.step * scale >= _TINY:
            continue
        alike = [i for i in view.new if bodies.pieces[i].id == bodies.pieces[copy].id]
        view = _less_far(bodies, view, alike)
        low, high = _way_of(bodies, [copy], view, drawn.seen)
        wide = float(((high - low) * _AROUND_TINY / INSET).max())
        every = _way_of(bodies, alike, view, drawn.seen)
        if float(((every[1] - every[0]) * _AROUND_TINY / INSET).max()) <= _TOGETHER * wide:
            shown, (low, high) = alike, every
            wide = float(((high - low) * _AROUND_TINY / INSET).max())
        else:
            shown = [copy]
        if 1.0 / wide < _LARGER * scale:
            continue
        corner = (low + high - wide * np.array(INSET)) / 2.0
        cell = wide * INSET[0] / _DETAIL_CELLS
        shape = (int(wide * INSET[1] / cell), _DETAIL_CELLS)
        close = draw(view, render.Window(drawn.seen.frame, corner, cell, shape))
        ways = [way for way in view.chosen.ways if {*shown} & {*way.copies}]
        x0, y0, x1, y1 = close.box
        edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
        arrows = tuple(guides(bodies, ways, close.scene, close.seen))
        picture = Picture((edge,), (), close.box, png=close.png, box=close.box, arrows=arrows)
        block = picture_block(picture, *INSET)
        found.append(Inset(block.items, block.height, say("Close view of {part}.", part=label)))
    return tuple(found[:_DETAILS])


def _less_far(bodies: Bodies, view: View, copies: Sequence[int]) -> View:
    """The same with copies drawn less far off their places, where that is straight: a short way may be seen larger."""
    shifts, ways = dict(view.chosen.shifts), []
    for way in view.chosen.ways:
        away = way.corners[-1] - way.corners[0]
        far = max(float(np.linalg.norm(away)), 1e-9)
        near = _SHORT_WAY * max(float(np.ptp(render.all_points(bodies, [i]), axis=0).max()) for i in way.copies)
        own = {*way.copies} <= {*copies} and all(np.allclose(shifts.get(i, 0.0), away) for i in way.copies)
        if own and len(way.corners) == 2 and near < far:
            shifts |= {i: shifts[i] * (near / far) for i in way.copies}
            way = replace(way, corners=way.corners * (near / far))
        ways.append(way)
    chosen = replace(view.chosen, shifts=shifts, ways=tuple(ways))
    return replace(view, points=view.stage.placed(view.new, shifts), chosen=chosen)


def _way_of(bodies: Bodies, copies: Sequence[int], view: View, seen: render.Window) -> tuple[np.ndarray, np.ndarray]:
    """The corners (2,), (2,) of what a window shows of copies where they are drawn and at home."""
    spans = [slice(*render.points_of(bodies)[i]) for i in copies]
    flat = np.vstack([at[span] for span in spans for at in (view.points, bodies.points)]) @ seen.frame[:2].T
    return flat.min(axis=0), flat.max(axis=0)
